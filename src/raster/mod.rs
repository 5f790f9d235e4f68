//! Pictures as the photo codes them, with their way to linear light; shapes marked on them.
//!
//! Samples stay as coded (8 or 16 bit) until an area is read: that keeps a 50-megapixel photo at 150 MB
//! and lets clipping be judged on the codes. [`Raster::linear_at`] gives linear-light sRGB in floating
//! point; values outside the sRGB gamut stay as they are.

mod board;
mod facts;
mod reduced;
mod shape;
mod traces;
mod turn;

pub use board::{Board, board_of};
pub use facts::{FactNote, PhotoFacts};
pub use reduced::Reduced;
pub use shape::{MIN_AREA_PX, Shape, ShapeProblem, Span};
pub use traces::{BLOCKS_FROM, BlockTraces, block_traces};
pub use turn::Turn;

use self::turn::Order;

use crate::color::srgb_decode;

/// Interleaved RGB samples as the file codes them.
#[derive(Debug, Clone, PartialEq)]
pub enum Samples {
    /// 8 bit, 0..=255.
    U8(Vec<u8>),
    /// 16 bit, 0..=65535.
    U16(Vec<u16>),
    /// Already linear sRGB light, for profiles that are no curve and matrix; 1.0 = full scale.
    Linear(Vec<f32>),
}

/// How coded samples become linear-light sRGB: a curve per channel, then a 3×3 matrix.
#[derive(Debug, Clone, PartialEq)]
pub struct Coding {
    /// For each channel, linear light of each code: 256 entries for 8 bit, 65536 for 16 bit, empty for
    /// [`Samples::Linear`].
    pub curves: [Vec<f32>; 3],
    /// Rows give linear sRGB from the channels' linear light; `None` is the identity (sRGB primaries).
    pub to_srgb: Option<[[f32; 3]; 3]>,
}

impl Coding {
    /// sRGB, for `levels` codes (256 or 65536).
    pub fn srgb(levels: usize) -> Self {
        let top = (levels.max(2) - 1) as f64;
        let curve: Vec<f32> = (0..levels).map(|code| srgb_decode(code as f64 / top) as f32).collect();
        Self { curves: [curve.clone(), curve.clone(), curve], to_srgb: None }
    }
}

/// An upright picture. Width and height are at least 1 and the samples fill it exactly.
#[derive(Debug, Clone, PartialEq)]
pub struct Raster {
    width: u32,
    height: u32,
    order: Order,
    samples: Samples,
    coding: Coding,
    /// One flag a pixel where the file had transparency; such pixels are never measured.
    opaque: Option<Vec<bool>>,
}

/// What is wrong with the parts of a [`Raster`].
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("a picture of {width}×{height} pixels needs {expected} samples, not {got}")]
pub struct RasterProblem {
    width: u32,
    height: u32,
    expected: usize,
    got: usize,
}

impl Raster {
    /// Puts a picture together that stands upright; every length is checked here, so that reading needs no
    /// checks.
    pub fn new(
        width: u32,
        height: u32,
        samples: Samples,
        coding: Coding,
        opaque: Option<Vec<bool>>,
    ) -> Result<Self, RasterProblem> {
        let pixels = width as usize * height as usize;
        let (got, levels) = match &samples {
            Samples::U8(v) => (v.len(), 256),
            Samples::U16(v) => (v.len(), 65536),
            Samples::Linear(v) => (v.len(), 0),
        };
        let problem = |expected, got| Err(RasterProblem { width, height, expected, got });
        if pixels == 0 || got != pixels * 3 {
            return problem(pixels * 3, got);
        }
        if let Some(curve) = coding.curves.iter().find(|curve| curve.len() != levels) {
            return problem(levels, curve.len());
        }
        if let Some(mask) = opaque.as_ref().filter(|mask| mask.len() != pixels) {
            return problem(pixels, mask.len());
        }
        let order = Turn::UPRIGHT.order(width, height);
        Ok(Self { width, height, order, samples, coding, opaque })
    }

    /// The picture of a new one, turned. Its samples stay where they are.
    #[must_use]
    pub fn turned(self, turn: Turn) -> Self {
        let order = turn.order(self.width, self.height);
        let (width, height) = turn.size(self.width, self.height);
        Self { width, height, order, ..self }
    }

    /// Pixels across.
    pub fn width(&self) -> u32 {
        self.width
    }

    /// Pixels down.
    pub fn height(&self) -> u32 {
        self.height
    }

    /// The samples as coded, in the file's order, which need not be the upright one.
    pub fn samples(&self) -> &Samples {
        &self.samples
    }

    /// The way from codes to linear light.
    pub fn coding(&self) -> &Coding {
        &self.coding
    }

    /// Whether the file says that some pixels are transparent.
    pub fn has_transparency(&self) -> bool {
        self.opaque.is_some()
    }

    /// Whether the pixel can be measured at all (not transparent). `x` and `y` must lie inside.
    pub fn is_opaque(&self, x: u32, y: u32) -> bool {
        self.opaque.as_ref().is_none_or(|mask| mask[self.index(x, y)])
    }

    /// Linear-light sRGB of a pixel, 1.0 = full scale. `x` and `y` must lie inside.
    pub fn linear_at(&self, x: u32, y: u32) -> [f32; 3] {
        let i = self.index(x, y) * 3;
        let [red, green, blue] = &self.coding.curves;
        let own = match &self.samples {
            Samples::U8(v) => [red[v[i] as usize], green[v[i + 1] as usize], blue[v[i + 2] as usize]],
            Samples::U16(v) => [red[v[i] as usize], green[v[i + 1] as usize], blue[v[i + 2] as usize]],
            Samples::Linear(v) => [v[i], v[i + 1], v[i + 2]],
        };
        match &self.coding.to_srgb {
            None => own,
            Some(m) => m.map(|row| row[0] * own[0] + row[1] * own[1] + row[2] * own[2]),
        }
    }

    /// Lightness of a pixel as the file codes it (ITU-R BT.601, which JPEG uses), on the scale of 8 bit. `x` and `y` must
    /// lie inside.
    pub(in crate::raster) fn coded_luma_at(&self, x: u32, y: u32) -> f32 {
        let i = self.index(x, y) * 3;
        let luma = |[r, g, b]: [f32; 3]| 0.299 * r + 0.587 * g + 0.114 * b;
        match &self.samples {
            Samples::U8(v) => luma([v[i], v[i + 1], v[i + 2]].map(f32::from)),
            Samples::U16(v) => luma([v[i], v[i + 1], v[i + 2]].map(f32::from)) / 257.0,
            // A root is near enough to a code's curve.
            Samples::Linear(v) => luma([v[i], v[i + 1], v[i + 2]]).max(0.0).sqrt() * 255.0,
        }
    }

    /// Whether any channel of the pixel sits at the end of its scale, so that its colour is unknown.
    /// `x` and `y` must lie inside.
    pub fn is_clipped(&self, x: u32, y: u32) -> bool {
        let i = self.index(x, y) * 3;
        match &self.samples {
            Samples::U8(v) => v[i..i + 3].iter().any(|&code| code == 0 || code >= 254),
            Samples::U16(v) => v[i..i + 3].iter().any(|&code| code == 0 || code >= 65_278),
            Samples::Linear(v) => v[i..i + 3].iter().any(|&value| value <= 0.0 || value >= 0.995),
        }
    }

    fn index(&self, x: u32, y: u32) -> usize {
        self.order.place(x, y)
    }
}

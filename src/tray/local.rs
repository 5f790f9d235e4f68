//! A part of the photo made smaller, in logarithms of light: where outlines are cut, joined and read.

use super::cutout::outline_of;
use super::mask::{self, Size};
use super::matt::matt_place;
use crate::card::find::SEARCH_PX;
use crate::raster::{Raster, Shape};

/// Light below this is mostly noise; added before taking logarithms.
const DARK: f32 = 0.003;

/// A box of the photo, each pixel the mean of a square of its pixels.
pub(super) struct Local {
    /// Upper left corner in pixels of the photo.
    corner: [u32; 2],
    /// Pixels of the photo along a pixel here.
    factor: u32,
    /// Pixels here.
    pub size: Size,
    /// Mean of the logarithms of red, green and blue.
    light: Vec<f32>,
    /// Red and blue against green, logarithms.
    tint: Vec<[f32; 2]>,
}

impl Local {
    /// The box around some outlines, as small as parts are found in.
    pub(super) fn around<'a>(raster: &Raster, outlines: impl Iterator<Item = &'a [f64; 2]>) -> Self {
        let longest = raster.width().max(raster.height());
        let factor = longest.div_ceil(SEARCH_PX).max(1);
        let mut low = [f64::INFINITY; 2];
        let mut high = [f64::NEG_INFINITY; 2];
        for p in outlines {
            for axis in 0..2 {
                low[axis] = low[axis].min(p[axis]);
                high[axis] = high[axis].max(p[axis]);
            }
        }
        let sides = [raster.width(), raster.height()];
        let room = 2.0 * f64::from(factor);
        let start = [0, 1].map(|axis| (low[axis] - room).clamp(0.0, f64::from(sides[axis] - 1)) as u32);
        let end = [0, 1].map(|axis| (high[axis] + room).clamp(0.0, f64::from(sides[axis])) as u32);
        let pixels = [0, 1].map(|axis| (end[axis].saturating_sub(start[axis]) / factor).max(1) as usize);
        let size = Size { width: pixels[0], height: pixels[1] };
        let mean = |n: usize| {
            let [x, y] = [n % size.width, n / size.width].map(|v| v as u32 * factor);
            let mut sum = [0.0f32; 3];
            for (dx, dy) in (0..factor).flat_map(|dy| (0..factor).map(move |dx| (dx, dy))) {
                let place = [start[0] + x + dx, start[1] + y + dy];
                let light = raster.linear_at(place[0].min(sides[0] - 1), place[1].min(sides[1] - 1));
                (0..3).for_each(|channel| sum[channel] += light[channel]);
            }
            sum.map(|v| libm::logf((v / (factor * factor) as f32).max(0.0) + DARK))
        };
        let logs: Vec<[f32; 3]> = (0..size.pixels()).map(mean).collect();
        Self {
            corner: start,
            factor,
            size,
            light: logs.iter().map(|v| (v[0] + v[1] + v[2]) / 3.0).collect(),
            tint: logs.iter().map(|v| [v[0] - v[1], v[2] - v[1]]).collect(),
        }
    }

    /// The pixels whose middles lie inside an outline.
    pub(super) fn inside(&self, outline: &[[f64; 2]]) -> Vec<bool> {
        let here = Shape::Polygon(outline.iter().map(|p| self.to_here(*p)).collect());
        let mut inside = vec![false; self.size.pixels()];
        for span in here.spans(self.size.width as u32, self.size.height as u32, 0.0) {
            let row = span.y as usize * self.size.width;
            inside[row + span.x_start as usize..row + span.x_end as usize].fill(true);
        }
        inside
    }

    /// The outline of the largest spot of some pixels, in pixels of the photo.
    pub(super) fn outline(&self, inside: &[bool]) -> Vec<[f64; 2]> {
        outline_of(&mask::largest(inside, self.size), self.size)
            .into_iter()
            .map(|p| self.to_photo(p))
            .collect()
    }

    /// The strip of bare, matt plastic along the ridge, in pixels of the photo.
    pub(super) fn matt(&self, inside: &[bool]) -> Option<Shape> {
        let strip = matt_place(inside, &self.light, &self.tint, self.size)?;
        let rounded = |v: f64| (v * 10.0).round() / 10.0;
        Some(Shape::Polygon(strip.into_iter().map(|p| self.to_photo(p).map(rounded)).collect()))
    }

    pub(super) fn to_here(&self, p: [f64; 2]) -> [f64; 2] {
        [0, 1].map(|axis| (p[axis] - f64::from(self.corner[axis])) / f64::from(self.factor))
    }

    fn to_photo(&self, p: [f64; 2]) -> [f64; 2] {
        [0, 1].map(|axis| f64::from(self.corner[axis]) + p[axis] * f64::from(self.factor))
    }
}

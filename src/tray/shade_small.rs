//! The shade map of a photo made smaller, for the window.

use super::shade_gains::{GainsFrom, gains, middle_of};
use super::shade_map::{Judged, ShadeMap, shade_map};
use crate::case::CaseDocument;
use crate::color::srgb_encode;
use crate::raster::{Coding, Raster, Reduced, Samples};
use crate::shade::References;

/// A shade map of joined pixels.
#[derive(Debug, Clone, PartialEq)]
pub struct SmallMap {
    map: ShadeMap,
    /// Pixels of the photo along one of the map.
    factor: f64,
    /// Ids of the shades in the order of [`Judged::nearest`].
    pub shades: Vec<String>,
    /// What it was levelled on.
    pub from: GainsFrom,
}

/// Longer side of the map in pixels.
const LONGEST_PX: u32 = 1600;

impl SmallMap {
    /// The map of a photo; `None` where no shade has a specimen.
    pub fn of(raster: &Raster, case: &CaseDocument, references: &References) -> Option<Self> {
        let with_middle =
            references.shades.iter().filter_map(|shade| Some((shade.id.clone(), middle_of(shade)?)));
        let (shades, labs): (Vec<_>, Vec<_>) = with_middle.unzip();
        let (gains, from) = gains(raster, case, Some(references));
        let small = Reduced::of(raster, LONGEST_PX);
        let code = |v: f32| (srgb_encode(f64::from(v.clamp(0.0, 1.0))) * 255.0).round() as u8;
        let codes = small.linear.iter().flat_map(|light| light.map(code)).collect();
        let joined =
            Raster::new(small.width as u32, small.height as u32, Samples::U8(codes), Coding::srgb(256), None);
        let map = shade_map(&joined.ok()?, gains, &labs)?;
        Some(Self { map, factor: small.factor as f64, shades, from })
    }

    /// What is said of a point of the photo; `None` beyond it.
    pub fn at(&self, point_px: [f64; 2]) -> Option<Judged> {
        let [x, y] = point_px.map(|v| v / self.factor);
        if x < 0.0 || y < 0.0 { None } else { self.map.at(x as usize, y as usize) }
    }
}

//! The photo made smaller.

use image::{Rgb, RgbImage};

use crate::color::srgb_encode;
use crate::raster::Raster;

/// The photo in 8-bit sRGB, at most `width_px` wide. Pixels are averaged in linear light, as a lens further
/// away would do it.
pub fn smaller(raster: &Raster, width_px: u32) -> RgbImage {
    let width = width_px.min(raster.width()).max(1);
    let height = (u64::from(raster.height()) * u64::from(width)).div_ceil(u64::from(raster.width())) as u32;
    let codes = CodeTable::new();
    // Whole source pixels that fall into target pixel `i` of `count`; at least one.
    let source = |i: u32, count: u32, size: u32| {
        let edge = |i: u32| (u64::from(i) * u64::from(size) / u64::from(count)) as u32;
        edge(i)..edge(i + 1).max(edge(i) + 1).min(size)
    };
    RgbImage::from_fn(width, height, |x, y| {
        let mut sum = [0f32; 3];
        let mut count = 0f32;
        for row in source(y, height, raster.height()) {
            for column in source(x, width, raster.width()) {
                let light = raster.linear_at(column, row);
                (0..3).for_each(|channel| sum[channel] += light[channel]);
                count += 1.0;
            }
        }
        Rgb(sum.map(|light| codes.of(light / count.max(1.0))))
    })
}

/// Linear light → sRGB code by table: the curve itself is too slow for a million pixels.
struct CodeTable(Vec<u8>);

impl CodeTable {
    const STEPS: usize = 8192;

    fn new() -> Self {
        let code = |step: usize| (srgb_encode(step as f64 / Self::STEPS as f64) * 255.0).round() as u8;
        Self((0..=Self::STEPS).map(code).collect())
    }

    fn of(&self, light: f32) -> u8 {
        let step = (light.clamp(0.0, 1.0) * Self::STEPS as f32).round() as usize;
        self.0.get(step).copied().unwrap_or(255)
    }
}

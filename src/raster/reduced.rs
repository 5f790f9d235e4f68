//! A picture made smaller in linear light, for finding things; colours are read from the photo itself.

use super::Raster;

/// Linear-light sRGB averaged over squares of pixels.
#[derive(Debug, Clone, PartialEq)]
pub struct Reduced {
    /// Pixels across.
    pub width: usize,
    /// Pixels down.
    pub height: usize,
    /// Pixels of the photo along the side of one pixel here.
    pub factor: usize,
    /// Row by row, 1.0 = full scale.
    pub linear: Vec<[f32; 3]>,
}

impl Reduced {
    /// The picture with its longer side at most `longest_px`; whole squares only, so that up to `factor` − 1 pixels
    /// at the right and lower edge are left out.
    pub fn of(raster: &Raster, longest_px: u32) -> Self {
        let factor = raster.width().max(raster.height()).div_ceil(longest_px.max(1)).max(1);
        let (width, height) = ((raster.width() / factor).max(1), (raster.height() / factor).max(1));
        let share = 1.0 / (factor * factor) as f32;
        let mut linear = vec![[0.0f32; 3]; width as usize * height as usize];
        for (row, line) in linear.chunks_exact_mut(width as usize).enumerate() {
            let y = row as u32 * factor;
            for source in y..(y + factor).min(raster.height()) {
                for (column, sum) in line.iter_mut().enumerate() {
                    let x = column as u32 * factor;
                    for source_x in x..(x + factor).min(raster.width()) {
                        let light = raster.linear_at(source_x, source);
                        for channel in 0..3 {
                            sum[channel] += light[channel];
                        }
                    }
                }
            }
            line.iter_mut().for_each(|sum| *sum = sum.map(|v| v * share));
        }
        Self { width: width as usize, height: height as usize, factor: factor as usize, linear }
    }

    /// Relative luminance of every pixel (weights of IEC 61966-2-1), at least 0.
    pub fn luminance(&self) -> Vec<f32> {
        self.linear.iter().map(|[r, g, b]| (0.2126 * r + 0.7152 * g + 0.0722 * b).max(0.0)).collect()
    }

    /// A point here in pixels of the photo.
    pub fn to_photo(&self, point: [f64; 2]) -> [f64; 2] {
        point.map(|v| v * self.factor as f64)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::raster::{Coding, Samples};

    #[test]
    fn squares_are_averaged_in_linear_light() {
        // Columns of code 0 and 255 in turn: half of full light, not the light of the middle code.
        let samples: Vec<u8> = (0..40 * 20).flat_map(|i| [if i % 2 == 0 { 0 } else { 255 }; 3]).collect();
        let raster = Raster::new(40, 20, Samples::U8(samples), Coding::srgb(256), None).unwrap();
        let reduced = Reduced::of(&raster, 20);
        assert_eq!((reduced.width, reduced.height, reduced.factor), (20, 10, 2));
        assert!(reduced.linear.iter().flatten().all(|v| (v - 0.5).abs() < 1e-6));
        assert!(reduced.luminance().iter().all(|v| (v - 0.5).abs() < 1e-4));
        assert_eq!(Reduced::of(&raster, 100).factor, 1);
    }
}

//! Pictures painted here: areas of known colour on a board, with a little noise, as every photo has.

use std::path::Path;

use image::{Rgb, RgbImage};
use sameshot::color::{Lab, to_srgb8};

/// A picture in the making.
pub(crate) struct Painted(RgbImage);

impl Painted {
    /// An empty board so many pixels wide and high.
    pub(crate) fn board(size: [u32; 2]) -> Self {
        Self(RgbImage::from_pixel(size[0], size[1], Rgb(to_srgb8(Lab::new(62.0, 3.0, 9.0)))))
    }

    /// Paints a rectangle, from its upper left corner.
    pub(crate) fn rect(&mut self, [left, top]: [u32; 2], [width, height]: [u32; 2], [l, a, b]: [f64; 3]) {
        for y in top..top + height {
            for x in left..left + width {
                let noise = f64::from((x * 7 + y * 13) % 5) * 0.2 - 0.4;
                self.0.put_pixel(x, y, Rgb(to_srgb8(Lab::new(l + noise, a, b))));
            }
        }
    }

    /// Writes it, in the format that the name tells.
    pub(crate) fn save(&self, path: &Path) {
        self.0.save(path).unwrap();
    }
}

//! A spot of pixels cut out of the picture, and outlines of pixels.

use image::{GrayImage, Luma};
use imageproc::contours::{BorderType, find_contours};
use imageproc::geometry::approximate_polygon_dp;
use imageproc::point::Point;

use super::mask::Size;

/// A spot with a pixel of room around it.
pub(super) struct Cutout {
    pub left: usize,
    pub top: usize,
    pub size: Size,
    pub whole: Size,
    pub inside: Vec<bool>,
}

impl Cutout {
    pub(super) fn around(spot: &[usize], whole: Size) -> Self {
        let xs = || spot.iter().map(|i| i % whole.width);
        let ys = || spot.iter().map(|i| i / whole.width);
        let (left, right) = (xs().min().unwrap_or(0), xs().max().unwrap_or(0));
        let (top, low) = (ys().min().unwrap_or(0), ys().max().unwrap_or(0));
        let size = Size { width: right - left + 1, height: low - top + 1 };
        let mut inside = vec![false; size.pixels()];
        for i in spot {
            inside[(i / whole.width - top) * size.width + i % whole.width - left] = true;
        }
        Self { left, top, size, whole, inside }
    }

    pub(super) fn of<T: Copy>(&self, values: &[T]) -> Vec<T> {
        (0..self.size.pixels())
            .map(|n| {
                let (x, y) = (n % self.size.width + self.left, n / self.size.width + self.top);
                values[y * self.whole.width + x]
            })
            .collect()
    }

    pub(super) fn touches_edge(&self) -> bool {
        self.left == 0
            || self.top == 0
            || self.left + self.size.width >= self.whole.width
            || self.top + self.size.height >= self.whole.height
    }

    /// A place in the cutout, in pixels of the photo.
    pub(super) fn to_photo(&self, p: [f64; 2], factor: usize) -> [f64; 2] {
        [p[0] + self.left as f64, p[1] + self.top as f64].map(|v| v * factor as f64)
    }
}

/// The outer border of a set of pixels, with few corners.
pub(super) fn outline_of(own: &[bool], size: Size) -> Vec<[f64; 2]> {
    const ROOM: u32 = 1;
    let mut picture = GrayImage::new(size.width as u32 + 2 * ROOM, size.height as u32 + 2 * ROOM);
    for (n, _) in own.iter().enumerate().filter(|(_, own)| **own) {
        picture.put_pixel((n % size.width) as u32 + ROOM, (n / size.width) as u32 + ROOM, Luma([255]));
    }
    let contours = find_contours::<i32>(&picture);
    let outer = contours.into_iter().filter(|c| c.border_type == BorderType::Outer);
    let Some(longest) = outer.max_by_key(|c| c.points.len()) else { return Vec::new() };
    let few: Vec<Point<i32>> = if longest.points.len() > 8 {
        approximate_polygon_dp(&longest.points, 0.8, true)
    } else {
        longest.points
    };
    few.iter().map(|p| [f64::from(p.x) - 0.5, f64::from(p.y) - 0.5]).collect()
}

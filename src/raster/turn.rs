//! Which way round a picture was taken: where its coded pixels lie when it stands upright.
//!
//! The samples of a photo stay where the file has them and are read in upright order. Turning 12 megapixels
//! in memory takes half as long as decoding them, most of it for the second copy.

/// The eight orientations of EXIF 2.32, tag 0x0112: where the coded picture's first row and first column
/// lie in the upright picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Turn {
    /// Rows and columns change places, before the mirrorings.
    transpose: bool,
    /// Then left and right change places.
    mirror_x: bool,
    /// Then top and bottom change places.
    mirror_y: bool,
}

impl Turn {
    /// As coded.
    pub const UPRIGHT: Self = Self { transpose: false, mirror_x: false, mirror_y: false };

    /// By the tag's value, 1 to 8; `None` for what is no orientation.
    pub fn from_exif(value: u32) -> Option<Self> {
        let (transpose, mirror_x, mirror_y) = match value {
            1 => (false, false, false),
            2 => (false, true, false),
            3 => (false, true, true),
            4 => (false, false, true),
            5 => (true, false, false),
            6 => (true, true, false),
            7 => (true, true, true),
            8 => (true, false, true),
            _ => return None,
        };
        Some(Self { transpose, mirror_x, mirror_y })
    }

    /// Width and height of the upright picture, from those of the coded one.
    pub fn size(self, width: u32, height: u32) -> (u32, u32) {
        if self.transpose { (height, width) } else { (width, height) }
    }

    /// The way from an upright pixel to its place among the coded ones of a `width`×`height` picture.
    pub(super) fn order(self, width: u32, height: u32) -> Order {
        let (upright_width, upright_height) = self.size(width, height);
        let row = width as isize;
        let (right, down) = if self.transpose { (row, 1) } else { (1, row) };
        let last = |size: u32, step: isize| (size as isize - 1) * step;
        let (from_left, right) =
            if self.mirror_x { (last(upright_width, right), -right) } else { (0, right) };
        let (from_top, down) = if self.mirror_y { (last(upright_height, down), -down) } else { (0, down) };
        Order { first: from_left + from_top, right, down }
    }
}

/// Places of upright pixels among coded ones: the upper left one and the steps to its neighbours.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Order {
    first: isize,
    right: isize,
    down: isize,
}

impl Order {
    /// Place of an upright pixel, which must lie inside the picture.
    pub(super) fn place(self, x: u32, y: u32) -> usize {
        (self.first + x as isize * self.right + y as isize * self.down) as usize
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Pictures of 3×2 coded pixels as they look upright, by the drawings of EXIF 2.32, tag 0x0112
    /// ("the 0th row is at the … of the image, the 0th column is the …").
    #[test]
    fn all_eight_orientations() {
        let upright = [
            (1, (3, 2), [1, 2, 3, 4, 5, 6]),
            (2, (3, 2), [3, 2, 1, 6, 5, 4]),
            (3, (3, 2), [6, 5, 4, 3, 2, 1]),
            (4, (3, 2), [4, 5, 6, 1, 2, 3]),
            (5, (2, 3), [1, 4, 2, 5, 3, 6]),
            (6, (2, 3), [4, 1, 5, 2, 6, 3]),
            (7, (2, 3), [6, 3, 5, 2, 4, 1]),
            (8, (2, 3), [3, 6, 2, 5, 1, 4]),
        ];
        for (value, (width, height), expected) in upright {
            let turn = Turn::from_exif(value).unwrap();
            assert_eq!(turn.size(3, 2), (width, height), "{value}");
            let order = turn.order(3, 2);
            let seen = (0..height).flat_map(|y| (0..width).map(move |x| order.place(x, y) + 1));
            assert_eq!(seen.collect::<Vec<_>>(), expected, "{value}");
        }
        assert_eq!(Turn::from_exif(0), None);
        assert_eq!(Turn::from_exif(9), None);
    }

    #[test]
    fn larger_pictures_agree_with_the_image_crate() {
        let (width, height) = (101, 67);
        let coded: Vec<u8> = (0..width * height * 3).map(|i| (i * 7 % 251) as u8).collect();
        for value in 1..=8u8 {
            let mut reference = image::DynamicImage::ImageRgb8(
                image::RgbImage::from_raw(width, height, coded.clone()).unwrap(),
            );
            reference.apply_orientation(image::metadata::Orientation::from_exif(value).unwrap());
            let order = Turn::from_exif(value.into()).unwrap().order(width, height);
            for (x, y, pixel) in reference.into_rgb8().enumerate_pixels() {
                let at = 3 * order.place(x, y);
                assert_eq!(coded[at..at + 3], pixel.0, "{value}: {x}, {y}");
            }
        }
    }
}

//! Turning a picture upright by its EXIF orientation.

/// The eight orientations of EXIF 2.32, tag 0x0112: where the coded picture's first row and first column
/// lie in the upright picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Orientation {
    /// Rows and columns change places, before the mirrorings.
    transpose: bool,
    /// Then left and right change places.
    mirror_x: bool,
    /// Then top and bottom change places.
    mirror_y: bool,
}

impl Orientation {
    /// As coded.
    pub(super) const UPRIGHT: Self = Self { transpose: false, mirror_x: false, mirror_y: false };

    /// By the tag's value, 1 to 8; `None` for what is no orientation.
    pub(super) fn from_exif(value: u32) -> Option<Self> {
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
    pub(super) fn size(self, width: u32, height: u32) -> (u32, u32) {
        if self.transpose { (height, width) } else { (width, height) }
    }

    /// The upright picture: `pixels` holds `width`×`height` coded pixels of `N` samples each.
    pub(super) fn apply<T: Copy + Default + Send + Sync, const N: usize>(
        self,
        pixels: Vec<T>,
        width: u32,
        height: u32,
    ) -> Vec<T> {
        if self == Self::UPRIGHT {
            return pixels;
        }
        let (width, height) = (width as usize, height as usize);
        let (out_width, out_height) = if self.transpose { (height, width) } else { (width, height) };
        let (source, _) = pixels.as_chunks::<N>();
        // Where the pixel of column x and row y of the upright picture lies among the coded ones.
        let source_of = |x: usize, y: usize| {
            let across = if self.mirror_x { out_width - 1 - x } else { x };
            let down = if self.mirror_y { out_height - 1 - y } else { y };
            if self.transpose { across * width + down } else { down * width + across }
        };
        // How far the next column's pixel lies from this one's.
        let forward = if self.transpose { width as isize } else { 1 };
        let step = if self.mirror_x { -forward } else { forward };
        // In square tiles, so that the rows read and the rows written both stay in the cache.
        let fill = |band: &mut [[T; N]], first_row: usize| {
            for (top, rows) in band.chunks_mut(TILE * out_width).enumerate() {
                for left in (0..out_width).step_by(TILE) {
                    let right = (left + TILE).min(out_width);
                    for (y, row) in rows.chunks_exact_mut(out_width).enumerate() {
                        let mut at = source_of(left, first_row + top * TILE + y);
                        for pixel in &mut row[left..right] {
                            *pixel = source[at];
                            at = at.wrapping_add_signed(step);
                        }
                    }
                }
            }
        };
        let mut upright = vec![T::default(); pixels.len()];
        let (target, _) = upright.as_chunks_mut::<N>();
        let threads = std::thread::available_parallelism().map_or(1, |n| n.get().min(4));
        let band_rows = out_height.div_ceil(threads).next_multiple_of(TILE);
        std::thread::scope(|scope| {
            for (i, band) in target.chunks_mut(band_rows * out_width).enumerate() {
                scope.spawn(move || fill(band, i * band_rows));
            }
        });
        upright
    }
}

/// Side of the squares in which pictures are turned: 32 rows of 32 pixels fit into the first cache.
const TILE: usize = 32;

#[cfg(test)]
mod tests {
    use super::*;

    /// Pictures of 3×2 coded pixels as they look upright, by the drawings of EXIF 2.32, tag 0x0112
    /// ("the 0th row is at the … of the image, the 0th column is the …").
    #[test]
    fn all_eight_orientations() {
        let coded = vec![1, 2, 3, 4, 5, 6];
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
        for (value, size, expected) in upright {
            let orientation = Orientation::from_exif(value).unwrap();
            assert_eq!(orientation.size(3, 2), size, "{value}");
            assert_eq!(orientation.apply::<_, 1>(coded.clone(), 3, 2), expected, "{value}");
        }
        assert_eq!(Orientation::from_exif(0), None);
        assert_eq!(Orientation::from_exif(9), None);
    }

    #[test]
    fn large_pictures_agree_with_the_image_crate() {
        let (width, height) = (101, 67);
        let coded: Vec<u8> = (0..width * height * 3).map(|i| (i * 7 % 251) as u8).collect();
        for value in 1..=8u8 {
            let mut reference = image::DynamicImage::ImageRgb8(
                image::RgbImage::from_raw(width, height, coded.clone()).unwrap(),
            );
            reference.apply_orientation(image::metadata::Orientation::from_exif(value).unwrap());
            let own = Orientation::from_exif(value.into()).unwrap();
            assert_eq!(own.apply::<_, 3>(coded.clone(), width, height), reference.into_bytes(), "{value}");
        }
    }
}

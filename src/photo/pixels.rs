//! What a decoder hands over: interleaved RGB samples, brought to that form from grey and transparency.

use crate::raster::Samples;

use super::colour::StatedColour;

/// A decoded picture, not yet upright, with what its container says about it.
pub(super) struct Decoded {
    pub(super) width: u32,
    pub(super) height: u32,
    /// 3 samples a pixel.
    pub(super) samples: Samples,
    /// One flag a pixel, only where some pixel is transparent.
    pub(super) opaque: Option<Vec<bool>>,
    /// The file holds lightness only.
    pub(super) grey: bool,
    /// Colour was stored coarser than lightness.
    pub(super) chroma_subsampled: bool,
    /// What the container says of the colour space.
    pub(super) colour: StatedColour,
    /// What the camera wrote (EXIF).
    pub(super) camera: Option<exif::Exif>,
    /// The decoder has already turned the picture, so EXIF's orientation must not turn it again.
    pub(super) already_upright: bool,
}

/// How a decoder's samples lie: grey or RGB, without or with alpha.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Layout {
    pub(super) grey: bool,
    pub(super) alpha: bool,
}

impl Layout {
    pub(super) const RGB: Self = Self { grey: false, alpha: false };
    pub(super) const GREY: Self = Self { grey: true, alpha: false };

    /// Interleaved samples → RGB and, where some pixel is not fully opaque, the mask. Such pixels show
    /// partly what lay behind them, so their colour is unknown; `full` is the code of full opacity.
    pub(super) fn to_rgb<T: Copy + PartialEq>(self, samples: Vec<T>, full: T) -> (Vec<T>, Option<Vec<bool>>) {
        match (self.grey, self.alpha) {
            (false, false) => (samples, None),
            (true, false) => (spread(samples.as_chunks::<1>().0, |&[v]| [v; 3]), None),
            (false, true) => {
                let (pixels, _) = samples.as_chunks::<4>();
                (spread(pixels, |&[r, g, b, _]| [r, g, b]), mask(pixels, full))
            }
            (true, true) => {
                let (pixels, _) = samples.as_chunks::<2>();
                (spread(pixels, |&[v, _]| [v; 3]), mask(pixels, full))
            }
        }
    }
}

/// RGB of each pixel, one behind the other.
fn spread<T: Copy, const N: usize>(pixels: &[[T; N]], to_rgb: impl Fn(&[T; N]) -> [T; 3]) -> Vec<T> {
    let mut rgb = Vec::with_capacity(pixels.len() * 3);
    pixels.iter().for_each(|pixel| rgb.extend_from_slice(&to_rgb(pixel)));
    rgb
}

/// Whether the last sample of each pixel, alpha, is `full`; `None` where all are.
fn mask<T: PartialEq, const N: usize>(pixels: &[[T; N]], full: T) -> Option<Vec<bool>> {
    let opaque = |pixel: &[T; N]| pixel.last() == Some(&full);
    if pixels.iter().all(opaque) { None } else { Some(pixels.iter().map(opaque).collect()) }
}

/// Share of the rows that a decoder had filled in when it stopped: it starts at zeros, and some decoders
/// fill what they cannot read with mid grey.
pub(super) fn share_filled(bytes: &[u8], bytes_per_row: usize) -> Option<f64> {
    if bytes_per_row == 0 || bytes.is_empty() {
        return None;
    }
    let rows = bytes.len() / bytes_per_row;
    let untouched = bytes
        .chunks_exact(bytes_per_row)
        .rev()
        .take_while(|row| row.iter().all(|&b| b == 0) || row.iter().all(|&b| b == 128))
        .count();
    Some((rows - untouched) as f64 / rows as f64)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn grey_and_alpha_become_rgb_and_a_mask() {
        assert_eq!(Layout::GREY.to_rgb(vec![7u8, 9], 255), (vec![7, 7, 7, 9, 9, 9], None));
        let alpha = Layout { grey: false, alpha: true };
        assert_eq!(alpha.to_rgb(vec![1u8, 2, 3, 255], 255), (vec![1, 2, 3], None));
        assert_eq!(
            alpha.to_rgb(vec![1u8, 2, 3, 255, 4, 5, 6, 254], 255),
            (vec![1, 2, 3, 4, 5, 6], Some(vec![true, false]))
        );
        let both = Layout { grey: true, alpha: true };
        assert_eq!(
            both.to_rgb(vec![8u16, 65535, 9, 0], 65535),
            (vec![8, 8, 8, 9, 9, 9], Some(vec![true, false]))
        );
    }

    #[test]
    fn rows_that_a_decoder_reached() {
        assert_eq!(share_filled(&[1, 2, 3, 4, 0, 0, 128, 128], 2), Some(0.5));
        assert_eq!(share_filled(&[0; 8], 2), Some(0.0));
    }
}

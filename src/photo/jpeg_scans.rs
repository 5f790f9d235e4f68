//! Baseline JPEG whose colour components come in scans of their own (ISO/IEC 10918-1, A.2.2), as encoders
//! with optimised tables write it. `zune-jpeg` 0.5.15 gives such a picture as all zeros when colour is
//! stored at a lower resolution, and says nothing; `jpeg-decoder` reads it.

use jpeg_decoder::{Decoder, PixelFormat};

use super::error::PhotoProblem;

/// Interleaved RGB, or lightness alone for a grey picture. The size was checked against our limits by the
/// frame header, which both decoders read alike.
pub(super) fn decode(bytes: &[u8], grey: bool) -> Result<Vec<u8>, PhotoProblem> {
    let mut decoder = Decoder::new(bytes);
    let damaged = |detail: String| PhotoProblem::Damaged { detail };
    let samples = decoder.decode().map_err(|error| damaged(format!("its data cannot be read ({error})")))?;
    let format = decoder.info().map(|info| info.pixel_format);
    match (format, grey) {
        (Some(PixelFormat::RGB24), false) | (Some(PixelFormat::L8), true) => Ok(samples),
        _ => Err(damaged("its headers contradict each other".into())),
    }
}

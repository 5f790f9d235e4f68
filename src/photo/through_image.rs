//! PNG, TIFF and WebP, through the `image` crate.

use std::error::Error;
use std::io::{Cursor, ErrorKind};

use image::codecs::png::PngDecoder;
use image::codecs::tiff::TiffDecoder;
use image::codecs::webp::WebPDecoder;
use image::error::LimitErrorKind;
use image::{ColorType, ExtendedColorType, ImageDecoder, ImageError};

use crate::raster::Samples;

use super::Limits;
use super::camera;
use super::colour::StatedColour;
use super::error::PhotoProblem;
use super::kind::{Kind, raw_file_in_tiff};
use super::pixels::{Decoded, Layout, share_filled};
use super::png_colour;

pub(super) fn decode_png(bytes: &[u8], limits: &Limits) -> Result<Decoded, PhotoProblem> {
    // The header comes first and always at the same place: judge it before the decoder takes memory.
    if let Some(&[w3, w2, w1, w0, h3, h2, h1, h0]) = bytes.get(16..24) {
        limits.check_size(u32::from_be_bytes([w3, w2, w1, w0]), u32::from_be_bytes([h3, h2, h1, h0]), 3)?;
    }
    let mut decoder = PngDecoder::with_limits(Cursor::new(bytes), limits.for_image_crate())
        .map_err(|error| refusal(Kind::Png, &error, None, limits))?;
    let icc = decoder.icc_profile().ok().flatten();
    let colour = png_colour::stated(bytes, icc);
    let camera = decoder.exif_metadata().ok().flatten().and_then(camera::parse);
    let decoded = read(Kind::Png, decoder, limits)?;
    Ok(Decoded { colour, camera, ..decoded })
}

pub(super) fn decode_tiff(bytes: &[u8], limits: &Limits) -> Result<Decoded, PhotoProblem> {
    let wrong = |error: ImageError| refusal(Kind::Tiff, &error, None, limits);
    // A raw file is a TIFF whose first picture is a thumbnail: measuring that would be wrong in silence.
    let camera = camera::parse(bytes.to_vec());
    if camera.as_ref().is_some_and(camera::is_raw_file) {
        return Err(raw_file_in_tiff());
    }
    let mut decoder = TiffDecoder::new(Cursor::new(bytes)).map_err(wrong)?;
    let (width, height) = decoder.dimensions();
    limits.check_size(width, height, u64::from(decoder.color_type().bytes_per_pixel()))?;
    if matches!(decoder.original_color_type(), ExtendedColorType::Cmyk8 | ExtendedColorType::Cmyk16) {
        return Err(PhotoProblem::PrintingInks);
    }
    decoder.set_limits(limits.for_image_crate()).map_err(wrong)?;
    let icc = decoder.icc_profile().ok().flatten();
    let decoded = read(Kind::Tiff, decoder, limits)?;
    let colour = icc.map_or(StatedColour::Nothing, StatedColour::Icc);
    Ok(Decoded { colour, camera, ..decoded })
}

pub(super) fn decode_webp(bytes: &[u8], limits: &Limits) -> Result<Decoded, PhotoProblem> {
    // The decoder does not tell a cut from damage; the length in the file's head does (RFC 9649, 2.4).
    let length = bytes.get(4..8).map_or(0, |b| b.iter().rev().fold(0u64, |sum, &v| sum << 8 | u64::from(v)));
    if (bytes.len() as u64) < length + 8 {
        return Err(PhotoProblem::Cut { share_there: None });
    }
    let mut decoder =
        WebPDecoder::new(Cursor::new(bytes)).map_err(|error| refusal(Kind::WebP, &error, None, limits))?;
    let icc = decoder.icc_profile().ok().flatten();
    let camera = decoder.exif_metadata().ok().flatten().and_then(camera::parse);
    let decoded = read(Kind::WebP, decoder, limits)?;
    let colour = icc.map_or(StatedColour::Nothing, StatedColour::Icc);
    // Lossy WebP always halves the resolution of colour; lossless never does (RFC 9649).
    let chroma_subsampled = webp_is_lossy(bytes);
    Ok(Decoded { colour, camera, chroma_subsampled, ..decoded })
}

/// Whether the first picture chunk is the lossy one.
fn webp_is_lossy(bytes: &[u8]) -> bool {
    let mut rest = bytes.get(12..).unwrap_or_default();
    while let Some((&[a, b, c, d, s0, s1, s2, s3], body)) = rest.split_first_chunk::<8>() {
        match &[a, b, c, d] {
            b"VP8 " => return true,
            b"VP8L" => return false,
            // A frame of an animation holds its picture chunk behind 16 bytes of its own.
            b"ANMF" => rest = body.get(16..).unwrap_or_default(),
            _ => {
                let size = u32::from_le_bytes([s0, s1, s2, s3]) as usize;
                rest = body.get(size.saturating_add(size % 2)..).unwrap_or_default();
            }
        }
    }
    false
}

fn read(kind: Kind, decoder: impl ImageDecoder, limits: &Limits) -> Result<Decoded, PhotoProblem> {
    let (width, height) = decoder.dimensions();
    let (layout, wide) = match decoder.color_type() {
        ColorType::L8 => (Layout::GREY, false),
        ColorType::La8 => (Layout { grey: true, alpha: true }, false),
        ColorType::Rgb8 => (Layout::RGB, false),
        ColorType::Rgba8 => (Layout { grey: false, alpha: true }, false),
        ColorType::L16 => (Layout::GREY, true),
        ColorType::La16 => (Layout { grey: true, alpha: true }, true),
        ColorType::Rgb16 => (Layout::RGB, true),
        ColorType::Rgba16 => (Layout { grey: false, alpha: true }, true),
        other => return Err(variety(kind, format!("its samples are {other:?}"))),
    };
    let bytes_per_pixel = decoder.color_type().bytes_per_pixel();
    limits.check_size(width, height, u64::from(bytes_per_pixel))?;
    let bytes_per_row = width as usize * usize::from(bytes_per_pixel);
    let mut bytes = vec![0; bytes_per_row * height as usize];
    if let Err(error) = decoder.read_image(&mut bytes) {
        return Err(refusal(kind, &error, share_filled(&bytes, bytes_per_row), limits));
    }
    let (samples, opaque) = if wide {
        let codes = bytes.as_chunks::<2>().0.iter().map(|&pair| u16::from_ne_bytes(pair)).collect();
        drop(bytes);
        let (rgb, opaque) = layout.to_rgb(codes, u16::MAX);
        (Samples::U16(rgb), opaque)
    } else {
        let (rgb, opaque) = layout.to_rgb(bytes, u8::MAX);
        (Samples::U8(rgb), opaque)
    };
    Ok(Decoded {
        width,
        height,
        samples,
        opaque,
        grey: layout.grey,
        chroma_subsampled: false,
        colour: StatedColour::Nothing,
        camera: None,
        already_upright: false,
    })
}

fn variety(kind: Kind, detail: String) -> PhotoProblem {
    PhotoProblem::Variety { format: kind.name(), detail }
}

/// The decoder's error in our words. `share_there`: how far it came.
fn refusal(kind: Kind, error: &ImageError, share_there: Option<f64>, limits: &Limits) -> PhotoProblem {
    if ends_too_early(error) {
        return PhotoProblem::Cut { share_there: share_there.filter(|&share| share > 0.0) };
    }
    match error {
        ImageError::Limits(limit) if limit.kind() == LimitErrorKind::InsufficientMemory => {
            limits.too_much_memory()
        }
        ImageError::Unsupported(unsupported) => variety(kind, unsupported.kind_in_words()),
        _ => PhotoProblem::Damaged { detail: format!("its {} data contradict each other", kind.name()) },
    }
}

/// Whether the end of the file was met too early, anywhere in the chain of causes. Not every decoder gives
/// it as an input error; the words of the others are in the list.
fn ends_too_early(error: &ImageError) -> bool {
    const WORDS: [&str; 4] =
        ["unexpected end", "unexpected eof", "end of file", "failed to fill whole buffer"];
    let mut cause: Option<&(dyn Error + 'static)> = Some(error);
    while let Some(error) = cause {
        let by_kind = error
            .downcast_ref::<std::io::Error>()
            .is_some_and(|input| input.kind() == ErrorKind::UnexpectedEof);
        let text = error.to_string().to_ascii_lowercase();
        if by_kind || WORDS.iter().any(|words| text.contains(words)) {
            return true;
        }
        cause = error.source();
    }
    false
}

trait InWords {
    fn kind_in_words(&self) -> String;
}

impl InWords for image::error::UnsupportedError {
    fn kind_in_words(&self) -> String {
        match self.kind() {
            image::error::UnsupportedErrorKind::Color(colour) => format!("samples of the type {colour:?}"),
            image::error::UnsupportedErrorKind::Format(_) => "an unknown variant".to_owned(),
            image::error::UnsupportedErrorKind::GenericFeature(feature) => feature,
            _ => "an unknown feature".to_owned(),
        }
    }
}

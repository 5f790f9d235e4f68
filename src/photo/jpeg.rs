//! JPEG, through `zune-jpeg` in its strict mode: a lenient decoder fills what is missing with grey and
//! says nothing.

use zune_jpeg::JpegDecoder;
use zune_jpeg::errors::DecodeErrors;
use zune_jpeg::zune_core::bytestream::ZCursor;
use zune_jpeg::zune_core::colorspace::ColorSpace;
use zune_jpeg::zune_core::options::DecoderOptions;

use crate::raster::Samples;

use super::Limits;
use super::camera;
use super::colour::StatedColour;
use super::error::PhotoProblem;
use super::jpeg_scans;
use super::pixels::{Decoded, Layout, share_filled};

pub(super) fn decode(bytes: &[u8], limits: &Limits) -> Result<Decoded, PhotoProblem> {
    let Some(frame) = Frame::find(bytes) else {
        return Err(PhotoProblem::Cut { share_there: None });
    };
    frame.check(limits)?;
    let outcome = match decode_strictly(bytes, &frame) {
        // Some cameras fill up between headers, which harms nothing but is refused in strict mode.
        Err(Refusal::Filler) => decode_strictly(&without_filler(bytes), &frame),
        outcome => outcome,
    };
    outcome.map_err(|refusal| match refusal {
        Refusal::Problem(problem) => problem,
        Refusal::Filler => damaged("its headers contradict each other"),
    })
}

/// Why strict decoding stopped.
enum Refusal {
    /// Bytes between headers that belong to none.
    Filler,
    Problem(PhotoProblem),
}

impl From<PhotoProblem> for Refusal {
    fn from(problem: PhotoProblem) -> Self {
        Refusal::Problem(problem)
    }
}

fn decode_strictly(bytes: &[u8], frame: &Frame) -> Result<Decoded, Refusal> {
    // Dimensions were checked against our own limits.
    let options =
        DecoderOptions::default().set_strict_mode(true).set_max_width(65_535).set_max_height(65_535);
    let mut decoder = JpegDecoder::new_with_options(ZCursor::new(bytes), options);
    let whole = has_end_marker(bytes, frame);
    decoder.decode_headers().map_err(|error| refusal(error, whole, None))?;
    let layout = match decoder.input_colorspace() {
        Some(ColorSpace::Luma) => Layout::GREY,
        Some(ColorSpace::CMYK | ColorSpace::YCCK) => return Err(PhotoProblem::PrintingInks.into()),
        Some(ColorSpace::RGB | ColorSpace::YCbCr) => Layout::RGB,
        other => return Err(variety(format!("its colours are coded as {other:?}")).into()),
    };
    let (out, channels) = if layout.grey { (ColorSpace::Luma, 1) } else { (ColorSpace::RGB, 3) };
    decoder.set_options(decoder.options().jpeg_set_out_colorspace(out));
    let colour = decoder.icc_profile().map_or(StatedColour::Nothing, StatedColour::Icc);
    let camera = decoder.exif().cloned().and_then(camera::parse);
    let bytes_per_row = frame.width as usize * channels;
    let expected_bytes = bytes_per_row * frame.height as usize;
    let (samples, outcome) = if !frame.progressive && has_several_scans(bytes, frame) {
        // A cut picture is told before its data are asked.
        if !whole {
            return Err(PhotoProblem::Cut { share_there: None }.into());
        }
        let samples = jpeg_scans::decode(bytes, layout.grey)?;
        if samples.len() != expected_bytes {
            return Err(damaged("its headers contradict each other").into());
        }
        (samples, Ok(()))
    } else {
        let mut samples = vec![0; expected_bytes];
        let outcome = decoder.decode_into(&mut samples);
        (samples, outcome)
    };
    // A progressive picture is drawn only when all of it was read: no rows to count then.
    let share_there = || share_filled(&samples, bytes_per_row).filter(|_| !frame.progressive);
    match outcome {
        Ok(()) if whole => {}
        Ok(()) => return Err(PhotoProblem::Cut { share_there: share_there() }.into()),
        Err(error) => return Err(refusal(error, whole, share_there())),
    }
    let (rgb, opaque) = layout.to_rgb(samples, u8::MAX);
    Ok(Decoded {
        width: frame.width,
        height: frame.height,
        samples: Samples::U8(rgb),
        opaque,
        grey: layout.grey,
        chroma_subsampled: frame.chroma_subsampled,
        colour,
        camera,
        already_upright: false,
    })
}

/// The decoder's error in our words.
fn refusal(error: DecodeErrors, whole: bool, share_there: Option<f64>) -> Refusal {
    match error {
        DecodeErrors::FormatStatic(text) if text.contains("Extra bytes") => Refusal::Filler,
        DecodeErrors::Unsupported(scheme) => variety(format!("{scheme:?}")).into(),
        _ if !whole => PhotoProblem::Cut { share_there }.into(),
        _ => match share_there {
            Some(share) => damaged(&format!(
                "its data cannot be read beyond about {} % of the picture",
                (share * 100.0).floor()
            )),
            None => damaged("its data contradict each other"),
        }
        .into(),
    }
}

fn damaged(detail: &str) -> PhotoProblem {
    PhotoProblem::Damaged { detail: detail.to_owned() }
}

fn variety(detail: String) -> PhotoProblem {
    PhotoProblem::Variety { format: "JPEG", detail }
}

/// What the frame header says (ISO/IEC 10918-1, B.2.2).
struct Frame {
    width: u32,
    height: u32,
    bits: u8,
    components: u8,
    /// Some component is sampled coarser than another.
    chroma_subsampled: bool,
    progressive: bool,
    lossless_or_arithmetic: bool,
    /// Where the frame header ends.
    end: usize,
}

impl Frame {
    /// Walks the marker segments up to the frame header.
    fn find(bytes: &[u8]) -> Option<Frame> {
        segments(bytes)
            .find(|segment| {
                matches!(segment.marker, 0xc0..=0xcf) && !matches!(segment.marker, 0xc4 | 0xc8 | 0xcc)
            })
            .and_then(|segment| Frame::read(segment.marker, segment.body, segment.end))
    }

    fn read(marker: u8, segment: &[u8], end: usize) -> Option<Frame> {
        let [bits, h1, h0, w1, w0, components, ..] = *segment else { return None };
        let sampling: Vec<u8> = segment.get(6..)?.as_chunks::<3>().0.iter().map(|c| c[1]).collect();
        Some(Frame {
            width: u32::from(u16::from_be_bytes([w1, w0])),
            height: u32::from(u16::from_be_bytes([h1, h0])),
            bits,
            components,
            chroma_subsampled: sampling.iter().any(|&factors| Some(&factors) != sampling.first()),
            progressive: marker == 0xc2,
            lossless_or_arithmetic: !matches!(marker, 0xc0..=0xc2),
            end,
        })
    }

    fn check(&self, limits: &Limits) -> Result<(), PhotoProblem> {
        if self.lossless_or_arithmetic || self.bits != 8 {
            return Err(variety(format!("{} bits a channel or an unusual compression", self.bits)));
        }
        if self.components == 4 {
            return Err(PhotoProblem::PrintingInks);
        }
        // Besides the picture, a progressive decoder holds all its coefficients as 16-bit numbers.
        let bytes_per_pixel = if self.progressive { 9 } else { 3 };
        limits.check_size(self.width, self.height, bytes_per_pixel)
    }
}

/// A marker segment of the headers.
struct Segment<'a> {
    marker: u8,
    /// What follows its length.
    body: &'a [u8],
    /// Where it begins, at its last 0xFF, and where it ends.
    start: usize,
    end: usize,
}

/// The marker segments up to the first scan, whatever lies between them.
fn segments(bytes: &[u8]) -> impl Iterator<Item = Segment<'_>> {
    let mut at = 2;
    let mut in_headers = true;
    std::iter::from_fn(move || {
        while in_headers {
            while *bytes.get(at)? != 0xff {
                at += 1;
            }
            while *bytes.get(at)? == 0xff {
                at += 1;
            }
            let (start, marker) = (at - 1, *bytes.get(at)?);
            at += 1;
            // Markers that stand alone, and a 0xFF that is none.
            if matches!(marker, 0x00 | 0x01 | 0xd0..=0xd9) {
                continue;
            }
            let length = usize::from(u16::from_be_bytes([*bytes.get(at)?, *bytes.get(at + 1)?])).max(2);
            let body = bytes.get(at + 2..at + length)?;
            at += length;
            in_headers = marker != 0xda;
            return Some(Segment { marker, body, start, end: at });
        }
        None
    })
}

/// The same file with nothing between its headers.
fn without_filler(bytes: &[u8]) -> Vec<u8> {
    let mut clean = bytes.get(..2).unwrap_or_default().to_vec();
    let mut end = 2;
    for segment in segments(bytes) {
        clean.extend_from_slice(&bytes[segment.start..segment.end]);
        end = segment.end;
    }
    clean.extend_from_slice(&bytes[end..]);
    clean
}

/// Whether the first scan (SOS, B.2.3) holds fewer components than the frame.
fn has_several_scans(bytes: &[u8], frame: &Frame) -> bool {
    let first = segments(bytes).find(|segment| segment.marker == 0xda);
    first.and_then(|segment| segment.body.first()).is_some_and(|&components| components < frame.components)
}

/// Whether the end-of-image marker stands behind the picture data; inside them 0xFF is always followed by 0
/// or a restart marker, so that it cannot be met by chance.
fn has_end_marker(bytes: &[u8], frame: &Frame) -> bool {
    let data = bytes.get(frame.end..).unwrap_or_default();
    data.windows(2).rev().any(|pair| pair == [0xff, 0xd9])
}

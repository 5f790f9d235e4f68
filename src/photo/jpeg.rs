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
use super::pixels::{Decoded, Layout, share_filled};

pub(super) fn decode(bytes: &[u8], limits: &Limits) -> Result<Decoded, PhotoProblem> {
    let Some(frame) = Frame::find(bytes) else {
        return Err(PhotoProblem::Cut { share_there: None });
    };
    frame.check(limits)?;
    let whole = has_end_marker(&bytes[frame.scan_from..]);
    let mut decoded = decode_strictly(bytes, &frame, whole)?;
    if matches!(decoded, Err(HeaderPadding)) {
        // Some cameras pad their headers, which harms nothing; the end of the picture was found above.
        decoded = decode_with(bytes, &frame, whole, options(false))?;
    }
    decoded.map_err(|HeaderPadding| damaged("its headers contradict each other"))
}

/// The decoder refuses filler bytes between headers in strict mode.
struct HeaderPadding;

fn options(strict: bool) -> DecoderOptions {
    // Dimensions are checked against our own limits before.
    DecoderOptions::default().set_strict_mode(strict).set_max_width(65_535).set_max_height(65_535)
}

fn decode_strictly(
    bytes: &[u8],
    frame: &Frame,
    whole: bool,
) -> Result<Result<Decoded, HeaderPadding>, PhotoProblem> {
    decode_with(bytes, frame, whole, options(true))
}

fn decode_with(
    bytes: &[u8],
    frame: &Frame,
    whole: bool,
    options: DecoderOptions,
) -> Result<Result<Decoded, HeaderPadding>, PhotoProblem> {
    let mut decoder = JpegDecoder::new_with_options(ZCursor::new(bytes), options);
    match decoder.decode_headers() {
        Ok(()) => {}
        Err(DecodeErrors::FormatStatic(text)) if text.contains("Extra bytes") => {
            return Ok(Err(HeaderPadding));
        }
        Err(_) if !whole => return Err(PhotoProblem::Cut { share_there: None }),
        Err(error) => return Err(refusal(&error)),
    }
    let layout = match decoder.input_colorspace() {
        Some(ColorSpace::Luma) => Layout::GREY,
        Some(ColorSpace::CMYK | ColorSpace::YCCK) => return Err(PhotoProblem::PrintingInks),
        Some(ColorSpace::RGB | ColorSpace::YCbCr) => Layout::RGB,
        other => return Err(variety(format!("its colours are coded as {other:?}"))),
    };
    let out = if layout.grey { ColorSpace::Luma } else { ColorSpace::RGB };
    decoder.set_options(decoder.options().jpeg_set_out_colorspace(out));
    let icc = decoder.icc_profile();
    let camera = decoder.exif().cloned().and_then(camera::parse);
    let channels = if layout.grey { 1 } else { 3 };
    let bytes_per_row = frame.width as usize * channels;
    let mut samples = vec![0; bytes_per_row * frame.height as usize];
    let read = decoder.decode_into(&mut samples);
    if read.is_err() || !whole {
        // A progressive picture is drawn only when all of it was read: no rows to count.
        let share_there = share_filled(&samples, bytes_per_row).filter(|_| !frame.progressive);
        return Err(match read {
            _ if !whole => PhotoProblem::Cut { share_there },
            Err(DecodeErrors::FormatStatic(text)) if text.contains("Extra bytes") => {
                return Ok(Err(HeaderPadding));
            }
            _ => damaged(&match share_there {
                Some(share) => {
                    format!(
                        "its data cannot be read beyond about {} % of the picture",
                        (share * 100.0).floor()
                    )
                }
                None => "its data contradict each other".to_owned(),
            }),
        });
    }
    let (rgb, opaque) = layout.to_rgb(samples, 255);
    Ok(Ok(Decoded {
        width: frame.width,
        height: frame.height,
        samples: Samples::U8(rgb),
        opaque,
        grey: layout.grey,
        chroma_subsampled: frame.chroma_subsampled,
        colour: icc.map_or(StatedColour::Nothing, StatedColour::Icc),
        camera,
        already_upright: false,
    }))
}

fn damaged(detail: &str) -> PhotoProblem {
    PhotoProblem::Damaged { detail: detail.to_owned() }
}

fn variety(detail: String) -> PhotoProblem {
    PhotoProblem::Variety { format: "JPEG", detail }
}

fn refusal(error: &DecodeErrors) -> PhotoProblem {
    match error {
        DecodeErrors::Unsupported(scheme) => variety(format!("{scheme:?}")),
        _ => damaged("its headers cannot be read"),
    }
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
    /// Where the data after the frame header begin.
    scan_from: usize,
}

impl Frame {
    /// Walks the marker segments up to the frame header.
    fn find(bytes: &[u8]) -> Option<Frame> {
        let mut at = 2;
        loop {
            // Any number of 0xFF may fill up before a marker.
            while *bytes.get(at)? != 0xff {
                at += 1;
            }
            while *bytes.get(at)? == 0xff {
                at += 1;
            }
            let marker = *bytes.get(at)?;
            at += 1;
            if matches!(marker, 0x00 | 0x01 | 0xd0..=0xd8) {
                continue;
            }
            let length = usize::from(u16::from_be_bytes([*bytes.get(at)?, *bytes.get(at + 1)?]));
            let segment = bytes.get(at + 2..at + length.max(2))?;
            at += length.max(2);
            let is_frame = matches!(marker, 0xc0..=0xcf) && !matches!(marker, 0xc4 | 0xc8 | 0xcc);
            if is_frame {
                return Frame::read(marker, segment, at);
            }
        }
    }

    fn read(marker: u8, segment: &[u8], scan_from: usize) -> Option<Frame> {
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
            scan_from,
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

/// Whether the end-of-image marker stands behind the picture data; inside them 0xFF is always followed by 0
/// or a restart marker, so that it cannot be met by chance.
fn has_end_marker(data: &[u8]) -> bool {
    data.windows(2).rev().any(|pair| pair == [0xff, 0xd9])
}

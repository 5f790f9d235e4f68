//! Makes photo files to test with.

use std::io::Cursor;
use std::path::PathBuf;

use exif::experimental::Writer;
use exif::{Field, In, Tag, Value};
use image::codecs::jpeg::JpegEncoder;
use image::codecs::png::PngEncoder;
use image::codecs::tiff::TiffEncoder;
use image::codecs::webp::WebPEncoder;
use image::{ExtendedColorType, ImageEncoder, Rgb, RgbImage};
use sameshot::photo::{Limits, Photo, PhotoError, decode};
use sameshot::raster::Samples;

/// A file of the repository's tests.
pub(crate) fn path(folder: &str, name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests").join(folder).join(name)
}

pub(crate) fn sample(name: &str) -> Vec<u8> {
    std::fs::read(path("photos", name)).expect(name)
}

pub(crate) fn open(bytes: &[u8]) -> Result<Photo, PhotoError> {
    decode(bytes, &Limits::default())
}

/// Samples of an 8-bit photo.
pub(crate) fn codes8(photo: &Photo) -> &[u8] {
    match photo.raster.samples() {
        Samples::U8(v) => v,
        other => panic!("not 8 bit: {other:?}"),
    }
}

/// Samples of a 16-bit photo.
pub(crate) fn codes16(photo: &Photo) -> &[u16] {
    match photo.raster.samples() {
        Samples::U16(v) => v,
        _ => panic!("not 16 bit"),
    }
}

/// A picture with detail everywhere, so that a missing part is seen.
pub(crate) fn busy_picture(width: u32, height: u32) -> RgbImage {
    RgbImage::from_fn(width, height, |x, y| {
        let n = (x.wrapping_mul(2_654_435_761) ^ y.wrapping_mul(40_503)).wrapping_mul(2_246_822_519) >> 27;
        Rgb([(40 + x * 150 / width + n) as u8, (60 + y * 130 / height + n) as u8, (90 + n) as u8])
    })
}

/// A picture of four plain quarters, which survives JPEG.
pub(crate) fn quarters(width: u32, height: u32) -> RgbImage {
    RgbImage::from_fn(width, height, |x, y| match (x < width / 2, y < height / 2) {
        (true, true) => Rgb([200, 60, 60]),
        (false, true) => Rgb([60, 180, 60]),
        (true, false) => Rgb([60, 60, 190]),
        (false, false) => Rgb([210, 210, 210]),
    })
}

/// Which encoder and what goes with the picture.
#[derive(Default, Clone)]
pub(crate) struct With {
    pub(crate) icc: Option<Vec<u8>>,
    pub(crate) exif: Option<Vec<u8>>,
}

pub(crate) fn jpeg(picture: &RgbImage, with: With) -> Vec<u8> {
    let mut out = Vec::new();
    encode(
        JpegEncoder::new_with_quality(&mut out, 90),
        picture,
        picture.dimensions(),
        ExtendedColorType::Rgb8,
        with,
    );
    out
}

pub(crate) fn png(data: &[u8], size: (u32, u32), kind: ExtendedColorType, with: With) -> Vec<u8> {
    let mut out = Vec::new();
    encode(PngEncoder::new(&mut out), data, size, kind, with);
    out
}

pub(crate) fn tiff(data: &[u8], size: (u32, u32), kind: ExtendedColorType, with: With) -> Vec<u8> {
    let mut out = Cursor::new(Vec::new());
    encode(TiffEncoder::new(&mut out), data, size, kind, with);
    out.into_inner()
}

pub(crate) fn webp(data: &[u8], size: (u32, u32), kind: ExtendedColorType, with: With) -> Vec<u8> {
    let mut out = Vec::new();
    encode(WebPEncoder::new_lossless(&mut out), data, size, kind, with);
    out
}

fn encode(
    mut encoder: impl ImageEncoder,
    data: &[u8],
    size: (u32, u32),
    kind: ExtendedColorType,
    with: With,
) {
    if let Some(icc) = with.icc {
        encoder.set_icc_profile(icc).unwrap();
    }
    if let Some(exif) = with.exif {
        encoder.set_exif_metadata(exif).unwrap();
    }
    encoder.write_image(data, size.0, size.1, kind).unwrap();
}

/// Native-endian bytes of 16-bit samples, as the encoders want them.
pub(crate) fn bytes_of(samples: &[u16]) -> Vec<u8> {
    samples.iter().flat_map(|v| v.to_ne_bytes()).collect()
}

/// Raw EXIF data with these fields.
pub(crate) fn exif(fields: Vec<(Tag, Value)>) -> Vec<u8> {
    let fields: Vec<Field> =
        fields.into_iter().map(|(tag, value)| Field { tag, ifd_num: In::PRIMARY, value }).collect();
    let mut writer = Writer::new();
    fields.iter().for_each(|field| writer.push_field(field));
    let mut out = Cursor::new(Vec::new());
    writer.write(&mut out, false).unwrap();
    out.into_inner()
}

/// An uncompressed 8-bit RGB TIFF with more fields.
pub(crate) fn tiff_with_fields(picture: &RgbImage, mut fields: Vec<(Tag, Value)>) -> Vec<u8> {
    fields.extend([
        (Tag::ImageWidth, Value::Long(vec![picture.width()])),
        (Tag::ImageLength, Value::Long(vec![picture.height()])),
        (Tag::BitsPerSample, Value::Short(vec![8, 8, 8])),
        (Tag::Compression, Value::Short(vec![1])),
        (Tag::PhotometricInterpretation, Value::Short(vec![2])),
        (Tag::SamplesPerPixel, Value::Short(vec![3])),
        (Tag::RowsPerStrip, Value::Long(vec![picture.height()])),
    ]);
    let fields: Vec<Field> =
        fields.into_iter().map(|(tag, value)| Field { tag, ifd_num: In::PRIMARY, value }).collect();
    let mut writer = Writer::new();
    fields.iter().for_each(|field| writer.push_field(field));
    let strips: [&[u8]; 1] = [picture.as_raw()];
    writer.set_strips(&strips, In::PRIMARY);
    let mut out = Cursor::new(Vec::new());
    writer.write(&mut out, true).unwrap();
    out.into_inner()
}

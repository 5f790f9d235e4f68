//! A photo as a file: JPEG with colour at half resolution and the EXIF of a telephone.

use exif::experimental::Writer;
use exif::{Field, In, Rational, Tag, Value};
use jpeg_encoder::{ColorType, Encoder, SamplingFactor};

use super::RenderedPhoto;

/// Why a photo could not be written.
#[derive(Debug, thiserror::Error)]
pub enum WriteProblem {
    /// The picture could not be coded.
    #[error("the picture cannot be coded as JPEG: {0}")]
    Jpeg(#[from] jpeg_encoder::EncodingError),
    /// The facts about the shot could not be coded.
    #[error("the facts about the shot cannot be coded as EXIF: {0}")]
    Exif(#[from] exif::Error),
}

/// The bytes of the JPEG file. A seller's picture carries no EXIF, as sites strip it.
pub fn jpeg_of(photo: &RenderedPhoto) -> Result<Vec<u8>, WriteProblem> {
    let mut bytes = Vec::new();
    let mut encoder = Encoder::new(&mut bytes, photo.quality);
    encoder.set_sampling_factor(SamplingFactor::F_2_2);
    encoder.set_optimized_huffman_tables(true);
    if !photo.is_stripped {
        encoder
            .add_app_segment(1, [b"Exif\0\0".as_slice(), &facts(photo.white_balance_automatic)?].concat())?;
    }
    // Sides of a rendered photo are far below the limit of the format.
    encoder.encode(&photo.rgb, photo.width as u16, photo.height as u16, ColorType::Rgb)?;
    Ok(bytes)
}

fn facts(white_balance_automatic: bool) -> Result<Vec<u8>, exif::Error> {
    let ratio = |num, denom| Value::Rational(vec![Rational { num, denom }]);
    let text = |words: &str| Value::Ascii(vec![words.as_bytes().to_vec()]);
    let values = [
        (Tag::Make, text("Invented")),
        (Tag::Model, text("Demo telephone")),
        (Tag::Software, text("sameshot demo")),
        (Tag::ExposureTime, ratio(1, 60)),
        (Tag::FNumber, ratio(18, 10)),
        (Tag::PhotographicSensitivity, Value::Short(vec![80])),
        (Tag::ExposureBiasValue, Value::SRational(vec![exif::SRational { num: 0, denom: 1 }])),
        (Tag::Flash, Value::Short(vec![16])),
        (Tag::FocalLength, ratio(57, 10)),
        (Tag::ColorSpace, Value::Short(vec![1])),
        (Tag::WhiteBalance, Value::Short(vec![u16::from(!white_balance_automatic)])),
    ];
    let fields: Vec<Field> =
        values.into_iter().map(|(tag, value)| Field { tag, ifd_num: In::PRIMARY, value }).collect();
    let mut writer = Writer::new();
    for field in &fields {
        writer.push_field(field);
    }
    let mut bytes = std::io::Cursor::new(Vec::new());
    writer.write(&mut bytes, false)?;
    Ok(bytes.into_inner())
}

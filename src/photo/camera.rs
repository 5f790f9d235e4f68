//! What the camera wrote about the shot (EXIF), read with distrust: any field may lie.

use exif::{Context, Exif, In, Reader, Tag, Value};

use super::colour::StatedColour;
use super::guard::guarded;
use crate::raster::Turn;

/// Reads what can be read of raw EXIF data (a TIFF structure); `None` where that is nothing.
pub(super) fn parse(raw: Vec<u8>) -> Option<Exif> {
    let read = || {
        Reader::new()
            .continue_on_error(true)
            .read_raw(raw)
            .or_else(|error| error.distill_partial_result(|_| {}))
            .ok()
            .filter(|exif| exif.fields().next().is_some())
    };
    guarded(read).flatten()
}

/// Whether a TIFF is a camera's raw file: its first picture is a thumbnail or a colour filter mosaic, or it
/// says it is a DNG.
pub(super) fn is_raw_file(exif: &Exif) -> bool {
    const NEW_SUBFILE_TYPE: Tag = Tag(Context::Tiff, 0x00fe);
    const DNG_VERSION: Tag = Tag(Context::Tiff, 0xc612);
    let reduced = unsigned(exif, NEW_SUBFILE_TYPE).is_some_and(|kind| kind & 1 == 1);
    let mosaic = unsigned(exif, Tag::PhotometricInterpretation) == Some(32_803);
    reduced || mosaic || exif.get_field(DNG_VERSION, In::PRIMARY).is_some()
}

/// The stated orientation: `Err` holds a value that is no orientation.
pub(super) fn orientation(exif: &Exif) -> Result<Turn, u32> {
    match unsigned(exif, Tag::Orientation) {
        None => Ok(Turn::UPRIGHT),
        Some(value) => Turn::from_exif(value).ok_or(value),
    }
}

/// The colour space that EXIF states (EXIF 2.32, ColorSpace; DCF 2.0, interoperability index R03).
pub(super) fn stated_colour(exif: &Exif) -> StatedColour {
    let index = text(exif, Tag::InteroperabilityIndex);
    match (unsigned(exif, Tag::ColorSpace), index.as_deref()) {
        (Some(1), _) => StatedColour::Srgb("sRGB, as the camera says"),
        // 2 is in no standard, but some cameras write it.
        (Some(2), _) | (Some(0xffff), Some("R03")) => {
            StatedColour::AdobeRgb("Adobe RGB (1998), as the camera says")
        }
        _ => StatedColour::Nothing,
    }
}

/// Numbers and words of the shot, each only where it makes sense.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Shot {
    pub(super) camera: Option<String>,
    pub(super) taken: Option<String>,
    pub(super) exposure_s: Option<f64>,
    pub(super) f_number: Option<f64>,
    pub(super) iso: Option<u32>,
    pub(super) bias_ev: Option<f64>,
    pub(super) white_balance_automatic: Option<bool>,
    pub(super) light_source: Option<&'static str>,
    pub(super) flash_fired: Option<bool>,
    /// The camera says it rendered this picture in a special way (HDR, portrait and the like).
    pub(super) rendered_specially: bool,
    pub(super) digital_zoom: Option<f64>,
    /// Contrast and saturation that were set away from normal, in words.
    pub(super) style: Vec<&'static str>,
}

/// Reads the facts of the shot.
pub(super) fn shot(exif: &Exif) -> Shot {
    let zoom = number(exif, Tag::DigitalZoomRatio).filter(|z| (1.0..=100.0).contains(z));
    Shot {
        camera: camera_name(text(exif, Tag::Make), text(exif, Tag::Model)),
        taken: text(exif, Tag::DateTimeOriginal)
            .or_else(|| text(exif, Tag::DateTime))
            .filter(|t| is_moment(t)),
        exposure_s: number(exif, Tag::ExposureTime).filter(|t| (1e-6..=86_400.0).contains(t)),
        f_number: number(exif, Tag::FNumber).filter(|f| (0.1..=1000.0).contains(f)),
        iso: unsigned(exif, Tag::PhotographicSensitivity).filter(|iso| (1..=10_000_000).contains(iso)),
        bias_ev: number(exif, Tag::ExposureBiasValue).filter(|ev| ev.abs() <= 20.0),
        white_balance_automatic: match unsigned(exif, Tag::WhiteBalance) {
            Some(0) => Some(true),
            Some(1) => Some(false),
            _ => None,
        },
        light_source: unsigned(exif, Tag::LightSource).and_then(light_source),
        flash_fired: unsigned(exif, Tag::Flash).filter(|&flash| flash <= 0xff).map(|flash| flash & 1 == 1),
        rendered_specially: unsigned(exif, Tag::CustomRendered).is_some_and(|v| (1..=100).contains(&v)),
        digital_zoom: zoom.filter(|&z| z > 1.001),
        style: [
            (Tag::Contrast, ["contrast set to soft", "contrast set to hard"]),
            (Tag::Saturation, ["saturation set to low", "saturation set to high"]),
        ]
        .into_iter()
        .filter_map(|(tag, words)| match unsigned(exif, tag) {
            Some(1) => Some(words[0]),
            Some(2) => Some(words[1]),
            _ => None,
        })
        .collect(),
    }
}

impl Shot {
    /// "1/60 s, f/2.8, ISO 400", as far as known.
    pub(super) fn exposure_in_words(&self) -> Option<String> {
        let time =
            self.exposure_s.map(|t| if t < 0.3 { format!("1/{:.0} s", 1.0 / t) } else { format!("{t} s") });
        let aperture = self.f_number.map(|f| format!("f/{}", (f * 10.0).round() / 10.0));
        let iso = self.iso.map(|iso| format!("ISO {iso}"));
        let parts: Vec<String> = [time, aperture, iso].into_iter().flatten().collect();
        (!parts.is_empty()).then(|| parts.join(", "))
    }
}

/// Maker and model; many models begin with the maker's name already.
fn camera_name(make: Option<String>, model: Option<String>) -> Option<String> {
    match (make, model) {
        (Some(make), Some(model)) => {
            let first = make.split_whitespace().next().unwrap_or_default().to_lowercase();
            let repeats = model.to_lowercase().starts_with(&first);
            Some(if repeats { model } else { format!("{make} {model}") })
        }
        (make, model) => model.or(make),
    }
}

/// "2024:05:17 14:03:22" with digits where digits belong, and not the all-zero date of an unset clock.
fn is_moment(text: &str) -> bool {
    text.len() == 19
        && !text.starts_with("0000")
        && text.bytes().zip(*b"dddd:dd:dd dd:dd:dd").all(|(byte, shape)| match shape {
            b'd' => byte.is_ascii_digit(),
            _ => byte == shape,
        })
}

/// EXIF 2.32, LightSource; 0 (unknown) and 255 (other) say nothing.
fn light_source(code: u32) -> Option<&'static str> {
    Some(match code {
        1 => "daylight",
        2 | 12..=16 => "fluorescent light",
        3 => "tungsten light",
        4 => "flash",
        9 => "fine weather",
        10 => "a cloudy sky",
        11 => "shade",
        17..=19 => "a standard light",
        20 => "D55",
        21 => "D65",
        22 => "D75",
        23 => "D50",
        24 => "studio tungsten light",
        _ => return None,
    })
}

fn value(exif: &Exif, tag: Tag) -> Option<&Value> {
    exif.get_field(tag, In::PRIMARY).map(|field| &field.value)
}

fn unsigned(exif: &Exif, tag: Tag) -> Option<u32> {
    value(exif, tag)?.get_uint(0)
}

/// A finite number of any type; a rational of zero denominator is none.
fn number(exif: &Exif, tag: Tag) -> Option<f64> {
    let number = match value(exif, tag)? {
        Value::Rational(v) => v.first()?.to_f64(),
        Value::SRational(v) => v.first()?.to_f64(),
        Value::Float(v) => f64::from(*v.first()?),
        Value::Double(v) => *v.first()?,
        other => f64::from(other.get_uint(0)?),
    };
    number.is_finite().then_some(number)
}

/// Readable text of at most 80 characters, without control characters.
fn text(exif: &Exif, tag: Tag) -> Option<String> {
    let bytes = match value(exif, tag)? {
        Value::Ascii(lines) => lines.first()?,
        _ => return None,
    };
    let text: String = String::from_utf8_lossy(bytes).chars().filter(|c| !c.is_control()).take(80).collect();
    let text = text.trim();
    (!text.is_empty()).then(|| text.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exposure_reads_as_photographers_write_it() {
        let shot =
            Shot { exposure_s: Some(1.0 / 60.0), f_number: Some(2.8), iso: Some(400), ..Shot::default() };
        assert_eq!(shot.exposure_in_words().as_deref(), Some("1/60 s, f/2.8, ISO 400"));
        let long = Shot { exposure_s: Some(2.5), ..Shot::default() };
        assert_eq!(long.exposure_in_words().as_deref(), Some("2.5 s"));
        assert_eq!(Shot::default().exposure_in_words(), None);
    }

    #[test]
    fn dates_that_are_none_are_left_out() {
        assert!(is_moment("2024:05:17 14:03:22"));
        assert!(!is_moment("0000:00:00 00:00:00"));
        assert!(!is_moment("    :  :     :  :  "));
        assert!(!is_moment("yesterday"));
    }
}

//! What the camera wrote, truths and lies.

use exif::{Tag, Value};
use sameshot::photo::Photo;
use sameshot::raster::FactNote;

use crate::files::{self, With, open};

fn photo_with(fields: Vec<(Tag, Value)>) -> Photo {
    let with = With { exif: Some(files::exif(fields)), ..With::default() };
    open(&files::jpeg(&files::quarters(48, 32), with)).unwrap()
}

fn note<'a>(photo: &'a Photo, start: &str) -> Option<&'a FactNote> {
    photo.facts.notes.iter().find(|note| note.fact.starts_with(start))
}

fn text(words: &str) -> Value {
    Value::Ascii(vec![words.as_bytes().to_vec()])
}

#[test]
fn facts_of_a_shot_are_read_and_explained() {
    let photo = photo_with(vec![
        (Tag::Make, text("Ferrowick")),
        (Tag::Model, text("F-12")),
        (Tag::DateTimeOriginal, text("2024:05:17 14:03:22")),
        (Tag::ExposureTime, Value::Rational(vec![(1, 60).into()])),
        (Tag::FNumber, Value::Rational(vec![(28, 10).into()])),
        (Tag::PhotographicSensitivity, Value::Short(vec![3200])),
        (Tag::ExposureBiasValue, Value::SRational(vec![(-4, 3).into()])),
        (Tag::WhiteBalance, Value::Short(vec![0])),
        (Tag::Flash, Value::Short(vec![0x19])),
        (Tag::CustomRendered, Value::Short(vec![1])),
        (Tag::DigitalZoomRatio, Value::Rational(vec![(5, 2).into()])),
        (Tag::Saturation, Value::Short(vec![2])),
        (Tag::ColorSpace, Value::Short(vec![1])),
    ]);
    let facts = &photo.facts;
    assert_eq!(facts.format, "JPEG");
    assert_eq!(facts.camera.as_deref(), Some("Ferrowick F-12"));
    assert_eq!(facts.taken.as_deref(), Some("2024:05:17 14:03:22"));
    assert_eq!(facts.exposure.as_deref(), Some("1/60 s, f/2.8, ISO 3200"));
    assert!((facts.exposure_bias_ev.unwrap() + 4.0 / 3.0).abs() < 1e-12);
    assert_eq!(facts.white_balance_automatic, Some(true));
    assert_eq!(facts.flash_fired, Some(true));
    assert_eq!(facts.profile.as_deref(), Some("sRGB, as the camera says"));
    for start in [
        "flash fired",
        "rendered specially",
        "white balance automatic",
        "exposure corrected by -1.3 EV",
        "digital zoom 2.5×",
        "saturation set to high",
        "high sensitivity (ISO 3200)",
    ] {
        let note = note(&photo, start).unwrap_or_else(|| panic!("no note on: {start}"));
        println!("{}: {}", note.fact, note.meaning);
        assert!(note.meaning.len() > 30, "{note:?}");
    }
}

#[test]
fn a_quiet_shot_raises_no_alarm() {
    let photo = photo_with(vec![
        (Tag::WhiteBalance, Value::Short(vec![1])),
        (Tag::Flash, Value::Short(vec![0x10])),
        (Tag::ExposureBiasValue, Value::SRational(vec![(1, 3).into()])),
        (Tag::DigitalZoomRatio, Value::Rational(vec![(1, 1).into()])),
    ]);
    assert_eq!(photo.facts.flash_fired, Some(false));
    assert_eq!(photo.facts.white_balance_automatic, Some(false));
    for start in
        ["flash", "exposure corrected", "digital zoom", "rendered", "high sensitivity", "no camera data"]
    {
        assert_eq!(note(&photo, start), None, "{start}");
    }
    assert_eq!(note(&photo, "white balance set by hand").unwrap().meaning, "");
}

#[test]
fn no_camera_data_is_told() {
    let photo = open(&files::jpeg(&files::quarters(48, 32), With::default())).unwrap();
    assert!(note(&photo, "no camera data").is_some());
    assert!(note(&photo, "no colour profile").is_some());
}

#[test]
fn lies_do_no_harm() {
    let photo = photo_with(vec![
        (Tag::Orientation, Value::Short(vec![77])),
        (Tag::ExposureTime, Value::Rational(vec![(1, 0).into()])),
        (Tag::FNumber, Value::Rational(vec![(0, 0).into()])),
        (Tag::ExposureBiasValue, Value::SRational(vec![(i32::MIN, -1).into()])),
        (Tag::PhotographicSensitivity, Value::Long(vec![u32::MAX])),
        (Tag::DigitalZoomRatio, Value::Rational(vec![(u32::MAX, 1).into()])),
        (Tag::Flash, Value::Rational(vec![(1, 0).into()])),
        (Tag::WhiteBalance, Value::Short(vec![40_000])),
        (Tag::DateTimeOriginal, text("yesterday\u{7}\u{1b}[31m")),
        (Tag::Make, Value::Ascii(vec![[b"F\x1b[2J".as_slice(), &[b'x'; 70_00]].concat()])),
        (Tag::ColorSpace, Value::Short(vec![9])),
    ]);
    let facts = &photo.facts;
    assert_eq!((photo.raster.width(), photo.raster.height()), (48, 32));
    assert!(note(&photo, "orientation entry 77").is_some());
    assert_eq!(facts.exposure, None);
    assert_eq!(facts.exposure_bias_ev, None);
    assert_eq!(facts.flash_fired, None);
    assert_eq!(facts.white_balance_automatic, None);
    assert_eq!(facts.taken, None);
    assert_eq!(facts.profile, None);
    let camera = facts.camera.as_deref().unwrap();
    assert!(camera.chars().count() <= 80 && !camera.chars().any(char::is_control), "{camera}");
    assert_eq!(note(&photo, "digital zoom"), None);
}

/// Counts that reach far beyond the data, an offset to itself, and 65535 entries of which none is there.
#[test]
fn huge_counts_do_no_harm() {
    let entry = |tag: u16, kind: u16, count: u32, value: u32| {
        [&tag.to_be_bytes()[..], &kind.to_be_bytes(), &count.to_be_bytes(), &value.to_be_bytes()].concat()
    };
    let head = b"MM\0*\0\0\0\x08";
    let camera = entry(0x0110, 2, u32::MAX, 8);
    let own_offset = entry(0x8769, 4, 1, 8);
    let data = [
        [head, &[0, 2][..], &camera, &own_offset, &[0, 0, 0, 8]].concat(),
        [head, &[0xff, 0xff][..], &camera].concat(),
        [head, &[0, 1][..], &entry(0x0112, 3, 0x4000_0000, 0x0006_0000), &[0; 4]].concat(),
        b"MM\0*\xff\xff\xff\xff".to_vec(),
        b"Exif but not really".to_vec(),
    ];
    for raw in data {
        let with = With { exif: Some(raw), ..With::default() };
        let photo = open(&files::jpeg(&files::quarters(48, 32), with)).unwrap();
        assert_eq!(photo.raster.width(), 48);
        assert_eq!(photo.facts.camera, None);
    }
}

/// A TIFF whose first picture is a thumbnail is a raw file; measuring the thumbnail would be wrong.
#[test]
fn raw_files_in_tiff_clothes_are_refused() {
    let thumbnail = (Tag(exif::Context::Tiff, 0x00fe), Value::Long(vec![1]));
    let error = open(&files::tiff_with_fields(&files::quarters(8, 8), vec![thumbnail])).unwrap_err();
    assert!(error.to_string().contains("raw file"), "{error}");
    assert!(open(&files::tiff_with_fields(&files::quarters(8, 8), vec![])).is_ok());
}

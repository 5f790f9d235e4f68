//! The same colours in different colour spaces measure the same.

use std::io::Write as _;

use exif::{Tag, Value};
use image::ExtendedColorType;
use moxcms::{ColorProfile, ToneReprCurve};
use palette::chromatic_adaptation::AdaptIntoUnclamped;
use palette::convert::FromColorUnclamped;
use palette::rgb::{Rgb, RgbStandard};
use palette::white_point::{D50, D65};
use palette::{LinSrgb, Xyz, encoding};
use sameshot::color::{Lab, ciede2000, lab_in_d50_from_linear_srgb};
use sameshot::photo::Photo;
use sameshot::raster::Coding;

use crate::files::{self, With, open};

fn lab_at(photo: &Photo, x: u32) -> Lab {
    lab_in_d50_from_linear_srgb(photo.raster.linear_at(x, 0).map(f64::from))
}

/// Largest difference in L*, a* or b*.
fn apart(p: Lab, q: Lab) -> f64 {
    (p.l - q.l).abs().max((p.a - q.a).abs()).max((p.b - q.b).abs())
}

/// Ordinary colours, inside all three gamuts.
fn colours() -> Vec<LinSrgb<f64>> {
    const STEPS: [f64; 4] = [0.03, 0.12, 0.3, 0.65];
    (0..64).map(|i| LinSrgb::new(STEPS[i / 16], STEPS[i / 4 % 4], STEPS[i % 4])).collect()
}

fn colours_in_xyz() -> Vec<Xyz<D65, f64>> {
    colours().into_iter().map(Xyz::from_color_unclamped).collect()
}

/// A profile made by `moxcms` of an RGB space of `palette`, and the codes 0..1 of the colours in it.
fn space<S>(curve: ToneReprCurve) -> (ColorProfile, Vec<f64>)
where
    S: RgbStandard,
    Rgb<S, f64>: FromColorUnclamped<Xyz<D65, f64>>,
    Xyz<D65, f64>: FromColorUnclamped<Rgb<S, f64>>,
{
    let codes = colours_in_xyz().into_iter().flat_map(|in_d65| {
        let in_space = Rgb::<S, f64>::from_color_unclamped(in_d65);
        [in_space.red, in_space.green, in_space.blue]
    });
    let colorant = |r: f64, g: f64, b: f64| {
        let in_d65 = Xyz::<D65, f64>::from_color_unclamped(Rgb::<S, f64>::new(r, g, b));
        let xyz: Xyz<D50, f64> = in_d65.adapt_into_unclamped();
        moxcms::Xyzd { x: xyz.x, y: xyz.y, z: xyz.z }
    };
    let mut profile = ColorProfile::new_srgb();
    profile.cicp = None;
    profile.red_colorant = colorant(1.0, 0.0, 0.0);
    profile.green_colorant = colorant(0.0, 1.0, 0.0);
    profile.blue_colorant = colorant(0.0, 0.0, 1.0);
    profile.red_trc = Some(curve.clone());
    profile.green_trc = Some(curve.clone());
    profile.blue_trc = Some(curve);
    (profile, codes.collect())
}

#[test]
fn three_profiles_measure_the_same() {
    let srgb_curve = ColorProfile::new_srgb().red_trc.unwrap();
    // The exponent of Adobe RGB (1998), 563/256, as palette has it.
    let gamma = ToneReprCurve::Lut(vec![563]);
    let spaces = [
        ("sRGB", space::<encoding::Srgb>(srgb_curve.clone())),
        ("Display P3", space::<encoding::DisplayP3>(srgb_curve)),
        ("Adobe RGB like", space::<encoding::AdobeRgb>(gamma)),
    ];
    let truth: Vec<Lab> =
        colours().into_iter().map(|c| lab_in_d50_from_linear_srgb([c.red, c.green, c.blue])).collect();
    let count = truth.len() as u32;
    for (name, (profile, codes)) in spaces {
        let with = With { icc: Some(profile.encode().unwrap()), ..With::default() };
        let narrow: Vec<u8> = codes.iter().map(|v| (v * 255.0).round() as u8).collect();
        let wide: Vec<u16> = codes.iter().map(|v| (v * 65_535.0).round() as u16).collect();
        let narrow = files::png(&narrow, (count, 1), ExtendedColorType::Rgb8, with.clone());
        let wide = files::png(&files::bytes_of(&wide), (count, 1), ExtendedColorType::Rgb16, with);
        // An 8-bit code is half a step off at most; what that is in Lab depends on the colour.
        for (bits, file, median_limit, limit) in [(8, narrow, 0.3, 0.7), (16, wide, 0.02, 0.02)] {
            let photo = open(&file).unwrap();
            let mut off: Vec<f64> = (0..count).map(|x| apart(lab_at(&photo, x), truth[x as usize])).collect();
            off.sort_by(f64::total_cmp);
            let (median, worst) = (off[off.len() / 2], off[off.len() - 1]);
            println!("{name}, {bits} bit: median {median:.4}, worst {worst:.4}");
            assert!(median < median_limit && worst < limit, "{name}, {bits} bit: {median} {worst}");
            assert!(photo.facts.profile.is_some());
        }
    }
}

/// Profiles written by hand, Lab by PyPI colour-science 0.4.7 (`tests/photos/make.py`); the table profiles
/// are met at their nodes.
#[test]
fn profiles_agree_with_colour_science() {
    let table = String::from_utf8(files::sample("profile-lab.csv")).unwrap();
    let mut rows: Vec<(String, Vec<f64>)> = Vec::new();
    for line in table.lines().skip(1) {
        let (name, numbers) = line.split_once(',').unwrap();
        rows.push((name.to_owned(), numbers.split(',').map(|v| v.parse().unwrap()).collect()));
    }
    // The sRGB of colour-science has the standard's matrix, rounded to four decimals. Tables are resampled on
    // the way, which costs the more the coarser and the more bent they are; 6 nodes a side is very coarse.
    let limits = [
        ("srgb.icc", 0.03),
        ("p3-curve.icc", 0.01),
        ("p3-points.icc", 0.01),
        ("adobe.icc", 0.01),
        ("p3-table.icc", 0.15),
        ("p3-table-perceptual.icc", 0.8),
    ];
    for (profile, limit) in limits {
        let own: Vec<&Vec<f64>> = rows.iter().filter(|(name, _)| name == profile).map(|(_, v)| v).collect();
        assert_eq!(own.len(), 20, "{profile}");
        let codes: Vec<u8> = own.iter().flat_map(|v| [v[0] as u8, v[1] as u8, v[2] as u8]).collect();
        let with = With { icc: Some(files::sample(profile)), ..With::default() };
        let photo = open(&files::png(&codes, (20, 1), ExtendedColorType::Rgb8, with)).unwrap();
        let worst = own
            .iter()
            .zip(0..)
            .map(|(v, x)| ciede2000(lab_at(&photo, x), Lab::new(v[3], v[4], v[5])))
            .fold(0.0, f64::max);
        println!("{profile}: CIEDE2000 at most {worst:.4} ({:?})", photo.facts.profile);
        assert!(worst < limit, "{profile}: {worst}");
        assert!(photo.facts.profile.is_some(), "{profile}");
    }
}

#[test]
fn an_srgb_profile_is_plain_srgb() {
    let codes = [10, 20, 30];
    for icc in [files::sample("srgb.icc"), ColorProfile::new_srgb().encode().unwrap()] {
        let with = With { icc: Some(icc), ..With::default() };
        let photo = open(&files::png(&codes, (1, 1), ExtendedColorType::Rgb8, with)).unwrap();
        assert_eq!(photo.raster.coding(), &Coding::srgb(256));
    }
}

#[test]
fn a_grey_profile_is_applied_to_grey_and_only_to_grey() {
    let with = With { icc: Some(files::sample("grey-1.8.icc")), ..With::default() };
    let grey = open(&files::png(&[128], (1, 1), ExtendedColorType::L8, with.clone())).unwrap();
    let expected = (128f64 / 255.0).powf(1.8);
    for v in grey.raster.linear_at(0, 0) {
        assert!((f64::from(v) - expected).abs() < 1e-3, "{v} {expected}");
    }
    let rgb = open(&files::png(&[128; 3], (1, 1), ExtendedColorType::Rgb8, with)).unwrap();
    assert_eq!(rgb.raster.coding(), &Coding::srgb(256));
    assert!(rgb.facts.notes.iter().any(|note| note.fact.starts_with("broken colour profile")));
}

#[test]
fn a_broken_profile_is_left_aside_and_told() {
    let mut absurd = ColorProfile::new_srgb();
    absurd.red_trc = Some(ToneReprCurve::Lut(vec![0; 16]));
    let whole = ColorProfile::new_display_p3().encode().unwrap();
    for icc in [whole[..150].to_vec(), absurd.encode().unwrap(), b"no profile at all".to_vec()] {
        let with = With { icc: Some(icc), ..With::default() };
        let photo = open(&files::jpeg(&files::quarters(48, 32), with)).unwrap();
        assert_eq!(photo.raster.coding(), &Coding::srgb(256));
        assert_eq!(photo.facts.profile, None);
        let note = photo.facts.notes.iter().find(|n| n.fact.starts_with("broken colour profile")).unwrap();
        assert!(note.meaning.contains("sRGB is assumed"));
    }
    let photo = sameshot::photo::read(&files::path("bad-photos", "broken-profile.png")).unwrap();
    assert_eq!(photo.facts.profile, None);
}

/// DCF 2.0: uncalibrated with interoperability index R03 is Adobe RGB (1998).
#[test]
fn adobe_rgb_by_exif_is_honoured() {
    let codes = [100, 200, 50];
    let fields = vec![
        (Tag::ColorSpace, Value::Short(vec![0xffff])),
        (Tag::InteroperabilityIndex, Value::Ascii(vec![b"R03".to_vec()])),
    ];
    let by_exif = With { exif: Some(files::exif(fields)), ..With::default() };
    let by_icc = With { icc: Some(files::sample("adobe.icc")), ..With::default() };
    let open_with = |with| open(&files::png(&codes, (1, 1), ExtendedColorType::Rgb8, with)).unwrap();
    let (p, q) = (open_with(by_exif), open_with(by_icc));
    assert!(apart(lab_at(&p, 0), lab_at(&q, 0)) < 0.05);
    assert!(apart(lab_at(&p, 0), lab_at(&open_with(With::default()), 0)) > 5.0);
    assert_eq!(p.facts.profile.as_deref(), Some("Adobe RGB (1998), as the camera says"));
}

/// A 1×1 PNG with more chunks before its data.
fn png_with_chunks(codes: [u8; 3], chunks: &[(&[u8; 4], &[u8])]) -> Vec<u8> {
    let plain = files::png(&codes, (1, 1), ExtendedColorType::Rgb8, With::default());
    // Signature and header take 8 + 25 bytes.
    let mut file = plain[..33].to_vec();
    for (name, body) in chunks {
        file.write_all(&(body.len() as u32).to_be_bytes()).unwrap();
        let start = file.len();
        file.extend_from_slice(*name);
        file.extend_from_slice(body);
        let crc = crc32(&file[start..]);
        file.extend_from_slice(&crc.to_be_bytes());
    }
    file.extend_from_slice(&plain[33..]);
    file
}

/// W3C PNG, third edition, annex D.
fn crc32(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(!0u32, |crc, &byte| {
        (0..8).fold(crc ^ u32::from(byte), |c, _| if c & 1 == 1 { 0xedb8_8320 ^ (c >> 1) } else { c >> 1 })
    })
}

#[test]
fn colour_chunks_of_png_are_honoured() {
    let codes = [100, 200, 50];
    let plain = open(&png_with_chunks(codes, &[])).unwrap();
    let numbers = |values: &[u32]| values.iter().flat_map(|v| v.to_be_bytes()).collect::<Vec<u8>>();
    let srgb_gamma = numbers(&[45_455]);
    let linear_gamma = numbers(&[100_000]);
    let p3 = numbers(&[31_270, 32_900, 68_000, 32_000, 26_500, 69_000, 15_000, 6_000]);

    let srgb = open(&png_with_chunks(codes, &[(b"sRGB", &[0]), (b"gAMA", &linear_gamma)])).unwrap();
    assert_eq!(srgb.raster, plain.raster);
    assert_eq!(srgb.facts.profile.as_deref(), Some("sRGB, as the PNG says"));

    let gamma = open(&png_with_chunks(codes, &[(b"gAMA", &srgb_gamma)])).unwrap();
    assert!(apart(lab_at(&gamma, 0), lab_at(&plain, 0)) < 0.01);

    let linear = open(&png_with_chunks(codes, &[(b"gAMA", &linear_gamma)])).unwrap();
    let [r, g, b] = linear.raster.linear_at(0, 0).map(|v| v * 255.0);
    assert!((r - 100.0).abs() < 0.1 && (g - 200.0).abs() < 0.1 && (b - 50.0).abs() < 0.1, "{r} {g} {b}");

    let with = With { icc: Some(files::sample("p3-curve.icc")), ..With::default() };
    let by_icc = open(&files::png(&codes, (1, 1), ExtendedColorType::Rgb8, with)).unwrap();
    let by_chromaticities = open(&png_with_chunks(codes, &[(b"gAMA", &srgb_gamma), (b"cHRM", &p3)])).unwrap();
    assert!(apart(lab_at(&by_chromaticities, 0), lab_at(&by_icc, 0)) < 0.05);
    // ITU-T H.273: primaries 12 are those of P3 with D65, transfer 13 is the curve of sRGB.
    let by_code_points = open(&png_with_chunks(codes, &[(b"cICP", &[12, 13, 0, 1])])).unwrap();
    assert!(apart(lab_at(&by_code_points, 0), lab_at(&by_icc, 0)) < 0.05);
    assert!(apart(lab_at(&plain, 0), lab_at(&by_icc, 0)) > 5.0);

    let hdr = open(&png_with_chunks(codes, &[(b"cICP", &[9, 16, 0, 1])])).unwrap_err();
    assert!(hdr.to_string().contains("HDR") && hdr.remedy().contains("SDR"), "{hdr}");
    // Chromaticities that span nothing are left aside.
    let absurd = open(&png_with_chunks(codes, &[(b"gAMA", &srgb_gamma), (b"cHRM", &[0; 32])])).unwrap();
    assert!(apart(lab_at(&absurd, 0), lab_at(&plain, 0)) < 0.01);
}

#[test]
fn heic_colour_profile_is_applied() {
    let plain = open(&files::sample("gradient.heic")).unwrap();
    let p3 = open(&files::sample("gradient-p3.heic")).unwrap();
    assert_eq!(p3.facts.profile.as_deref(), Some("wide space with a formula"));
    let at = |photo: &Photo| lab_in_d50_from_linear_srgb(photo.raster.linear_at(8, 8).map(f64::from));
    let (p, q) = (at(&plain), at(&p3));
    assert!(q.a > p.a + 5.0, "red of a wider space is redder: {p:?} {q:?}");
}

//! Every format, depth and layout gives the samples that went in.

use exif::{Tag, Value};
use image::{ExtendedColorType, Rgb, RgbImage};
use sameshot::color::srgb_encode;
use sameshot::photo::read;
use sameshot::raster::{Coding, PhotoFacts};

use crate::files::{self, With, codes8, codes16, open};

fn has_note(facts: &PhotoFacts, start: &str) -> bool {
    facts.notes.iter().any(|note| note.fact.starts_with(start))
}

#[test]
fn lossless_formats_keep_8_bit_codes() {
    let picture = files::busy_picture(37, 23);
    let kind = ExtendedColorType::Rgb8;
    let files = [
        ("PNG", files::png(&picture, (37, 23), kind, With::default())),
        ("TIFF", files::tiff(&picture, (37, 23), kind, With::default())),
        ("WebP", files::webp(&picture, (37, 23), kind, With::default())),
    ];
    for (format, file) in files {
        let photo = open(&file).unwrap();
        assert_eq!(photo.facts.format, format);
        assert_eq!((photo.raster.width(), photo.raster.height()), (37, 23), "{format}");
        assert_eq!(codes8(&photo), picture.as_raw().as_slice(), "{format}");
        assert_eq!(photo.raster.coding(), &Coding::srgb(256), "{format}");
        assert!(!photo.facts.chroma_subsampled, "{format}");
        assert_eq!(photo.facts.profile, None, "{format}");
    }
}

#[test]
fn png_and_tiff_keep_16_bit_codes() {
    let samples: Vec<u16> = (0..19 * 11 * 3).map(|i| (i * 1001 % 65_536) as u16).collect();
    let bytes = files::bytes_of(&samples);
    for file in [
        files::png(&bytes, (19, 11), ExtendedColorType::Rgb16, With::default()),
        files::tiff(&bytes, (19, 11), ExtendedColorType::Rgb16, With::default()),
    ] {
        let photo = open(&file).unwrap();
        assert_eq!(codes16(&photo), samples.as_slice());
        assert_eq!(photo.raster.coding(), &Coding::srgb(65_536));
    }
}

#[test]
fn grey_becomes_rgb_and_is_told() {
    let grey: Vec<u8> = (0..12 * 9).map(|i| (i * 2) as u8).collect();
    let expected: Vec<u8> = grey.iter().flat_map(|&v| [v; 3]).collect();
    for file in [
        files::png(&grey, (12, 9), ExtendedColorType::L8, With::default()),
        files::tiff(&grey, (12, 9), ExtendedColorType::L8, With::default()),
    ] {
        let photo = open(&file).unwrap();
        assert_eq!(codes8(&photo), expected);
        assert!(has_note(&photo.facts, "grey picture"));
    }
    let wide: Vec<u16> = grey.iter().map(|&v| u16::from(v) * 257).collect();
    let file = files::png(&files::bytes_of(&wide), (12, 9), ExtendedColorType::L16, With::default());
    let expected: Vec<u16> = wide.iter().flat_map(|&v| [v; 3]).collect();
    assert_eq!(codes16(&open(&file).unwrap()), expected);
}

#[test]
fn pixels_that_are_not_fully_opaque_are_masked() {
    let mut rgba: Vec<u8> = [90, 120, 100, 255].repeat(6);
    rgba[4 + 3] = 254;
    rgba[5 * 4 + 3] = 0;
    for file in [
        files::png(&rgba, (3, 2), ExtendedColorType::Rgba8, With::default()),
        files::tiff(&rgba, (3, 2), ExtendedColorType::Rgba8, With::default()),
        files::webp(&rgba, (3, 2), ExtendedColorType::Rgba8, With::default()),
    ] {
        let photo = open(&file).unwrap();
        let opaque: Vec<bool> = (0..6).map(|i| photo.raster.is_opaque(i % 3, i / 3)).collect();
        assert_eq!(opaque, [true, false, true, true, true, false]);
        assert!(has_note(&photo.facts, "partly transparent"));
    }
    let solid = files::png(&[90, 120, 100, 255].repeat(6), (3, 2), ExtendedColorType::Rgba8, With::default());
    assert!(!has_note(&open(&solid).unwrap().facts, "partly transparent"));
}

/// Palette PNG by Pillow 13.0, beside the same picture saved in full colour.
#[test]
fn palette_png_gives_its_colours() {
    let palette = open(&files::sample("palette.png")).unwrap();
    let full = open(&files::sample("palette.png.png")).unwrap();
    assert_eq!(codes8(&palette), codes8(&full));
}

#[test]
fn one_pixel_is_a_photo() {
    let photo = read(&files::path("bad-photos", "one-pixel.png")).unwrap();
    assert_eq!(codes8(&photo), [0x5a, 0x78, 0x64]);
    assert!(has_note(&photo.facts, "small picture (1×1 pixels)"));
}

/// Sampling factors as Pillow 13.0 was told to write them.
#[test]
fn jpeg_says_whether_colour_was_stored_coarser() {
    for (name, subsampled) in [("progressive.jpg", true), ("restarts.jpg", true), ("full-colour.jpg", false)]
    {
        assert_eq!(open(&files::sample(name)).unwrap().facts.chroma_subsampled, subsampled, "{name}");
    }
}

/// Where each quarter of [`files::quarters`] must lie for each orientation, by EXIF 2.32, tag 0x0112:
/// R(ed) G(reen) over B(lue) W(hite) as coded.
const UPRIGHT: [(u16, &str); 8] =
    [(1, "RGBW"), (2, "GRWB"), (3, "WBGR"), (4, "BWRG"), (5, "RBGW"), (6, "BRWG"), (7, "WGBR"), (8, "GWRB")];

fn quarters_of(photo: &sameshot::photo::Photo) -> String {
    let (w, h) = (photo.raster.width(), photo.raster.height());
    [(1, 1), (3, 1), (1, 3), (3, 3)]
        .map(|(x, y)| {
            let light = photo.raster.linear_at(x * w / 4, y * h / 4);
            match light.map(|v| (255.0 * srgb_encode(f64::from(v))).round() as u8) {
                [r, g, b] if r > 150 && g < 100 && b < 100 => 'R',
                [r, g, b] if r < 100 && g > 130 && b < 100 => 'G',
                [r, g, b] if r < 100 && g < 100 && b > 140 => 'B',
                [r, g, b] if r > 180 && g > 180 && b > 180 => 'W',
                _ => '?',
            }
        })
        .iter()
        .collect()
}

#[test]
fn all_eight_orientations_in_every_format() {
    let picture = files::quarters(48, 32);
    for (value, expected) in UPRIGHT {
        let field = (Tag::Orientation, Value::Short(vec![value]));
        let with = With { exif: Some(files::exif(vec![field.clone()])), ..With::default() };
        let kind = ExtendedColorType::Rgb8;
        let files = [
            files::jpeg(&picture, with.clone()),
            files::png(&picture, (48, 32), kind, with.clone()),
            files::webp(&picture, (48, 32), kind, with),
            files::tiff_with_fields(&picture, vec![field]),
        ];
        for file in files {
            let photo = open(&file).unwrap();
            let format = &photo.facts.format;
            let size = if value < 5 { (48, 32) } else { (32, 48) };
            assert_eq!((photo.raster.width(), photo.raster.height()), size, "{format} {value}");
            assert_eq!(quarters_of(&photo), expected, "{format} {value}");
        }
    }
}

/// HEIC by libheif 1.23 (pillow-heif 1.8), beside what libheif itself decodes from it.
#[test]
fn heic_agrees_with_libheif_within_4_codes() {
    for name in ["gradient.heic", "gradient-full-colour.heic", "gradient-p3.heic", "gradient-turned.heic"] {
        let photo = open(&files::sample(name)).unwrap();
        let reference = open(&files::sample(&format!("{name}.png"))).unwrap();
        assert_eq!(photo.facts.format, "HEIC");
        assert_eq!(photo.raster.width(), reference.raster.width(), "{name}");
        let worst = codes8(&photo).iter().zip(codes8(&reference)).map(|(a, b)| a.abs_diff(*b)).max().unwrap();
        println!("{name}: at most {worst} codes away");
        assert!(worst <= 4, "{name}: {worst}");
        assert_eq!(photo.facts.chroma_subsampled, name != "gradient-full-colour.heic", "{name}");
    }
}

#[test]
fn heic_of_10_bits_keeps_them() {
    let photo = open(&files::sample("gradient-10-bit.heic")).unwrap();
    let reference = open(&files::sample("gradient-10-bit.heic.png")).unwrap();
    let codes = codes16(&photo);
    let worst = codes
        .iter()
        .zip(codes8(&reference))
        .map(|(&wide, &narrow)| (f64::from(wide) / 257.0 - f64::from(narrow)).abs())
        .fold(0.0, f64::max);
    println!("10 bit: at most {worst:.2} codes of 8 bit away");
    // Half a code more than for 8 bit: the reference is rounded to 8 bit.
    assert!(worst <= 4.5, "{worst}");
    let mut levels: Vec<u16> = codes.to_vec();
    levels.sort_unstable();
    levels.dedup();
    assert!(levels.len() > 300, "only {} levels", levels.len());
}

/// The container and EXIF both say "turn it"; turning twice would lay the picture on its side.
#[test]
fn heic_is_turned_once() {
    let photo = open(&files::sample("gradient-turned.heic")).unwrap();
    assert_eq!((photo.raster.width(), photo.raster.height()), (64, 96));
    assert_eq!(photo.facts.camera.as_deref(), Some("Ferrowick"));
    // The red corner lies upper left as coded, so upper right when turned clockwise.
    let red = |x: u32, y: u32| 255.0 * srgb_encode(f64::from(photo.raster.linear_at(x, y)[0]));
    assert!(red(58, 6) > 170.0, "{}", red(58, 6));
    assert!(red(6, 6) < 120.0, "{}", red(6, 6));
}

#[test]
fn jpeg_agrees_with_the_plain_decoder() {
    let picture: RgbImage = files::busy_picture(93, 61);
    let file = files::jpeg(&picture, With::default());
    let reference = image::load_from_memory(&file).unwrap().into_rgb8();
    assert_eq!(codes8(&open(&file).unwrap()), reference.as_raw().as_slice());
    for name in ["progressive.jpg", "restarts.jpg", "full-colour.jpg"] {
        let file = files::sample(name);
        let reference = image::load_from_memory(&file).unwrap().into_rgb8();
        assert_eq!(codes8(&open(&file).unwrap()), reference.as_raw().as_slice(), "{name}");
    }
}

/// Bytes between headers that belong to none, as some cameras leave them.
#[test]
fn filler_between_headers_is_passed_over_and_cuts_are_still_told() {
    let file = files::jpeg(&files::busy_picture(64, 48), With::default());
    let first = 4 + usize::from(u16::from_be_bytes([file[4], file[5]])) - 2 + 2;
    let filled = [&file[..first], &[0; 12], &file[first..]].concat();
    let photo = open(&filled).unwrap();
    assert_eq!(photo.raster, open(&file).unwrap().raster);
    let cut = open(&filled[..filled.len() * 3 / 4]).unwrap_err();
    assert!(cut.to_string().contains("is cut off: about"), "{cut}");
}

/// Phones store a photo as tiles; this one is put together from 3×2 of them, by another encoder than above.
#[test]
fn heic_of_tiles_is_put_together() {
    let (width, height) = (1100, 600);
    let picture = files::quarters(width, height);
    let file =
        heifer::encode_rgb8(width, height, picture.as_raw(), &heifer::EncodeOptions::default()).unwrap();
    let photo = open(&file).unwrap();
    assert_eq!((photo.raster.width(), photo.raster.height()), (width, height));
    assert_eq!(quarters_of(&photo), "RGBW");
    assert!(photo.facts.chroma_subsampled);
    assert_eq!(photo.facts.profile.as_deref(), Some("sRGB, as the file's colour codes say"));
}

/// Encoders with optimised tables write each component as a scan of its own, which some decoders turn into
/// a picture of zeros.
#[test]
fn a_jpeg_in_several_scans_is_read_like_one_in_a_single_scan() {
    use jpeg_encoder::{ColorType, Encoder, SamplingFactor};
    let picture = RgbImage::from_fn(101, 75, |x, y| Rgb([60 + x as u8, 40 + 2 * y as u8, 200 - x as u8]));
    for sampling in [SamplingFactor::F_1_1, SamplingFactor::F_2_1, SamplingFactor::F_2_2] {
        let coded = |in_scans: bool| {
            let mut bytes = Vec::new();
            let mut encoder = Encoder::new(&mut bytes, 95);
            encoder.set_sampling_factor(sampling);
            encoder.set_optimized_huffman_tables(in_scans);
            encoder.encode(&picture, 101, 75, ColorType::Rgb).unwrap();
            bytes
        };
        let (single, several) = (coded(false), coded(true));
        let scans = |bytes: &[u8]| bytes.windows(2).filter(|pair| *pair == [0xff, 0xda]).count();
        assert_eq!((scans(&single), scans(&several)), (1, 3));
        let (single, photo) = (open(&single).unwrap(), open(&several).unwrap());
        let apart = codes8(&single).iter().zip(codes8(&photo)).map(|(p, q)| p.abs_diff(*q)).max().unwrap();
        assert!(apart <= 4, "{sampling:?}: {apart} codes apart");
        assert_eq!(photo.facts.chroma_subsampled, single.facts.chroma_subsampled);
        for cut in [several.len() / 3, several.len() * 2 / 3, several.len() - 3] {
            assert!(open(&several[..cut]).is_err(), "cut at {cut} of {}", several.len());
        }
    }
}

//! Photos and cases that cannot be measured: each is refused by name, with what is wrong.

use std::fs;

use image::RgbImage;
use serde_json::{Value, json};

use crate::bench::{Bench, bench_case};

#[test]
fn bad_photos_are_refused_by_name() {
    let bench = Bench::new();
    let png = fs::read(bench.path("bench.png")).unwrap();
    let mut jpeg = Vec::new();
    bench.photo().write_to(&mut std::io::Cursor::new(&mut jpeg), image::ImageFormat::Jpeg).unwrap();
    let mut one_pixel = Vec::new();
    RgbImage::new(1, 1).write_to(&mut std::io::Cursor::new(&mut one_pixel), image::ImageFormat::Png).unwrap();
    let photos: [(&str, Vec<u8>, &str); 7] = [
        ("zero.jpg", Vec::new(), "empty"),
        ("text.jpg", b"This is no photo.".to_vec(), ""),
        ("cut.jpg", jpeg[..jpeg.len() * 2 / 3].to_vec(), ""),
        ("cut.png", png[..png.len() / 2].to_vec(), ""),
        // Its marks lie outside.
        ("one.png", one_pixel, "outside the photo"),
        ("huge.png", huge_png(), ""),
        ("cmyk.jpg", cmyk_jpeg(&jpeg), "CMYK"),
    ];
    for (name, bytes, wanted) in photos {
        bench.write(name, bytes);
        let mut case = bench_case();
        case["photo"] = name.into();
        let text = bench.refusal(&case.to_string());
        if name != "one.png" {
            assert!(text.contains(name), "{name} is not named: {text}");
        }
        assert!(text.contains(wanted), "{name}: {text}");
    }
    let mut case = bench_case();
    case["photo"] = "gone.jpg".into();
    assert!(bench.refusal(&case.to_string()).contains("gone.jpg"));
    case["photo"] = "bench.png".into();
    case["photo_sha256"] = "0".repeat(64).into();
    assert!(bench.refusal(&case.to_string()).contains("not the photo that was marked"));
}

/// A PNG that says it has 60 000 × 60 000 pixels.
fn huge_png() -> Vec<u8> {
    let mut head = b"IHDR".to_vec();
    head.extend(60_000u32.to_be_bytes());
    head.extend(60_000u32.to_be_bytes());
    head.extend([8, 2, 0, 0, 0]);
    let mut png = b"\x89PNG\r\n\x1a\n".to_vec();
    png.extend(13u32.to_be_bytes());
    png.extend(&head);
    png.extend(crc32(&head).to_be_bytes());
    png.extend(b"\0\0\0\0IDAT\x35\xaf\x06\x1e\0\0\0\0IEND\xae\x42\x60\x82");
    png
}

/// The checksum of a PNG chunk (PNG specification, annex D).
fn crc32(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(!0u32, |crc, byte| {
        (0..8).fold(
            crc ^ u32::from(*byte),
            |crc, _| if crc & 1 == 1 { 0xEDB8_8320 ^ (crc >> 1) } else { crc >> 1 },
        )
    })
}

/// A JPEG whose frame header names four components, with the marker by which Adobe tells CMYK.
fn cmyk_jpeg(jpeg: &[u8]) -> Vec<u8> {
    let frame = jpeg.windows(2).position(|pair| pair == [0xFF, 0xC0]).expect("a baseline JPEG");
    let mut bytes = jpeg[..frame].to_vec();
    bytes.extend(b"\xFF\xEE\x00\x0EAdobe\x00\x64\x00\x00\x00\x00\x00");
    bytes.extend([0xFF, 0xC0, 0, 20, 8, 0, 120, 1, 244, 4]);
    for component in 1..=4u8 {
        bytes.extend([component, 0x11, 0]);
    }
    let length = usize::from(jpeg[frame + 2]) * 256 + usize::from(jpeg[frame + 3]);
    bytes.extend(&jpeg[frame + 2 + length..]);
    bytes
}

#[test]
fn bad_marks_are_refused_by_name() {
    let bench = Bench::new();
    let with = |change: &dyn Fn(&mut Value)| {
        let mut case = bench_case();
        change(&mut case);
        bench.refusal(&case.to_string())
    };
    let far = json!({"circle": {"centre": [9000, 9000], "radius": 20}});
    let bow_tie = json!({"polygon": [[20, 20], [80, 80], [80, 20], [20, 80]]});
    let flat = json!({"polygon": [[20, 20], [80, 20], [50, 20]]});
    let cases = [
        (with(&|case| case["zones"][1]["shape"] = far.clone()), vec!["step 2", "outside the photo"]),
        (with(&|case| case["readings"][0]["shape"] = far.clone()), vec!["left arm", "outside the photo"]),
        (with(&|case| case["zones"][0]["shape"] = bow_tie.clone()), vec!["step 1", "crosses itself"]),
        (with(&|case| case["readings"][1]["shape"] = flat.clone()), vec!["torso", "no area"]),
        (
            with(&|case| case["zones"][1]["id"] = "step 1".into()),
            vec!["zone \"step 1\"", "twice", "Line 1, column"],
        ),
        (with(&|case| case["readings"][1]["id"] = "left arm".into()), vec!["reading \"left arm\"", "twice"]),
        (with(&|case| case["zones"][0]["known"]["sd"][1] = json!(0)), vec!["step 1", "known.sd", "above 0"]),
        (with(&|case| case["zones"][0]["known"]["lab"][0] = json!(1e200)), vec!["step 1", "known.lab", "L*"]),
        (
            with(&|case| case["readings"][0]["shape"]["rect"]["max"][0] = json!(1e30)),
            vec!["left arm", "shape"],
        ),
        (with(&|case| case["zones"][2]["surface"] = "shiny".into()), vec!["step 3", "surface", "`shiny`"]),
        (
            with(&|case| case["zones"][2]["known"] = json!({"shade": "blue/light"})),
            vec!["step 3", "blue/light"],
        ),
        (
            with(&|case| case["references"] = "gone.shades.json".into()),
            vec!["gone.shades.json", "no such file"],
        ),
        (with(&|case| case["references"] = "bench.png".into()), vec!["bench.png", "not UTF-8"]),
        (with(&|case| case["references"] = "bench.case.json".into()), vec!["another kind of file"]),
        (with(&|case| case["photo"] = "../bench.png".into()), vec!["field photo", "leads out of the folder"]),
        (with(&|case| case["photo"] = "/etc/passwd".into()), vec!["field photo", "absolute"]),
        (with(&|case| case["sameshot_case"] = json!(2)), vec!["newer Sameshot"]),
        (with(&|case| drop(case.as_object_mut().unwrap().remove("photo"))), vec!["`photo` is missing"]),
    ];
    for (text, wanted) in cases {
        for word in wanted {
            assert!(text.contains(word), "{word} is missing in: {text}");
        }
    }
    let nan = bench_case().to_string().replacen("60.0", "NaN", 1);
    assert!(bench.refusal(&nan).contains("NaN is no number"));
    let infinite = bench_case().to_string().replacen("60.0", "1e999", 1);
    assert!(bench.refusal(&infinite).contains("too large"));
}

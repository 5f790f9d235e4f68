//! Thousands of files with bytes changed at random: nothing may panic, hang or take memory without bound.

use std::time::{Duration, Instant};

use image::ExtendedColorType;
use rand::{Rng, RngExt, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;
use sameshot::photo::{Limits, PhotoProblem, decode};

use crate::files::{self, With};

/// Changed files a format; the environment variable MUTATIONS asks for more.
fn rounds() -> usize {
    std::env::var("MUTATIONS").ok().and_then(|text| text.parse().ok()).unwrap_or(700)
}

/// Far above the 0.2 s of the slowest file seen, so that only a hang fails on a busy machine.
const LONGEST: Duration = Duration::from_secs(30);

fn mutate(file: &[u8], random: &mut impl Rng) -> Vec<u8> {
    let mut bad = file.to_vec();
    for _ in 0..random.random_range(1..6) {
        // Headers are where sizes and counts lie, so half of the changes go there.
        let reach = if random.random_bool(0.5) { bad.len().min(600) } else { bad.len() };
        let at = random.random_range(0..reach);
        match random.random_range(0..4) {
            0 => bad[at] ^= 1 << random.random_range(0..8),
            1 => bad[at] = random.random(),
            2 => bad[at] = [0, 0xff, 0x7f, 0x80][random.random_range(0..4)],
            _ => {
                let end = (at + random.random_range(1..9)).min(bad.len());
                bad[at..end].fill(0xff);
            }
        }
    }
    if random.random_bool(0.1) {
        bad.truncate(random.random_range(0..bad.len()));
    }
    bad
}

#[test]
fn no_mutation_brings_a_decoder_down() {
    let picture = files::busy_picture(40, 30);
    let (size, kind) = ((40, 30), ExtendedColorType::Rgb8);
    let exif = files::exif(vec![
        (exif::Tag::Orientation, exif::Value::Short(vec![6])),
        (exif::Tag::Make, exif::Value::Ascii(vec![b"Ferrowick".to_vec()])),
        (exif::Tag::ExposureTime, exif::Value::Rational(vec![(1, 60).into()])),
    ]);
    let with = |icc: &str| With { icc: Some(files::sample(icc)), exif: Some(exif.clone()) };
    let icc_only = |icc: &str| With { icc: Some(files::sample(icc)), exif: None };
    let whole = [
        ("JPEG", files::jpeg(&picture, with("p3-curve.icc"))),
        ("JPEG with a table", files::jpeg(&picture, with("p3-table.icc"))),
        ("progressive JPEG", files::sample("progressive.jpg")),
        ("PNG", files::png(&picture, size, kind, with("adobe.icc"))),
        ("TIFF", files::tiff(&picture, size, kind, icc_only("p3-points.icc"))),
        ("WebP", files::webp(&picture, size, kind, with("p3-curve.icc"))),
        ("HEIC", files::sample("gradient-p3.heic")),
    ];
    let limits = Limits { pixels: 4_000_000, memory_bytes: 64 << 20, ..Limits::default() };
    let mut random = Xoshiro256PlusPlus::seed_from_u64(1);
    for (name, file) in whole {
        let (mut read, mut refused, mut panicked) = (0, 0, 0);
        let mut longest = Duration::ZERO;
        // Resampling a table takes a hundred times as long as decoding so small a picture.
        let rounds = if name.contains("table") { rounds().div_ceil(10) } else { rounds() };
        for _ in 0..rounds {
            let start = Instant::now();
            let outcome = decode(&mutate(&file, &mut random), &limits);
            longest = longest.max(start.elapsed());
            match outcome {
                Ok(photo) => {
                    let last = photo.raster.linear_at(photo.raster.width() - 1, photo.raster.height() - 1);
                    assert!(last.iter().all(|v| v.is_finite()), "{name}: {last:?}");
                    read += 1;
                }
                Err(error) => match error.problem() {
                    PhotoProblem::Damaged { detail } if detail.contains("gave up") => panicked += 1,
                    _ => refused += 1,
                },
            }
        }
        println!(
            "{name}: {read} read, {refused} refused, {panicked} decoder panics caught, longest {longest:?}"
        );
        assert!(longest < LONGEST, "{name}: {longest:?}");
        assert!(read > 0 && refused > 0, "{name}: the changes test nothing");
    }
}

//! Trays of 12 megapixels: the shade map against three shades, and finding card and parts.
//!
//! `cargo bench --bench speed -- tray`. What the map is held against is measured on the same machine by `benches/tray_peer.py`,
//! whose head says how to run it: `skimage.color.deltaE_ciede2000` (PyPI scikit-image) three times on the Lab of the
//! same picture.

use divan::Bencher;
use image::RgbImage;
use image::imageops::{FilterType, resize};
use sameshot::color::Lab;
use sameshot::photo::{Limits, decode};
use sameshot::raster::{Coding, Raster, Samples};
use sameshot::tray::found::look;
use sameshot::tray::shade_map::shade_map;

/// A photo of the demo, 4032 pixels wide.
fn photo(name: &str) -> Raster {
    let path = format!("{}/assets/demo/{name}.jpg", env!("CARGO_MANIFEST_DIR"));
    let decoded = decode(&std::fs::read(path).unwrap(), &Limits::default()).unwrap().raster;
    let Samples::U8(samples) = decoded.samples() else { panic!("8 bits") };
    let photo = RgbImage::from_raw(decoded.width(), decoded.height(), samples.clone()).unwrap();
    let height = 4032 * photo.height() / photo.width();
    let large =
        if photo.width() == 4032 { photo } else { resize(&photo, 4032, height, FilterType::CatmullRom) };
    Raster::new(4032, height, Samples::U8(large.into_raw()), Coding::srgb(256), None).unwrap()
}

#[divan::bench(sample_count = 10)]
fn shade_map_of_12_megapixels(bencher: Bencher) {
    let raster = photo("bench");
    let shades = [Lab::new(56.0, -16.0, 7.0), Lab::new(52.0, -17.5, 7.5), Lab::new(47.0, -17.0, 8.0)];
    bencher.bench_local(|| shade_map(&raster, [1.0; 3], &shades).unwrap());
}

#[divan::bench(sample_count = 10)]
fn card_and_parts_of_12_megapixels(bencher: Bencher) {
    let raster = photo("tray");
    bencher.bench_local(|| look(&raster, true));
}

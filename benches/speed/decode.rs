//! How much longer a photo takes than the plain decode of the `image` crate, for all that is needed before
//! the first picture appears: strict decoding, camera data, colour profile, turning upright.
//!
//! `cargo bench --bench speed -- decode`; compare the lines of one run with each other.

use std::hint::black_box;

use divan::Bencher;
use image::codecs::jpeg::JpegEncoder;
use image::metadata::Orientation;
use image::{DynamicImage, ExtendedColorType, ImageEncoder, RgbImage};
use sameshot::photo::{Limits, decode};

const WIDTH: u32 = 4000;
const HEIGHT: u32 = 3000;

/// 12 megapixels of a gradient with the noise of a small sensor, EXIF orientation and a wide colour profile.
fn photo(orientation: u8) -> Vec<u8> {
    let mut state = 1u32;
    let picture = RgbImage::from_fn(WIDTH, HEIGHT, |x, y| {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        let noise = (state >> 28) as u8;
        image::Rgb([(x * 200 / WIDTH) as u8 + noise, (y * 180 / HEIGHT) as u8 + noise, 90 + noise])
    });
    let entry = [0x01, 0x12, 0, 3, 0, 0, 0, 1, 0, orientation, 0, 0];
    let exif = [b"MM\0*\0\0\0\x08\0\x01".as_slice(), &entry, &[0; 4]].concat();
    let mut file = Vec::new();
    let mut encoder = JpegEncoder::new_with_quality(&mut file, 90);
    encoder.set_exif_metadata(exif).unwrap();
    encoder.set_icc_profile(moxcms::ColorProfile::new_display_p3().encode().unwrap()).unwrap();
    encoder.write_image(&picture, WIDTH, HEIGHT, ExtendedColorType::Rgb8).unwrap();
    file
}

#[divan::bench(args = [1, 6])]
fn plain_image_crate(bencher: Bencher, orientation: u8) {
    let file = photo(orientation);
    bencher.bench(|| {
        let mut picture = image::load_from_memory(black_box(&file)).unwrap();
        picture.apply_orientation(Orientation::from_exif(orientation).unwrap());
        picture
    });
}

#[divan::bench(args = [1, 6])]
fn sameshot_photo(bencher: Bencher, orientation: u8) {
    let file = photo(orientation);
    bencher.bench(|| decode(black_box(&file), &Limits::default()).unwrap());
}

/// Decoding alone, for turned photos too: the yardstick of the 1.3.
#[divan::bench]
fn plain_image_crate_not_turned(bencher: Bencher) {
    let file = photo(6);
    bencher.bench(|| -> DynamicImage { image::load_from_memory(black_box(&file)).unwrap() });
}

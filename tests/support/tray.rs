//! The demo's tray made smaller, which is found and measured as well and sooner.

use image::RgbImage;
use image::imageops::{FilterType, resize};
use sameshot::photo::{Limits, decode};
use sameshot::raster::Samples;

use crate::demo::demo;

/// The tray so many pixels wide.
pub(crate) fn small_tray(width: u32) -> RgbImage {
    // Read as the program reads photos.
    let photo = decode(&std::fs::read(demo("tray.jpg")).unwrap(), &Limits::default()).unwrap().raster;
    let Samples::U8(samples) = photo.samples() else { panic!("8 bits") };
    let whole = RgbImage::from_raw(photo.width(), photo.height(), samples.clone()).unwrap();
    resize(&whole, width, width * photo.height() / photo.width(), FilterType::Triangle)
}

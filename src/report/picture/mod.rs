//! A photo with its marks and results drawn on, as a picture to keep or to send.
//!
//! The left part is the photo, made smaller in linear light, with every mark outlined and named. The right
//! part says for each reading what was found, with the bars of all parts on one axis. Black, white and
//! words carry all meaning; colour carries none.

mod canvas;
mod panel;
mod photo;
mod shades;
mod tags;
mod tray;

use image::RgbImage;

use crate::case::CaseDocument;
use crate::measure::Measurement;
use crate::raster::Raster;
use crate::shade::References;
use canvas::Canvas;
pub use canvas::PictureProblem;
pub use photo::smaller as thumbnail;
pub(super) use photo::smaller;
pub use shades::shade_map_picture;
pub(super) use tags::free_place;
pub use tray::{contact_sheet, tray_picture};

/// What to draw.
#[derive(Debug, Clone, Copy)]
pub struct PictureInputs<'a> {
    /// The upright photo.
    pub raster: &'a Raster,
    /// Its marks.
    pub case: &'a CaseDocument,
    /// What was measured.
    pub measurement: &'a Measurement,
    /// The names of the shades.
    pub references: Option<&'a References>,
    /// Over the results, such as the name of the photo.
    pub title: &'a str,
    /// The probability that a call needed, 0.5..1.
    pub confidence: f64,
}

/// Pixels across the photo's part of the picture.
const PHOTO_WIDTH_PX: u32 = 1500;

/// Draws the picture, about 2200 pixels wide.
pub fn result_picture(inputs: &PictureInputs) -> Result<RgbImage, PictureProblem> {
    let photo = photo::smaller(inputs.raster, PHOTO_WIDTH_PX);
    let panel = panel::layout(inputs)?;
    let height = photo.height().max(panel.height_px());
    let mut canvas = Canvas::new([photo.width() + panel::WIDTH_PX, height], panel::PAPER)?;
    canvas.put(&photo);
    let scale = photo.width() as f32 / inputs.raster.width() as f32;
    tags::draw(&mut canvas, inputs.case, scale, (photo.width(), photo.height()));
    panel::draw(&mut canvas, &panel, photo.width() as f32);
    Ok(canvas.into_image())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::{Known, ReadingMark, ZoneMark};
    use crate::measure::{Call, Difference, Interval, PixelCounts, ReadingResult, ShadeProbability};
    use crate::raster::{Coding, Samples, Shape};

    #[test]
    fn marks_and_results_are_drawn_and_odd_ones_do_no_harm() {
        let raster =
            Raster::new(300, 200, Samples::U8(vec![128; 300 * 200 * 3]), Coding::srgb(256), None).unwrap();
        let mut case = CaseDocument::new("a.png");
        let grey = Known::Lab { lab: [50.0, 0.0, 0.0], sd: [0.5; 3] };
        let card = Shape::Rect { min: [10.0, 10.0], max: [40.0, 40.0] };
        case.zones.push(ZoneMark::new("step 1", card, grey));
        let shapes = [
            Shape::Circle { centre: [150.0, 100.0], radius: 30.0 },
            Shape::Polygon(vec![[200.0, 20.0], [280.0, 30.0], [240.0, 90.0]]),
            Shape::Polygon(vec![]),
            Shape::Circle { centre: [f64::NAN, 1.0], radius: -5.0 },
            Shape::Rect { min: [-1e9, 50.0], max: [1e9, 10.0] },
        ];
        let names = [
            "left arm",
            "torso",
            "nothing",
            "not a number",
            "緑 and very long indeed, longer than any panel is wide",
        ];
        for (shape, name) in shapes.into_iter().zip(names) {
            case.readings.push(ReadingMark::new(name, shape));
        }
        let wide = Interval { median: f64::NAN, low: -3.0, high: f64::INFINITY };
        let reading = |id: &str| ReadingResult {
            id: id.into(),
            lab: [50.0, 0.0, 0.0],
            cov: [[1.0; 3]; 3],
            pixels: PixelCounts::default(),
            differences: vec![Difference { shade: "green/light".into(), de00: wide }],
            shades: vec![ShadeProbability { shade: Some("green/light".into()), probability: 0.4 }],
            call: Some(Call::Undecided),
            budget: vec![],
            warnings: vec![],
        };
        let measurement = Measurement {
            readings: names.iter().map(|name| reading(name)).collect(),
            ..Measurement::default()
        };
        let inputs = PictureInputs {
            raster: &raster,
            case: &case,
            measurement: &measurement,
            references: None,
            title: "a.png",
            confidence: 0.95,
        };
        let picture = result_picture(&inputs).unwrap();
        assert_eq!(picture.width(), 300 + panel::WIDTH_PX);
        // Grey photo, untouched where nothing is marked.
        assert_eq!(picture.get_pixel(100, 190).0, [128; 3]);
        // The outline of the disc, white on black.
        let row: Vec<u8> = (110..130).map(|x| picture.get_pixel(x, 100).0[0]).collect();
        assert!(row.iter().any(|v| *v > 200) && row.iter().any(|v| *v < 60), "{row:?}");
        // Something is written on the panel.
        let dark = picture.enumerate_pixels().filter(|(x, _, pixel)| *x > 300 && pixel.0[0] < 80).count();
        assert!(dark > 500, "{dark}");
    }
}

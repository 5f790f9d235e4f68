//! A sorted tray as a picture: outlines and numbers over the photo, the piles beside it. Line patterns say what was
//! decided, so that no colour is needed: an even outline is a called part, a dashed one is open.

use image::RgbImage;
use tiny_skia::PathBuilder;

use super::canvas::{Canvas, Pen, PictureProblem, text_width_px};
use super::photo;
use crate::measure::Call;
use crate::raster::Raster;
use crate::report::words::shade_name;
use crate::shade::References;
use crate::tray::sort::{SortedTray, piles, reading_id};

/// Pixels across the photo's part of the picture, and across the list of piles.
const PHOTO_WIDTH_PX: u32 = 1600;
const LIST_WIDTH_PX: u32 = 420;
const PAPER: u8 = 250;

/// Draws a sorted tray, 2020 pixels wide.
pub fn tray_picture(
    raster: &Raster,
    sorted: &SortedTray,
    references: Option<&References>,
    title: &str,
) -> Result<RgbImage, PictureProblem> {
    let photo = photo::smaller(raster, PHOTO_WIDTH_PX);
    let scale = f64::from(photo.width()) / f64::from(raster.width());
    let (width, height) = (photo.width(), photo.height());
    let mut canvas = Canvas::new([width + LIST_WIDTH_PX, height.max(600)], PAPER)?;
    canvas.put(&photo);
    for card in &sorted.cards {
        for step in &card.steps {
            if let crate::raster::Shape::Polygon(corners) = &step.shape {
                outline(&mut canvas, corners, scale, true);
            }
        }
    }
    for part in &sorted.tray.parts {
        let id = reading_id(part.number);
        let reading = sorted.measurement.readings.iter().find(|reading| reading.id == id);
        let is_called = matches!(reading.and_then(|reading| reading.call.as_ref()), Some(Call::Shade(_)));
        outline(&mut canvas, &part.outline, scale, !is_called);
    }
    for part in &sorted.tray.parts {
        let text = if part.doubts.is_empty() { part.number.to_string() } else { format!("{}?", part.number) };
        let wide = text_width_px(canvas.font(), &text, 22.0);
        let [x, y] = part.centre.map(|v| (v * scale) as f32);
        canvas.fill_box(x - wide / 2.0 - 4.0, y - 13.0, wide + 8.0, 25.0, 20);
        canvas.text(x - wide / 2.0, y + 8.0, 22.0, 255, &text);
    }
    list(&mut canvas, sorted, references, title, width as f32 + 24.0);
    Ok(canvas.into_image())
}

fn outline(canvas: &mut Canvas, corners: &[[f64; 2]], scale: f64, is_dashed: bool) {
    let mut path = PathBuilder::new();
    for (n, corner) in corners.iter().enumerate() {
        let [x, y] = corner.map(|v| (v * scale) as f32);
        if n == 0 { path.move_to(x, y) } else { path.line_to(x, y) }
    }
    path.close();
    let Some(path) = path.finish() else { return };
    canvas.outline(&path, Pen { width_px: 4.5, grey: 0, is_dashed: false });
    canvas.outline(&path, Pen { width_px: 2.0, grey: 255, is_dashed });
}

fn list(canvas: &mut Canvas, sorted: &SortedTray, references: Option<&References>, title: &str, x: f32) {
    let mut y = 40.0;
    canvas.text(x, y, 26.0, 0, title);
    y += 34.0;
    let cards: Vec<String> = sorted
        .cards
        .iter()
        .map(|card| {
            format!("card: {} marks, {} greys, quality {:.2}", card.marks, card.steps.len(), card.quality)
        })
        .collect();
    for line in if cards.is_empty() { vec!["no card found".to_owned()] } else { cards } {
        canvas.text(x, y, 18.0, 60, &line);
        y += 24.0;
    }
    for pile in piles(sorted, references) {
        y += 16.0;
        let name = match &pile.call {
            Call::Shade(id) => shade_name(references, id),
            Call::Undecided => "undecided".into(),
            Call::None => "none of these shades".into(),
        };
        canvas.text(x, y, 22.0, 0, &format!("{name}: {}", pile.numbers.len()));
        y += 26.0;
        for line in wrapped(&pile.numbers) {
            canvas.text(x, y, 18.0, 30, &line);
            y += 23.0;
        }
    }
    y += 18.0;
    let pairs: Vec<String> = sorted
        .pairs
        .iter()
        .map(|pair| format!("{} with {}", sorted.tray.parts[pair.a].number, sorted.tray.parts[pair.b].number))
        .collect();
    if !pairs.is_empty() {
        canvas.text(x, y, 22.0, 0, "may be left and right");
        y += 26.0;
        for three in pairs.chunks(3) {
            canvas.text(x, y, 18.0, 30, &three.join(",  "));
            y += 23.0;
        }
    }
    y += 18.0;
    for line in ["even outline: called", "dashed outline: open", "?: outline is doubtful"] {
        canvas.text(x, y, 16.0, 90, line);
        y += 21.0;
    }
}

fn wrapped(numbers: &[usize]) -> Vec<String> {
    let words: Vec<String> = numbers.iter().map(ToString::to_string).collect();
    words.chunks(12).map(|line| line.join(", ")).collect()
}

/// Small pictures side by side with their names, for a glance over a folder.
pub fn contact_sheet(pictures: &[(String, RgbImage)]) -> Result<RgbImage, PictureProblem> {
    const COLUMNS: u32 = 3;
    const CELL: [u32; 2] = [640, 430];
    let rows = (pictures.len() as u32).div_ceil(COLUMNS).max(1);
    let mut canvas = Canvas::new([COLUMNS * CELL[0], rows * CELL[1]], PAPER)?;
    let mut sheet_parts = Vec::new();
    for (n, (name, picture)) in pictures.iter().enumerate() {
        let [x, y] = [n as u32 % COLUMNS * CELL[0], n as u32 / COLUMNS * CELL[1]];
        let fit = (f64::from(CELL[0] - 20) / f64::from(picture.width()))
            .min(f64::from(CELL[1] - 50) / f64::from(picture.height()))
            .min(1.0);
        let [w, h] = [picture.width(), picture.height()].map(|v| ((f64::from(v) * fit) as u32).max(1));
        sheet_parts.push((x + 10, y + 34, image::imageops::thumbnail(picture, w, h)));
        canvas.text(x as f32 + 10.0, y as f32 + 25.0, 20.0, 0, name);
    }
    let mut sheet = canvas.into_image();
    for (x, y, small) in sheet_parts {
        image::imageops::replace(&mut sheet, &small, i64::from(x), i64::from(y));
    }
    Ok(sheet)
}

//! The results beside the photo.

use ab_glyph::FontRef;

use super::PictureInputs;
use super::canvas::{Canvas, Grey, Pen, PictureProblem, font, text_width_px};
use crate::measure::{Call, Interval};
use crate::report::axis::Axis;
use crate::report::words::{capital, percent, shade_name, verdict};

/// Pixels across.
pub(super) const WIDTH_PX: u32 = 700;

const MARGIN_PX: f32 = 28.0;
const BAR_LEFT_PX: f32 = 268.0;
const BAR_RIGHT_PX: f32 = 578.0;
const ROW_PX: f32 = 26.0;
const INK: Grey = 15;
const FAINT: Grey = 85;
/// Behind the results.
pub(super) const PAPER: Grey = 244;

/// What is on the panel, from top to bottom.
pub(super) struct Panel {
    rows: Vec<Row>,
    axis: Axis,
}

enum Row {
    Text { size_px: f32, grey: Grey, text: String },
    Gap(f32),
    Scale,
    Shade { name: String, difference: Interval, probability: String, is_called: bool },
    Plain { name: String, probability: String, is_called: bool },
}

impl Row {
    fn height_px(&self) -> f32 {
        match self {
            Row::Text { size_px, .. } => size_px * 1.3,
            Row::Gap(height) => *height,
            Row::Scale => 30.0,
            Row::Shade { .. } | Row::Plain { .. } => ROW_PX,
        }
    }
}

impl Panel {
    pub(super) fn height_px(&self) -> u32 {
        (self.rows.iter().map(Row::height_px).sum::<f32>() + 2.0 * MARGIN_PX).ceil() as u32
    }
}

/// Sets the panel out.
pub(super) fn layout(inputs: &PictureInputs) -> Result<Panel, PictureProblem> {
    let font = font()?;
    let mut rows = Vec::new();
    add_text(&mut rows, &font, 30.0, INK, inputs.title);
    let legend =
        "Difference to each shade in CIEDE2000: median (dot) and 95 % interval (bar), all on one scale";
    add_text(&mut rows, &font, 19.0, FAINT, legend);
    rows.push(Row::Scale);
    for (index, reading) in inputs.measurement.readings.iter().enumerate() {
        let said = verdict(reading, &inputs.measurement.light, inputs.references, inputs.confidence);
        rows.push(Row::Gap(if index == 0 { 0.0 } else { 14.0 }));
        add_text(&mut rows, &font, 26.0, INK, &format!("{}  {}: {}", index + 1, reading.id, said.headline));
        for difference in &reading.differences {
            let entry = reading.shades.iter().find(|entry| entry.shade.as_ref() == Some(&difference.shade));
            rows.push(Row::Shade {
                name: shade_name(inputs.references, &difference.shade),
                difference: difference.de00,
                probability: entry.map(|entry| percent(entry.probability)).unwrap_or_default(),
                is_called: reading.call == Some(Call::Shade(difference.shade.clone())),
            });
        }
        if let Some(none) = reading.shades.iter().find(|entry| entry.shade.is_none()) {
            let is_called = reading.call == Some(Call::None);
            rows.push(Row::Plain {
                name: "none of these".into(),
                probability: percent(none.probability),
                is_called,
            });
        }
    }
    let warnings = &inputs.measurement.light.warnings;
    if !warnings.is_empty() {
        rows.push(Row::Gap(22.0));
        add_text(&mut rows, &font, 22.0, INK, "About the photo");
    }
    for warning in warnings {
        add_text(&mut rows, &font, 19.0, FAINT, &format!("{} {}", capital(&warning.text), warning.remedy));
    }
    Ok(Panel { rows, axis: Axis::of(inputs.measurement) })
}

/// Draws the panel with its left edge at `left`.
pub(super) fn draw(canvas: &mut Canvas, panel: &Panel, left: f32) {
    canvas.fill_box(left, 0.0, WIDTH_PX as f32, canvas.height_px() as f32, PAPER);
    let mut top = MARGIN_PX;
    for row in &panel.rows {
        let bottom = top + row.height_px();
        match row {
            Row::Text { size_px, grey, text } => {
                canvas.text(left + MARGIN_PX, top + size_px, *size_px, *grey, text)
            }
            Row::Gap(_) => {}
            Row::Scale => draw_scale(canvas, &panel.axis, left, bottom),
            Row::Shade { name, difference, probability, is_called } => {
                draw_bar(canvas, &panel.axis, difference, *is_called, [left, top, bottom]);
                draw_words(canvas, name, probability, *is_called, [left, top]);
            }
            Row::Plain { name, probability, is_called } => {
                draw_words(canvas, name, probability, *is_called, [left, top]);
            }
        }
        top = bottom;
    }
}

fn x_of(axis: &Axis, value: f64) -> f32 {
    BAR_LEFT_PX + (BAR_RIGHT_PX - BAR_LEFT_PX) * axis.place(value) as f32
}

fn draw_scale(canvas: &mut Canvas, axis: &Axis, left: f32, bottom: f32) {
    for tick in axis.ticks() {
        let number = format!("{tick}");
        let width = text_width_px(canvas.font(), &number, 17.0);
        canvas.text(left + x_of(axis, tick) - width / 2.0, bottom - 5.0, 17.0, FAINT, &number);
    }
}

fn draw_bar(
    canvas: &mut Canvas,
    axis: &Axis,
    difference: &Interval,
    is_called: bool,
    [left, top, bottom]: [f32; 3],
) {
    for tick in axis.ticks() {
        let x = left + x_of(axis, tick);
        canvas.line([x, top], [x, bottom], Pen { width_px: 1.0, grey: 205, is_dashed: false });
    }
    let middle = (top + bottom) / 2.0;
    let (low, high) = (left + x_of(axis, difference.low), left + x_of(axis, difference.high));
    let (grey, thickness) = if is_called { (INK, 7.0) } else { (FAINT, 3.0) };
    canvas.fill_box(low, middle - thickness / 2.0, (high - low).max(2.0), thickness, grey);
    for end in [low, high] {
        canvas.line([end, middle - 7.0], [end, middle + 7.0], Pen { width_px: 2.5, grey, is_dashed: false });
    }
    let median = left + x_of(axis, difference.median);
    canvas.fill_disc(median, middle, 7.5, grey);
    canvas.fill_disc(median, middle, 4.5, 255);
}

fn draw_words(canvas: &mut Canvas, name: &str, probability: &str, is_called: bool, [left, top]: [f32; 2]) {
    let grey = if is_called { INK } else { FAINT };
    if is_called {
        canvas.fill_disc(left + MARGIN_PX + 6.0, top + ROW_PX / 2.0, 5.0, INK);
    }
    let name = fitting(canvas.font(), name, 20.0, BAR_LEFT_PX - MARGIN_PX - 34.0);
    canvas.text(left + MARGIN_PX + 18.0, top + 20.0, 20.0, grey, &name);
    let width = text_width_px(canvas.font(), probability, 20.0);
    canvas.text(left + WIDTH_PX as f32 - MARGIN_PX - width, top + 20.0, 20.0, grey, probability);
}

/// A text broken into lines that fit the panel.
fn add_text(rows: &mut Vec<Row>, font: &FontRef, size_px: f32, grey: Grey, text: &str) {
    let room = WIDTH_PX as f32 - 2.0 * MARGIN_PX;
    let mut line = String::new();
    let mut finish = |line: &str| {
        rows.push(Row::Text { size_px, grey, text: fitting(font, line, size_px, room) });
    };
    for word in text.split(' ') {
        let longer = if line.is_empty() { word.to_string() } else { format!("{line} {word}") };
        if !line.is_empty() && text_width_px(font, &longer, size_px) > room {
            finish(&line);
            line = word.to_string();
        } else {
            line = longer;
        }
    }
    finish(&line);
}

/// A text cut so that it fits.
fn fitting(font: &FontRef, text: &str, size_px: f32, room_px: f32) -> String {
    if text_width_px(font, text, size_px) <= room_px {
        return text.to_string();
    }
    let mut cut = text.to_string();
    while cut.pop().is_some() && text_width_px(font, &format!("{cut}…"), size_px) > room_px {}
    format!("{cut}…")
}

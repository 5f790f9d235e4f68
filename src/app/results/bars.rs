//! Differences as bars on the common axis. The bar is the message: it reaches over all that the difference
//! may be at 95 %, its tick is the median. The bar of the shade that was called is solid, others are hatched.

use egui::{Align2, Color32, Painter, Rect, Response, Role, Sense, Stroke, Ui, WidgetInfo, pos2, vec2};

use crate::measure::Interval;

use super::axis::{Axis, Row};
use crate::app::theme::{self, Palette};
use crate::app::words;

/// Share of a row that the names take.
const NAME_SHARE: f32 = 0.39;
/// Room for the words at the right of the axis.
const PERCENT_WIDTH: f32 = 76.0;

/// Height of a row with two names.
pub(in crate::app) const TWO_LINES: f32 = 2.0 * theme::TYPE_BODY + theme::SPACE_M;

/// Where the axis lies in a row of this width.
fn axis_span(rect: Rect) -> (f32, f32) {
    (rect.left() + rect.width() * NAME_SHARE + theme::SPACE_S, rect.right() - PERCENT_WIDTH)
}

/// The axis with its numbers, once above all rows; `at_right` is what stands at the right of the bars.
pub(in crate::app) fn head(ui: &mut Ui, axis: &Axis, title: &str, at_right: &str) {
    let grey = theme::palette(ui);
    let (rect, response) =
        ui.allocate_exact_size(vec2(ui.available_width(), 2.0 * theme::TYPE_BODY + 10.0), Sense::hover());
    // The rows lie inside the frame of their part.
    let inside = rect.shrink2(vec2(theme::SPACE_M + 1.0, 0.0));
    let (left, right) = axis_span(inside);
    let painter = ui.painter_at(rect);
    let text = |x: f32, y: f32, align: Align2, words: &str, colour: Color32| {
        painter.text(pos2(x, y), align, words, theme::small(), colour);
    };
    text(inside.left(), rect.top(), Align2::LEFT_TOP, title, grey.text);
    text(inside.right(), rect.top(), Align2::RIGHT_TOP, at_right, grey.weak);
    for tick in axis.ticks() {
        let x = left + (right - left) * axis.place(tick) as f32;
        text(x, rect.bottom(), Align2::CENTER_BOTTOM, &number(tick), grey.weak);
    }
    response.widget_info(|| {
        let words = format!("Axis: {title}, from 0 to {}", number(axis.end));
        WidgetInfo::labeled(Role::Label, true, words)
    });
}

/// A row for each shade, and the probability of none of them.
pub(super) fn rows(ui: &mut Ui, axis: &Axis, rows: &[Row], none: Option<f64>) {
    let grey = theme::palette(ui);
    ui.scope(|ui| {
        // One ground for all rows: the axis runs through.
        ui.spacing_mut().item_spacing.y = 0.0;
        for row in rows {
            let size = vec2(ui.available_width(), theme::BAR_ROW);
            let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
            let painter = ui.painter_at(rect);
            let (left, right) = axis_span(rect);
            let name = Rect::from_min_max(rect.left_top(), pos2(left - theme::SPACE_S, rect.bottom()));
            paint_name(&painter, name, row, grey);
            paint_bar(&painter, axis, (left, right), rect, row.difference, row.called, grey);
            let text = row.probability.map(words::percent).unwrap_or_default();
            let font = if row.called { theme::body() } else { theme::small() };
            painter.text(rect.right_center(), Align2::RIGHT_CENTER, text, font, grey.text);
            speak(response, row);
        }
    });
    if let Some(none) = none {
        let size = vec2(ui.available_width(), theme::TYPE_BODY + theme::SPACE_S);
        let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
        let painter = ui.painter_at(rect);
        painter.text(rect.left_center(), Align2::LEFT_CENTER, "none of these", theme::small(), grey.weak);
        let text = words::percent(none);
        painter.text(rect.right_center(), Align2::RIGHT_CENTER, &text, theme::small(), grey.text);
        response.widget_info(|| WidgetInfo::labeled(Role::Label, true, format!("none of these: {text}")));
    }
}

/// One bar over the whole width but for the words at its left and right; those at the right as shown and as spoken.
pub(in crate::app) fn row(
    ui: &mut Ui,
    axis: &Axis,
    names: [&str; 2],
    difference: Interval,
    solid: bool,
    (at_right, spoken): (&str, &str),
) {
    let grey = theme::palette(ui);
    let size = vec2(ui.available_width(), TWO_LINES);
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    let painter = ui.painter_at(rect);
    let (left, right) = axis_span(rect);
    for (name, y) in
        names.into_iter().zip([rect.top() + rect.height() * 0.27, rect.top() + rect.height() * 0.73])
    {
        cut_text(&painter, pos2(rect.left(), y), left - theme::SPACE_S - rect.left(), name, grey.text);
    }
    paint_bar(&painter, axis, (left, right), rect, difference, solid, grey);
    painter.text(rect.right_center(), Align2::RIGHT_CENTER, at_right, theme::small(), grey.text);
    let spoken = format!(
        "{} and {}: difference {:.1}, between {:.1} and {:.1}, {spoken}",
        names[0], names[1], difference.median, difference.low, difference.high
    );
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, &spoken));
    response.on_hover_text(interval_words(difference));
}

fn speak(response: Response, row: &Row) {
    let bar = row.difference;
    let probability =
        row.probability.map(|p| format!(", probability {}", words::percent(p))).unwrap_or_default();
    let text = format!(
        "{} {}: difference {:.1}, between {:.1} and {:.1}{probability}",
        row.letter, row.name, bar.median, bar.low, bar.high
    );
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, &text));
    response.on_hover_text(format!("{}: {}", words::capital(&row.name), interval_words(bar)));
}

fn interval_words(bar: Interval) -> String {
    format!("CIEDE2000 {:.1}; with 95 % between {:.1} and {:.1}.", bar.median, bar.low, bar.high)
}

fn paint_bar(
    painter: &Painter,
    axis: &Axis,
    (left, right): (f32, f32),
    rect: Rect,
    difference: Interval,
    solid: bool,
    grey: &Palette,
) {
    let middle = rect.center().y;
    let place = |value: f64| left + (right - left) * axis.place(value) as f32;
    painter.rect_filled(Rect::from_x_y_ranges(left..=right, rect.y_range()), 0.0, grey.field);
    for tick in axis.ticks() {
        painter.vline(place(tick), rect.y_range(), Stroke::new(1.0, grey.line));
    }
    if difference.low >= axis.end {
        let beyond = format!("{:.0} »", difference.median);
        painter.text(pos2(right - 4.0, middle), Align2::RIGHT_CENTER, beyond, theme::small(), grey.text);
        return;
    }
    let (from, to) = (place(difference.low), place(difference.high));
    let bar =
        Rect::from_center_size(pos2((from + to) / 2.0, middle), vec2((to - from).max(2.0), theme::BAR_THICK));
    if solid {
        painter.rect_filled(bar, 2.0, grey.bar);
    } else {
        painter.rect_filled(bar, 2.0, grey.field);
        hatch(&painter.with_clip_rect(bar), bar, 5.0, Stroke::new(1.0, grey.bar_pale));
        painter.rect_stroke(bar, 2.0, Stroke::new(1.5, grey.bar), egui::StrokeKind::Inside);
    }
    if difference.high > axis.end {
        painter.text(pos2(right + 1.0, middle), Align2::LEFT_CENTER, "»", theme::small(), grey.text);
    }
    if difference.median <= axis.end {
        let tick = place(difference.median);
        let half = theme::BAR_THICK / 2.0 + 4.0;
        painter.vline(tick, (middle - half)..=(middle + half), Stroke::new(5.0, grey.field));
        painter.vline(tick, (middle - half)..=(middle + half), Stroke::new(2.5, grey.text));
    }
}

fn paint_name(painter: &Painter, rect: Rect, row: &Row, grey: &Palette) {
    let middle = rect.center().y;
    let letter = painter.text(rect.left_center(), Align2::LEFT_CENTER, row.letter, theme::body(), grey.text);
    // Letters differ in width; the patches stand in one line.
    let mut x = letter.right().max(rect.left() + 11.0) + theme::SPACE_S;
    if let Some([r, g, b]) = row.swatch {
        let patch = Rect::from_min_size(pos2(x, middle - 6.0), vec2(12.0, 12.0));
        painter.rect_filled(patch, 1.0, theme::measured(r, g, b));
        painter.rect_stroke(patch, 1.0, Stroke::new(1.0, grey.border), egui::StrokeKind::Outside);
        x = patch.right() + theme::SPACE_S + 1.0;
    }
    cut_text(painter, pos2(x, middle), rect.right() - x, &row.name, grey.text);
}

/// Small text that ends in an ellipsis where there is no room; `left_middle` is where it begins.
pub(in crate::app) fn cut_text(
    painter: &Painter,
    left_middle: egui::Pos2,
    width: f32,
    text: &str,
    ink: Color32,
) {
    let mut job = egui::text::LayoutJob::simple_singleline(text.to_owned(), theme::small(), ink);
    job.wrap = egui::text::TextWrapping::truncate_at_width(width.max(1.0));
    let galley = painter.layout_job(job);
    painter.galley(left_middle - vec2(0.0, galley.size().y / 2.0), galley, ink);
}

/// Slanting lines across a box; the painter must be clipped to it.
pub(in crate::app) fn hatch(painter: &Painter, rect: Rect, distance: f32, stroke: Stroke) {
    let height = rect.height();
    let mut x = rect.left() - height;
    while x < rect.right() {
        painter.line_segment([pos2(x, rect.bottom()), pos2(x + height, rect.top())], stroke);
        x += distance;
    }
}

fn number(value: f64) -> String {
    if value.fract() == 0.0 { format!("{value:.0}") } else { format!("{value:.1}") }
}

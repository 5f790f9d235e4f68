//! All parts against all, as a grid in a triangle: filled, they differ; slanting lines, they agree; a question mark, the
//! photo does not tell. The list below says the same in words and numbers.

use egui::{Align2, Painter, Pos2, Rect, Role, Sense, Stroke, StrokeKind, Ui, WidgetInfo, pos2, vec2};

use super::alike::Alike;
use super::bars::{cut_text, hatch};
use crate::app::theme::{self, Palette};
use crate::app::words::{self, SamePlastic};

/// Side of a cell, with the gap to the next.
const CELL: f32 = 23.0;
/// Room for the names.
const NAMES: f32 = 104.0;
/// Room for what the cells mean.
const LEGEND: f32 = 100.0;
/// More parts than this are only listed.
pub(super) const MOST: usize = 11;

/// Shows the grid.
pub(super) fn show(ui: &mut Ui, alike: &Alike<'_>) {
    let parts = alike.names.len();
    if !(3..=MOST).contains(&parts) {
        return;
    }
    let grey = theme::palette(ui);
    let size = vec2(ui.available_width(), CELL * parts as f32);
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    let painter = ui.painter_at(rect);
    let corner = pos2(rect.left() + NAMES, rect.top());
    let cell = |column: usize, row: usize| {
        let min = corner + vec2(column as f32, row as f32) * CELL;
        Rect::from_min_size(min, vec2(CELL, CELL)).shrink(1.5)
    };
    for (row, name) in alike.names.iter().enumerate() {
        let diagonal = cell(row, row);
        cut_text(&painter, pos2(rect.left(), diagonal.center().y), NAMES - theme::SPACE_S, name, grey.text);
        number(&painter, diagonal.center(), row, grey);
        for column in 0..row {
            if let Some(pair) = alike.pair(column, row) {
                paint(&painter, cell(column, row), words::same_plastic(pair), grey);
            }
        }
    }
    legend(&painter, pos2(rect.right() - LEGEND, rect.top()), grey);
    response.widget_info(|| {
        WidgetInfo::labeled(Role::Label, true, format!("Grid of {parts} parts against each other"))
    });
    let hovered = response.hover_pos().and_then(|at| {
        let cells = (0..parts).flat_map(|row| (0..row).map(move |column| (column, row)));
        cells.into_iter().find(|(column, row)| cell(*column, *row).expand(1.5).contains(at))
    });
    if let Some(pair) = hovered.and_then(|(column, row)| alike.pair(column, row)) {
        let said = words::said_of_pair(pair, words::same_plastic(pair));
        response.on_hover_text_at_pointer(format!("{} and {}. {said}.", words::capital(&pair.a), pair.b));
    }
}

/// The number of a part, at the end of its row and above its column.
fn number(painter: &Painter, at: Pos2, part: usize, grey: &Palette) {
    painter.text(at, Align2::CENTER_CENTER, part + 1, theme::small(), grey.weak);
}

fn paint(painter: &Painter, rect: Rect, said: SamePlastic, grey: &Palette) {
    match said {
        SamePlastic::Different => {
            painter.rect_filled(rect, 2.0, grey.bar);
        }
        SamePlastic::Agree => {
            painter.rect_filled(rect, 2.0, grey.field);
            hatch(&painter.with_clip_rect(rect), rect, 5.0, Stroke::new(1.0, grey.bar_pale));
            painter.rect_stroke(rect, 2.0, Stroke::new(1.0, grey.border), StrokeKind::Inside);
        }
        SamePlastic::Unknown => {
            painter.rect_stroke(rect, 2.0, Stroke::new(1.0, grey.line), StrokeKind::Inside);
            painter.text(rect.center(), Align2::CENTER_CENTER, "?", theme::small(), grey.text);
        }
    }
}

/// In the corner that the triangle leaves free.
fn legend(painter: &Painter, corner: Pos2, grey: &Palette) {
    for (n, said) in
        [SamePlastic::Different, SamePlastic::Agree, SamePlastic::Unknown].into_iter().enumerate()
    {
        let rect = Rect::from_min_size(corner + vec2(0.0, n as f32 * CELL), vec2(CELL, CELL)).shrink(4.0);
        paint(painter, rect, said, grey);
        let at = pos2(rect.right() + theme::SPACE_M, rect.center().y);
        painter.text(at, Align2::LEFT_CENTER, said.word(), theme::small(), grey.weak);
    }
}

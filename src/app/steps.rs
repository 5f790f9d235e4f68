//! Numbered steps, each with a ring at its left.

use egui::{Align2, Label, RichText, Sense, Stroke, TextStyle, Ui, vec2};

use super::theme;

/// Where a step stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Stage {
    /// It is one of several, in their order.
    Plain,
    /// It has been taken.
    Done,
    /// It is to be taken now.
    Next,
    /// It comes afterwards.
    Later,
}

impl Stage {
    /// Behind the step's name; rings say the same.
    fn word(self) -> &'static str {
        match self {
            Stage::Plain => "",
            Stage::Done => " – done",
            Stage::Next => " – next",
            Stage::Later => " – later",
        }
    }
}

/// Room for a ring.
const ROOM: f32 = 38.0;
/// Radius of the ring.
const RADIUS: f32 = 12.0;

/// One step: its name, what it is about, and what does it.
pub(super) fn step(
    ui: &mut Ui,
    (number, stage): (usize, Stage),
    (name, about): (&str, &str),
    does: impl FnOnce(&mut Ui),
) {
    ui.horizontal_top(|ui| {
        ui.spacing_mut().item_spacing.x = 0.0;
        ring(ui, number, stage);
        let grey = theme::palette(ui);
        ui.vertical(|ui| {
            ui.spacing_mut().item_spacing.x = theme::SPACE_M;
            ui.add_space(name_drop(ui));
            let words = RichText::new(format!("{name}{}", stage.word())).heading();
            ui.label(if stage == Stage::Later { words.color(grey.weak) } else { words });
            ui.add(Label::new(RichText::new(about).color(grey.weak)).wrap());
            does(ui);
        });
    });
    ui.add_space(theme::SPACE_M);
}

/// How far below the top of its ring a step's name begins.
pub(super) fn name_drop(ui: &Ui) -> f32 {
    (theme::TOUCH - ui.text_style_height(&TextStyle::Heading)) / 2.0
}

/// The number in a ring; a tick once the step is done, filled while it is the next.
fn ring(ui: &mut Ui, number: usize, stage: Stage) {
    let (rect, _) = ui.allocate_exact_size(vec2(ROOM, theme::TOUCH), Sense::hover());
    let middle = rect.left_center() + vec2(RADIUS + 1.0, 0.0);
    let (grey, painter) = (theme::palette(ui), ui.painter());
    let ink = match stage {
        Stage::Next => grey.on_chosen,
        Stage::Later => grey.weak,
        Stage::Plain | Stage::Done => grey.text,
    };
    if stage == Stage::Next {
        painter.circle_filled(middle, RADIUS, grey.chosen);
    } else {
        painter.circle_stroke(middle, RADIUS, Stroke::new(grey.edge, grey.border));
    }
    if stage == Stage::Done {
        let tick = [[-5.0, 0.5], [-1.5, 4.0], [5.0, -4.0]].map(|[x, y]| middle + vec2(x, y));
        painter.line(tick.to_vec(), Stroke::new(2.0, ink));
    } else {
        painter.text(middle, Align2::CENTER_CENTER, number, theme::body(), ink);
    }
}

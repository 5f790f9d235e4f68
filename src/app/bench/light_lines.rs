//! The fitted light over the photo as lines of equal strength, dashed where it is hardly known.

use egui::{Label, Painter, Stroke, Ui, pos2, vec2};

use super::view::{Bench, View};
use crate::app::action::Action;
use crate::app::command::Command;
use crate::app::state::State;
use crate::app::theme;

/// Paints the lines over the photo.
pub(super) fn paint(painter: &Painter, state: &State, view: &View, bench: &Bench) {
    let Some(lines) = &state.light_layer.lines else { return };
    let screen = |point_px: [f64; 2]| {
        let at = view.to_screen(bench, point_px);
        pos2(at[0] as f32, at[1] as f32)
    };
    let mut written: Vec<f64> = Vec::new();
    for (number, piece) in lines.pieces.iter().enumerate() {
        if !piece.known && number % 2 == 0 {
            continue;
        }
        let ends = piece.ends_px.map(screen);
        painter.line_segment(ends, Stroke::new(3.5, theme::MARK_UNDER));
        painter.line_segment(ends, Stroke::new(1.5, theme::MARK_OVER));
        // Each line is named once, well inside the photo.
        let inside = (0..2).all(|axis| {
            let share = piece.ends_px[0][axis] / lines.photo_px[axis];
            (0.08..0.92).contains(&share)
        });
        if inside && !written.contains(&piece.percent) {
            written.push(piece.percent);
            let text = format!("{:.0} %", piece.percent);
            let galley = painter.layout_no_wrap(text, theme::small(), theme::MARK_OVER);
            let ground =
                egui::Rect::from_center_size(ends[0], galley.size() + vec2(2.0 * theme::SPACE_S, 2.0));
            painter.rect_filled(ground, 2.0, theme::MARK_UNDER);
            painter.galley(ground.min + vec2(theme::SPACE_S, 1.0), galley, theme::MARK_OVER);
        }
    }
}

/// Says what the lines mean.
pub(in crate::app) fn legend(ui: &mut Ui, state: &State, actions: &mut Vec<Action>) {
    ui.horizontal_wrapped(|ui| {
        ui.strong("Light across the photo:");
        let text = match &state.light_layer.lines {
            Some(lines) => &lines.told,
            None => "The light is not known yet: mark the card or a part of certain shade.",
        };
        ui.add(Label::new(text).wrap());
        if ui.button("Hide the lines").on_hover_text(Command::LightLines.entry().tooltip).clicked() {
            actions.push(Action::Run(Command::LightLines));
        }
    });
}

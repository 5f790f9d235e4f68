//! The panel of the figure: its slots as a plain figure with what is known, the slot looked at, and beside them who it is.

use egui::{Align, Label, Layout, Ui, vec2};

use super::body;
use super::drawing;
use super::finding;
use super::slot;
use crate::app::action::Action;
use crate::app::command::Command;
use crate::app::scrolling::scrolled;
use crate::app::session::Session;
use crate::app::theme;
use crate::app::thumbs::Thumbs;
use crate::app::toolbar;

/// Shows the panel.
pub(in crate::app) fn show(
    ui: &mut Ui,
    session: &Session,
    chosen: Option<&str>,
    thumbs: &mut Thumbs,
    actions: &mut Vec<Action>,
) {
    let Some(guide) = &session.weighing.guide else { return without_guide(ui, session, actions) };
    let findings = session.weighing.findings();
    let found = findings.and_then(Result::ok);
    let headline = match findings {
        Some(Ok(findings)) => crate::app::words::unbroken(&findings.headline()),
        Some(Err(text)) => format!("! {text} Undo the last change, and save your marks."),
        None => "Weighing…".into(),
    };
    // As high with one line as with two, so that nothing jumps while a figure is weighed.
    let lines = 2.0 * ui.text_style_height(&egui::TextStyle::Heading);
    ui.allocate_ui(vec2(ui.available_width(), lines), |ui| {
        ui.set_min_height(lines);
        ui.add(Label::new(egui::RichText::new(headline).heading()).wrap());
    });
    ui.add_space(theme::SPACE_S);
    let mut figure = |ui: &mut Ui, actions: &mut Vec<Action>| {
        let known = body::known(&guide.line, session.case(), session.measurement(), found);
        drawing::show(ui, &guide.line, &known, chosen, actions);
        slot::show(ui, session, (guide, &known), chosen, thumbs, actions);
    };
    let finding = |ui: &mut Ui, actions: &mut Vec<Action>| {
        if let Some(found) = found {
            finding::show(ui, found, &guide.line, actions);
        }
    };
    let room = ui.available_size();
    let beside = room.x - theme::FIGURE_WIDTH - theme::SPACE_L;
    if beside < 220.0 {
        scrolled(ui, "both", |ui| {
            figure(ui, actions);
            ui.separator();
            finding(ui, actions);
        });
        return;
    }
    ui.horizontal_top(|ui| {
        ui.spacing_mut().item_spacing.x = theme::SPACE_L;
        half(ui, "figure", vec2(theme::FIGURE_WIDTH, room.y), |ui| figure(ui, actions));
        half(ui, "finding", vec2(beside, room.y), |ui| finding(ui, actions));
    });
}

/// One of the two columns; each scrolls by itself, so that the ranking stays in sight while a slot is filled in.
fn half(ui: &mut Ui, id: &str, size: egui::Vec2, content: impl FnOnce(&mut Ui)) {
    ui.allocate_ui_with_layout(size, Layout::top_down(Align::Min), |ui| {
        ui.set_width(size.x);
        ui.spacing_mut().item_spacing.x = theme::SPACE_M;
        scrolled(ui, id, content);
    });
}

fn without_guide(ui: &mut Ui, session: &Session, actions: &mut Vec<Action>) {
    ui.add_space(theme::SPACE_M);
    ui.heading("No guide yet");
    let text = match &session.weighing.file {
        Some(file) => format!("The case names {}, which cannot be used. Choose another one.", file.display()),
        None => "A guide lists the characters, runs, moulds and paint of a line. With one, this panel says who the \
                 figure is and which parts do not belong, with a photo or from what you see alone."
            .into(),
    };
    ui.add(Label::new(text).wrap());
    toolbar::command(ui, Command::ChooseGuide, true, actions);
    toolbar::command(ui, Command::EditGuide, true, actions);
}

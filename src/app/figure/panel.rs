//! The panel of the figure: its slots as a plain figure with what is known, the slot looked at, and beside them who it is.

use egui::style::ScrollAnimation;
use egui::{Align, Id, Label, Layout, Rect, Ui, vec2};

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
    let known = body::known(&guide.line, session.case(), session.measurement(), found);
    // As high while it is weighed as with who it is in one line and its parts in the next.
    let lines = 2.0 * ui.text_style_height(&egui::TextStyle::Heading) + theme::SPACE_S;
    ui.allocate_ui(vec2(ui.available_width(), lines), |ui| {
        ui.set_min_height(lines);
        ui.spacing_mut().item_spacing.y = theme::SPACE_S;
        ui.add(Label::new(egui::RichText::new(headline).heading()).wrap());
        if found.is_some() {
            ui.add(Label::new(body::parts_in_a_line(&known)).wrap());
        }
    });
    ui.add_space(theme::SPACE_S);
    let mut figure = |ui: &mut Ui, actions: &mut Vec<Action>| {
        drawing::show(ui, &guide.line, &known, chosen, actions);
        let top = ui.cursor().left_top();
        slot::show(ui, session, (guide, &known), chosen, thumbs, actions);
        bring_into_sight(ui, chosen, Rect::from_min_max(top, ui.min_rect().right_bottom()));
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

/// In a low window what can be said of a slot lies below the edge: it comes up once the slot is chosen.
fn bring_into_sight(ui: &Ui, chosen: Option<&str>, form: Rect) {
    let key = Id::unique("slot brought into sight");
    let before: Option<String> = ui.data(|data| data.get_temp(key));
    if before.as_deref() == chosen {
        return;
    }
    ui.data_mut(|data| match chosen {
        Some(slot) => {
            data.insert_temp(key, slot.to_owned());
        }
        None => data.remove::<String>(key),
    });
    if chosen.is_some() {
        let first = form.with_max_y(form.bottom().min(form.top() + SEEN_AT_LEAST));
        ui.scroll_to_rect_animation(first, None, ScrollAnimation::none());
    }
}

/// So much of it.
const SEEN_AT_LEAST: f32 = 210.0;

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
    ui.add_space(theme::SPACE_S);
    ui.horizontal(|ui| {
        toolbar::command(ui, Command::ChooseGuide, true, actions);
        toolbar::command(ui, Command::NewGuide, true, actions);
    });
}

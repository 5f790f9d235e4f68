//! The column beside the photo: results part by part, parts compared, the photo's facts.

use egui::{Align, Id, Label, Layout, RichText, Ui, vec2};

use crate::case::MarkKey;

use super::axis::Axis;
use super::bars;
use super::facts;
use super::pairs;
use super::part;
use crate::app::action::{Action, Tab};
use crate::app::command::Command;
use crate::app::family;
use crate::app::figure;
use crate::app::scrolling::scrolled;
use crate::app::session::Session;
use crate::app::state::State;
use crate::app::steps::{Stage, step};
use crate::app::theme;
use crate::app::thumbs::Thumbs;
use crate::app::toolbar;
use crate::app::tray;
use crate::app::words;

/// Shows the column.
pub(in crate::app) fn show(ui: &mut Ui, state: &State, thumbs: &mut Thumbs, actions: &mut Vec<Action>) {
    let Some(session) = &state.session else { return };
    ui.horizontal_wrapped(|ui| {
        beside_tabs(ui, state.tab, session);
        // All six in one row of the column's usual width.
        theme::tighten(ui);
        for (command, tab) in [
            (Command::ShowParts, Tab::Parts),
            (Command::ShowPairs, Tab::Pairs),
            (Command::ShowPhoto, Tab::Photo),
            (Command::ShowFamily, Tab::Family),
            (Command::ShowFigure, Tab::Figure),
            (Command::ShowTray, Tab::Tray),
        ] {
            let entry = command.entry();
            let button = toolbar::choice_button(state.tab == tab, entry.text);
            if ui.add(button).on_hover_text(entry.tooltip).clicked() {
                actions.push(Action::Run(command));
            }
        }
    });
    ui.separator();
    match state.tab {
        Tab::Parts => parts(ui, session, state.focus_mark, actions),
        Tab::Pairs => pairs::show(ui, session),
        Tab::Photo => facts::show(ui, session, actions),
        Tab::Family => family::panel::show(ui, session, &state.gathering, actions),
        Tab::Tray => tray::panel::show(ui, state, session, actions),
        Tab::Figure => figure::panel::show(ui, session, state.figure_slot.as_deref(), thumbs, actions),
    }
}

/// What stands at the left of the tabs where the figure makes the column wider: they keep their place on the screen, so
/// that the mouse finds the next one where it saw it.
fn beside_tabs(ui: &mut Ui, tab: Tab, session: &Session) {
    let id = Id::unique("width of the tabs");
    let width = ui.available_width();
    if tab != Tab::Figure {
        ui.data_mut(|data| data.insert_temp(id, width));
        return;
    }
    let usual = ui.data(|data| data.get_temp(id)).unwrap_or(theme::COLUMN_WIDTH - 2.0 * theme::SPACE_M - 1.0);
    let room = width - usual - ui.spacing().item_spacing.x;
    if room < theme::SPACE_XL {
        return;
    }
    let line = session.guide().map(|guide| guide.line.as_str()).unwrap_or_default();
    ui.allocate_ui_with_layout(vec2(room, theme::TOUCH), Layout::left_to_right(Align::Center), |ui| {
        ui.set_width(room);
        ui.add(Label::new(RichText::new(line).heading()).truncate());
    });
}

fn parts(ui: &mut Ui, session: &Session, reveal: bool, actions: &mut Vec<Action>) {
    if let Some(failure) = session.failure() {
        ui.label(RichText::new(format!("! {failure}")).strong());
        return;
    }
    let Some(measurement) = session.measurement() else {
        ui.label("Measuring…");
        return;
    };
    if measurement.readings.is_empty() {
        empty(ui, session);
        left_out(ui, session);
        return;
    }
    let axis = Axis::of_nearest(measurement);
    let compared = measurement.readings.iter().any(|reading| !reading.differences.is_empty());
    if compared {
        if let Some(told) = words::calls_told(measurement, session.references.as_deref()) {
            ui.add(Label::new(told).wrap());
        }
        bars::head(ui, &axis, "Colour difference to each shade, CIEDE2000", "probability");
    }
    scrolled(ui, "parts", |ui| {
        for reading in &measurement.readings {
            let key = MarkKey::reading(&reading.id);
            let selected = session.selected() == Some(&key);
            let mark = crate::app::marks::reading(session.case(), &key);
            let slot = mark.and_then(|mark| mark.slot.as_deref()).map(|slot| session.slot_words(slot));
            let part = part::Part {
                reading,
                light: &measurement.light,
                slot,
                axis: &axis,
                references: session.references.as_deref(),
                selected,
            };
            let shown = part::show(ui, &part, actions);
            if selected && reveal {
                shown.scroll_to_me(None);
            }
            ui.add_space(theme::SPACE_M);
        }
        // Zones left out have their own list below.
        let of_photo = measurement.light.warnings.iter().filter(|warning| warning.code != "zone-left-out");
        let light = words::remedies(of_photo);
        if !light.is_empty() {
            ui.heading("The photo as a whole");
            part::advice(ui, &light);
        }
        left_out(ui, session);
        if !compared {
            toolbar::command(ui, Command::ChooseReferences, true, actions);
        }
    });
}

/// Marks that could not be measured, with what to do about each.
fn left_out(ui: &mut Ui, session: &Session) {
    if session.mark_problems().next().is_some() {
        ui.heading("Left out of the measurement");
    }
    for problem in session.mark_problems() {
        ui.add(Label::new(format!("! {}", problem.text)).wrap());
        ui.indent((problem.kind, &problem.id), |ui| ui.add(Label::new(&problem.remedy).wrap()));
    }
}

/// The way from a photo to a call, and how far this case is on it.
fn empty(ui: &mut Ui, session: &Session) {
    ui.add_space(theme::SPACE_M);
    ui.heading("No part is measured yet");
    ui.add_space(theme::SPACE_S);
    let way = words::way(session.case(), session.references.is_some());
    let now = way.iter().position(|step| !step.done);
    for (i, one) in way.iter().enumerate() {
        let stage = match one.done {
            true => Stage::Done,
            false if now == Some(i) => Stage::Next,
            false => Stage::Later,
        };
        step(ui, (i + 1, stage), (one.name, one.about), |_| ());
    }
}

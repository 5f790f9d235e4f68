//! The column beside the photo: results part by part, parts compared, the photo's facts.

use egui::{Button, RichText, ScrollArea, Ui};

use crate::case::MarkKey;

use super::axis::Axis;
use super::bars;
use super::command::Command;
use super::session::Session;
use super::state::{Action, State, Tab};
use super::theme;
use super::toolbar;
use super::words;
use super::{facts, pairs, part};

/// Shows the column.
pub(super) fn show(ui: &mut Ui, state: &State, actions: &mut Vec<Action>) {
    let Some(session) = &state.session else { return };
    ui.horizontal(|ui| {
        for (command, tab) in [
            (Command::ShowParts, Tab::Parts),
            (Command::ShowPairs, Tab::Pairs),
            (Command::ShowPhoto, Tab::Photo),
        ] {
            let entry = command.entry();
            let button = Button::selectable(state.tab == tab, entry.text);
            if ui.add(button).on_hover_text(entry.tooltip).clicked() {
                actions.push(Action::Run(command));
            }
        }
    });
    ui.separator();
    match state.tab {
        Tab::Parts => parts(ui, session, actions),
        Tab::Pairs => pairs::show(ui, session),
        Tab::Photo => facts::show(ui, session, actions),
    }
}

fn parts(ui: &mut Ui, session: &Session, actions: &mut Vec<Action>) {
    if let Some(failure) = session.failure() {
        ui.label(RichText::new(format!("! {failure}")).strong());
        return;
    }
    let Some(measurement) = session.measurement() else {
        ui.label("Measuring…");
        return;
    };
    if measurement.readings.is_empty() {
        empty(ui, session, actions);
        return;
    }
    let axis = Axis::of(measurement);
    let compared = measurement.readings.iter().any(|reading| !reading.differences.is_empty());
    if compared {
        bars::head(ui, &axis);
    }
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        for reading in &measurement.readings {
            let key = MarkKey::reading(&reading.id);
            let selected = session.selected() == Some(&key);
            let slot = super::marks::reading(session.case(), &key).and_then(|mark| mark.slot.as_deref());
            let part = part::Part {
                reading,
                slot,
                axis: &axis,
                references: session.references.as_deref(),
                selected,
            };
            part::show(ui, &part, actions);
            ui.add_space(theme::SPACE_M);
        }
        let light = words::remedies(measurement.light.warnings.iter());
        if !light.is_empty() {
            ui.strong("The photo as a whole");
            part::advice(ui, &light);
        }
        if !compared {
            toolbar::command(ui, Command::ChooseReferences, true, actions);
        }
    });
}

fn empty(ui: &mut Ui, session: &Session, actions: &mut Vec<Action>) {
    let (text, command) = words::next_step(session.case(), session.references.is_some());
    ui.add_space(theme::SPACE_L);
    ui.strong("No part is measured yet");
    ui.label(text);
    if let Some(command) = command {
        toolbar::command(ui, command, true, actions);
    }
}

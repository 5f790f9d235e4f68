//! The loose part that is looked at: what is known of it, and all that can be done to it.

use egui::{Label, RichText, Ui};

use crate::case::{LoosePart, MarkKey};
use crate::report::doubt_in_words;
use crate::tray::bodies::BODY;
use crate::tray::change::Change;
use crate::tray::overview::PartFacts;

use super::act::TrayAction;
use super::panel::weak;
use super::piles::size_words;
use crate::app::action::{Action, Tool};
use crate::app::choosing::{Choosing, choose};
use crate::app::command::Command;
use crate::app::marks;
use crate::app::results;
use crate::app::results::axis::Axis;
use crate::app::session::Session;
use crate::app::state::State;
use crate::app::theme;
use crate::app::toolbar;

/// What most parts are; any other name can be typed below the photo.
const SLOTS: [&str; 8] = [BODY, "head", "arm", "arm-left", "arm-right", "leg", "leg-left", "leg-right"];
/// So many neighbours are offered to merge with.
const NEIGHBOURS: usize = 4;

/// Shows it.
pub(super) fn show(
    ui: &mut Ui,
    state: &State,
    session: &Session,
    part: &LoosePart,
    actions: &mut Vec<Action>,
) {
    let facts = state.tray.overview().parts.iter().find(|facts| facts.number == part.number);
    ui.heading(title(part, facts));
    ui.push_id("facts", |ui| {
        let Some(facts) = facts else { return };
        for doubt in &facts.doubts {
            ui.add(Label::new(format!("! It {}.", sentence(doubt_in_words(*doubt)))).wrap());
        }
        if let Some(partner) = facts.partner {
            ui.label(format!("May be the left or right of part {partner}."));
        }
    });
    ui.push_id("changes", |ui| changes(ui, state, part, actions));
    if part.reading.is_some() {
        ui.push_id("slot", |ui| slot(ui, session, part, actions));
    }
    ui.push_id("result", |ui| result(ui, session, part, actions));
}

fn title(part: &LoosePart, facts: Option<&PartFacts>) -> String {
    match facts.and_then(size_words) {
        Some(size) => format!("Part {}: {size}", part.number),
        None => format!("Part {}", part.number),
    }
}

/// "may be several parts" and the like after "It …".
fn sentence(doubt: &str) -> String {
    match doubt {
        "no matt place to read" => "has no matt place to read".into(),
        "cut off by the edge of the photo" => format!("is {doubt}"),
        other => other.into(),
    }
}

fn changes(ui: &mut Ui, state: &State, part: &LoosePart, actions: &mut Vec<Action>) {
    let number = part.number;
    ui.horizontal_wrapped(|ui| {
        let split = Command::ToolCut.entry();
        let split =
            ui.add(toolbar::choice_button(state.tool == Tool::Cut, split.text)).on_hover_text(split.tooltip);
        if split.clicked() {
            actions.push(Action::Run(Command::ToolCut));
        }
        if state.tray.focus_part {
            split.request_focus();
        }
        if ui.button("Redraw").on_hover_text(Command::RedrawPart.entry().tooltip).clicked() {
            actions.push(Action::Tray(TrayAction::Redraw(number)));
        }
        if ui.button("Drop").on_hover_text("It is no part: take it away. Undo brings it back.").clicked() {
            actions.push(Action::Tray(TrayAction::Change(Change::Drop(number))));
        }
    });
    let near = nearest(state, part);
    ui.horizontal_wrapped(|ui| {
        ui.label("Merge with");
        for other in near {
            let button = ui
                .button(other.to_string())
                .accessible_name(format!("Merge part {number} with part {other}"))
                .on_hover_text("Both are one part; the number of this one stays.");
            if button.clicked() {
                actions.push(Action::Tray(TrayAction::Change(Change::Merge(number, other))));
            }
        }
    });
}

/// The parts whose outlines come nearest.
fn nearest(state: &State, part: &LoosePart) -> Vec<u32> {
    let parts = state.session.as_ref().map(|session| session.case().loose_parts()).unwrap_or_default();
    let apart = |other: &LoosePart| {
        let pairs = part.outline.iter().flat_map(|p| other.outline.iter().map(move |q| (p, q)));
        pairs.map(|(p, q)| libm::hypot(p[0] - q[0], p[1] - q[1])).fold(f64::INFINITY, f64::min)
    };
    let others = parts.iter().filter(|other| other.number != part.number);
    let mut near: Vec<(f64, u32)> = others.map(|other| (apart(other), other.number)).collect();
    near.sort_by(|a, b| a.0.total_cmp(&b.0));
    near.into_iter().take(NEIGHBOURS).map(|(_, number)| number).collect()
}

/// What the part is in a figure, and the same for all that look like it.
fn slot(ui: &mut Ui, session: &Session, part: &LoosePart, actions: &mut Vec<Action>) {
    let Some(key) = part.reading.as_ref().map(MarkKey::reading) else { return };
    let now = marks::reading(session.case(), &key).and_then(|reading| reading.slot.as_deref());
    ui.horizontal_wrapped(|ui| {
        ui.label("It is");
        let slots: Vec<Option<&'static str>> = [None].into_iter().chain(SLOTS.map(Some)).collect();
        let words = |slot: Option<&str>| slot.map_or("not said".into(), |slot| session.slot_words(slot));
        let shown = words(now);
        let values = slots.iter().map(|slot| (*slot == now, words(*slot))).collect();
        let list =
            Choosing { width: 110.0, grows: true, now: &shown, values, spoken: None };
        let (taken, response) = choose(ui, "what the part is", list);
        if let Some(slot) = taken.and_then(|at| slots.get(at)) {
            actions.push(Action::Tray(TrayAction::Slot(vec![part.number], slot.map(str::to_owned))));
        }
        response
            .accessible_name("What the part is")
            .on_hover_text("A torso is a body; all else is a limb, to be matched with the bodies.");
        if let Some(slot) = now {
            let button = ui.button("Name those like it").on_hover_text(
                "Parts of about the same size and outline that have no name yet are that, too, whichever way they lie.",
            );
            if button.clicked() {
                actions.push(Action::Tray(TrayAction::NameAlike(part.number, slot.to_owned())));
            }
        }
    });
}

fn result(ui: &mut Ui, session: &Session, loose: &LoosePart, actions: &mut Vec<Action>) {
    let Some(id) = &loose.reading else {
        return weak(
            ui,
            "Its shade is not read. Redraw it, or draw a circle on matt plastic as a part of its own.",
        );
    };
    let measurement = session.measurement();
    let reading = measurement.and_then(|m| m.readings.iter().find(|reading| reading.id == *id));
    let (Some(reading), Some(measurement)) = (reading, measurement) else {
        ui.label(RichText::new("Measuring…").color(theme::palette(ui).weak));
        return;
    };
    let axis = Axis::of_nearest(measurement);
    let shown = results::part::Part {
        reading,
        light: &measurement.light,
        slot: None,
        axis: &axis,
        references: session.references.as_deref(),
        selected: false,
    };
    results::part::show(ui, &shown, actions);
}

//! The colour that the selected zone is taken for: a card step, a plain surface, a shade, a specimen, or numbers.

use egui::{DragValue, Ui};

use crate::case::{Edit, Known, MarkKey, PLAIN_SURFACES};

use super::action::Action;
use super::choosing::{Choosing, choose};
use super::marks;
use super::session::{GroupKey, Session};
use super::state::State;
use super::strip::field_label;
use super::words;

/// Shows the colour that a zone is taken for, to be changed.
pub(super) fn show(ui: &mut Ui, state: &State, session: &Session, mark: &MarkKey, actions: &mut Vec<Action>) {
    let Some(zone) = marks::zone(session.case(), mark) else { return };
    ui.horizontal_wrapped(|ui| {
        field_label(ui, "Is");
        let now = known_name(state, session, &zone.known);
        let choices = choices(state, session);
        let values = choices.iter().map(|(known, text)| (*known == zone.known, text.clone())).collect();
        let list = Choosing { width: 150.0, grows: true, now: &now, values, spoken: None };
        let (taken, response) = choose(ui, "known", list);
        if let Some((known, _)) = taken.and_then(|at| choices.get(at)) {
            actions.push(Action::Edit(Edit::SetKnown(mark.clone(), known.clone())));
        }
        response
            .accessible_name("Known colour")
            .on_hover_text("A step of the card, or a shade of the references.");
        match &zone.known {
            Known::Lab { lab, sd } => numbers(ui, mark, *lab, *sd, actions),
            Known::Shade { shade, specimen } => {
                specimens(ui, session, mark, (shade, specimen.as_deref()), actions);
            }
        }
    });
}

/// Which specimen of its shade a part is, where it was itself measured.
fn specimens(
    ui: &mut Ui,
    session: &Session,
    mark: &MarkKey,
    (shade_id, now): (&str, Option<&str>),
    actions: &mut Vec<Action>,
) {
    let shades = session.references.iter().flat_map(|references| &references.shades);
    let of_shade = shades.filter(|shade| shade.id == shade_id).flat_map(|shade| &shade.specimens);
    let any = (None, "some part of this shade");
    let choices: Vec<(Option<&str>, &str)> =
        std::iter::once(any).chain(of_shade.map(|s| (Some(s.id.as_str()), s.id.as_str()))).collect();
    ui.label("namely");
    let values = choices.iter().map(|(specimen, text)| (*specimen == now, (*text).to_owned())).collect();
    let list = Choosing { width: 150.0, grows: true, now: now.unwrap_or(any.1), values, spoken: None };
    let (taken, response) = choose(ui, "specimen", list);
    if let Some((specimen, _)) = taken.and_then(|at| choices.get(at)) {
        let known = Known::Shade { shade: shade_id.to_owned(), specimen: specimen.map(str::to_owned) };
        actions.push(Action::Edit(Edit::SetKnown(mark.clone(), known)));
    }
    response
        .accessible_name("Which specimen")
        .on_hover_text(
            "Where this very part is a specimen of the references, its colour was measured, and is known better than \
             that of any part of its shade.",
        );
}

fn numbers(ui: &mut Ui, mark: &MarkKey, lab: [f64; 3], sd: [f64; 3], actions: &mut Vec<Action>) {
    let (mut new_lab, mut new_sd) = (lab, sd);
    let mut done = false;
    for (axis, name) in ["L*", "a*", "b*"].into_iter().enumerate() {
        let range = if axis == 0 { 0.0..=100.0 } else { -150.0..=150.0 };
        ui.label(name);
        let value = DragValue::new(&mut new_lab[axis]).range(range).speed(0.1).max_decimals(2);
        let value = ui.add(value).accessible_name(name);
        let spread = DragValue::new(&mut new_sd[axis]).range(0.01..=50.0).speed(0.05).max_decimals(2);
        let spread = ui
            .add(spread.prefix("± "))
            .accessible_name(format!("standard deviation of {name}"))
            .on_hover_text("Standard deviation: how well the value is known.");
        done |= value.drag_stopped() || value.lost_focus() || spread.drag_stopped() || spread.lost_focus();
    }
    let known = Known::Lab { lab: new_lab, sd: new_sd };
    if known != (Known::Lab { lab, sd }) {
        actions.push(Action::EditIn(GroupKey::Field("known"), Edit::SetKnown(mark.clone(), known)));
    }
    if done {
        actions.push(Action::EndGroup);
    }
}

fn known_name(state: &State, session: &Session, known: &Known) -> String {
    match known {
        Known::Shade { shade, .. } => words::shade_name(session.references.as_deref(), shade),
        Known::Lab { .. } => match state.card.iter().find(|step| step.is(known)) {
            Some(step) => format!("card step {}", step.name()),
            None => PLAIN_SURFACES
                .iter()
                .find(|surface| surface.known() == *known)
                .map_or("own values", |surface| surface.name)
                .into(),
        },
    }
}

fn choices(state: &State, session: &Session) -> Vec<(Known, String)> {
    let steps = state.card.iter().map(|step| (step.known(), format!("card step {}", step.name())));
    let shades = session.references.iter().flat_map(|references| &references.shades);
    let shades = shades.map(|shade| (Known::shade(&shade.id), format!("shade: {}", shade.name())));
    let plain = PLAIN_SURFACES.iter().map(|surface| (surface.known(), format!("roughly: {}", surface.name)));
    steps.chain(shades).chain(plain).collect()
}

//! The slot looked at: what was seen on its part, to be stated with buttons. A second press takes a statement back.

use egui::{Button, Label, RichText, Ui};

use crate::case::{MarkKey, Observation};
use crate::figure::{Condition, LineFeature, LineSlot, Sort};

use super::act::{CANT_SEE, CONDITION, FigureAction, MISSING, PRESENCE, WORN_OFF};
use super::body::Known;
use super::pictures;
use super::weighing::OpenGuide;
use crate::app::action::Action;
use crate::app::session::Session;
use crate::app::theme;
use crate::app::thumbs::Thumbs;

/// Shows the slot, or how to choose one.
pub(super) fn show(
    ui: &mut Ui,
    session: &Session,
    (guide, known): (&OpenGuide, &[Known]),
    chosen: Option<&str>,
    thumbs: &mut Thumbs,
    actions: &mut Vec<Action>,
) {
    let found = chosen.and_then(|id| guide.line.slots.iter().zip(known).find(|(slot, _)| slot.id == id));
    let Some((slot, known)) = found else {
        let text = "Choose a slot to say what you see there. The figure is drawn from the front: its own left is at your \
                    right. The band in a box: filled, it belongs; slanting lines, doubtful; crossed lines, it does not \
                    belong. A dashed box: not seen, or missing.";
        ui.add(Label::new(RichText::new(text).color(theme::palette(ui).weak)).wrap());
        return;
    };
    let case = session.case();
    let stated =
        |feature: &str| case.observations.iter().find(|seen| seen.slot == slot.id && seen.feature == feature);
    ui.heading(crate::app::words::capital(&slot.label));
    ui.add(Label::new(format!("{}.", crate::app::words::capital(&known.words))).wrap());
    let reading = case.readings.iter().find(|mark| mark.slot.as_deref() == Some(&*slot.id));
    if let Some(mark) = reading {
        let measured = known.measured.as_deref().unwrap_or("not compared with any shade");
        ui.add(Label::new(format!("Read on the photo as {}: {measured}", mark.id)).wrap());
        if ui.button("Show on the photo").clicked() {
            actions.push(Action::Reveal(MarkKey::reading(&mark.id)));
        }
    }
    let mut asked = Vec::new();
    let missing = stated(PRESENCE).is_some_and(|seen| seen.value == MISSING);
    ui.horizontal_wrapped(|ui| {
        ui.label("Part is");
        let row = Row { slot, feature: PRESENCE, name: "part", stated: stated(PRESENCE) };
        row.button(ui, MISSING, MISSING, "There is no part in this slot.", &mut asked);
    });
    if !missing {
        let mut wanted = Vec::new();
        for feature in &slot.features {
            let seen = stated(&feature.id);
            // What was measured is better than what an eye says.
            if feature.sort == Sort::Shade && reading.is_some() && seen.is_none() {
                continue;
            }
            of_feature(ui, slot, feature, seen, &mut asked);
            wanted.extend(pictures::show(ui, guide, (slot, feature), thumbs));
        }
        thumbs.follow(ui.ctx(), wanted);
        ui.label("State");
        ui.horizontal_wrapped(|ui| {
            for condition in Condition::ALL {
                let is = |seen: &&Observation| {
                    (&*seen.slot, &*seen.feature, &*seen.value) == (&slot.id, CONDITION, condition.word())
                };
                let stated = case.observations.iter().find(is);
                let row = Row { slot, feature: CONDITION, name: "state", stated };
                row.button(ui, condition.word(), condition.word(), "State of the part.", &mut asked);
            }
        });
    }
    actions.extend(asked.into_iter().map(Action::Figure));
}

fn of_feature(
    ui: &mut Ui,
    slot: &LineSlot,
    feature: &LineFeature,
    stated: Option<&Observation>,
    asked: &mut Vec<FigureAction>,
) {
    let name = match feature.sort {
        Sort::Shade => format!("{}, by eye", feature.label),
        _ => feature.label.clone(),
    };
    let row = Row { slot, feature: &feature.id, name: &feature.label, stated };
    ui.label(crate::app::words::capital(&name)).on_hover_text(&feature.how);
    ui.horizontal_wrapped(|ui| {
        for ((value, label), how) in feature.values.iter().zip(&feature.labels).zip(&feature.hows) {
            row.button(ui, value, label, how.as_deref().unwrap_or(&feature.how), asked);
        }
        if feature.sort == Sort::Paint {
            row.button(ui, WORN_OFF, WORN_OFF, "Traces are left, too few to tell which it was.", asked);
        }
        row.button(ui, CANT_SEE, "can’t see", "You looked, and it cannot be seen.", asked);
        if let Some(seen) = stated.filter(|seen| seen.value != CANT_SEE) {
            let mut unsure = !seen.sure;
            let box_ = ui.checkbox(&mut unsure, "unsure").accessible_name(row.spoken("unsure"));
            if box_.changed() {
                asked.push(row.stating(&seen.value, !unsure));
            }
        }
    });
}

/// One feature of one slot, and what was stated of it.
struct Row<'a> {
    slot: &'a LineSlot,
    feature: &'a str,
    name: &'a str,
    stated: Option<&'a Observation>,
}

impl Row<'_> {
    fn button(&self, ui: &mut Ui, value: &str, label: &str, how: &str, asked: &mut Vec<FigureAction>) {
        let chosen = self.stated.is_some_and(|seen| seen.value == value);
        let button = Button::selectable(chosen, label).frame_when_inactive(true);
        let response = ui.add(button).accessible_name(self.spoken(label)).on_hover_text(how);
        if response.clicked() {
            asked.push(match chosen {
                true if self.feature == CONDITION => {
                    FigureAction::ForgetState(self.slot.id.clone(), value.to_owned())
                }
                true => FigureAction::Forget(self.slot.id.clone(), self.feature.to_owned()),
                false => self.stating(value, true),
            });
        }
    }

    fn stating(&self, value: &str, sure: bool) -> FigureAction {
        FigureAction::State {
            slot: self.slot.id.clone(),
            feature: self.feature.to_owned(),
            value: value.to_owned(),
            sure,
        }
    }

    fn spoken(&self, label: &str) -> String {
        format!("{} of the {}: {label}", self.name, self.slot.label)
    }
}

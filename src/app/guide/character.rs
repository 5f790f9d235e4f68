//! A character: the runs it was made in, and for one of them what each of its parts is like.

use std::collections::BTreeMap;

use egui::Ui;

use crate::guide::{Choice, Guide, GuideEdit, Issue, IssueAt, IssueEdit, List, NOTE, Part, slot_words};

use super::action::GuideAction;
use super::fields::{Field, Form};
use super::forms::{name_and_label, said};
use crate::app::theme;
use crate::app::toolbar::choice_button;
use crate::app::words;

/// Shows the character.
pub(super) fn show(ui: &mut Ui, form: &mut Form, at: usize) {
    form.at(List::Characters.name());
    let guide = form.editor.guide();
    let Some(character) = guide.characters.get(at) else {
        return said(
            ui,
            "Type the name of a character. Runs, slots and moulds come first: a character is put together \
                         from them.",
        );
    };
    let place = format!("characters › {}", character.id);
    ui.heading(words::capital(&character.id));
    form.at(&place);
    name_and_label(ui, form, List::Characters, at);
    if guide.runs.is_empty() {
        return said(
            ui,
            "There are no runs yet: add one first, then say what this character was like in it.",
        );
    }
    ui.horizontal_wrapped(|ui| {
        for run in &guide.runs {
            let made = character.issues.iter().any(|issue| issue.run == run.id);
            form.tick(ui, &format!("Made in {}", run.name()), made, |made| {
                let edit = if made { IssueEdit::Made } else { IssueEdit::NotMade };
                GuideEdit::Issue(IssueAt { character: at, run: run.id.clone() }, edit)
            });
        }
    });
    let chosen = form.editor.run.as_deref();
    let issue = character.issues.iter().find(|issue| Some(&*issue.run) == chosen);
    let Some(issue) = issue.or(character.issues.first()) else {
        return said(ui, "Tick the run in which it was made.");
    };
    ui.separator();
    if character.issues.len() > 1 {
        ui.horizontal_wrapped(|ui| {
            ui.label("Parts in");
            for other in &character.issues {
                let name =
                    guide.runs.iter().find(|run| run.id == other.run).map_or(&*other.run, |r| r.name());
                if ui.add(choice_button(other.run == issue.run, name)).clicked() {
                    form.asked.push(GuideAction::Run(other.run.clone()));
                }
            }
        });
    }
    let here = IssueAt { character: at, run: issue.run.clone() };
    let place = format!("{place} › {}", issue.run);
    form.at(&place);
    let field = Field::new(key(&here, "weight"), "How common", format!("{place} › weight")).hint("1");
    form.number(ui, &field, issue.weight, |n| edit(&here, IssueEdit::Weight(n)));
    fill(ui, form, guide, &here);
    for slot in &guide.slots {
        one_slot(ui, form, &here, issue, &slot.id);
    }
}

/// Characters of a line share most parts: begin with those of another one.
fn fill(ui: &mut Ui, form: &mut Form, guide: &Guide, here: &IssueAt) {
    let mut choices = Vec::new();
    for (character, other) in guide.characters.iter().enumerate() {
        for issue in &other.issues {
            let from = IssueAt { character, run: issue.run.clone() };
            if from != *here {
                let run = guide.runs.iter().find(|run| run.id == issue.run).map_or(&*issue.run, |r| r.name());
                let name = format!("{}, {run}", other.name());
                choices.push((name, edit(here, IssueEdit::FillFrom(from))));
            }
        }
    }
    if !choices.is_empty() {
        let field = Field::new(key(here, "fill"), "Same parts as", String::new());
        form.choice(ui, &field, "choose…", choices);
    }
}

fn one_slot(ui: &mut Ui, form: &mut Form, here: &IssueAt, issue: &Issue, slot: &str) {
    let guide = form.editor.guide();
    ui.add_space(theme::SPACE_S);
    let part = issue.parts.get(slot);
    form.tick(ui, &words::capital(&slot_words(Some(guide), slot)), part.is_some(), |there| {
        edit(here, IssueEdit::Part(slot.to_owned(), there))
    });
    let place = format!("characters › {} › {} › {slot}", character_id(guide, here), here.run);
    if let Some(part) = part {
        ui.indent(slot, |ui| {
            ui.horizontal_wrapped(|ui| {
                for feature in features(guide, slot) {
                    ui.label(words::capital(&label(guide, &feature)));
                    what(ui, form, here, part, slot, &feature);
                }
            });
            for feature in features(guide, slot) {
                weights(ui, form, here, part, slot, &feature);
            }
            note(ui, form, here, part, slot);
        });
    }
    form.under(&place);
}

/// What a feature is on the part.
fn what(ui: &mut Ui, form: &mut Form, here: &IssueAt, part: &Part, slot: &str, feature: &str) {
    let guide = form.editor.guide();
    let name = |value: &str| match feature {
        "mould" => guide.moulds.iter().find(|m| m.id == value).map_or(value, |m| m.name()).to_owned(),
        "shade" => guide.shades.iter().find(|s| s.id == value).map_or(value, |s| s.name()).to_owned(),
        _ => value.to_owned(),
    };
    let choose = |choice| edit(here, IssueEdit::Choose(slot.into(), feature.into(), choice));
    let values = guide.values_in(slot, feature);
    let mut choices = vec![("not known".to_owned(), choose(None))];
    choices.extend(values.iter().map(|v| (name(v), choose(Some(Choice::One((*v).to_owned()))))));
    let now = match part.get(feature) {
        None => "not known".to_owned(),
        Some(Choice::One(value)) => name(value),
        Some(Choice::Mixed(_)) => SEVERAL.to_owned(),
        Some(Choice::Other(value)) => value.to_string(),
    };
    if values.len() > 1 {
        let first = match part.get(feature) {
            Some(Choice::One(value)) => BTreeMap::from([(value.clone(), 1.0)]),
            _ => values.iter().map(|value| ((*value).to_owned(), 1.0)).collect(),
        };
        choices.push((SEVERAL.to_owned(), choose(Some(Choice::Mixed(first)))));
    }
    let spoken = format!("{} of the {}", label(guide, feature), slot_words(Some(guide), slot));
    let field = Field::new(key(here, &format!("{slot}/{feature}")), "", String::new()).spoken(spoken);
    form.combo(ui, &field, &now, choices);
}

/// What a feature is said to be where more than one value is right.
const SEVERAL: &str = "several, by how common";

/// Where more than one value is right: how common each is.
fn weights(ui: &mut Ui, form: &mut Form, here: &IssueAt, part: &Part, slot: &str, feature: &str) {
    let guide = form.editor.guide();
    let Some(Choice::Mixed(weights)) = part.get(feature) else { return };
    said(ui, &format!("How common each {} is here; empty where it never is:", label(guide, feature)));
    for value in guide.values_in(slot, feature) {
        let spoken = format!(
            "How common {value} is as {} of the {}",
            label(guide, feature),
            slot_words(Some(guide), slot)
        );
        let key = key(here, &format!("{slot}/{feature}/{value}"));
        let field = Field::new(key, value, String::new()).spoken(spoken).hint("never");
        form.number(ui, &field, weights.get(value).copied(), |weight| {
            let mut weights = weights.clone();
            match weight {
                Some(weight) => drop(weights.insert(value.to_owned(), weight)),
                None => drop(weights.remove(value)),
            }
            edit(here, IssueEdit::Choose(slot.into(), feature.into(), Some(Choice::Mixed(weights))))
        });
    }
}

/// What else is to be said of the part, for people only.
fn note(ui: &mut Ui, form: &mut Form, here: &IssueAt, part: &Part, slot: &str) {
    let now = match part.get(NOTE) {
        Some(Choice::One(text)) => text.clone(),
        Some(other) => serde_json::to_string(other).unwrap_or_default(),
        None => String::new(),
    };
    let spoken = format!("Note on the {}", slot_words(Some(form.editor.guide()), slot));
    let field = Field::new(key(here, &format!("{slot}/{NOTE}")), "Note", String::new());
    form.text(ui, &field.spoken(spoken).hint("for people; weighs nothing"), &now, |text| {
        let note = (!text.trim().is_empty()).then_some(Choice::One(text));
        edit(here, IssueEdit::Choose(slot.into(), NOTE.into(), note))
    });
}

/// What can be said of a part in a slot, and whatever the file says besides.
fn features(guide: &Guide, slot: &str) -> Vec<String> {
    let all = ["mould", "shade"].into_iter().chain(guide.features.iter().map(|f| &*f.id));
    all.filter(|feature| !guide.values_in(slot, feature).is_empty()).map(str::to_owned).collect()
}

fn label(guide: &Guide, feature: &str) -> String {
    guide.features.iter().find(|f| f.id == feature).map_or(feature, |f| f.name()).to_owned()
}

fn character_id<'a>(guide: &'a Guide, here: &IssueAt) -> &'a str {
    guide.characters.get(here.character).map_or("", |character| &character.id)
}

fn key(here: &IssueAt, name: &str) -> String {
    format!("characters/{}/{}/{name}", here.character, here.run)
}

fn edit(here: &IssueAt, edit: IssueEdit) -> GuideEdit {
    GuideEdit::Issue(here.clone(), edit)
}

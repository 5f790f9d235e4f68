//! The record in hand: what the person says of it, and what was found when.

use egui::{Button, Label, RichText, TextEdit, Ui};

use crate::collection::{Holds, Record, RecordedFinding};
use crate::figure::name_and_run;
use crate::keeping::Details;

use super::records::{CollectionAction, Form};
use crate::app::scrolling::scrolled;
use crate::app::state::State;
use crate::app::theme;
use crate::app::toolbar::choice_button;
use crate::app::words;

/// Shows the form, and the history of a record that is there.
pub(super) fn show(ui: &mut Ui, state: &State, form: &Form, asked: &mut Vec<CollectionAction>) {
    scrolled(ui, "record", |ui| {
        ui.heading(if form.file.is_some() { "Record" } else { "New record" });
        let details = fields(ui, &form.details);
        if details != form.details {
            asked.push(CollectionAction::Form(Box::new(details)));
        }
        if form.file.is_none() {
            let mut left = form.by_reference;
            let about = "The record then points to them; otherwise they are copied into the collection.";
            if ui.checkbox(&mut left, "Leave the files where they are").on_hover_text(about).changed() {
                asked.push(CollectionAction::ByReference(left));
            }
        }
        ui.add_space(theme::SPACE_S);
        buttons(ui, state, form, asked);
        let page = &state.collection;
        let record = form.file.as_ref().and_then(|file| {
            page.seen.as_ref()?.records.iter().find(|(path, _)| path == file).map(|(_, record)| record)
        });
        if let Some(record) = record {
            history(ui, record);
        }
    });
}

fn buttons(ui: &mut Ui, state: &State, form: &Form, asked: &mut Vec<CollectionAction>) {
    let page = &state.collection;
    ui.horizontal_wrapped(|ui| {
        let ready = page.folder.is_some() && page.keeping.is_none() && !form.details.name.trim().is_empty();
        let name = if form.file.is_some() { "Save the record" } else { "Add it" };
        if ui.add_enabled(ready, Button::new(name)).clicked() {
            asked.push(CollectionAction::Keep);
        }
        if let Some(file) = &form.file
            && ui.button("Open its photo").on_hover_text("Show the photo with its marks.").clicked()
        {
            asked.push(CollectionAction::OpenCase(file.clone()));
        }
        let leave = if form.file.is_some() { "Close the record" } else { "Cancel" };
        if ui.button(leave).on_hover_text("What was typed and not saved is left.").clicked() {
            asked.push(CollectionAction::Take(None));
        }
    });
    if page.folder.is_none() {
        ui.add(Label::new("Choose a folder for the collection first.").wrap());
    }
}

fn fields(ui: &mut Ui, now: &Details) -> Details {
    let mut details = now.clone();
    ui.horizontal_wrapped(|ui| {
        for (holds, name) in [(Holds::Figure, "A figure"), (Holds::LooseParts, "Parts of no figure")] {
            if ui.add(choice_button(details.holds == holds, name)).clicked() {
                details.holds = holds;
            }
        }
    });
    for (name, text) in [
        ("Name", &mut details.name),
        ("Condition", &mut details.condition),
        ("Bought where", &mut details.place),
        ("Bought when", &mut details.bought_on),
        ("Price", &mut details.price),
    ] {
        let label = ui.label(name);
        ui.add(TextEdit::singleline(text).desired_width(f32::INFINITY)).labelled_by(label.id);
    }
    let label = ui.label("Notes");
    let notes = TextEdit::multiline(&mut details.notes).desired_width(f32::INFINITY).desired_rows(3);
    ui.add(notes).labelled_by(label.id);
    details
}

fn history(ui: &mut Ui, record: &Record) {
    ui.add_space(theme::SPACE_M);
    ui.heading("What was found");
    if record.findings.is_empty() {
        ui.label("Nothing yet.");
    }
    for (number, finding) in record.findings.iter().rev().enumerate() {
        let text = RichText::new(&finding.date).strong();
        ui.label(if number == 0 { text } else { text.color(theme::palette(ui).weak) });
        for line in finding_lines(finding) {
            ui.add(Label::new(line).wrap());
        }
    }
}

fn finding_lines(finding: &RecordedFinding) -> Vec<String> {
    let ranked = |who: &crate::collection::RecordedWho| {
        format!("{} {}", name_and_run(&who.character, &who.run), words::percent(who.probability))
    };
    let who: Vec<String> = finding.ranking.iter().map(ranked).collect();
    let who = match (finding.settled(), who.first()) {
        (Some(_), Some(first)) => first.clone(),
        (None, Some(_)) => format!("Undecided: {}", who.join(", ")),
        _ => "Who it is was not weighed".into(),
    };
    let mut lines = vec![who];
    let named = |part: &crate::collection::RecordedPart| {
        part.reading.clone().or_else(|| part.slot.clone()).unwrap_or_default()
    };
    for part in &finding.parts {
        let call = part.call.clone().unwrap_or_else(|| "no shade".into());
        let belongs =
            part.belongs.map_or(String::new(), |p| format!(", {} that it belongs", words::percent(p)));
        lines.push(format!("{}: {call}{belongs}", named(part)));
    }
    if !finding.missing.is_empty() {
        lines.push(format!("Missing: {}", finding.missing.join(", ")));
    }
    lines
}

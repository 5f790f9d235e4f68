//! The last change of a record, for as long as the page is shown: what it was, and the way back.

use super::records::{CollectionAction, CollectionPage, Form, Written};
use crate::app::state::State;
use crate::app::theme;
use crate::keeping::{Details, details_of, edit_details};

/// What can be taken back.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::app) enum Change {
    /// A record was written.
    Saved {
        /// Its file.
        file: String,
        /// What the person said of it before.
        before: Details,
        /// And what since.
        after: Details,
    },
    /// A form was put away with what was typed into it.
    PutAway(Form),
}

impl Change {
    fn words(&self) -> String {
        match self {
            Self::Saved { before, after, .. } => {
                format!("Saved {}: {} changed.", after.name, differing(before, after).join(", "))
            }
            Self::PutAway(form) => match form.details.name.trim() {
                "" => "What was typed into the form is not saved.".into(),
                name => format!("What was typed of {name} is not saved."),
            },
        }
    }
}

/// The fields in which two say something else.
fn differing(before: &Details, after: &Details) -> Vec<&'static str> {
    [
        ("kind", before.holds != after.holds),
        ("name", before.name != after.name),
        ("condition", before.condition != after.condition),
        ("where bought", before.place != after.place),
        ("when bought", before.bought_on != after.bought_on),
        ("price", before.price != after.price),
        ("notes", before.notes != after.notes),
    ]
    .into_iter()
    .filter_map(|(name, differs)| differs.then_some(name))
    .collect()
}

impl CollectionPage {
    /// Whether there is a change that can be taken back now.
    pub(in crate::app) fn can_take_back(&self) -> bool {
        self.change.is_some() && self.keeping.is_none()
    }
}

impl State {
    /// Puts the form away, or takes another record in hand; what was typed and not saved can be had back.
    pub(super) fn take_in_hand(&mut self, file: Option<&str>) {
        let page = &mut self.collection;
        if let Some(form) = page.form.take() {
            let stored = form.file.as_ref().and_then(|file| {
                page.seen.as_ref()?.records.iter().find(|(path, _)| path == file).map(|(_, r)| details_of(r))
            });
            if stored.as_ref() != Some(&form.details) {
                page.change = Some(Change::PutAway(form));
            }
        }
        if let Some(file) = file {
            page.take(file);
        }
    }

    /// Takes the last change back: the record says again what it said before, its history stays.
    pub(super) fn take_back(&mut self) {
        let page = &mut self.collection;
        match page.change.take() {
            Some(Change::PutAway(form)) => page.form = Some(form),
            Some(Change::Saved { file, before, .. }) => {
                let Some(path) = page.folder.as_ref().map(|folder| folder.join(&file)) else { return };
                // A form of it would show what no longer is.
                page.form = page.form.take().filter(|form| form.file.as_ref() != Some(&file));
                page.write(move || edit_details(&path, &before).map(|_| Written::Other));
            }
            None => {}
        }
    }
}

/// The line that says what was changed.
pub(super) fn line(ui: &mut egui::Ui, change: &Change, ready: bool, asked: &mut Vec<CollectionAction>) {
    ui.horizontal_wrapped(|ui| {
        if ui
            .add_enabled(ready, egui::Button::new("Undo"))
            .on_hover_text("Make it as it was before.")
            .clicked()
        {
            asked.push(CollectionAction::TakeBack);
        }
        ui.add_space(theme::SPACE_S);
        ui.label(change.words());
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_change_is_told_by_the_names_of_its_fields() {
        let before = Details { name: "Diver".into(), ..Details::default() };
        let after = Details { price: "4 EUR".into(), notes: "snaps".into(), ..before.clone() };
        let change = Change::Saved { file: "d.record.json".into(), before, after };
        assert_eq!(change.words(), "Saved Diver: price, notes changed.");
    }
}

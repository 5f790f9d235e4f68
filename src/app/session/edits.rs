//! What a person does to the marks: selecting, changing, taking back.

use super::Session;
use crate::app::marks;
use crate::case::{Edit, MarkKey};
use crate::problem::Problem;

/// Edits with the same key in a row become one step of undo.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::app) enum GroupKey {
    /// One drag of the mouse.
    Drag,
    /// Arrow keys on one mark.
    Nudge(MarkKey),
    /// Typing into one field of the strip.
    Field(&'static str),
}

impl Session {
    /// The selected mark, if it is still there.
    pub(in crate::app) fn selected(&self) -> Option<&MarkKey> {
        self.selected.as_ref().filter(|mark| marks::shape(self.case(), mark).is_some())
    }

    /// Selects a mark or none.
    pub(in crate::app) fn select(&mut self, mark: Option<MarkKey>) {
        if self.selected != mark {
            self.close_group();
            self.selected = mark;
        }
    }

    /// Makes one change, a step of its own.
    pub(in crate::app) fn edit(&mut self, edit: Edit) -> Result<(), Problem> {
        self.close_group();
        self.apply(edit)
    }

    /// Makes several changes that are one step. What is selected stays so.
    pub(in crate::app) fn edit_together(&mut self, label: &str, edits: Vec<Edit>) -> Result<(), Problem> {
        self.close_group();
        let selected = self.selected.clone();
        self.history.begin(label);
        for edit in edits {
            if let Err(problem) = self.apply(edit) {
                self.history.cancel();
                self.changed();
                return Err(problem);
            }
        }
        self.history.commit();
        self.selected = selected;
        Ok(())
    }

    /// Makes a change that continues those before it with the same key.
    pub(in crate::app) fn edit_in(&mut self, key: GroupKey, edit: Edit) -> Result<(), Problem> {
        if self.group.as_ref() != Some(&key) {
            self.history.begin(edit.label());
            self.group = Some(key);
        }
        self.apply(edit)
    }

    /// What was changed under one key so far becomes a step.
    pub(in crate::app) fn close_group(&mut self) {
        self.group = None;
        self.history.commit();
    }

    /// What was changed under the open key is taken back.
    pub(in crate::app) fn cancel_group(&mut self) {
        self.group = None;
        self.history.cancel();
        self.changed();
    }

    /// Takes the last step back; answers with its name.
    pub(in crate::app) fn undo(&mut self) -> Option<String> {
        self.group = None;
        let label = self.history.undo()?;
        self.changed();
        Some(label)
    }

    /// Makes the step again; answers with its name.
    pub(in crate::app) fn redo(&mut self) -> Option<String> {
        self.group = None;
        let label = self.history.redo()?;
        self.changed();
        Some(label)
    }

    /// The steps for the tooltips of undo and redo.
    pub(in crate::app) fn undo_and_redo_labels(&self) -> (Option<&str>, Option<&str>) {
        (self.history.undo_label(), self.history.redo_label())
    }

    fn apply(&mut self, edit: Edit) -> Result<(), Problem> {
        self.history.apply(&edit)?;
        match &edit {
            Edit::Rename(mark, id) if self.selected.as_ref() == Some(mark) => {
                self.selected = Some(MarkKey { kind: mark.kind, id: id.clone() });
            }
            Edit::AddReading(_) | Edit::AddZone(_) => self.selected = marks::added_key(&edit),
            _ => {}
        }
        self.changed();
        Ok(())
    }
}

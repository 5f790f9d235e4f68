//! Undo and redo as groups over snapshots, of a case or of any other document. A drag of the mouse is one group of many edits; a snapshot is a
//! shared copy of the document, some kilobytes. Pixels and results stay out of it.

use std::sync::Arc;

use super::document::CaseDocument;
use super::edit::Edit;
use crate::problem::Problem;

/// So many steps can be undone.
const MAX_STEPS: usize = 500;

/// A document with its past and its undone future.
#[derive(Debug, Clone)]
pub struct History<D = CaseDocument> {
    current: Arc<D>,
    undo: Vec<Step<D>>,
    redo: Vec<Step<D>>,
    open: Option<Step<D>>,
    saved: Option<Arc<D>>,
}

/// A step: its name and the document on its other side.
#[derive(Debug, Clone)]
struct Step<D> {
    label: String,
    document: Arc<D>,
}

impl History {
    /// Makes one change: a step of its own, or a part of the group that is open.
    pub fn apply(&mut self, edit: &Edit) -> Result<(), Problem> {
        self.change(edit.label(), |case| edit.apply(case))
    }
}

impl<D: Clone + PartialEq> History<D> {
    /// Starts with a document as it was read from its file.
    pub fn opened(document: D) -> Self {
        let current = Arc::new(document);
        Self { saved: Some(current.clone()), ..Self::unsaved_arc(current) }
    }

    /// Starts with a document that is in no file yet.
    pub fn unsaved(document: D) -> Self {
        Self::unsaved_arc(Arc::new(document))
    }

    fn unsaved_arc(current: Arc<D>) -> Self {
        Self { current, undo: Vec::new(), redo: Vec::new(), open: None, saved: None }
    }

    /// The document as it is now; cheap to clone, for a worker.
    pub fn current(&self) -> &Arc<D> {
        &self.current
    }

    /// Makes one change: a step of its own, or a part of the group that is open. On an error nothing has changed.
    pub fn change(
        &mut self,
        label: String,
        work: impl FnOnce(&mut D) -> Result<(), Problem>,
    ) -> Result<(), Problem> {
        let mut changed = D::clone(&self.current);
        work(&mut changed)?;
        let before = std::mem::replace(&mut self.current, Arc::new(changed));
        if self.open.is_none() {
            self.push(Step { label, document: before });
        }
        Ok(())
    }

    /// Opens a group: what is applied until [`History::commit`] is one step. A group that is open already
    /// is committed first.
    pub fn begin(&mut self, label: impl Into<String>) {
        self.commit();
        self.open = Some(Step { label: label.into(), document: self.current.clone() });
    }

    /// Closes the group; one that changed nothing leaves no step.
    pub fn commit(&mut self) {
        if let Some(step) = self.open.take()
            && step.document != self.current
        {
            self.push(step);
        }
    }

    /// Closes the group and takes back what it did.
    pub fn cancel(&mut self) {
        if let Some(step) = self.open.take() {
            self.current = step.document;
        }
    }

    /// Whether a group is open.
    pub fn is_grouping(&self) -> bool {
        self.open.is_some()
    }

    /// Takes back the last step and says which; an open group is committed first.
    pub fn undo(&mut self) -> Option<String> {
        self.commit();
        let step = self.undo.pop()?;
        let undone = std::mem::replace(&mut self.current, step.document);
        self.redo.push(Step { label: step.label.clone(), document: undone });
        Some(step.label)
    }

    /// Makes the last undone step again and says which; an open group is committed first, after which
    /// there is nothing to redo if it changed anything.
    pub fn redo(&mut self) -> Option<String> {
        self.commit();
        let step = self.redo.pop()?;
        let before = std::mem::replace(&mut self.current, step.document);
        self.undo.push(Step { label: step.label.clone(), document: before });
        Some(step.label)
    }

    /// What [`History::undo`] would take back.
    pub fn undo_label(&self) -> Option<&str> {
        self.open.as_ref().or(self.undo.last()).map(|step| step.label.as_str())
    }

    /// What [`History::redo`] would make again.
    pub fn redo_label(&self) -> Option<&str> {
        self.redo.last().map(|step| step.label.as_str())
    }

    /// Notes that this state of the document is in its file now.
    pub fn mark_saved(&mut self, saved: Arc<D>) {
        self.saved = Some(saved);
    }

    /// Whether the document differs from its file.
    pub fn is_unsaved(&self) -> bool {
        self.saved.as_ref() != Some(&self.current)
    }

    fn push(&mut self, step: Step<D>) {
        self.redo.clear();
        if self.undo.len() == MAX_STEPS {
            self.undo.remove(0);
        }
        self.undo.push(step);
    }
}

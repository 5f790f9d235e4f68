//! Undo and redo belong to what stands in front: the marks, the guide, or the collection.

use super::Front;
use crate::app::collection::records::CollectionAction;
use crate::app::guide::editor::GuideEditor;
use crate::app::session::Session;
use crate::app::state::State;

impl State {
    /// The steps that can be taken back and made again, in words, of the marks or of the guide in front.
    pub(in crate::app) fn undo_and_redo_labels(&self) -> (Option<&str>, Option<&str>) {
        match self.front() {
            Front::Photo => self.session.as_ref().map(Session::undo_and_redo_labels),
            Front::Guide => self.open_editor().map(GuideEditor::undo_and_redo_labels),
            _ => None,
        }
        .unwrap_or_default()
    }

    pub(super) fn can_undo(&self) -> bool {
        let of_collection = self.front() == Front::Collection && self.collection.can_take_back();
        of_collection || self.undo_and_redo_labels().0.is_some()
    }

    pub(super) fn can_redo(&self) -> bool {
        self.undo_and_redo_labels().1.is_some()
    }

    pub(super) fn undo(&mut self) {
        match (self.front(), &mut self.editor, &mut self.session) {
            (Front::Guide, Some(editor), _) => editor.undo(),
            (Front::Collection, ..) => self.act_on_collection(CollectionAction::TakeBack),
            (_, _, Some(session)) => {
                session.undo();
            }
            _ => {}
        }
    }

    pub(super) fn redo(&mut self) {
        match (self.front(), &mut self.editor, &mut self.session) {
            (Front::Guide, Some(editor), _) => editor.redo(),
            (Front::Photo, _, Some(session)) => {
                session.redo();
            }
            _ => {}
        }
    }
}

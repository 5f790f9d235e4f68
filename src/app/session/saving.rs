//! What is saved of an open case, and what would be lost.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::Session;
use crate::app::files::keeper::Draft;
use crate::app::files::save::Save;
use crate::app::marks;
use crate::case::CaseDocument;

impl Session {
    /// What a copy for the case of a crash is made of.
    pub(in crate::app) fn draft(&self) -> Draft {
        let save = Box::new(self.to_save(self.case_path.clone().unwrap_or_default()));
        Draft::Case(save, self.case_path.clone(), self.folder())
    }

    /// What a writer on another thread needs.
    pub(in crate::app) fn to_save(&self, path: PathBuf) -> Save {
        Save {
            path,
            case: self.history.current().clone(),
            photo: self.photo_path.clone(),
            photo_sha256: self.photo_sha256.clone(),
            references: self.references_file.clone(),
            guide: self.weighing.file.clone(),
            flat_field: self.case().flat_field.as_deref().and_then(|name| self.empty_boards.file(name)),
            more_photos: self
                .case()
                .more_photos
                .iter()
                .filter_map(|name| self.other_photos.file(name))
                .collect(),
        }
    }

    /// These marks are in that file now.
    pub(in crate::app) fn saved_as(&mut self, path: PathBuf, case: Arc<CaseDocument>) {
        self.case_path = Some(path);
        self.history.mark_saved(case);
        self.references_saved = true;
    }

    /// The folder that the paths in the case are relative to.
    pub(in crate::app) fn folder(&self) -> PathBuf {
        let file = self.case_path.as_ref().unwrap_or(&self.photo_path);
        file.parent().map(Path::to_owned).unwrap_or_default()
    }

    /// Whether anything would be lost. A photo without any mark loses nothing.
    pub(in crate::app) fn is_unsaved(&self) -> bool {
        let untouched = self.case_path.is_none()
            && marks::all(self.case()).is_empty()
            && self.case().observations.is_empty()
            && self.case().board.is_none()
            && self.case().flat_field.is_none()
            && self.case().more_photos.is_empty();
        !untouched && (self.history.is_unsaved() || !self.references_saved)
    }
}

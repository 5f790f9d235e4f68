//! Writing the case file.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::case::{self, CaseDocument};
use crate::problem::Problem;
use crate::storage;

/// What is to be written.
#[derive(Debug, Clone)]
pub(in crate::app) struct Save {
    /// The file.
    pub path: PathBuf,
    /// The marks.
    pub case: Arc<CaseDocument>,
    /// Where the photo is, and what its file holds.
    pub photo: PathBuf,
    /// SHA-256 of the photo.
    pub photo_sha256: String,
    /// Where the shades are.
    pub references: Option<PathBuf>,
    /// Where the guide is.
    pub guide: Option<PathBuf>,
    /// Where the photo of the empty board is.
    pub flat_field: Option<PathBuf>,
    /// Where the cases of the other photos are.
    pub more_photos: Vec<PathBuf>,
}

/// What became of it.
#[derive(Debug)]
pub(in crate::app) struct Saved {
    /// The file.
    pub path: PathBuf,
    /// The marks that are in it.
    pub case: Arc<CaseDocument>,
    /// Whether it went well.
    pub result: Result<(), Problem>,
}

impl Save {
    /// Writes the case.
    pub(super) fn write(self) -> Saved {
        let folder = self.path.parent().unwrap_or(Path::new(""));
        let result = storage::save_case(&self.path, &self.as_written(folder));
        Saved { path: self.path, case: self.case, result }
    }

    /// The case with its paths written so that they lead from a folder to the photo, the shades and the guide.
    pub(super) fn as_written(&self, folder: &Path) -> CaseDocument {
        // A case named without its folder lies in the current one, whose path is empty.
        let here =
            |path: &Path| if path.as_os_str().is_empty() { PathBuf::from(".") } else { path.to_owned() };
        let absolute = |path: &Path| std::path::absolute(here(path)).unwrap_or(path.to_owned());
        let from_folder = |file: &Path| case::relative_to(&absolute(folder), &absolute(file));
        let mut written = CaseDocument::clone(&self.case);
        written.photo = from_folder(&self.photo);
        written.photo_sha256 = Some(self.photo_sha256.clone());
        written.references = self.references.as_deref().map(from_folder);
        written.guide = self.guide.as_deref().map(from_folder);
        written.flat_field = self.flat_field.as_deref().map(from_folder);
        written.more_photos = self.more_photos.iter().map(|file| from_folder(file)).collect();
        written
    }
}

//! The files of the other photos that a case names.

use std::path::{Path, PathBuf};

use crate::case::{CaseDocument, PathRule};
use crate::problem::Problem;
use crate::storage::{open_case, resolve_inside};

/// The case of another photo, and the files that its areas are read from.
pub(super) struct OtherFiles {
    pub case: CaseDocument,
    /// The case's own file.
    pub file: PathBuf,
    pub photo: PathBuf,
    pub flat_field: Option<PathBuf>,
}

impl OtherFiles {
    pub(super) fn of(file: &Path, rule: PathRule) -> Result<Self, Problem> {
        let case = open_case(file, rule)?;
        let beside = |inside: &str| resolve_inside(file.parent().unwrap_or(Path::new("")), inside, rule);
        let photo = beside(&case.photo)?;
        let flat_field = case.flat_field.as_deref().map(beside).transpose()?;
        Ok(Self { case, file: file.to_owned(), photo, flat_field })
    }

    /// Its photos.
    pub(super) fn photos(&self) -> impl Iterator<Item = &Path> {
        std::iter::once(&self.photo).chain(&self.flat_field).map(PathBuf::as_path)
    }
}

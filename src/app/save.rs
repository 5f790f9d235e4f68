//! Writing the case file.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::case::{self, CaseDocument};
use crate::problem::Problem;

/// What became of a save.
#[derive(Debug)]
pub(super) struct Saved {
    /// The file.
    pub path: PathBuf,
    /// The marks that are in it.
    pub case: Arc<CaseDocument>,
    /// Whether it went well.
    pub result: Result<(), Problem>,
}

/// Writes a case. Its paths are written so that they lead from the case file to the photo and the shades.
pub(super) fn save(path: PathBuf, case: Arc<CaseDocument>, photo: &Path, references: Option<&Path>) -> Saved {
    let folder = path.parent().unwrap_or(Path::new(""));
    let mut written = CaseDocument::clone(&case);
    written.photo = case::relative_to(folder, photo);
    written.references = references.map(|file| case::relative_to(folder, file));
    let result = case::to_text(&written).and_then(|text| write(&path, &text));
    Saved { path, case, result }
}

fn write(path: &Path, text: &str) -> Result<(), Problem> {
    std::fs::write(path, text).map_err(|error| {
        Problem::new(
            format!("{} cannot be written: {error}.", path.display()),
            "Save under another name or in another folder; your marks are still here.",
        )
    })
}

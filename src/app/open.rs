//! From a path to everything the window shows of it: the case, its photo, its shades.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::case::{self, CaseDocument, PathRule};
use crate::photo;
use crate::problem::Problem;
use crate::raster::{PhotoFacts, Raster};
use crate::shade::References;

use super::worker::Progress;

/// A case with its photo, ready to be shown.
#[derive(Debug, Clone)]
pub(super) struct Opened {
    /// Where the case is saved; `None` for a photo without a case so far.
    pub case_path: Option<PathBuf>,
    /// Where the photo is.
    pub photo_path: PathBuf,
    /// The marks.
    pub case: CaseDocument,
    /// The upright photo.
    pub raster: Arc<Raster>,
    /// What its file says of itself.
    pub facts: Arc<PhotoFacts>,
    /// The shades to compare with.
    pub references: Option<Arc<References>>,
    /// What went wrong without keeping the case from being shown.
    pub problems: Vec<Problem>,
}

/// Opens a photo or a case file. `None` when cancelled.
pub(super) fn open(path: &Path, progress: &Progress) -> Option<Result<Opened, Problem>> {
    let opened = if is_case(path) { open_case(path) } else { open_photo(path) };
    (!progress.cancelled()).then_some(opened)
}

/// Case files are known by their name.
pub(super) fn is_case(path: &Path) -> bool {
    path.file_name().is_some_and(|name| name.to_string_lossy().ends_with(".case.json"))
}

/// Where the case of a photo is saved unless the person chooses otherwise: beside it.
pub(super) fn case_path_beside(photo: &Path) -> PathBuf {
    photo.with_extension("case.json")
}

fn open_photo(path: &Path) -> Result<Opened, Problem> {
    let photo = read_photo(path)?;
    let name = path.file_name().unwrap_or(path.as_os_str()).to_string_lossy();
    Ok(Opened {
        case_path: None,
        photo_path: path.to_owned(),
        case: CaseDocument::new(name),
        raster: Arc::new(photo.raster),
        facts: Arc::new(photo.facts),
        references: None,
        problems: Vec::new(),
    })
}

fn open_case(path: &Path) -> Result<Opened, Problem> {
    let case = case::parse(&read_bytes(path)?, PathRule::ChosenByHand)
        .map_err(|problem| problem.in_file(path.display()))?;
    let folder = path.parent().unwrap_or(Path::new("."));
    let photo_path = case::resolve(folder, &case.photo);
    let photo = read_photo(&photo_path)?;
    let mut problems = Vec::new();
    let references = case.references.as_ref().and_then(|name| {
        read_references(&case::resolve(folder, name)).map_err(|problem| problems.push(problem)).ok()
    });
    Ok(Opened {
        case_path: Some(path.to_owned()),
        photo_path,
        case,
        raster: Arc::new(photo.raster),
        facts: Arc::new(photo.facts),
        references: references.map(Arc::new),
        problems,
    })
}

/// Reads shade references.
pub(super) fn read_references(path: &Path) -> Result<References, Problem> {
    let bytes = read_bytes(path)?;
    serde_json::from_slice(&bytes).map_err(|error| {
        Problem::new(
            format!("{}: {error}.", path.display()),
            "Choose a file of reference shades (*.shades.json).",
        )
    })
}

fn read_bytes(path: &Path) -> Result<Vec<u8>, Problem> {
    std::fs::read(path).map_err(|error| {
        Problem::new(
            format!("{} cannot be read: {error}.", path.display()),
            "Check the path, and that the file may be read.",
        )
    })
}

fn read_photo(path: &Path) -> Result<photo::Photo, Problem> {
    photo::read(path).map_err(|error| Problem::new(format!("{error}."), error.remedy()))
}

//! What is looked for when the window opens: files opened last, demo photos, unsaved work.

use std::path::{Path, PathBuf};

use super::open::{case_path_beside, is_case};
use crate::storage::{self, Recoverable};

/// What was found.
#[derive(Debug, Default)]
pub(in crate::app) struct Found {
    /// Files opened last, the latest first.
    pub recent: Vec<PathBuf>,
    /// The collection chosen last.
    pub collection: Option<PathBuf>,
    /// Cases of the demo photos.
    pub demos: Vec<PathBuf>,
    /// Work of windows that are gone.
    pub recoverable: Vec<Recoverable>,
}

/// Looks for everything.
pub(in crate::app) fn look(data_folder: Option<&Path>) -> Found {
    let demos = demo_folders().iter().map(|folder| cases_in(folder)).find(|cases| !cases.is_empty());
    Found {
        recent: each_photo_once(&data_folder.map(storage::recent).unwrap_or_default()),
        demos: demos.unwrap_or_default(),
        collection: data_folder.and_then(storage::remembered_collection),
        recoverable: data_folder.map(storage::recoverable).unwrap_or_default(),
    }
}

/// A photo whose case was opened, too, stands for both: going on with its marks is what is meant.
fn each_photo_once(files: &[PathBuf]) -> Vec<PathBuf> {
    let mut once: Vec<PathBuf> = Vec::new();
    for file in files {
        let beside = case_path_beside(file);
        let meant = if files.contains(&beside) && !is_case(file) { &beside } else { file };
        if !once.contains(meant) {
            once.push(meant.clone());
        }
    }
    once
}

/// Whether a file belongs to the demo: nothing is saved there unless the person says so.
pub(in crate::app) fn is_demo(path: &Path) -> bool {
    let path = std::path::absolute(path).unwrap_or(path.to_owned());
    demo_folders().iter().any(|folder| path.starts_with(folder))
}

/// A file's name without what all cases share.
pub(in crate::app) fn short_name(path: &Path) -> String {
    let name = path.file_name().unwrap_or(path.as_os_str()).to_string_lossy();
    name.strip_suffix(".case.json").unwrap_or(&name).to_owned()
}

/// What a demo photo shows.
pub(in crate::app) fn demo_shows(path: &Path) -> Option<&'static str> {
    Some(match short_name(path).as_str() {
        "bench" => "a figure and loose limbs, beside a torso of certain shade",
        "exchanged" => "a figure of which one limb may come from another",
        "lamp" => "loose parts under two lamps of different colour",
        "listing" => "a seller’s picture, without a card",
        "tray" => "forty loose limbs to be sorted",
        _ => return None,
    })
}

/// Where demo photos may lie: beside the sources, or where the program is installed.
fn demo_folders() -> Vec<PathBuf> {
    let mut folders = vec![Path::new(env!("CARGO_MANIFEST_DIR")).join("assets/demo")];
    if let Some(bin) = std::env::current_exe().ok().as_deref().and_then(Path::parent) {
        folders.push(bin.join("../share/sameshot/demo"));
    }
    folders
}

fn cases_in(folder: &Path) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
    let mut cases: Vec<PathBuf> = entries.map(|entry| entry.path()).filter(|path| is_case(path)).collect();
    cases.sort();
    cases
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_demo_photo_says_what_it_shows() {
        let demos = look(None).demos;
        assert_eq!(demos.len(), 5);
        for demo in demos {
            assert!(demo_shows(&demo).is_some(), "{}", demo.display());
        }
    }

    #[test]
    fn a_photo_stands_once_among_the_files_opened_last() {
        let files = ["a.case.json", "b.jpg", "a.jpg", "b.case.json", "c.png"].map(PathBuf::from);
        assert_eq!(each_photo_once(&files), ["a.case.json", "b.case.json", "c.png"].map(PathBuf::from));
    }

    #[test]
    fn cases_are_listed_in_order_and_other_files_are_not() {
        let folder = tempfile::tempdir().unwrap();
        for name in ["b.case.json", "a.case.json", "a.jpg", "x.shades.json"] {
            std::fs::write(folder.path().join(name), "").unwrap();
        }
        let names: Vec<String> = cases_in(folder.path()).iter().map(|path| short_name(path)).collect();
        assert_eq!(names, ["a", "b"]);
    }
}

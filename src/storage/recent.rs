//! The files opened last, and the collection chosen last.

use std::fs;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use super::atomic::save_atomically;
use super::open::read_limited;
use crate::json::{self, Kind};
use crate::problem::Problem;

/// So many files are remembered.
pub const MAX_RECENT: usize = 12;

const KIND: Kind = Kind {
    name: "recent files",
    version_field: "sameshot_recent",
    newest_version: 1,
    limit_bytes: 1_000_000,
};

#[derive(Serialize, Deserialize)]
struct Recent {
    sameshot_recent: u32,
    files: Vec<PathBuf>,
}

/// The files opened last, the latest first. Files that are gone are left out; a list that cannot be read is
/// an empty one, for it is no document of the person.
pub fn recent(data_folder: &Path) -> Vec<PathBuf> {
    read(data_folder).into_iter().filter(|file| file.exists()).collect()
}

/// Puts a file first in the list. Its path is made absolute.
pub fn add_recent(data_folder: &Path, file: &Path) -> Result<(), Problem> {
    let file = std::path::absolute(file).unwrap_or_else(|_| file.into());
    // JSON is UTF-8: the list does without a file whose name is not.
    if file.to_str().is_none() {
        return Ok(());
    }
    let mut files = read(data_folder);
    files.retain(|other| *other != file);
    files.insert(0, file);
    files.truncate(MAX_RECENT);
    let text = json::to_text(&Recent { sameshot_recent: 1, files }, 2)?;
    // A missing folder is reported by the save.
    let _ = fs::create_dir_all(data_folder);
    save_atomically(&list_file(data_folder), text.as_bytes())
}

/// The collection's folder that was chosen last.
pub fn remembered_collection(data_folder: &Path) -> Option<PathBuf> {
    let bytes = read_limited(&place_file(data_folder), PLACE.limit_bytes).ok()?;
    let place: Place = json::parse(&bytes, &PLACE, |_| Ok(())).ok()?;
    Some(place.collection).filter(|folder| folder.is_dir())
}

/// Remembers a collection's folder.
pub fn remember_collection(data_folder: &Path, folder: &Path) -> Result<(), Problem> {
    let collection = std::path::absolute(folder).unwrap_or_else(|_| folder.into());
    if collection.to_str().is_none() {
        return Ok(());
    }
    let text = json::to_text(&Place { sameshot_place: 1, collection }, 1)?;
    // A missing folder is reported by the save.
    let _ = fs::create_dir_all(data_folder);
    save_atomically(&place_file(data_folder), text.as_bytes())
}

const PLACE: Kind = Kind {
    name: "remembered collection",
    version_field: "sameshot_place",
    newest_version: 1,
    limit_bytes: 100_000,
};

#[derive(Serialize, Deserialize)]
struct Place {
    sameshot_place: u32,
    collection: PathBuf,
}

fn place_file(data_folder: &Path) -> PathBuf {
    data_folder.join("collection.json")
}

fn read(data_folder: &Path) -> Vec<PathBuf> {
    let list = read_limited(&list_file(data_folder), KIND.limit_bytes)
        .and_then(|bytes| json::parse(&bytes, &KIND, |_: &Recent| Ok(())));
    list.map(|list| list.files).unwrap_or_default()
}

fn list_file(data_folder: &Path) -> PathBuf {
    data_folder.join("recent.json")
}

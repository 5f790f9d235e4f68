//! The files opened last.

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

fn read(data_folder: &Path) -> Vec<PathBuf> {
    let list = read_limited(&list_file(data_folder), KIND.limit_bytes)
        .and_then(|bytes| json::parse(&bytes, &KIND, |_: &Recent| Ok(())));
    list.map(|list| list.files).unwrap_or_default()
}

fn list_file(data_folder: &Path) -> PathBuf {
    data_folder.join("recent.json")
}

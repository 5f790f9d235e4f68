//! Where the program keeps what is no document of the person: unsaved work, the list of recent files, and settings.

use std::path::{Path, PathBuf};

use directories::ProjectDirs;

use crate::problem::Problem;

/// This environment variable names another folder than the user's usual ones, for all of it.
pub const DATA_FOLDER_VARIABLE: &str = "SAMESHOT_DATA_DIR";

/// The folder of unsaved work and recent files, whether it exists yet or not.
pub fn data_folder() -> Result<PathBuf, Problem> {
    folder("unsaved work", ProjectDirs::data_local_dir)
}

/// The folder of the settings, whether it exists yet or not.
pub fn config_folder() -> Result<PathBuf, Problem> {
    folder("settings", ProjectDirs::config_dir)
}

fn folder(of: &str, usual: impl Fn(&ProjectDirs) -> &Path) -> Result<PathBuf, Problem> {
    if let Some(folder) = std::env::var_os(DATA_FOLDER_VARIABLE).filter(|folder| !folder.is_empty()) {
        return Ok(folder.into());
    }
    match ProjectDirs::from("", "", "Sameshot") {
        Some(dirs) => Ok(usual(&dirs).into()),
        None => Err(Problem::new(
            format!("There is no home folder to keep {of} in."),
            format!("Set the environment variable {DATA_FOLDER_VARIABLE} to a folder."),
        )),
    }
}

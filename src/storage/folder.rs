//! Where the program keeps what is no document of the person: unsaved work and the list of recent files.

use std::path::PathBuf;

use crate::problem::Problem;

/// This environment variable names another folder than the user's usual one.
pub const DATA_FOLDER_VARIABLE: &str = "SAMESHOT_DATA_DIR";

/// The folder, whether it exists yet or not.
pub fn data_folder() -> Result<PathBuf, Problem> {
    if let Some(folder) = std::env::var_os(DATA_FOLDER_VARIABLE).filter(|folder| !folder.is_empty()) {
        return Ok(folder.into());
    }
    match directories::ProjectDirs::from("", "", "Sameshot") {
        Some(usual) => Ok(usual.data_local_dir().into()),
        None => Err(Problem::new(
            "There is no home folder to keep unsaved work in.",
            format!("Set the environment variable {DATA_FOLDER_VARIABLE} to a folder."),
        )),
    }
}

//! What the person chose for the program itself.

use std::fs;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

use super::atomic::save_atomically;
use super::open::read_limited;
use crate::json::{self, Kind};
use crate::problem::Problem;

const KIND: Kind =
    Kind { name: "settings", version_field: "sameshot_settings", newest_version: 1, limit_bytes: 100_000 };

/// The program's settings, as they stand in their file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Settings {
    /// Format version, the first field of the file.
    sameshot_settings: u32,
    /// The greys of the window; those of the system where nothing was chosen.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub theme: Option<ThemeChoice>,
    /// Fields this version does not know.
    #[serde(flatten)]
    rest: Map<String, Value>,
}

/// The greys of the window.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum ThemeChoice {
    /// Dark on light.
    Light,
    /// Light on dark.
    Dark,
    /// White on black.
    HighContrast,
}

impl Default for Settings {
    fn default() -> Self {
        Self { sameshot_settings: KIND.newest_version, theme: None, rest: Map::new() }
    }
}

/// Reads the settings of a folder; the usual ones where there are none. A file that cannot be read is set aside, so
/// that nothing of it is lost, and what happened is told.
pub fn settings(folder: &Path) -> (Settings, Option<Problem>) {
    let file = settings_file(folder);
    if !file.exists() {
        return Default::default();
    }
    let read = read_limited(&file, KIND.limit_bytes).and_then(|bytes| json::parse(&bytes, &KIND, |_| Ok(())));
    match read {
        Ok(settings) => (settings, None),
        Err(problem) => (Settings::default(), Some(set_aside(&file, &problem))),
    }
}

/// Writes the settings into a folder, which is made where it is missing.
pub fn save_settings(folder: &Path, settings: &Settings) -> Result<(), Problem> {
    let text = json::to_text(settings, 1)?;
    // A missing folder is reported by the save.
    let _ = fs::create_dir_all(folder);
    save_atomically(&settings_file(folder), text.as_bytes())
}

fn set_aside(file: &Path, problem: &Problem) -> Problem {
    let aside = (1..).map(|number| file.with_file_name(format!("settings.broken-{number}.json")));
    let aside = aside.take(1000).find(|aside| !aside.exists());
    let moved = aside.filter(|aside| fs::rename(file, aside).is_ok());
    let what = format!("The settings in {} could not be read: {}", file.display(), problem.message);
    Problem::new(
        what,
        match moved {
            Some(aside) => {
                format!("The usual ones are used. The file was set aside as {}.", aside.display())
            }
            None => "The usual ones are used. Correct the file or remove it.".into(),
        },
    )
}

fn settings_file(folder: &Path) -> PathBuf {
    folder.join("settings.json")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn settings_go_through_their_file_with_what_a_later_version_wrote() {
        let folder = tempfile::tempdir().unwrap();
        let at = folder.path().join("made");
        assert_eq!(settings(&at), (Settings::default(), None));
        for theme in [ThemeChoice::Light, ThemeChoice::Dark, ThemeChoice::HighContrast] {
            save_settings(&at, &Settings { theme: Some(theme), ..Settings::default() }).unwrap();
            assert_eq!(settings(&at).0.theme, Some(theme));
        }
        fs::write(settings_file(&at), r#"{"sameshot_settings": 1, "theme": "dark", "bell": true}"#).unwrap();
        let (read, problem) = settings(&at);
        assert_eq!(problem, None);
        save_settings(&at, &Settings { theme: Some(ThemeChoice::Light), ..read }).unwrap();
        let text = fs::read_to_string(settings_file(&at)).unwrap();
        assert!(text.contains("\"bell\": true") && text.contains("\"light\""), "{text}");
    }

    #[test]
    fn broken_settings_are_told_and_set_aside_and_the_next_ones_are_kept() {
        let folder = tempfile::tempdir().unwrap();
        let at = folder.path();
        let newer = r#"{"sameshot_settings": 9}"#;
        for (number, broken) in
            ["", "{\"sameshot_settings\": 1, \"theme\": \"pink\"}", newer].iter().enumerate()
        {
            fs::write(settings_file(at), broken).unwrap();
            let (read, problem) = settings(at);
            assert_eq!(read, Settings::default());
            let aside = at.join(format!("settings.broken-{}.json", number + 1));
            assert_eq!(fs::read_to_string(&aside).unwrap(), *broken);
            let problem = problem.unwrap();
            assert!(
                problem.message.contains("settings.json") && problem.remedy.contains("set aside as"),
                "{problem}"
            );
            assert_eq!(settings(at), (Settings::default(), None));
        }
    }
}

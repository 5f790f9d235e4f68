//! Paths inside a file: relative to that file, and not out of its folder unless chosen by hand.

use std::path::{Component, Path, PathBuf};

use crate::problem::Problem;

/// Whether paths in a file may leave its folder.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum PathRule {
    /// They may not: a file from a stranger must not make the program read elsewhere.
    #[default]
    InsideFolder,
    /// The person chose the file by hand.
    ChosenByHand,
}

/// Judges a path as it is written in a file, without looking at the disk.
pub fn check(path: &str, rule: PathRule) -> Result<(), Problem> {
    let remedy = "Put the file into the folder of the case, or below it, and write its path from there.";
    let refused = |what: &str| Err(Problem::new(format!("the path \"{path}\" {what}"), remedy));
    if path.trim().is_empty() {
        return refused("is empty");
    }
    if path.contains('\0') {
        return refused("has a character that no file name has");
    }
    if rule == PathRule::ChosenByHand {
        return Ok(());
    }
    // Both separators and drive letters are judged on every system, so that a case means the same on each.
    let bytes = path.as_bytes();
    let has_drive = bytes.len() >= 2 && bytes[1] == b':' && bytes[0].is_ascii_alphabetic();
    if path.starts_with(['/', '\\']) || has_drive {
        return refused("is absolute; paths are relative to the file they stand in");
    }
    let mut depth = 0;
    for part in path.split(['/', '\\']) {
        depth += match part {
            "" | "." => 0,
            ".." => -1,
            _ => 1,
        };
        if depth < 0 {
            return refused("leads out of the folder");
        }
    }
    Ok(())
}

/// How to write `file` into a document that lies in `folder`: relative with forward slashes where that is
/// possible, else as it is. Both must be absolute, or relative to the same folder.
pub fn relative_to(folder: &Path, file: &Path) -> String {
    let own: Vec<Component> = folder.components().filter(|part| *part != Component::CurDir).collect();
    let other: Vec<Component> = file.components().filter(|part| *part != Component::CurDir).collect();
    let shared = own.iter().zip(&other).take_while(|(a, b)| a == b).count();
    let unlike_roots = shared == 0 && (folder.is_absolute() || file.is_absolute());
    if unlike_roots || own[shared..].contains(&Component::ParentDir) {
        return file.to_string_lossy().into_owned();
    }
    let mut parts = vec!["..".to_string(); own.len() - shared];
    parts.extend(other[shared..].iter().map(|part| part.as_os_str().to_string_lossy().into_owned()));
    parts.join("/")
}

/// The file that `path`, written in a document in `folder`, means.
pub fn resolve(folder: &Path, path: &str) -> PathBuf {
    folder.join(path)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn paths_out_of_the_folder_are_refused_unless_chosen_by_hand() {
        for path in
            ["../a.jpg", "b/../../a.jpg", "/etc/a.jpg", "C:\\a.jpg", "c:a.jpg", "..\\a.jpg", "\\\\host\\a"]
        {
            assert!(check(path, PathRule::InsideFolder).is_err(), "{path}");
            assert_eq!(check(path, PathRule::ChosenByHand), Ok(()), "{path}");
        }
        for path in ["a.jpg", "b/a.jpg", "./a.jpg", "b/../a.jpg", "..a.jpg", "grün ☂.jpg"] {
            assert_eq!(check(path, PathRule::InsideFolder), Ok(()), "{path}");
        }
        for path in ["", " ", "a\0b"] {
            assert!(check(path, PathRule::ChosenByHand).is_err(), "{path:?}");
        }
    }

    #[test]
    fn a_relative_path_leads_back_to_its_file() {
        let relative = |folder: &str, file: &str| relative_to(Path::new(folder), Path::new(file));
        assert_eq!(relative("/home/a/cases", "/home/a/cases/b.jpg"), "b.jpg");
        assert_eq!(relative("/home/a/cases", "/home/a/photos/b.jpg"), "../photos/b.jpg");
        assert_eq!(relative("cases", "cases/sub/b.jpg"), "sub/b.jpg");
        assert_eq!(relative("", "b.jpg"), "b.jpg");
        assert_eq!(relative("cases", "/home/b.jpg"), "/home/b.jpg");
    }
}

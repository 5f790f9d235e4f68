//! Whether the system can show a file dialog at all. Where it cannot, asking it takes a while on a busy machine, and its
//! refusal then looks like a person's.

use std::ffi::OsString;
use std::path::{Path, PathBuf};

/// What brings the dialog: a desktop portal that the session bus can start, or zenity.
const PORTAL: &str = "dbus-1/services/org.freedesktop.portal.Desktop.service";

/// Whether there is anything that could show one. Other systems than Linux have one of their own.
pub(super) fn file_dialogs() -> bool {
    let sandboxed = Path::new("/.flatpak-info").exists();
    !cfg!(target_os = "linux") || sandboxed || is_there(&data_folders(), &programs())
}

fn is_there(data_folders: &[PathBuf], programs: &[PathBuf]) -> bool {
    data_folders.iter().any(|folder| folder.join(PORTAL).exists())
        || programs.iter().any(|folder| folder.join("zenity").exists())
}

fn programs() -> Vec<PathBuf> {
    std::env::split_paths(&std::env::var_os("PATH").unwrap_or_default()).collect()
}

/// Those of the XDG base directory specification.
fn data_folders() -> Vec<PathBuf> {
    let set = |name| std::env::var_os(name).filter(|value: &OsString| !value.is_empty());
    let usual = || "/usr/local/share:/usr/share".into();
    let mut folders: Vec<PathBuf> =
        std::env::split_paths(&set("XDG_DATA_DIRS").unwrap_or_else(usual)).collect();
    folders.extend(directories::BaseDirs::new().map(|dirs| dirs.data_dir().to_owned()));
    folders
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_portal_or_zenity_is_enough() {
        let home = tempfile::tempdir().unwrap();
        let [data, bin] = ["data", "bin"].map(|name| home.path().join(name));
        let there = || is_there(&[home.path().join("none"), data.clone()], std::slice::from_ref(&bin));
        assert!(!there());
        std::fs::create_dir_all(&bin).unwrap();
        std::fs::write(bin.join("zenity"), "").unwrap();
        assert!(there());
        std::fs::remove_file(bin.join("zenity")).unwrap();
        let service = data.join(PORTAL);
        std::fs::create_dir_all(service.parent().unwrap()).unwrap();
        std::fs::write(service, "").unwrap();
        assert!(there());
    }
}

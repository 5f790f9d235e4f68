//! Are the system's window libraries there? They are opened at run time, and where one is missing the
//! crates that need it panic; a person is told the package instead.

use std::path::{Path, PathBuf};

/// A library and the Debian package that brings it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Library {
    /// Its file name.
    pub file: &'static str,
    /// The package in Debian and Ubuntu.
    pub package: &'static str,
}

const fn library(file: &'static str, package: &'static str) -> Library {
    Library { file, package }
}

const FOR_BOTH: [Library; 2] =
    [library("libxkbcommon.so.0", "libxkbcommon0"), library("libGL.so.1", "libgl1")];

const FOR_X11: [Library; 5] = [
    library("libX11.so.6", "libx11-6"),
    library("libX11-xcb.so.1", "libx11-xcb1"),
    library("libXcursor.so.1", "libxcursor1"),
    library("libXi.so.6", "libxi6"),
    library("libxkbcommon-x11.so.0", "libxkbcommon-x11-0"),
];

const FOR_WAYLAND: [Library; 2] =
    [library("libwayland-client.so.0", "libwayland-client0"), library("libEGL.so.1", "libegl1")];

/// What the desktop session offers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Desktop {
    /// An X11 server.
    X11,
    /// A Wayland compositor.
    Wayland,
    /// No display at all.
    None,
}

impl Desktop {
    /// Read from the environment, as the window crates do.
    pub(super) fn of_this_session() -> Self {
        let set = |name| std::env::var_os(name).is_some_and(|value| !value.is_empty());
        if set("WAYLAND_DISPLAY") || set("WAYLAND_SOCKET") {
            Desktop::Wayland
        } else if set("DISPLAY") {
            Desktop::X11
        } else {
            Desktop::None
        }
    }
}

/// The libraries that a window needs and that are in none of the folders.
pub(super) fn missing(desktop: Desktop, folders: &[PathBuf]) -> Vec<Library> {
    let needed = match desktop {
        Desktop::X11 => FOR_BOTH.iter().chain(&FOR_X11[..]),
        Desktop::Wayland => FOR_BOTH.iter().chain(&FOR_WAYLAND[..]),
        Desktop::None => return Vec::new(),
    };
    needed
        .filter(|library| !folders.iter().any(|folder| folder.join(library.file).exists()))
        .copied()
        .collect()
}

/// The folders in which the system's loader looks: those of the environment, of its configuration, and its
/// own.
pub(super) fn folders() -> Vec<PathBuf> {
    let mut folders: Vec<PathBuf> =
        std::env::split_paths(&std::env::var_os("LD_LIBRARY_PATH").unwrap_or_default()).collect();
    let mut configured = Vec::new();
    read_configuration(Path::new("/etc/ld.so.conf"), &mut configured, 0);
    folders.extend(configured);
    for base in ["/lib", "/usr/lib", "/lib64", "/usr/lib64", "/usr/local/lib", "/run/opengl-driver/lib"] {
        folders.push(base.into());
        folders.push(Path::new(base).join(format!("{}-linux-gnu", std::env::consts::ARCH)));
    }
    folders
}

/// Follows `include` lines a few levels deep; whatever cannot be read is skipped.
fn read_configuration(file: &Path, folders: &mut Vec<PathBuf>, depth: u32) {
    let Ok(text) = std::fs::read_to_string(file) else { return };
    for line in text.lines().map(|line| line.split('#').next().unwrap_or_default().trim()) {
        match line.strip_prefix("include ") {
            Some(pattern) if depth < 4 => {
                // In practice the pattern is always a folder with *.conf.
                let folder = Path::new(pattern.trim()).parent().unwrap_or(Path::new("/"));
                let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
                for entry in entries.filter(|entry| entry.path().extension().is_some_and(|e| e == "conf")) {
                    read_configuration(&entry.path(), folders, depth + 1);
                }
            }
            None if !line.is_empty() => folders.push(line.into()),
            _ => {}
        }
    }
}

/// What to tell when libraries are missing.
pub(super) fn advice(missing: &[Library]) -> String {
    let files: Vec<&str> = missing.iter().map(|library| library.file).collect();
    let packages: Vec<&str> = missing.iter().map(|library| library.package).collect();
    format!(
        "The window cannot open: this system has no {}.\nOn Debian or Ubuntu: sudo apt install {}\nThe \
         command line works without them: sameshot --help",
        files.join(", "),
        packages.join(" ")
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_missing_is_named_with_its_package() {
        let folder = tempfile::tempdir().unwrap();
        let folders = [folder.path().to_owned()];
        for library in FOR_BOTH.iter().chain(&FOR_X11) {
            std::fs::write(folder.path().join(library.file), "").unwrap();
        }
        assert_eq!(missing(Desktop::X11, &folders), []);
        std::fs::remove_file(folder.path().join("libxkbcommon-x11.so.0")).unwrap();
        let gone = missing(Desktop::X11, &folders);
        assert!(advice(&gone).contains("sudo apt install libxkbcommon-x11-0\n"));
        assert_eq!(missing(Desktop::Wayland, &folders).len(), 2);
        assert_eq!(missing(Desktop::None, &[]), []);
    }

    #[test]
    fn included_configuration_is_followed() {
        let folder = tempfile::tempdir().unwrap();
        let inner = folder.path().join("conf.d");
        std::fs::create_dir(&inner).unwrap();
        std::fs::write(inner.join("a.conf"), "# mine\n/opt/window/lib\n").unwrap();
        let main = folder.path().join("ld.so.conf");
        std::fs::write(&main, format!("include {}/*.conf\n/opt/other\n", inner.display())).unwrap();
        let mut found = Vec::new();
        read_configuration(&main, &mut found, 0);
        assert_eq!(found, [PathBuf::from("/opt/window/lib"), PathBuf::from("/opt/other")]);
    }
}

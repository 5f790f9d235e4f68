//! Writing a file so that it is either the old one or the new one, whole, whatever happens in between.

use std::fs::{self, File};
use std::io::{self, ErrorKind, Write};
use std::path::{Path, PathBuf};
use std::time::Duration;

use crate::problem::Problem;

/// Names of temporary files start and end so.
const PREFIX: &str = ".sameshot-";
const SUFFIX: &str = ".tmp";
/// Temporary files as old as this were left by a kill.
const LEFTOVER_AGE: Duration = Duration::from_hours(1);

/// Writes a file whole or not at all: a temporary file in the same folder, its content forced to the disk,
/// then renamed over the old one, then the folder forced to the disk. A power cut or a kill at any moment
/// leaves the old file or the new one. Access rights of an old file are kept; a link is followed.
pub fn save_atomically(path: &Path, bytes: &[u8]) -> Result<(), Problem> {
    let target = followed(path);
    write_then_rename(&target, bytes).map_err(|error| {
        Problem::new(
            format!("{} could not be saved: {}.", path.display(), reason(&error)),
            format!("What was there before is untouched. {}", remedy(&error)),
        )
    })
}

fn write_then_rename(target: &Path, bytes: &[u8]) -> io::Result<()> {
    let folder = target.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    if target.is_dir() {
        return Err(ErrorKind::IsADirectory.into());
    }
    clear_leftovers(folder);
    let mut builder = tempfile::Builder::new();
    builder.prefix(PREFIX).suffix(SUFFIX);
    // A temporary file is private by default; a document has the rights that the person's files have.
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    let mut file = builder.tempfile_in(folder)?;
    if let Ok(old) = fs::metadata(target) {
        // Rights that cannot be copied (another owner's, a foreign file system) are no reason not to save.
        let _ = file.as_file().set_permissions(old.permissions());
    }
    file.write_all(bytes)?;
    file.as_file().sync_all()?;
    file.persist(target).map_err(|error| error.error)?;
    // Some file systems cannot sync a folder; the file itself is on the disk by now.
    if let Ok(folder) = File::open(folder) {
        let _ = folder.sync_all();
    }
    Ok(())
}

/// Removes what a kill in the middle of saving left in this folder. A save takes seconds, so a temporary file
/// of an hour ago is nobody's any more; one with a time in the future is left alone.
fn clear_leftovers(folder: &Path) {
    let Ok(entries) = fs::read_dir(folder) else { return };
    for entry in entries.flatten() {
        let name = entry.file_name();
        let ours = name.to_str().is_some_and(|name| name.starts_with(PREFIX) && name.ends_with(SUFFIX));
        // Of the entry itself: a link is not followed.
        let Some(about) = entry.metadata().ok().filter(|about| ours && about.is_file()) else { continue };
        let age = about.modified().ok().and_then(|time| time.elapsed().ok());
        if age.is_some_and(|age| age >= LEFTOVER_AGE) {
            // One that cannot be removed harms nothing.
            let _ = fs::remove_file(entry.path());
        }
    }
}

fn followed(path: &Path) -> PathBuf {
    match fs::symlink_metadata(path) {
        Ok(about) if about.is_symlink() => fs::canonicalize(path).unwrap_or_else(|_| path.into()),
        _ => path.into(),
    }
}

/// Why a file could not be read or written, in plain words.
pub(super) fn reason(error: &io::Error) -> String {
    match error.kind() {
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded => "the disk is full".into(),
        ErrorKind::FileTooLarge => "the file would become larger than this disk or account allows".into(),
        ErrorKind::ReadOnlyFilesystem => "the disk is read-only".into(),
        ErrorKind::PermissionDenied => "you may not write there".into(),
        ErrorKind::NotFound => "the folder does not exist".into(),
        ErrorKind::IsADirectory => "there is a folder of that name".into(),
        ErrorKind::NotADirectory => "a part of its path is a file, not a folder".into(),
        _ => error.to_string(),
    }
}

fn remedy(error: &io::Error) -> &'static str {
    match error.kind() {
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded | ErrorKind::FileTooLarge => {
            "Make room, or save in another place."
        }
        _ => "Save under another name or in another folder.",
    }
}

//! Unsaved work, kept where a crash cannot take it.
//!
//! Every case, every guide and every set of shades with unsaved work has one journal: a copy and a lock file, which
//! the system unlocks when the process ends in whatever way. A copy whose lock is free belongs to nobody alive, so it
//! is offered for recovery. Saving the document removes the copy.

use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime, UNIX_EPOCH};

use serde::{Deserialize, Serialize};

use super::atomic::{reason, save_atomically};
use super::open::read_limited;
use super::unsaved::{TypedShade, Unsaved};
use crate::case::{self, CASE_LIMIT_BYTES, CaseDocument, PathRule};
use crate::guide::{GUIDE_LIMIT_BYTES, parse_guide, write_guide};
use crate::json::{self, Kind};
use crate::problem::Problem;
use crate::shade::{References, SHADES_LIMIT_BYTES, parse_references, references_to_text};

const KIND: Kind = Kind {
    name: "autosave",
    version_field: "sameshot_autosave",
    newest_version: 1,
    // A guide's text is kept inside a text, which can take twice the room.
    limit_bytes: CASE_LIMIT_BYTES + 2 * GUIDE_LIMIT_BYTES + SHADES_LIMIT_BYTES + 1_000_000,
};

#[derive(Serialize, Deserialize)]
struct Copy {
    sameshot_autosave: u32,
    /// The document's file; null where it was never saved.
    file: Option<PathBuf>,
    /// The folder that the paths in the document start from.
    folder: PathBuf,
    saved_at_unix_s: u64,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    case: Option<CaseDocument>,
    /// The text of a guide's file.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    guide: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    shades: Option<References>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    typed_shades: Vec<TypedShade>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    beside: Option<PathBuf>,
}

/// The place of one window's unsaved work. Dropping it leaves the copy, as a crash does.
#[derive(Debug)]
pub struct Journal {
    copy: PathBuf,
    lock_file: PathBuf,
    _lock: File,
}

/// Unsaved work of a window that is gone.
#[derive(Debug)]
pub struct Recoverable {
    /// The document as it was last.
    pub work: Unsaved,
    /// Its file, `None` where it was never saved.
    pub file: Option<PathBuf>,
    /// The folder that the paths in the document start from.
    pub folder: PathBuf,
    /// When the copy was made.
    pub saved_at: SystemTime,
    journal: Journal,
}

impl Journal {
    /// A new journal in the data folder, which is created where it is missing. Nothing is copied yet.
    pub fn open(data_folder: &Path) -> Result<Self, Problem> {
        let folder = autosave_folder(data_folder);
        fs::create_dir_all(&folder).map_err(|error| unusable(&folder, &error))?;
        let stamp = since_1970(SystemTime::now()).as_millis();
        // Names of one millisecond and one process differ by the count.
        for count in 0..1000 {
            let name = format!("{stamp}-{}-{count}", std::process::id());
            let lock_file = folder.join(format!("{name}.lock"));
            match File::create_new(&lock_file) {
                Ok(lock) => {
                    // Another window that looks for lost work at this very moment may hold or remove it.
                    if lock.try_lock().is_err() || !lock_file.exists() {
                        continue;
                    }
                    return Ok(Self { copy: folder.join(format!("{name}.json")), lock_file, _lock: lock });
                }
                Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => {}
                Err(error) => return Err(unusable(&folder, &error)),
            }
        }
        Err(unusable(&folder, &std::io::ErrorKind::AlreadyExists.into()))
    }

    /// Keeps a copy of the work. `file` is where it was saved last, `folder` where its paths start.
    pub fn keep(&self, work: &Unsaved, file: Option<&Path>, folder: &Path) -> Result<(), Problem> {
        let mut copy = Copy {
            sameshot_autosave: 1,
            file: file.map(Path::to_path_buf),
            folder: folder.to_path_buf(),
            saved_at_unix_s: since_1970(SystemTime::now()).as_secs(),
            case: None,
            guide: None,
            shades: None,
            typed_shades: Vec::new(),
            beside: None,
        };
        match work {
            Unsaved::Case(case) => copy.case = Some(CaseDocument::clone(case)),
            Unsaved::Guide(guide) => copy.guide = Some(write_guide(guide)),
            Unsaved::Shades { references, typed, beside } => {
                copy.shades = references.as_deref().cloned();
                copy.typed_shades.clone_from(typed);
                copy.beside.clone_from(beside);
            }
        }
        save_atomically(&self.copy, json::to_text(&copy, 1)?.as_bytes())
    }

    /// Forgets the copy: the document is saved, or the person does not want it.
    pub fn clear(&self) -> Result<(), Problem> {
        match fs::remove_file(&self.copy) {
            Err(error) if error.kind() != std::io::ErrorKind::NotFound => Err(unusable(&self.copy, &error)),
            _ => Ok(()),
        }
    }

    /// Ends the journal of a window that closes in order.
    pub fn close(self) -> Result<(), Problem> {
        self.clear()?;
        fs::remove_file(&self.lock_file).map_err(|error| unusable(&self.lock_file, &error))
    }
}

impl Recoverable {
    /// Goes on with this work: its journal becomes the window's own. The copy stays until it is saved.
    pub fn take_over(self) -> (Unsaved, Journal) {
        (self.work, self.journal)
    }

    /// Throws the work away.
    pub fn discard(self) -> Result<(), Problem> {
        self.journal.close()
    }
}

/// Unsaved work of windows that are gone, the latest first. What cannot be read is left where it is; lock
/// files without a copy are cleared away.
pub fn recoverable(data_folder: &Path) -> Vec<Recoverable> {
    let Ok(entries) = fs::read_dir(autosave_folder(data_folder)) else { return Vec::new() };
    let locks = entries.flatten().map(|entry| entry.path());
    let locks = locks.filter(|path| path.extension().is_some_and(|ending| ending == "lock"));
    let mut found: Vec<Recoverable> = locks.filter_map(|lock_file| read(&lock_file)).collect();
    found.sort_by_key(|work| std::cmp::Reverse(work.saved_at));
    found
}

fn read(lock_file: &Path) -> Option<Recoverable> {
    let lock = File::options().read(true).write(true).open(lock_file).ok()?;
    // A lock that is held belongs to a window that is alive.
    lock.try_lock().ok()?;
    let copy = lock_file.with_extension("json");
    if !copy.exists() {
        let _ = fs::remove_file(lock_file);
        return None;
    }
    let bytes = read_limited(&copy, KIND.limit_bytes).ok()?;
    let kept: Copy = json::parse(&bytes, &KIND, |_| Ok(())).ok()?;
    // The document must obey what an opened file obeys; paths were judged when it was opened.
    let work = match (&kept.case, &kept.guide, &kept.shades) {
        (Some(case), _, _) => {
            let text = case::to_text(case).ok()?;
            Unsaved::Case(Box::new(case::parse(text.as_bytes(), PathRule::ChosenByHand).ok()?))
        }
        (None, Some(text), _) => Unsaved::Guide(Box::new(parse_guide(text).ok()?)),
        (None, None, None) if kept.typed_shades.is_empty() => return None,
        (None, None, shades) => {
            let read = |shades| parse_references(references_to_text(shades).ok()?.as_bytes()).ok();
            let references = match shades {
                Some(shades) => Some(Box::new(read(shades)?)),
                None => None,
            };
            Unsaved::Shades { references, typed: kept.typed_shades, beside: kept.beside }
        }
    };
    Some(Recoverable {
        work,
        file: kept.file,
        folder: kept.folder,
        saved_at: UNIX_EPOCH + Duration::from_secs(kept.saved_at_unix_s),
        journal: Journal { copy, lock_file: lock_file.into(), _lock: lock },
    })
}

fn autosave_folder(data_folder: &Path) -> PathBuf {
    data_folder.join("autosave")
}

fn since_1970(time: SystemTime) -> Duration {
    time.duration_since(UNIX_EPOCH).unwrap_or_default()
}

fn unusable(path: &Path, error: &std::io::Error) -> Problem {
    Problem::new(
        format!("Unsaved work cannot be kept in {}: {}.", path.display(), reason(error)),
        "Save often, or set SAMESHOT_DATA_DIR to a folder that can be written.",
    )
}

//! A collection's folder: its records read, written, and files copied into it.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use super::atomic::{reason, save_atomically};
use super::open::{open_guide, read_limited, resolve_inside};
use crate::case::{PathRule, relative_to};
use crate::collection::{RECORD_LIMIT_BYTES, Record, Role, Row, parse_record, record_to_text};
use crate::guide::Guide;
use crate::photo::sha256_hex;
use crate::problem::Problem;

/// Names of records end so.
const ENDING: &str = ".record.json";

/// Records lie at most so many folders below the collection's.
const DEEPEST: usize = 4;

/// The records of a folder.
#[derive(Debug, Clone, Default)]
pub struct Collection {
    /// The folder.
    pub folder: PathBuf,
    /// Each record with its file, relative to the folder, with forward slashes; in the order of these.
    pub records: Vec<(String, Record)>,
    /// Files that could not be read.
    pub problems: Vec<Problem>,
}

/// Reads all records of a folder; those that cannot be read are told and left out.
pub fn open_collection(folder: &Path) -> Result<Collection, Problem> {
    let mut files = Vec::new();
    let mut problems = Vec::new();
    fs::read_dir(folder).map_err(|error| unreadable(folder, &error))?;
    find(folder, "", 0, &mut files, &mut problems);
    files.sort();
    let mut records = Vec::with_capacity(files.len());
    for (file, result) in read_all(folder, &files) {
        match result {
            Ok(record) => records.push((file, record)),
            Err(problem) => problems.push(problem),
        }
    }
    Ok(Collection { folder: folder.to_owned(), records, problems })
}

/// Ten thousand small files are read on as many threads as the machine has.
fn read_all(folder: &Path, files: &[String]) -> Vec<(String, Result<Record, Problem>)> {
    let read = |file: &String| (file.clone(), open_record(&folder.join(file)));
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    if threads == 1 || files.len() < 64 {
        return files.iter().map(read).collect();
    }
    std::thread::scope(|scope| {
        let share = files.len().div_ceil(threads);
        let workers: Vec<_> = files
            .chunks(share)
            .map(|share| (share, scope.spawn(move || share.iter().map(read).collect::<Vec<_>>())))
            .collect();
        let joined = workers.into_iter();
        // What a thread could not do is done here.
        joined.flat_map(|(share, w)| w.join().unwrap_or_else(|_| share.iter().map(read).collect())).collect()
    })
}

/// Reads one record.
pub fn open_record(path: &Path) -> Result<Record, Problem> {
    let bytes = read_limited(path, RECORD_LIMIT_BYTES)?;
    parse_record(&bytes).map_err(|problem| problem.in_file(path.display()))
}

/// Writes a record, whole or not at all.
pub fn save_record(path: &Path, record: &Record) -> Result<(), Problem> {
    let text = record_to_text(record).map_err(|problem| problem.in_file(path.display()))?;
    save_atomically(path, text.as_bytes())
}

fn find(folder: &Path, within: &str, depth: usize, files: &mut Vec<String>, problems: &mut Vec<Problem>) {
    let entries = match fs::read_dir(folder.join(within)) {
        Ok(entries) => entries,
        Err(error) => return problems.push(unreadable(&folder.join(within), &error)),
    };
    for entry in entries.flatten() {
        // Of the entry itself: links are not followed.
        let Ok(kind) = entry.file_type() else { continue };
        let name = entry.file_name();
        let Some(name) = name.to_str() else { continue };
        let path = if within.is_empty() { name.to_owned() } else { format!("{within}/{name}") };
        if kind.is_dir() && depth < DEEPEST && !name.starts_with('.') {
            find(folder, &path, depth + 1, files, problems);
        } else if kind.is_file() && name.ends_with(ENDING) {
            files.push(path);
        }
    }
}

fn unreadable(folder: &Path, error: &std::io::Error) -> Problem {
    let reason = match error.kind() {
        std::io::ErrorKind::PermissionDenied => "you may not read it".to_owned(),
        _ => reason(error),
    };
    Problem::new(
        format!("The folder {} cannot be read: {reason}.", folder.display()),
        "Check its name, or choose another folder.",
    )
}

/// The guides that rows name, each once, under the paths that the rows have; and what could not be read.
pub fn collection_guides(
    folder: &Path,
    rows: &[Row],
    rule: PathRule,
) -> (Vec<(String, Guide)>, Vec<Problem>) {
    let mut guides = Vec::new();
    let mut problems = Vec::new();
    for file in named(rows, Role::Guide).into_keys() {
        match resolve_inside(folder, &file, rule).and_then(|path| open_guide(&path)) {
            Ok(guide) => guides.push((file, guide)),
            Err(problem) => problems.push(problem),
        }
    }
    (guides, problems)
}

/// The files that rows name in a role, with the rows that name each.
fn named(rows: &[Row], role: Role) -> BTreeMap<String, Vec<usize>> {
    let mut out: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    for (number, row) in rows.iter().enumerate() {
        for source in row.sources.iter().filter(|source| source.role == role) {
            out.entry(source.file.clone()).or_default().push(number);
        }
    }
    out
}

/// Rows whose newest finding rests on references or a guide that are other ones by now. Files that cannot be read are
/// no other version.
pub fn outdated(folder: &Path, rows: &[Row], rule: PathRule) -> Vec<usize> {
    let mut out = Vec::new();
    for role in [Role::References, Role::Guide] {
        for (file, numbers) in named(rows, role) {
            let now = resolve_inside(folder, &file, rule).and_then(|path| hash_of(&path));
            let Ok(now) = now else { continue };
            let is_other = |number: &&usize| {
                let row = rows.get(**number);
                row.is_some_and(|row| {
                    row.sources.iter().any(|s| s.role == role && s.file == file && s.sha256 != now)
                })
            };
            out.extend(numbers.iter().filter(is_other));
        }
    }
    out.sort_unstable();
    out.dedup();
    out
}

/// SHA-256 of a file of references or of a guide.
fn hash_of(path: &Path) -> Result<String, Problem> {
    let limit = crate::guide::GUIDE_LIMIT_BYTES.max(crate::shade::SHADES_LIMIT_BYTES);
    read_limited(path, limit).map(|bytes| sha256_hex(&bytes))
}

/// A stem for the files of a new record, made from its name, that no file of the folder has yet.
pub fn unused_stem(folder: &Path, name: &str) -> String {
    let mut stem = String::new();
    for letter in name.chars().take(60) {
        if letter.is_alphanumeric() {
            stem.extend(letter.to_lowercase());
        } else if !stem.is_empty() && !stem.ends_with('-') {
            stem.push('-');
        }
    }
    let stem = match stem.trim_end_matches('-') {
        "" => "record",
        stem => stem,
    };
    let is_free = |stem: &String| {
        ["record.json", "case.json"].iter().all(|ending| !folder.join(format!("{stem}.{ending}")).exists())
    };
    let numbered = (2..).map(|number| format!("{stem}-{number}"));
    std::iter::once(stem.to_owned()).chain(numbered).find(is_free).unwrap_or_default()
}

/// Makes sure that a file lies in a collection and answers with its path there. One that lies there already, or whose
/// like does, is not copied again; `name` says what a copy is called, with a number where that name is taken.
pub fn copied_into(folder: &Path, file: &Path, bytes: &[u8], name: &str) -> Result<String, Problem> {
    let absolute = |path: &Path| std::path::absolute(path).unwrap_or(path.to_owned());
    let (folder, file) = (absolute(folder), absolute(file));
    if file.starts_with(&folder) {
        return Ok(relative_to(&folder, &file));
    }
    let (stem, ending) = match name.split_once('.') {
        Some((stem, ending)) => (stem, format!(".{ending}")),
        None => (name, String::new()),
    };
    let numbered = (2..).map(|number| format!("{stem}-{number}{ending}"));
    for name in std::iter::once(name.to_owned()).chain(numbered).take(10_000) {
        let path = folder.join(&name);
        if !path.exists() {
            if let Some(parent) = path.parent() {
                fs::create_dir_all(parent).map_err(|error| unwritable(parent, &error))?;
            }
            save_atomically(&path, bytes)?;
            return Ok(name);
        }
        if fs::read(&path).is_ok_and(|there| there == bytes) {
            return Ok(name);
        }
    }
    Err(Problem::new(
        format!("{} holds too many files called {name}.", folder.display()),
        "Use another folder.",
    ))
}

/// Makes the folder where it is missing.
pub fn make_collection(folder: &Path) -> Result<(), Problem> {
    fs::create_dir_all(folder).map_err(|error| unwritable(folder, &error))
}

fn unwritable(folder: &Path, error: &std::io::Error) -> Problem {
    Problem::new(
        format!("The folder {} cannot be made: {}.", folder.display(), reason(error)),
        "Choose another folder, or make room.",
    )
}

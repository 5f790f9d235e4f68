//! Documents and the files they name, from the disk. Every error names the file.

use std::fs::{self, File};
use std::io::{ErrorKind, Read};
use std::path::{Path, PathBuf};

use super::atomic::{reason, save_atomically};
use crate::card::CardFile;
use crate::card::known::{CARD_LIMIT_BYTES, parse_card};
use crate::case::{self, CASE_LIMIT_BYTES, CaseDocument, PathRule};
use crate::guide::{GUIDE_LIMIT_BYTES, Guide, read_guide};
use crate::problem::Problem;
use crate::shade::{References, SHADES_LIMIT_BYTES, parse_references};

/// Reads a case file. `rule` says whether its paths may leave its folder.
pub fn open_case(path: &Path, rule: PathRule) -> Result<CaseDocument, Problem> {
    let bytes = read_limited(path, CASE_LIMIT_BYTES)?;
    case::parse(&bytes, rule).map_err(|problem| problem.in_file(path.display()))
}

/// Writes a case file, whole or not at all.
pub fn save_case(path: &Path, case: &CaseDocument) -> Result<(), Problem> {
    let text = case::to_text(case).map_err(|problem| problem.in_file(path.display()))?;
    save_atomically(path, text.as_bytes())
}

/// Reads a references file.
pub fn open_references(path: &Path) -> Result<References, Problem> {
    let bytes = read_limited(path, SHADES_LIMIT_BYTES)?;
    parse_references(&bytes).map_err(|problem| problem.in_file(path.display()))
}

/// Reads a guide file; one that cannot be used is refused with everything that is wrong with it.
pub fn open_guide(path: &Path) -> Result<Guide, Problem> {
    let bytes = read_limited(path, GUIDE_LIMIT_BYTES)?;
    let text = String::from_utf8(bytes).map_err(|_| {
        Problem::new(
            format!("{}: the guide is not text in UTF-8.", path.display()),
            "Choose a *.guide.json file.",
        )
    })?;
    read_guide(&text).map_err(|problems| {
        let told: Vec<String> = problems.iter().take(5).map(|p| format!("{}: {}", p.place, p.text)).collect();
        let more = problems.len().saturating_sub(told.len());
        let more = if more > 0 { format!(" And {more} more.") } else { String::new() };
        let remedy = problems.first().map_or("", |p| &p.remedy);
        Problem::new(format!("{}: {}{more}", path.display(), told.join(" ")), remedy)
    })
}

/// Reads a `*.card.json`: the measured greys of a print.
pub fn open_card(path: &Path) -> Result<CardFile, Problem> {
    let bytes = read_limited(path, CARD_LIMIT_BYTES)?;
    parse_card(&bytes).map_err(|problem| problem.in_file(path.display()))
}

/// The file that `inside`, a path in a document in `folder`, means. Unless chosen by hand it must lie in the
/// folder's tree, links followed.
pub fn resolve_inside(folder: &Path, inside: &str, rule: PathRule) -> Result<PathBuf, Problem> {
    case::check_path(inside, rule)
        .map_err(|problem| Problem::new(format!("Refused: {}.", problem.message), problem.remedy))?;
    let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
    let path = folder.join(inside);
    if rule == PathRule::ChosenByHand {
        return Ok(path);
    }
    // What does not exist leads nowhere; reading it will say that it is missing.
    let (Ok(real_folder), Ok(real_path)) = (fs::canonicalize(folder), fs::canonicalize(&path)) else {
        return Ok(path);
    };
    if real_path.starts_with(&real_folder) {
        return Ok(path);
    }
    Err(Problem::new(
        format!("{} is a link that leads out of the folder {}.", path.display(), folder.display()),
        "Put a copy of the file there instead of the link.",
    ))
}

/// The bytes of a file that is no larger than `limit_bytes`.
pub fn read_limited(path: &Path, limit_bytes: u64) -> Result<Vec<u8>, Problem> {
    let unreadable = |error: std::io::Error| {
        let (what, remedy) = match error.kind() {
            ErrorKind::NotFound => {
                ("there is no such file".to_string(), "Check the name, or choose the file again.")
            }
            ErrorKind::PermissionDenied => {
                ("you may not read it".to_string(), "Ask its owner for the right to read it.")
            }
            _ => (reason(&error), "Check the disk, or copy the file to another place and try again."),
        };
        Problem::new(format!("{}: {what}.", path.display()), remedy)
    };
    let about = fs::metadata(path).map_err(unreadable)?;
    if !about.is_file() {
        let what = if about.is_dir() { "a folder" } else { "a device or a pipe" };
        return Err(Problem::new(format!("{} is {what}, not a file.", path.display()), "Name a file."));
    }
    let mut bytes = Vec::new();
    // One byte more than allowed shows that there is more; the file may grow after the look at its size.
    File::open(path)
        .and_then(|file| file.take(limit_bytes + 1).read_to_end(&mut bytes))
        .map_err(unreadable)?;
    if bytes.len() as u64 > limit_bytes {
        return Err(Problem::new(
            format!(
                "{} has {:.1} MB; such a file has at most {} MB.",
                path.display(),
                about.len() as f64 / 1e6,
                limit_bytes / 1_000_000
            ),
            "Check that it is the file you mean.",
        ));
    }
    Ok(bytes)
}

//! Text → document, with errors for people.

use serde::de::DeserializeOwned;
use serde_json::Value;

use super::locate::{Flaw, Step, line_and_column, words};
use crate::problem::Problem;

/// A kind of document: what names it and which versions are known.
#[derive(Debug, Clone, Copy)]
pub struct Kind {
    /// In words, such as "case".
    pub name: &'static str,
    /// The field that carries the version, such as "sameshot_case".
    pub version_field: &'static str,
    /// The newest version known.
    pub newest_version: u32,
    /// Larger files are refused unread.
    pub limit_bytes: u64,
}

/// Reads a document and checks it with `check`.
///
/// Errors say line and column, the mark and the field. Numbers are read exactly (nearest f64).
pub fn parse<T: DeserializeOwned>(
    bytes: &[u8],
    kind: &Kind,
    check: impl FnOnce(&T) -> Result<(), Flaw>,
) -> Result<T, Problem> {
    let text = text_of(bytes, kind)?;
    let whole: Value = serde_json::from_str(text).map_err(|error| syntax_problem(text, &error, kind))?;
    check_version(&whole, kind)?;
    let mut reader = serde_json::Deserializer::from_str(text);
    let document: T = serde_path_to_error::deserialize(&mut reader).map_err(|error| {
        let flaw = Flaw::new(
            steps_of(error.path()),
            plain_words(&error.inner().to_string()),
            format!("Correct it there; the format of a {} file is in the manual.", kind.name),
        );
        placed(text, &whole, flaw)
    })?;
    check(&document).map_err(|flaw| placed(text, &whole, flaw))?;
    Ok(document)
}

fn text_of<'a>(bytes: &'a [u8], kind: &Kind) -> Result<&'a str, Problem> {
    if bytes.len() as u64 > kind.limit_bytes {
        return Err(Problem::new(
            format!(
                "The file has {} MB; a {} file has at most {} MB.",
                bytes.len() / 1_000_000,
                kind.name,
                kind.limit_bytes / 1_000_000
            ),
            format!("Check that this is a Sameshot {} file.", kind.name),
        ));
    }
    let text = std::str::from_utf8(bytes).map_err(|error| {
        let line = bytes.iter().take(error.valid_up_to()).filter(|byte| **byte == b'\n').count() + 1;
        Problem::new(
            format!("Line {line}: the file is not UTF-8 text."),
            format!("Check that this is a Sameshot {} file; if it is, save it as UTF-8.", kind.name),
        )
    })?;
    // Some editors put a byte order mark in front.
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    if text.trim().is_empty() {
        return Err(Problem::new(
            "The file is empty.",
            "If it was cut off while being copied, copy it again.",
        ));
    }
    Ok(text)
}

fn syntax_problem(text: &str, error: &serde_json::Error, kind: &Kind) -> Problem {
    let (line, column) = (error.line(), error.column());
    let place = format!("Line {line}, column {column}");
    let word = word_at(text, line, column);
    if matches!(word.trim_start_matches('-').to_lowercase().as_str(), "nan" | "infinity" | "inf") {
        return Problem::new(
            format!("{place}: {word} is no number that JSON knows."),
            "Write a finite number there.",
        );
    }
    let whole = error.to_string();
    let what = without_place(&whole);
    if what.contains("number out of range") {
        return Problem::new(
            format!("{place}: a number is too large to be one."),
            "Write a number below 1e300 there.",
        );
    }
    if error.is_eof() {
        return Problem::new(
            format!("{place}: the text ends in the middle of the JSON."),
            "The file was cut off; copy or save it again.",
        );
    }
    Problem::new(
        format!("{place}: not JSON ({what})."),
        format!("Check that this is a Sameshot {} file and correct it there.", kind.name),
    )
}

/// The word around a place, for an error about it.
fn word_at(text: &str, line: usize, column: usize) -> &str {
    let line = text.lines().nth(line.saturating_sub(1)).unwrap_or_default();
    let is_part = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '+';
    let at = column.saturating_sub(1).min(line.len());
    let start = line
        .char_indices()
        .take_while(|(index, _)| *index <= at)
        .filter(|(_, c)| !is_part(*c))
        .last()
        .map_or(0, |(index, c)| index + c.len_utf8());
    let tail = line.get(start..).unwrap_or_default();
    &tail[..tail.find(|c| !is_part(c)).unwrap_or(tail.len())]
}

fn check_version(whole: &Value, kind: &Kind) -> Result<(), Problem> {
    let not_this_kind =
        |what: String| Problem::new(what, format!("Check that this is a Sameshot {} file.", kind.name));
    let Value::Object(fields) = whole else {
        return Err(not_this_kind(format!("The file is JSON but no {} file.", kind.name)));
    };
    let Some(version) = fields.get(kind.version_field) else {
        let other = fields.keys().find(|name| name.starts_with("sameshot_"));
        return Err(not_this_kind(match other {
            Some(other) => {
                format!("The file has {other} instead of {}: it is another kind of file.", kind.version_field)
            }
            None => format!("The field {} is missing.", kind.version_field),
        }));
    };
    match version.as_u64() {
        Some(version) if version > u64::from(kind.newest_version) => Err(Problem::new(
            format!(
                "The file was made by a newer Sameshot: {} is {version}, this program knows up to {}.",
                kind.version_field, kind.newest_version
            ),
            "Install the newer Sameshot to open it.",
        )),
        Some(version) if version >= 1 => Ok(()),
        _ => Err(Problem::new(
            format!("{} must be a whole number from 1 on, not {version}.", kind.version_field),
            format!("Write {} there.", kind.newest_version),
        )),
    }
}

fn placed(text: &str, whole: &Value, flaw: Flaw) -> Problem {
    let place = line_and_column(text, &flaw.path)
        .map_or(String::new(), |(line, column)| format!("Line {line}, column {column}: "));
    let what = match words(whole, &flaw.path) {
        mark if mark.is_empty() => flaw.message,
        mark => format!("{mark}: {}", flaw.message),
    };
    Problem::new(format!("{place}{what}."), flaw.remedy)
}

fn steps_of(path: &serde_path_to_error::Path) -> Vec<Step> {
    use serde_path_to_error::Segment;
    path.iter()
        .map_while(|segment| match segment {
            Segment::Seq { index } => Some(Step::Entry(*index)),
            Segment::Map { key } => Some(Step::Field(key.clone())),
            Segment::Enum { variant } => Some(Step::Field(variant.clone())),
            Segment::Unknown => None,
        })
        .collect()
}

/// serde's wording in plain words.
pub(crate) fn plain_words(text: &str) -> String {
    let text = without_place(text);
    let expected = |wanted: &str| match wanted {
        "f64" => "a number".to_string(),
        "u32" | "u64" => "a whole number".to_string(),
        "a sequence" => "a list".to_string(),
        "a boolean" => "true or false".to_string(),
        "a string" => "text in quotes".to_string(),
        wanted => match wanted.strip_prefix("an array of length ") {
            Some(count) => format!("a list of {count}"),
            None if wanted.starts_with("struct ") || wanted.starts_with("a map") => "an object".into(),
            None => wanted.to_string(),
        },
    };
    for start in ["invalid type: ", "invalid value: ", "invalid length "] {
        if let Some((found, wanted)) =
            text.strip_prefix(start).and_then(|rest| rest.split_once(", expected "))
        {
            return format!("expected {}, found {found}", expected(wanted));
        }
    }
    if let Some(field) = text.strip_prefix("missing field ") {
        return format!("the field {field} is missing");
    }
    if let Some(field) = text.strip_prefix("duplicate field ") {
        return format!("the field {field} is there twice");
    }
    match text.strip_prefix("unknown variant ").and_then(|rest| rest.split_once(", expected ")) {
        Some((found, wanted)) => format!("{found} is not known here, expected {wanted}"),
        None => text.to_string(),
    }
}

fn without_place(text: &str) -> &str {
    text.rfind(" at line ").map_or(text, |at| &text[..at])
}

//! Text of a guide file → guide.

use serde_json::Value;

use super::{GUIDE_VERSION, Guide, Problem, validate};

/// Reads a guide and refuses one that cannot be used.
///
/// Errors: no JSON, another kind of file, a newer version, a missing field, or whatever [`validate`] finds.
pub fn read_guide(text: &str) -> Result<Guide, Vec<Problem>> {
    let guide = parse_guide(text).map_err(|problem| vec![problem])?;
    let problems = validate(&guide);
    if problems.is_empty() { Ok(guide) } else { Err(problems) }
}

/// Reads a guide without asking whether it makes sense, as an editor must.
pub fn parse_guide(text: &str) -> Result<Guide, Problem> {
    let value: Value = serde_json::from_str(text).map_err(|error| {
        Problem::new(
            format!("line {}, column {}", error.line(), error.column()),
            format!("This is not JSON: {error}."),
            "Mend the file there, or take an earlier copy.",
        )
    })?;
    match value.get("sameshot_guide").map(Value::as_u64) {
        Some(Some(version)) if version == u64::from(GUIDE_VERSION) => {}
        Some(Some(version)) if version > u64::from(GUIDE_VERSION) => {
            return Err(Problem::new(
                "sameshot_guide",
                format!("The guide is of version {version}; this program knows version {GUIDE_VERSION}."),
                "Use a newer Sameshot.",
            ));
        }
        _ => {
            return Err(Problem::new(
                "sameshot_guide",
                "This is not a guide: its first field is not “sameshot_guide” with a version.",
                "Choose a *.guide.json file, or put \"sameshot_guide\": 1 first.",
            ));
        }
    }
    // Read from the text again: serde then knows the line and column of a wrong field.
    serde_json::from_str(text).map_err(|error| {
        Problem::new(
            format!("line {}, column {}", error.line(), error.column()),
            format!("A field of the guide is missing or of the wrong kind: {error}."),
            "Compare it with the format's description.",
        )
    })
}

/// The text of a guide's file.
pub fn write_guide(guide: &Guide) -> String {
    // A guide holds strings, finite numbers and maps with string keys: nothing that JSON cannot say.
    let mut text = serde_json::to_string_pretty(guide).unwrap_or_default();
    text.push('\n');
    text
}

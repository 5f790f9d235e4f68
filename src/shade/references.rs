//! `*.shades.json`: the shades of one family with their specimens. Unknown fields are kept.

use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

use crate::json::{self, Flaw, Kind, Step};
use crate::problem::Problem;

/// The version of the references format that this program writes.
pub const SHADES_VERSION: u32 = 1;

/// A references file has at most so many bytes.
pub const SHADES_LIMIT_BYTES: u64 = 16_000_000;

const KIND: Kind = Kind {
    name: "shades",
    version_field: "sameshot_shades",
    newest_version: SHADES_VERSION,
    limit_bytes: SHADES_LIMIT_BYTES,
};

/// The shades of one family.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct References {
    /// Format version, the first field of the file.
    pub sameshot_shades: u32,
    /// The family's name, such as "green".
    pub family: String,
    /// Its shades, in the order in which they are shown.
    pub shades: Vec<Shade>,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub rest: Map<String, Value>,
}

/// One shade.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Shade {
    /// Its id, such as "green/light".
    pub id: String,
    /// Its name for people; the id where missing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub label: Option<String>,
    /// Real parts of this shade that were measured.
    #[serde(default)]
    pub specimens: Vec<Specimen>,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub rest: Map<String, Value>,
}

/// One real part whose shade is certain.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Specimen {
    /// Its name.
    pub id: String,
    /// L\*, a\*, b\* under D50.
    pub lab: [f64; 3],
    /// Standard deviation of the measurement.
    pub sd: [f64; 3],
    /// How it was measured.
    pub method: Method,
    /// Whether it has visibly yellowed or faded.
    #[serde(default)]
    pub aged: bool,
    /// Anything worth remembering.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub rest: Map<String, Value>,
}

/// How a specimen was measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Method {
    /// From a photo with a card.
    Photo,
    /// With a spectrophotometer or colorimeter.
    Spectrophotometer,
    /// Taken from a publication.
    Published,
}

impl Method {
    /// Its name in files.
    pub fn name(self) -> &'static str {
        match self {
            Method::Photo => "photo",
            Method::Spectrophotometer => "spectrophotometer",
            Method::Published => "published",
        }
    }

    /// The method of a name in files.
    pub fn of_name(name: &str) -> Option<Self> {
        [Method::Photo, Method::Spectrophotometer, Method::Published].into_iter().find(|m| m.name() == name)
    }
}

impl Shade {
    /// The name to show.
    pub fn name(&self) -> &str {
        self.label.as_deref().unwrap_or(&self.id)
    }
}

/// Reads references from the bytes of their file and checks them.
pub fn parse_references(bytes: &[u8]) -> Result<References, Problem> {
    json::parse(bytes, &KIND, check)
}

/// The text of a references file. References that could not be opened again are refused.
pub fn references_to_text(references: &References) -> Result<String, Problem> {
    check(references).map_err(|flaw| {
        Problem::new(format!("The references cannot be saved: {}.", flaw.message), flaw.remedy)
    })?;
    json::to_text(references, 4)
}

fn check(references: &References) -> Result<(), Flaw> {
    if references.family.trim().is_empty() {
        return Err(Flaw::new(
            vec!["family".into()],
            "the family has no name",
            "Name the hue of its shades, such as \"green\".",
        ));
    }
    if references.shades.is_empty() {
        return Err(Flaw::new(
            vec!["shades".into()],
            "the family has no shades",
            "Add a shade with at least one specimen.",
        ));
    }
    json::check_ids("shades", references.shades.iter().map(|shade| shade.id.as_str()))?;
    references.shades.iter().enumerate().try_for_each(|(index, shade)| {
        check_shade(shade).map_err(|mut flaw| {
            flaw.path.splice(0..0, ["shades".into(), index.into()]);
            flaw
        })
    })
}

/// Checks one shade; paths start at it.
fn check_shade(shade: &Shade) -> Result<(), Flaw> {
    // These words have a meaning of their own where a shade's id stands in a result.
    if matches!(shade.id.as_str(), "undecided" | "none") {
        return Err(Flaw::new(
            vec!["id".into()],
            format!("no shade may be called \"{}\", which has a meaning in results", shade.id),
            "Give it another id, such as \"green/light\".",
        ));
    }
    if shade.specimens.is_empty() {
        return Err(Flaw::new(
            vec!["specimens".into()],
            "the shade has no specimens, so nothing can be compared with it",
            "Add a measured specimen, or take the shade out.",
        ));
    }
    json::check_ids("specimens", shade.specimens.iter().map(|specimen| specimen.id.as_str()))?;
    for (index, specimen) in shade.specimens.iter().enumerate() {
        let flaws = [("lab", json::check_lab(&specimen.lab)), ("sd", json::check_sd(&specimen.sd))];
        for (field, flaw) in flaws {
            let Some((message, remedy)) = flaw else { continue };
            let path: Vec<Step> = vec!["specimens".into(), index.into(), field.into()];
            return Err(Flaw { path, message, remedy });
        }
        super::details::check(&specimen.rest).map_err(|mut flaw| {
            flaw.path.splice(0..0, ["specimens".into(), index.into()]);
            flaw
        })?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    const GREEN: &str = r#"{"sameshot_shades": 1, "family": "green", "made": "2026", "shades": [
        {"id": "green/light", "label": "light green", "specimens": [
            {"id": "A", "lab": [52.1, -10.2, 14.0], "sd": [0.6, 0.4, 0.4], "method": "photo", "aged": false, "by": 7},
            {"id": "B", "lab": [52.3, -10.0, 14.1], "sd": [0.6, 0.4, 0.4], "method": "published", "aged": true}]},
        {"id": "green/medium", "specimens": [
            {"id": "A", "lab": [47.1, -12.2, 15.0], "sd": [0.6, 0.4, 0.4], "method": "spectrophotometer", "aged": false}]}]}"#;

    #[test]
    fn references_keep_unknown_fields() {
        let read = parse_references(GREEN.as_bytes()).unwrap();
        assert_eq!(read.shades[1].name(), "green/medium");
        let saved: Value = serde_json::from_str(&references_to_text(&read).unwrap()).unwrap();
        assert_eq!(saved, serde_json::from_str::<Value>(GREEN).unwrap());
    }

    #[test]
    fn refusals_name_shade_and_specimen() {
        let changed = |from: &str, to: &str| {
            assert!(GREEN.contains(from), "{from}");
            parse_references(GREEN.replacen(from, to, 1).as_bytes()).unwrap_err().to_string()
        };
        let cases = [
            (changed("\"sameshot_shades\": 1", "\"sameshot_shades\": 9"), vec!["newer Sameshot"]),
            (
                changed("\"green/medium\"", "\"green/light\""),
                vec!["Line 5", "shade \"green/light\"", "twice"],
            ),
            (changed("\"green/medium\"", "\"none\""), vec!["called \"none\""]),
            (changed("\"id\": \"B\"", "\"id\": \"A\""), vec!["Line 4", "specimen \"A\"", "twice"]),
            (
                changed("\"sd\": [0.6, 0.4", "\"sd\": [0.6, 0"),
                vec!["Line 3", "shade \"green/light\", specimen \"A\", field sd", "above 0"],
            ),
            (changed("52.1", "152.1"), vec!["specimen \"A\", field lab", "L* is 152.1"]),
            (changed("\"photo\"", "\"guess\""), vec!["field method", "`guess`", "`photo`"]),
            (changed("\"family\": \"green\"", "\"family\": \"\""), vec!["family has no name"]),
        ];
        for (problem, wanted) in cases {
            for word in wanted {
                assert!(problem.contains(word), "{problem}\n  without: {word}");
            }
        }
        let empty = r#"{"sameshot_shades": 1, "family": "green", "shades": []}"#;
        assert!(parse_references(empty.as_bytes()).unwrap_err().message.contains("no shades"));
        let hollow = r#"{"sameshot_shades": 1, "family": "green", "shades": [{"id": "a"}]}"#;
        assert!(parse_references(hollow.as_bytes()).unwrap_err().message.contains("shade \"a\""));
    }
}

//! `*.record.json`: one figure, or one lot of loose parts. Unknown fields are kept when a record is saved again.

use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

use crate::case::{PathRule, check_path};
use crate::json::{self, Flaw, Kind, Step};
use crate::problem::Problem;

/// The version of the record format that this program writes.
pub const RECORD_VERSION: u32 = 1;

/// A record file has at most so many bytes.
pub const RECORD_LIMIT_BYTES: u64 = 4_000_000;

/// A character is settled from this probability on; a part belongs from it on, and does not up to one less it.
pub const SETTLED: f64 = 0.95;

const KIND: Kind = Kind {
    name: "record",
    version_field: "sameshot_record",
    newest_version: RECORD_VERSION,
    limit_bytes: RECORD_LIMIT_BYTES,
};

/// One figure, or one lot of loose parts. `FORMAT.md` in this room tells every field.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Record {
    /// Format version, the first field of the file.
    pub sameshot_record: u32,
    /// What the person calls it.
    pub name: String,
    /// Whether it is a figure.
    #[serde(default, skip_serializing_if = "Holds::is_figure")]
    pub holds: Holds,
    /// Paths of its photos, relative to the record.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub photos: Vec<String>,
    /// Paths of its cases, relative to the record.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub cases: Vec<String>,
    /// What state it is in.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub condition: Option<String>,
    /// Where it comes from.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bought: Option<Bought>,
    /// Anything worth remembering.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
    /// The history of findings, oldest first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub findings: Vec<RecordedFinding>,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub rest: Map<String, Value>,
}

/// What a record is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Holds {
    /// A figure.
    #[default]
    #[serde(rename = "figure")]
    Figure,
    /// Parts that belong to no figure yet.
    #[serde(rename = "loose parts")]
    LooseParts,
}

impl Holds {
    fn is_figure(&self) -> bool {
        *self == Holds::Figure
    }
}

/// Where a figure comes from, in the person's words.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Bought {
    /// The place or the seller.
    #[serde(rename = "where", default, skip_serializing_if = "Option::is_none")]
    pub place: Option<String>,
    /// When.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub date: Option<String>,
    /// What was paid, with its currency.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price: Option<String>,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub rest: Map<String, Value>,
}

/// What was found at one time.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RecordedFinding {
    /// The day, year-month-day.
    pub date: String,
    /// The version of the program.
    pub program: String,
    /// The files it rests on.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub sources: Vec<Source>,
    /// Who it may be, the likeliest first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub ranking: Vec<RecordedWho>,
    /// What was found of each part.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub parts: Vec<RecordedPart>,
    /// Slots without a part.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub missing: Vec<String>,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub rest: Map<String, Value>,
}

/// A file that a finding rests on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Source {
    /// What it was used as.
    pub role: Role,
    /// Its path, relative to the record.
    pub file: String,
    /// SHA-256 of its bytes in hexadecimal.
    pub sha256: String,
}

/// What a file was used as.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Role {
    /// The photo.
    Photo,
    /// The marks on it.
    Case,
    /// The shades compared with.
    References,
    /// The guide weighed with.
    Guide,
}

/// A character and run with its probability.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RecordedWho {
    /// The character's id.
    pub character: String,
    /// The run's id.
    pub run: String,
    /// 0..=1.
    pub probability: f64,
}

/// What was found of one part.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RecordedPart {
    /// The reading's id; missing where the part was seen but not measured.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reading: Option<String>,
    /// The slot's id, where it is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub slot: Option<String>,
    /// A shade's id, "undecided" or "none"; missing without references.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub call: Option<String>,
    /// Probability of what was called, or of the likeliest shade where none was.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub probability: Option<f64>,
    /// The mould seen for certain.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mould: Option<String>,
    /// Probability that the part belongs to the figure.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub belongs: Option<f64>,
    /// "broken", "worn", "yellowed", "loose joint".
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub state: Vec<String>,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub rest: Map<String, Value>,
}

impl Record {
    /// A record with nothing but a name.
    pub fn new(name: impl Into<String>) -> Self {
        Self {
            sameshot_record: RECORD_VERSION,
            name: name.into(),
            holds: Holds::Figure,
            photos: Vec::new(),
            cases: Vec::new(),
            condition: None,
            bought: None,
            notes: None,
            findings: Vec::new(),
            rest: Map::new(),
        }
    }

    /// The newest finding.
    pub fn finding(&self) -> Option<&RecordedFinding> {
        self.findings.last()
    }
}

impl RecordedFinding {
    /// Who it is, where that is settled.
    pub fn settled(&self) -> Option<&RecordedWho> {
        self.ranking.first().filter(|who| who.probability >= SETTLED)
    }

    /// The file that was used as this, if one was.
    pub fn source(&self, role: Role) -> Option<&Source> {
        self.sources.iter().find(|source| source.role == role)
    }
}

/// Reads a record from the bytes of its file.
///
/// Ten thousand of them must open at once: what is right is read in one go, and only what is not is read again for an
/// error that names the place.
pub fn parse_record(bytes: &[u8]) -> Result<Record, Problem> {
    if bytes.len() as u64 <= RECORD_LIMIT_BYTES
        && let Ok(record) = serde_json::from_slice::<Record>(bytes)
        && (1..=RECORD_VERSION).contains(&record.sameshot_record)
        && check(&record).is_ok()
    {
        return Ok(record);
    }
    json::parse(bytes, &KIND, check)
}

/// The text of a record file. A record that could not be opened again is refused.
pub fn record_to_text(record: &Record) -> Result<String, Problem> {
    check(record).map_err(|flaw| {
        Problem::new(format!("The record cannot be saved: {}.", flaw.message), flaw.remedy)
    })?;
    json::to_text(record, 4)
}

fn check(record: &Record) -> Result<(), Flaw> {
    if record.name.trim().is_empty() {
        let path: Vec<Step> = vec!["name".into()];
        return Err(Flaw::new(path, "the record has no name", "Write what you call the figure."));
    }
    for (list, paths) in [("photos", &record.photos), ("cases", &record.cases)] {
        for (index, path) in paths.iter().enumerate() {
            // Whether it may lead out of the collection is judged when it is followed.
            check_path(path, PathRule::ChosenByHand)
                .map_err(|p| Flaw::new(vec![list.into(), index.into()], p.message, p.remedy))?;
        }
    }
    for (index, finding) in record.findings.iter().enumerate() {
        let ranked = finding.ranking.iter().map(|who| Some(who.probability));
        let parts = finding.parts.iter().flat_map(|part| [part.probability, part.belongs]);
        if let Some(wrong) = ranked.chain(parts).flatten().find(|p| !(0.0..=1.0).contains(p)) {
            return Err(Flaw::new(
                vec!["findings".into(), index.into()],
                format!("{wrong} is no probability"),
                "A probability is a number from 0 to 1.",
            ));
        }
    }
    Ok(())
}

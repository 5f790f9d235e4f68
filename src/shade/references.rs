//! `*.shades.json`: the shades of one family with their specimens. Unknown fields are kept.

use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

/// The version of the references format that this program writes.
pub const SHADES_VERSION: u32 = 1;

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

impl Shade {
    /// The name to show.
    pub fn name(&self) -> &str {
        self.label.as_deref().unwrap_or(&self.id)
    }
}

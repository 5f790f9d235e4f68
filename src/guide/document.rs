//! The guide as it stands in its file.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

use super::rates::Rates;

/// The version of the guide format that this program writes.
pub const GUIDE_VERSION: u32 = 1;

/// The most bytes a guide may have; 400 characters in 4 runs take some 5 MB.
pub const GUIDE_LIMIT_BYTES: u64 = 32_000_000;

/// The parts and colours of one line. `FORMAT.md` in this room tells every field.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Guide {
    /// Format version, the first field of the file.
    pub sameshot_guide: u32,
    /// The name of the line.
    pub line: String,
    /// Who made it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub maker: Option<String>,
    /// The production runs, in their order.
    pub runs: Vec<Run>,
    /// The places in a figure, from head to foot.
    pub slots: Vec<Slot>,
    /// The base colours of the plastic.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub shades: Vec<GuideShade>,
    /// The tools the parts were made in.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub moulds: Vec<Mould>,
    /// Everything else that can be seen on a part: paint, joints, marks.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub features: Vec<Feature>,
    /// Who there is.
    pub characters: Vec<Character>,
    /// The two halves along which figures are put together from two; without them none is looked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub halves: Option<Halves>,
    /// How often things go wrong.
    #[serde(default, skip_serializing_if = "Rates::is_silent")]
    pub rates: Rates,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub rest: Map<String, Value>,
}

/// A production run.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Run {
    /// Its id, such as "first".
    pub id: String,
    /// Its name for people; the id where missing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub label: Option<String>,
    /// How common its figures are beside those of other runs; 1 where missing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub weight: Option<f64>,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub rest: Map<String, Value>,
}

/// A place in a figure.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Slot {
    /// Its id, such as "arm-left".
    pub id: String,
    /// Its name for people; the id where missing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub label: Option<String>,
    /// The slot on the other side of the body.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mirror: Option<String>,
    /// Share of loose figures that have lost this part; `rates.lost` where missing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lost: Option<f64>,
    /// Share of figures with this part exchanged; `rates.exchange` where missing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub exchange: Option<f64>,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub rest: Map<String, Value>,
}

/// A base colour of the plastic.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GuideShade {
    /// Its id as in the shade references, such as "green/light"; the family stands before the stroke.
    pub id: String,
    /// Its name for people; the id where missing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub label: Option<String>,
    /// A caution where plastic of this shade breaks easily.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub brittle: Option<String>,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub rest: Map<String, Value>,
}

/// The tool a part was made in.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Mould {
    /// Its id, such as "H2".
    pub id: String,
    /// Its name for people; the id where missing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub label: Option<String>,
    /// The slots its parts go into.
    pub slots: Vec<String>,
    /// One sentence of how to know it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub how: Option<String>,
    /// A picture or sketch, relative to the guide.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub picture: Option<String>,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub rest: Map<String, Value>,
}

/// Something that can be seen on a part besides its mould and shade.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Feature {
    /// Its id, such as "cuff paint".
    pub id: String,
    /// Its name for people; the id where missing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub label: Option<String>,
    /// What kind of thing it is.
    pub kind: FeatureKind,
    /// The slots it is seen in.
    pub slots: Vec<String>,
    /// What may be seen.
    pub values: Vec<String>,
    /// The value that means "no paint here".
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bare: Option<String>,
    /// Share of loose parts on which this paint is worn off; `rates.wear` where missing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub wear: Option<f64>,
    /// Share of sure looks that are wrong; `rates.misread` where missing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub misread: Option<f64>,
    /// A part with another value of this feature does not fit the figure at all.
    #[serde(default, skip_serializing_if = "is_false")]
    pub binds: bool,
    /// One sentence of how to see it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub how: Option<String>,
    /// A picture or sketch, relative to the guide.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub picture: Option<String>,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub rest: Map<String, Value>,
}

/// What kind of thing a feature is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum FeatureKind {
    /// Paint, which wears and can be put on later.
    Paint,
    /// How a part is joined to its neighbour.
    Joint,
    /// A stamp, a letter, a seam: a detail of make.
    Mark,
}

/// Who a figure can be.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Character {
    /// Its id, such as "Keeper".
    pub id: String,
    /// Its name for people; the id where missing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub label: Option<String>,
    /// As it was made in each run.
    pub issues: Vec<Issue>,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub rest: Map<String, Value>,
}

/// A character as it was made in one run.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Issue {
    /// The run's id.
    pub run: String,
    /// How common it is beside other characters of the run; 1 where missing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub weight: Option<f64>,
    /// Slot → what its part is like. A slot left out has no part.
    pub parts: BTreeMap<String, Part>,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub rest: Map<String, Value>,
}

/// Feature → what it is on this part; "mould" and "shade" are features too. A feature left out is unknown.
pub type Part = BTreeMap<String, Choice>;

/// Not a feature of a [`Part`] but free text on it, for people.
pub const NOTE: &str = "note";

/// What a feature is on a part.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Choice {
    /// Always this.
    One(String),
    /// One of these, by how common they are.
    Mixed(BTreeMap<String, f64>),
    /// Neither of both: kept, and told by validation.
    Other(Value),
}

/// The two halves of a figure.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Halves {
    /// The slots of the upper half; all others are the lower one.
    pub upper: Vec<String>,
    /// Share of loose figures put together from halves of two; 1 % where missing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rate: Option<f64>,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub rest: Map<String, Value>,
}

impl Guide {
    /// A guide with nothing in it.
    pub fn new(line: impl Into<String>) -> Self {
        Self {
            sameshot_guide: GUIDE_VERSION,
            line: line.into(),
            maker: None,
            runs: Vec::new(),
            slots: Vec::new(),
            shades: Vec::new(),
            moulds: Vec::new(),
            features: Vec::new(),
            characters: Vec::new(),
            halves: None,
            rates: Rates::default(),
            rest: Map::new(),
        }
    }

    /// What a feature may be in a slot: the moulds that go there, all shades, or the feature's own values.
    /// Empty where the slot does not have the feature.
    pub fn values_in(&self, slot: &str, feature: &str) -> Vec<&str> {
        match feature {
            "mould" => {
                self.moulds.iter().filter(|m| m.slots.iter().any(|s| s == slot)).map(|m| &*m.id).collect()
            }
            "shade" => self.shades.iter().map(|s| &*s.id).collect(),
            _ => match self.features.iter().find(|f| f.id == feature) {
                Some(f) if f.slots.iter().any(|s| s == slot) => f.values.iter().map(|v| &**v).collect(),
                _ => Vec::new(),
            },
        }
    }
}

macro_rules! named {
    ($($kind:ty),*) => {$(
        impl $kind {
            /// The name to show.
            pub fn name(&self) -> &str {
                self.label.as_deref().unwrap_or(&self.id)
            }
        }
    )*};
}
named!(Run, Slot, GuideShade, Mould, Feature, Character);

fn is_false(value: &bool) -> bool {
    !value
}

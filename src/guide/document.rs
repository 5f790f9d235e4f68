//! The guide as it stands in its file.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

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
    #[serde(default, skip_serializing_if = "Option::is_none")]
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
    #[serde(default, skip_serializing_if = "Option::is_none")]
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
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub label: Option<String>,
    /// How common its figures are beside those of other runs; 1 where missing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
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
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub label: Option<String>,
    /// The slot on the other side of the body.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mirror: Option<String>,
    /// Share of loose figures that have lost this part; `rates.lost` where missing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lost: Option<f64>,
    /// Share of figures with this part exchanged; `rates.exchange` where missing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
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
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub label: Option<String>,
    /// A caution where plastic of this shade breaks easily.
    #[serde(default, skip_serializing_if = "Option::is_none")]
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
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub label: Option<String>,
    /// The slots its parts go into.
    pub slots: Vec<String>,
    /// One sentence of how to know it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub how: Option<String>,
    /// A picture or sketch, relative to the guide.
    #[serde(default, skip_serializing_if = "Option::is_none")]
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
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub label: Option<String>,
    /// What kind of thing it is.
    pub kind: FeatureKind,
    /// The slots it is seen in.
    pub slots: Vec<String>,
    /// What may be seen.
    pub values: Vec<String>,
    /// The value that means "no paint here".
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bare: Option<String>,
    /// Share of loose parts on which this paint is worn off; `rates.wear` where missing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wear: Option<f64>,
    /// Share of sure looks that are wrong; `rates.misread` where missing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub misread: Option<f64>,
    /// A part with another value of this feature does not fit the figure at all.
    #[serde(default, skip_serializing_if = "is_false")]
    pub binds: bool,
    /// One sentence of how to see it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub how: Option<String>,
    /// A picture or sketch, relative to the guide.
    #[serde(default, skip_serializing_if = "Option::is_none")]
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
    #[serde(default, skip_serializing_if = "Option::is_none")]
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
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub weight: Option<f64>,
    /// Slot → what its part is like. A slot left out has no part.
    pub parts: BTreeMap<String, Part>,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub rest: Map<String, Value>,
}

/// Feature → what it is on this part; "mould" and "shade" are features too. A feature left out is unknown.
pub type Part = BTreeMap<String, Choice>;

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
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rate: Option<f64>,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub rest: Map<String, Value>,
}

/// How often things go wrong, as shares of 0 to 1. Where the guide is silent, see [`Rates`]'s methods.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Rates {
    /// A slot holds a part of another figure.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub exchange: Option<f64>,
    /// A part is missing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lost: Option<f64>,
    /// A sure look is wrong.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub misread: Option<f64>,
    /// An unsure look is wrong.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unsure: Option<f64>,
    /// Paint is worn off.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wear: Option<f64>,
    /// Of worn paint, the share that leaves traces.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub traces: Option<f64>,
    /// A part was painted after it left the maker.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub repaint: Option<f64>,
    /// A part's plastic looks like none of the line's shades: painted over, dyed, badly aged.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub off_colour: Option<f64>,
    /// A yellowed or faded part looks like another shade of its family.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub aged: Option<f64>,
    /// A future reading of a shade is expected to name another one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shade_misread: Option<f64>,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub rest: Map<String, Value>,
}

/// The rates that hold where a guide is silent. All are common practice without a source, 5 % exchanged parts
/// being the design's.
impl Rates {
    /// Share of exchanged parts, 0..=1.
    pub fn exchange(&self) -> f64 {
        self.exchange.unwrap_or(0.05)
    }

    /// Share of missing parts.
    pub fn lost(&self) -> f64 {
        self.lost.unwrap_or(0.02)
    }

    /// Share of sure looks that are wrong.
    pub fn misread(&self) -> f64 {
        self.misread.unwrap_or(0.02)
    }

    /// Share of unsure looks that are wrong.
    pub fn unsure(&self) -> f64 {
        self.unsure.unwrap_or(0.25)
    }

    /// Share of painted details worn off.
    pub fn wear(&self) -> f64 {
        self.wear.unwrap_or(0.10)
    }

    /// Share of worn details that leave traces.
    pub fn traces(&self) -> f64 {
        self.traces.unwrap_or(0.5)
    }

    /// Share of painted details that are not of the time.
    pub fn repaint(&self) -> f64 {
        self.repaint.unwrap_or(0.02)
    }

    /// Share of parts whose plastic looks like no shade of the line.
    pub fn off_colour(&self) -> f64 {
        self.off_colour.unwrap_or(0.02)
    }

    /// Share of visibly aged parts that look like another shade.
    pub fn aged(&self) -> f64 {
        self.aged.unwrap_or(0.25)
    }

    /// Share of future shade readings expected to name another shade.
    pub fn shade_misread(&self) -> f64 {
        self.shade_misread.unwrap_or(0.10)
    }

    fn is_silent(&self) -> bool {
        *self == Self::default()
    }

    /// Every stated rate with its field name.
    pub fn stated(&self) -> [(&'static str, Option<f64>); 10] {
        [
            ("exchange", self.exchange),
            ("lost", self.lost),
            ("misread", self.misread),
            ("unsure", self.unsure),
            ("wear", self.wear),
            ("traces", self.traces),
            ("repaint", self.repaint),
            ("off_colour", self.off_colour),
            ("aged", self.aged),
            ("shade_misread", self.shade_misread),
        ]
    }
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

//! The result as it is shown and as it leaves the program (`sameshot_result`, version 1).

use serde::{Deserialize, Serialize};

use crate::case::Doubt;
use crate::plastic::PixelCounts;
pub use crate::stats::Interval;

/// Everything found in one photo.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Measurement {
    /// Format version.
    pub sameshot_result: u32,
    /// One entry a reading, in the case's order.
    pub readings: Vec<ReadingResult>,
    /// Every two readings compared.
    pub pairs: Vec<PairResult>,
    /// The light of the photo.
    pub light: LightSummary,
}

impl Default for Measurement {
    fn default() -> Self {
        Self { sameshot_result: 1, readings: Vec::new(), pairs: Vec::new(), light: LightSummary::default() }
    }
}

/// One area of plastic.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ReadingResult {
    /// The mark's id.
    pub id: String,
    /// L\*, a\*, b\* under D50.
    pub lab: [f64; 3],
    /// Covariance of `lab`.
    pub cov: [[f64; 3]; 3],
    /// What became of the pixels.
    pub pixels: PixelCounts,
    /// CIEDE2000 to every shade, in the references' order.
    pub differences: Vec<Difference>,
    /// Probability of every shade and of none of them (last).
    pub shades: Vec<ShadeProbability>,
    /// The call: a shade's id, "undecided" or "none"; null without references.
    pub call: Option<Call>,
    /// What makes up the error bar, largest first; the shares add up to 1.
    pub budget: Vec<Budget>,
    /// What to know and what to do.
    pub warnings: Vec<Warning>,
}

impl ReadingResult {
    /// Whether it is left undecided because photos that are read together show it unlike.
    pub fn is_shown_unlike(&self) -> bool {
        self.warnings.iter().any(|warning| warning.code == SHOWN_UNLIKE)
    }

    /// Whether it is left undecided because its outline may hold several parts.
    pub fn may_be_several(&self) -> bool {
        self.warnings.iter().any(|warning| warning.code == Doubt::MaybeSeveral.code())
    }
}

/// Code of the warning that photos show a part unlike.
pub(super) const SHOWN_UNLIKE: &str = "shown-unlike";

/// CIEDE2000 between a reading and a shade.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Difference {
    /// The shade's id.
    pub shade: String,
    /// CIEDE2000.
    pub de00: Interval,
}

/// Probability of one shade.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ShadeProbability {
    /// The shade's id; null for "none of these".
    pub shade: Option<String>,
    /// 0..=1.
    pub probability: f64,
}

/// What is said of a reading.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(from = "String", into = "String")]
pub enum Call {
    /// It is this shade, at the chosen confidence.
    Shade(String),
    /// No shade is probable enough.
    Undecided,
    /// It is none of the shades, at the chosen confidence.
    None,
}

impl From<String> for Call {
    fn from(text: String) -> Self {
        match text.as_str() {
            "undecided" => Call::Undecided,
            "none" => Call::None,
            _ => Call::Shade(text),
        }
    }
}

impl From<Call> for String {
    fn from(call: Call) -> Self {
        match call {
            Call::Shade(id) => id,
            Call::Undecided => "undecided".into(),
            Call::None => "none".into(),
        }
    }
}

/// One part of the error bar.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Budget {
    /// The cause in words, such as "tone curve".
    pub source: String,
    /// Its share of the variance, 0..=1.
    pub share: f64,
}

/// Something that weakens the result, and what to do about it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Warning {
    /// A short stable name, such as "one-grey-step".
    pub code: String,
    /// What is the matter.
    pub text: String,
    /// What to do.
    pub remedy: String,
}

/// Two readings of one photo compared.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PairResult {
    /// One reading's id.
    pub a: String,
    /// The other's.
    pub b: String,
    /// CIEDE2000 between them, from their joint distribution.
    pub de00: Interval,
    /// Probability that they are of different plastic.
    pub different_plastic: f64,
}

/// The light of the photo in short.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct LightSummary {
    /// Zones that were used.
    pub zones: usize,
    /// Places of the plain board in this photo that taught how the light falls.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub board: usize,
    /// The same in the photo of the empty board.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub flat_field: usize,
    /// Other photos of the same parts that were read with this one.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub other_photos: usize,
    /// What to know of the photo as a whole.
    pub warnings: Vec<Warning>,
}

impl LightSummary {
    /// Whether nothing in the photo has a known colour: the light is then what photos usually do, and nothing is called.
    pub fn is_guessed(&self) -> bool {
        self.zones == 0
    }
}

fn is_zero(count: &usize) -> bool {
    *count == 0
}

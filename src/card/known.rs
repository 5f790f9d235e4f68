//! What the printed greys are: nominal as long as nobody measured them, or calibrated once.

use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

use super::layout::LADDER;
use crate::json::{self, Flaw, Kind};
use crate::problem::Problem;

/// The version of the card format that this program writes.
pub const CARD_VERSION: u32 = 1;

/// A card file has at most so many bytes.
pub const CARD_LIMIT_BYTES: u64 = 1_000_000;

/// Standard deviations of the nominal values on an unknown printer, paper and ink: what an office or home
/// printer's greys differ from their targets by. Common practice, no source.
pub const UNCALIBRATED_SD: [f64; 3] = [4.0, 1.5, 2.5];

/// L\* of plain paper, to which no ink is added. Common practice, no source.
pub const PAPER_LIGHTNESS: f64 = 95.0;
/// L\* of the darkest print on it. Common practice, no source.
pub const INK_LIGHTNESS: f64 = 18.0;

/// Lab D50 and standard deviations of the eight steps, number 1 first.
#[derive(Debug, Clone, PartialEq)]
pub struct KnownSteps {
    /// In the order of their numbers.
    pub steps: Vec<KnownStep>,
    /// Whether somebody measured them.
    pub calibrated: bool,
}

/// One step's colour.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct KnownStep {
    /// L\*, a\*, b\* under D50.
    pub lab: [f64; 3],
    /// Standard deviation of each.
    pub sd: [f64; 3],
}

/// `*.card.json`: the measured greys of one print.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CardFile {
    /// Format version, the first field of the file.
    pub sameshot_card: u32,
    /// What is written on the card: printer, paper, date.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub print: String,
    /// The eight steps, number 1 (the lightest) first.
    pub steps: Vec<KnownStep>,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub rest: Map<String, Value>,
}

impl Default for KnownSteps {
    /// Nominal values with honest bars.
    fn default() -> Self {
        let step = |lightness| KnownStep { lab: [lightness, 0.0, 0.0], sd: UNCALIBRATED_SD };
        Self { steps: LADDER.map(step).into(), calibrated: false }
    }
}

impl From<CardFile> for KnownSteps {
    fn from(file: CardFile) -> Self {
        Self { steps: file.steps, calibrated: true }
    }
}

const KIND: Kind = Kind {
    name: "card",
    version_field: "sameshot_card",
    newest_version: CARD_VERSION,
    limit_bytes: CARD_LIMIT_BYTES,
};

/// Reads the bytes of a `*.card.json`.
pub fn parse_card(bytes: &[u8]) -> Result<CardFile, Problem> {
    json::parse(bytes, &KIND, check)
}

/// The text of a `*.card.json`. A card that could not be read again is refused.
pub fn card_to_text(file: &CardFile) -> Result<String, Problem> {
    check(file)
        .map_err(|flaw| Problem::new(format!("The card cannot be kept: {}.", flaw.message), flaw.remedy))?;
    json::to_text(file, 2)
}

fn check(file: &CardFile) -> Result<(), Flaw> {
    if file.steps.len() != LADDER.len() {
        return Err(Flaw::new(
            vec!["steps".into()],
            format!("there are {} steps; the card has {}", file.steps.len(), LADDER.len()),
            "List all steps, number 1 (the lightest) first.",
        ));
    }
    for (index, step) in file.steps.iter().enumerate() {
        for (field, flaw) in [("lab", json::check_lab(&step.lab)), ("sd", json::check_sd(&step.sd))] {
            if let Some((message, remedy)) = flaw {
                return Err(Flaw { path: vec!["steps".into(), index.into(), field.into()], message, remedy });
            }
        }
    }
    match file.steps.windows(2).position(|pair| pair[0].lab[0] <= pair[1].lab[0]) {
        None => Ok(()),
        Some(index) => Err(Flaw::new(
            vec!["steps".into(), (index + 1).into(), "lab".into()],
            format!("step {} is not darker than step {}", index + 2, index + 1),
            "The number stands under each step; number 1 is the lightest. Measure again in that order.",
        )),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn text(lightness: [f64; 8]) -> String {
        let steps: Vec<String> = lightness
            .iter()
            .map(|l| format!(r#"{{"lab": [{l}, 0.1, -1.2], "sd": [0.5, 0.3, 0.3]}}"#))
            .collect();
        format!(r#"{{"sameshot_card": 1, "print": "laser, 24 May", "steps": [{}]}}"#, steps.join(","))
    }

    #[test]
    fn a_calibration_is_read_and_a_wrong_one_told() {
        let right = [91.0, 80.0, 66.0, 55.0, 46.0, 36.0, 29.0, 21.0];
        let known = KnownSteps::from(parse_card(text(right).as_bytes()).unwrap());
        assert!(known.calibrated);
        assert_eq!(known.steps[1].lab, [80.0, 0.1, -1.2]);
        let mut swapped = right;
        swapped.swap(2, 3);
        let problem = parse_card(text(swapped).as_bytes()).unwrap_err();
        assert!(problem.message.contains("step 4 is not darker than step 3"), "{problem}");
        let short = text(right).replace(r#"{"lab": [91, 0.1, -1.2], "sd": [0.5, 0.3, 0.3]},"#, "");
        let problem = parse_card(short.as_bytes()).unwrap_err();
        assert!(problem.message.contains("there are 7 steps; the card has 8"), "{problem}");
    }

    #[test]
    fn nominal_greys_say_that_they_are_poorly_known() {
        let nominal = KnownSteps::default();
        assert!(!nominal.calibrated);
        assert_eq!(nominal.steps.len(), 8);
        assert!(nominal.steps.iter().all(|step| step.sd[0] >= 3.0));
    }
}

//! The case file of a demo photo: what a careful person would have marked, written from the truth.

use rand::SeedableRng;
use rand_xoshiro::Xoshiro256PlusPlus;
use serde_json::{Value, json};

use super::truth::Truth;
use crate::scene::draws::normal;

/// How well the printed card is known, in Lab.
const CARD_SD: [f64; 3] = [0.5, 0.3, 0.3];

/// The reference set, of which a copy lies beside the photos: a case reads nothing outside its folder.
const REFERENCES: &str = "skerry-sea-green.shades.json";

/// The guide that lies there too, and the photo of the figure that was looked at with it in hand.
const GUIDE: &str = "skerry-rescue.guide.json";
const LOOKED_AT: &str = "exchanged.jpg";

/// What was seen on that figure: slot, feature and value.
const SEEN: [[&str; 3]; 8] = [
    ["head", "mould", "H5"],
    ["torso", "mould", "T1"],
    ["torso", "badge", "white disc"],
    ["arm-left", "cuff paint", "red"],
    ["arm-right", "cuff paint", "red"],
    ["waist", "mould", "W1"],
    ["leg-left", "mould", "L1"],
    ["pack", "presence", "missing"],
];

/// The case as JSON in the format of a case file. What the card's owner believes of a step is its true Lab with
/// an error of the stated spread.
pub fn case_of(truth: &Truth) -> Value {
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(truth.photo.len() as u64 * 101 + 7);
    let steps = truth.steps.iter().map(|step| {
        let lab: Vec<f64> = (0..3)
            .map(|axis| step.lab[axis] + CARD_SD[axis] * normal(&mut rng))
            .map(|v| libm::round(v * 100.0) / 100.0)
            .collect();
        json!({"id": step.id, "shape": step.shape, "known": {"lab": lab, "sd": CARD_SD}})
    });
    let mut zones: Vec<Value> = steps.collect();
    zones.extend(truth.parts.iter().filter(|part| part.known).map(|part| {
        json!({"id": part.id, "shape": part.shape, "known": {"shade": part.shade}, "surface": "rounded"})
    }));
    let readings: Vec<Value> = truth
        .parts
        .iter()
        .filter(|part| !part.known)
        .map(|part| json!({"id": part.id, "slot": part.slot, "shape": part.shape}))
        .collect();
    let mut case = json!({
        "sameshot_case": 1,
        "photo": truth.photo,
        "zones": zones,
        "readings": readings,
        "references": REFERENCES,
    });
    if truth.photo == LOOKED_AT {
        case["guide"] = GUIDE.into();
        case["observations"] = SEEN
            .iter()
            .map(|[slot, feature, value]| json!({"slot": slot, "feature": feature, "value": value, "sure": true}))
            .collect();
    }
    case
}

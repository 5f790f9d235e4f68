//! The three sea greens of Skerry Rescue, parts moulded in them, and the reference set. All invented.

use rand::SeedableRng;
use rand_xoshiro::Xoshiro256PlusPlus;
use serde_json::{Map, json};

use crate::scene::draws::normal;
use crate::scene::family::{Hue, Spacing, shades};
use crate::scene::{Recipe, lab_in_d50_of};
use crate::shade::{Method, References, SHADES_VERSION, Shade, Specimen};

/// CIEDE2000 from one green to the next.
pub const SPACING_DE00: f64 = 5.5;

/// Relative scatter of each pigment's amount among the parts: Ferrowick weighed with care.
const LOT_SD: f64 = 0.03;

/// The sea greens, pale to deep.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Green {
    /// Light sea green.
    Light,
    /// Medium sea green.
    Medium,
    /// Dark sea green.
    Dark,
}

impl Green {
    /// All three.
    pub const ALL: [Self; 3] = [Self::Light, Self::Medium, Self::Dark];

    /// Its id in the reference set.
    pub fn id(self) -> &'static str {
        ["green/light", "green/medium", "green/dark"][self as usize]
    }

    /// The recipe that all its batches are meant to follow.
    pub fn recipe(self) -> Recipe {
        shades(&Hue::Green.recipe(), Spacing { shades: 3, de00: SPACING_DE00 })[self as usize]
    }

    /// One part moulded in it; the seed chooses the batch.
    pub fn moulded(self, seed: u64) -> Recipe {
        let mut rng = Xoshiro256PlusPlus::seed_from_u64(seed.wrapping_mul(31).wrapping_add(self as u64));
        self.recipe().jittered(LOT_SD, &mut rng)
    }
}

/// What a spectrophotometer's readings scatter by, in Lab.
const INSTRUMENT_SD: [f64; 3] = [0.25, 0.15, 0.15];

/// The reference set of the demo: each green with six to eight specimens from batches of their own.
pub fn references() -> References {
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(1978);
    let shade = |green: Green| {
        let count = [6, 8, 7][green as usize];
        let specimens = (1..=count).map(|n| {
            let lab = lab_in_d50_of(&green.recipe().jittered(LOT_SD, &mut rng).reflectance());
            let [l, a, b] = INSTRUMENT_SD.map(|sd| sd * normal(&mut rng));
            Specimen {
                id: format!("{}-{n}", &green.id()[6..]),
                lab: [lab.l + l, lab.a + a, lab.b + b].map(|v| libm::round(v * 100.0) / 100.0),
                sd: INSTRUMENT_SD,
                method: Method::Spectrophotometer,
                aged: false,
                note: None,
                rest: Map::new(),
            }
        });
        let words = ["light sea green", "medium sea green", "dark sea green"][green as usize];
        Shade {
            id: green.id().to_owned(),
            label: Some(words.to_owned()),
            specimens: specimens.collect(),
            rest: Map::new(),
        }
    };
    let mut rest = Map::new();
    rest.insert("note".into(), json!("Skerry Rescue is invented, and so are these measurements."));
    References {
        sameshot_shades: SHADES_VERSION,
        family: "green".into(),
        shades: Green::ALL.map(shade).into(),
        rest,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::color::ciede2000;

    #[test]
    fn neighbouring_greens_are_four_to_five_apart_and_specimens_scatter_little() {
        let labs = Green::ALL.map(|green| lab_in_d50_of(&green.recipe().reflectance()));
        for pair in labs.windows(2) {
            assert!((ciede2000(pair[0], pair[1]) - SPACING_DE00).abs() < 1e-6);
        }
        for (green, shade) in Green::ALL.into_iter().zip(references().shades) {
            let truth = lab_in_d50_of(&green.recipe().reflectance());
            println!("{}: {truth:?}", shade.id);
            for specimen in &shade.specimens {
                let [l, a, b] = specimen.lab;
                println!("  {l:.2} {a:.2} {b:.2}");
                assert!(ciede2000(truth, crate::color::Lab::new(l, a, b)) < 3.0, "{specimen:?}");
            }
        }
    }
}

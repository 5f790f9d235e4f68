//! Families of shades with their reference sets, and the parts that are laid before the camera.

use rand::Rng;

use super::{FamilyKind, KnownPart};
use crate::color::{Lab, column_of};
use crate::scene::draws::{normal, uniform};
use crate::scene::family::{Spacing, shades};
use crate::scene::{Recipe, lab_in_d50_of};
use crate::shade::{Method, References, SHADES_VERSION, Shade, Specimen};

/// Relative scatter of the pigments in the middle recipe from one family to the next: no two makers mix one
/// green. Plausible, from memory.
const MAKER_SD: f64 = 0.2;
/// The same of a plastic of none of the shades, which is of like make but not of this line: they lie some 8 Lab
/// units an axis around the family (greens 9, 9 and 6, all hues 9, 7 and 6), where `Predictive` takes 10 for granted.
const STRANGER_SD: f64 = 0.8;
/// Most specimens that a shade of the references rests on; their number is drawn evenly from 2.
const MOST_SPECIMENS: usize = 8;
/// Standard deviations stated (and true) of a specimen measured from a photo, and with an instrument.
const PHOTO_SD: [f64; 3] = [0.8, 0.5, 0.6];
const INSTRUMENT_SD: [f64; 3] = [0.3, 0.2, 0.2];
/// Share of a measurement's variance that all specimens of a shade have in common.
const SHARED_VARIANCE: f64 = 0.5;

/// The shades of one hue as a maker mixed them.
#[derive(Debug, Clone)]
pub(super) struct Family {
    pub shades: Vec<Recipe>,
    batch_sd: f64,
    pub known_part: KnownPart,
}

impl Family {
    pub(super) fn drawn(kind: &FamilyKind, rng: &mut impl Rng) -> Self {
        let hue = kind.hues[below(kind.hues.len(), rng)];
        let (fewest, most) = kind.shades;
        let count = fewest + below(most + 1 - fewest, rng);
        let de00 = kind.de00.0 + (kind.de00.1 - kind.de00.0) * uniform(rng);
        let middle = hue.recipe().jittered(MAKER_SD, rng);
        let shades = shades(&middle, Spacing { shades: count, de00 });
        Self { shades, batch_sd: kind.batch_sd, known_part: kind.known_part }
    }

    /// Specimens of every shade as somebody measured them, and what each of them really is.
    pub(super) fn references(&self, rng: &mut impl Rng) -> (References, Vec<Vec<Recipe>>) {
        let mut truths = Vec::with_capacity(self.shades.len());
        let shades = self.shades.iter().enumerate().map(|(index, recipe)| {
            let by_photo = uniform(rng) < 0.5;
            let (method, sd) =
                if by_photo { (Method::Photo, PHOTO_SD) } else { (Method::Spectrophotometer, INSTRUMENT_SD) };
            let shared = sd.map(|sd| sd * SHARED_VARIANCE.sqrt() * normal(rng));
            let count = 2 + below(MOST_SPECIMENS - 1, rng);
            let mut of_shade = Vec::with_capacity(count);
            let specimens = (0..count).map(|number| {
                let part = recipe.jittered(self.batch_sd, rng);
                let truth = column_of(lab_in_d50_of(&part.reflectance()));
                of_shade.push(part);
                let own = sd.map(|sd| sd * (1.0 - SHARED_VARIANCE).sqrt() * normal(rng));
                Specimen {
                    id: specimen_id(index, number),
                    lab: [0, 1, 2].map(|axis| truth[axis] + shared[axis] + own[axis]),
                    sd,
                    method,
                    aged: false,
                    note: None,
                    rest: Default::default(),
                }
            });
            let specimens = specimens.collect();
            truths.push(of_shade);
            Shade { id: shade_id(index), label: None, specimens, rest: Default::default() }
        });
        let references = References {
            sameshot_shades: SHADES_VERSION,
            family: "rehearsed".to_owned(),
            shades: shades.collect(),
            rest: Default::default(),
        };
        (references, truths)
    }

    /// A part of none of the shades: other amounts of the same kinds of pigment.
    pub(super) fn stranger(&self, rng: &mut impl Rng) -> Recipe {
        self.shades[below(self.shades.len(), rng)].jittered(STRANGER_SD, rng)
    }
}

/// The id of the shade at an index.
pub(super) fn shade_id(index: usize) -> String {
    format!("shade {index}")
}

/// The id of a specimen of the shade at an index.
pub(super) fn specimen_id(shade: usize, number: usize) -> String {
    format!("{shade}-{number}")
}

/// One moulded part.
#[derive(Debug, Clone, Copy)]
pub(super) struct Part {
    pub recipe: Recipe,
    pub lab: Lab,
    /// Its place in the family; `None` for a stranger.
    pub shade: Option<usize>,
}

impl Part {
    pub(super) fn of_shade(family: &Family, shade: usize, rng: &mut impl Rng) -> Self {
        Self::new(family.shades[shade].jittered(family.batch_sd, rng), Some(shade))
    }

    pub(super) fn new(recipe: Recipe, shade: Option<usize>) -> Self {
        Self { recipe, lab: lab_in_d50_of(&recipe.reflectance()), shade }
    }
}

/// A whole number in 0..n.
pub(super) fn below(n: usize, rng: &mut impl Rng) -> usize {
    ((uniform(rng) * n as f64) as usize).min(n.saturating_sub(1))
}

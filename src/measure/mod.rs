//! One picture and its marks → the result: the pure rooms put together in the order of the method.

mod ageing;
mod areas;
mod board;
mod compare;
mod other_photo;
mod relief;
mod remedy;
mod result;
mod specimens;
mod warnings;

pub use areas::AreaCache;
pub(crate) use areas::patch_at;
pub use board::FlatField;
pub use other_photo::{OTHER_PHOTO, OtherPhoto};
pub(crate) use relief::set_reliefs;
pub use result::{
    Budget, Call, Difference, Interval, LightSummary, Measurement, PairResult, ReadingResult,
    ShadeProbability, Warning,
};
pub use specimens::{SpecimenReading, specimen_readings};

pub use crate::plastic::PixelCounts;

use std::sync::Arc;

use self::areas::Areas;
use crate::case::CaseDocument;
use crate::light::{self, Constants, Light, Source};
use crate::raster::{PhotoFacts, Raster};
use crate::shade::{
    Classification, DifferenceDraws, Predictive, Priors, References, ReferencesProblem, classify_together,
};
use crate::stats::Mixture;

/// All that a measurement needs.
#[derive(Debug, Clone, Copy)]
pub struct Inputs<'a> {
    /// The upright photo.
    pub raster: &'a Raster,
    /// What the file says of itself.
    pub facts: &'a PhotoFacts,
    /// The marks.
    pub case: &'a CaseDocument,
    /// The shades to compare with; without them there are no differences, probabilities or calls.
    pub references: Option<&'a References>,
    /// The empty board, from the photo that the case names.
    pub flat_field: Option<&'a FlatField>,
    /// The other photos of the same parts that the case names, as far as they could be read.
    pub other_photos: &'a [Arc<OtherPhoto>],
}

/// What a person may choose.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Options {
    /// A shade is called only above this probability, 0.5..1.
    pub confidence: f64,
    /// Seed of the draws.
    pub seed: u64,
    /// Whether to try in the model what would help undecided readings.
    pub remedies: bool,
    /// Who chose the places.
    pub marked: Marked,
}

/// Who chose the places on the parts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Marked {
    /// A person who looked which way they face.
    ByHand,
    /// A program that found the parts.
    ByProgram,
}

impl Default for Options {
    fn default() -> Self {
        Self { confidence: 0.95, seed: 1, remedies: true, marked: Marked::ByHand }
    }
}

/// A mark that could not be measured or used; the other marks are measured without it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MarkProblem {
    /// "zone", "reading", "references", "board", "other photo" or "photo".
    pub kind: &'static str,
    /// The mark's id; empty where it is no single mark.
    pub id: String,
    /// What is wrong, a full sentence naming the mark.
    pub text: String,
    /// What to do about it.
    pub remedy: String,
}

/// The result and the marks that had to be left out of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// What was measured.
    pub measurement: Measurement,
    /// The light of the photo with the joint distribution of the readings, in their order.
    pub light: Option<Light>,
    /// What could not be; the command line treats any as a failure, the window shows it at the mark.
    pub problems: Vec<MarkProblem>,
    /// Zones that the photo does not show well enough to be used. The result holds without them, and its
    /// warnings name them.
    pub left_out: Vec<MarkProblem>,
}

/// Measures every reading of a case.
///
/// Marks that cannot be measured are left out and reported; nothing is ever guessed in their place. Of a
/// reading without a colour no number can be given, so it is a problem; of several zones one may be lost.
/// Where no colour is known the light itself is a guess: shades have probabilities, but none is called.
/// `cache` must belong to `inputs.raster`: start a new one with every photo.
pub fn measure(inputs: &Inputs, options: &Options, cache: &mut AreaCache) -> Outcome {
    let mut problems = Vec::new();
    let predictive = inputs.references.and_then(|references| {
        Predictive::from_references(references)
            .map_err(|problem| problems.push(references_problem(&problem)))
            .ok()
    });
    let mut areas = areas::read_all(inputs, options.marked, predictive.as_ref(), cache, &mut problems);
    let boards = board::read(inputs, cache, &mut problems);
    areas.alike = boards.places;
    let of_others = other_photo::add(&mut areas, inputs, predictive.as_ref(), &mut problems);
    let fitted = light::fit_given(&areas.given(), &areas.patches(), Constants::learned());
    let Some(light) = fitted else {
        problems.push(no_light_problem());
        let left_out = areas.left_out;
        return Outcome { measurement: Measurement::default(), light: None, problems, left_out };
    };
    let mut warnings = warnings::of_photo(inputs, &areas);
    warnings.extend(boards.warnings);
    warnings.extend(of_others);
    let draws = DifferenceDraws::seeded(options.seed);
    let together = predictive
        .as_ref()
        .and_then(|predictive| classify_together(&light.components, predictive, &Priors::default()).ok());
    let classes = |index: usize| together.as_ref().and_then(|all| all.readings.get(index));
    let mut readings: Vec<ReadingResult> = (0..areas.readings.len())
        .map(|index| {
            let shades = predictive.as_ref().map(|predictive| (predictive, classes(index)));
            reading_result(index, inputs, &areas, &light, shades, options, &draws)
        })
        .collect();
    if let (true, Some(predictive)) = (options.remedies, &predictive) {
        remedy::advise(&mut readings, &areas, &light, predictive, &draws);
    }
    let measurement = Measurement {
        readings,
        pairs: compare::pairs(&areas, &light, together.as_ref(), &draws),
        light: LightSummary {
            zones: areas.known.len(),
            board: boards.on_board,
            flat_field: boards.on_flat_field,
            other_photos: areas.shown_by_others.len(),
            warnings,
        },
        ..Measurement::default()
    };
    Outcome { measurement, light: Some(light), problems, left_out: areas.left_out }
}

fn reading_result(
    index: usize,
    inputs: &Inputs,
    areas: &Areas,
    light: &Light,
    shades: Option<(&Predictive, Option<&Classification>)>,
    options: &Options,
    draws: &DifferenceDraws,
) -> ReadingResult {
    let read = &areas.readings[index];
    let (mean, cov) = light.reading(index);
    let mut result = ReadingResult {
        id: read.id.clone(),
        lab: mean.into(),
        cov: [0, 1, 2].map(|row| [0, 1, 2].map(|column| cov[(row, column)])),
        pixels: read.area.pixels,
        differences: Vec::new(),
        shades: Vec::new(),
        call: None,
        budget: budget_of(&light.budgets[index]),
        warnings: warnings::of_reading(inputs, areas, index, &mean),
    };
    if let Some((predictive, classes)) = shades {
        let mixture = Mixture::of_parts(light.reading_mixture(index));
        let common = light.with_shared_errors(index);
        compare::with_shades(&mut result, (&mean, &cov), &common, classes, predictive, options, draws);
        compare::without_call_of_several(&mut result, inputs.case);
        compare::without_call_in_guessed_light(&mut result, areas);
        if let (Some(reading), Some(references)) = (&mixture, inputs.references)
            && let Some(ageing) = ageing::learned(references)
        {
            ageing::warn(&mut result, reading, predictive, references, &ageing);
        }
    }
    compare::without_call_of_unlike(&mut result, light.agreement[index]);
    result
}

/// The budget, largest part first; parts below half a per cent are gathered under "all else".
fn budget_of(shares: &[(Source, f64)]) -> Vec<Budget> {
    let (large, small): (Vec<_>, Vec<_>) = shares.iter().partition(|(_, share)| *share >= 0.005);
    let mut budget: Vec<Budget> = large
        .iter()
        .map(|(source, share)| Budget { source: source.name().to_owned(), share: *share })
        .collect();
    budget.sort_by(|p, q| q.share.total_cmp(&p.share));
    let rest: f64 = small.iter().map(|(_, share)| share).sum();
    if rest > 0.0 {
        budget.push(Budget { source: "all else".to_owned(), share: rest });
    }
    budget
}

fn references_problem(problem: &ReferencesProblem) -> MarkProblem {
    MarkProblem {
        kind: "references",
        id: String::new(),
        text: format!("The shade references cannot be used: {problem}."),
        remedy: "Mend the references file or choose another one.".into(),
    }
}

fn no_light_problem() -> MarkProblem {
    MarkProblem {
        kind: "photo",
        id: String::new(),
        text: "The light of this photo cannot be worked out from the marked zones.".into(),
        remedy: "Check the known colours of the zones, or take away the zone marked last.".into(),
    }
}

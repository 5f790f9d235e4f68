//! Readings against shades, and readings against each other.

use nalgebra::{Matrix3, Vector3};

use super::areas::Areas;
use super::warnings;
use super::{Call, Difference, Options, PairResult, ReadingResult, ShadeProbability};
use crate::case::CaseDocument;
use crate::light::Light;
use crate::shade::{
    Classification, DifferenceDraws, Predictive, Together, compare_pair, difference_to_shades,
    different_plastic,
};
use crate::stats::Mixture;

/// Fills in differences, probabilities and the call of a reading. A reading whose covariance is no
/// covariance keeps none of them.
pub(super) fn with_shades(
    result: &mut ReadingResult,
    reading: (&Vector3<f64>, &Matrix3<f64>),
    common: &[(usize, Matrix3<f64>)],
    classes: Option<&Classification>,
    predictive: &Predictive,
    options: &Options,
    draws: &DifferenceDraws,
) {
    let ids = || predictive.shades().iter().map(|shade| shade.id.clone());
    if let Ok(differences) = difference_to_shades(reading, common, predictive.shades(), draws) {
        result.differences = ids().zip(differences).map(|(shade, de00)| Difference { shade, de00 }).collect();
    }
    if let Some(classes) = classes {
        result.call = Some(call_of(predictive, classes, options.confidence));
        result.shades = ids()
            .map(Some)
            .chain([None])
            .zip(classes.probabilities.iter().copied().chain([classes.none]))
            .map(|(shade, probability)| ShadeProbability { shade, probability })
            .collect();
    }
}

/// What may be several parts is of no one shade: it is not called, and says why.
pub(super) fn without_call_of_several(result: &mut ReadingResult, case: &CaseDocument) {
    if result.call.is_some() && case.may_be_several(&result.id) {
        result.call = Some(Call::Undecided);
        result.warnings.push(warnings::may_be_several());
    }
}

/// Photos less probable than this to show one part as they do show two, or something lies on it. In the rehearsal one part in
/// five hundred that is laid as the others are comes below it, and one in thirty of those that are tilted by 12° and more.
const LEAST_AGREEMENT: f64 = 0.01;

/// What the photos show unlike may be two parts.
pub(super) fn without_call_of_unlike(result: &mut ReadingResult, agreement: f64) {
    if agreement < LEAST_AGREEMENT {
        result.call = result.call.as_ref().map(|_| Call::Undecided);
        result.warnings.push(warnings::shown_unlike());
    }
}

/// Where no colour is known the light is a guess, learned from other photos: what fits the shades best is told, but nothing
/// is called. In the rehearsal 3 to 4 in 100 such calls were wrong.
pub(super) fn without_call_in_guessed_light(result: &mut ReadingResult, areas: &Areas) {
    if result.call.is_some() && areas.known.is_empty() {
        result.call = Some(Call::Undecided);
    }
}

fn call_of(predictive: &Predictive, classes: &Classification, confidence: f64) -> Call {
    if classes.none >= confidence {
        return Call::None;
    }
    predictive
        .shades()
        .iter()
        .zip(&classes.probabilities)
        .find(|(_, probability)| **probability >= confidence)
        .map_or(Call::Undecided, |(shade, _)| Call::Shade(shade.id.clone()))
}

/// Compares every two readings of the photo by their joint distribution. Where the shades are known that a plastic can
/// be of, two plastics are two shades; where not, and for parts of none of them, any difference may be.
pub(super) fn pairs(
    areas: &Areas,
    light: &Light,
    together: Option<&Together>,
    draws: &DifferenceDraws,
) -> Vec<PairResult> {
    let count = areas.readings.len();
    let mut pairs = Vec::with_capacity(count * count.saturating_sub(1) / 2);
    for i in 0..count {
        for j in i + 1..count {
            let (mean, cov) = light.pair(i, j);
            let (shades_differ, neither) = together.map_or((0.0, 1.0), |all| all.differ(i, j));
            let by_itself = || {
                let difference = Mixture::of_parts(light.same_or_not(i, j))?;
                different_plastic(&difference).ok()
            };
            // What is to be multiplied by next to nothing need not be known.
            let by_itself = if neither > 1e-4 { by_itself() } else { Some(0.0) };
            let probability = by_itself.map(|by_itself| shades_differ + neither * by_itself);
            if let (Ok((de00, _)), Some(different_plastic)) = (compare_pair(&mean, &cov, draws), probability)
            {
                let id = |index: usize| areas.readings[index].id.clone();
                pairs.push(PairResult { a: id(i), b: id(j), de00, different_plastic });
            }
        }
    }
    pairs
}

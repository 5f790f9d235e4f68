//! For readings that stay undecided: which step would shorten their bars most, tried in the model.

use nalgebra::{Matrix3, Matrix6, Vector3, Vector6};

use super::areas::Areas;
use super::{Call, ReadingResult, Warning};
use crate::light::{Constants, KnownPart, Light, Patch, Step, foresee};
use crate::shade::{DifferenceDraws, KnownColour, Predictive, compare_pair};

/// The most steps that are named for one reading, the best first.
const MOST_STEPS: usize = 3;

/// Nobody lays more parts down anew one by one.
const MOST_LAID_ANEW: usize = 20;

/// A step with how it is said.
struct Advice {
    step: Step,
    text: String,
}

/// Adds a warning with the best next step to every undecided reading.
pub(super) fn advise(
    results: &mut [ReadingResult],
    areas: &Areas,
    light: &Light,
    predictive: &Predictive,
    draws: &DifferenceDraws,
) {
    let undecided: Vec<usize> = (0..results.len()).filter(|&i| is_helped(&results[i])).collect();
    let Some(&first) = undecided.first() else { return };
    // A reading's bar does not depend on the other readings.
    let (given, patches) = (areas.given(), areas.patches());
    let patches: Vec<Vec<Patch>> = undecided.iter().map(|index| patches[*index].clone()).collect();
    let advice = advice_for(&results[first], areas, first, predictive);
    let foreseen: Vec<(String, Vec<Matrix3<f64>>)> = advice
        .into_iter()
        .filter_map(|Advice { step, text }| {
            let then = foresee(&step, &given, &patches, light, Constants::learned())?;
            Some((text, then))
        })
        .collect();
    for (place, index) in undecided.into_iter().enumerate() {
        let (mean, cov) = light.reading(index);
        let now = bar(&mean, &cov, draws);
        let mut options: Vec<(&str, f64)> = foreseen
            .iter()
            .filter_map(|(text, then)| Some((text.as_str(), bar(&mean, then.get(place)?, draws)?)))
            .collect();
        options.sort_by(|p, q| p.1.total_cmp(&q.1));
        if let Some(now) = now {
            results[index].warnings.insert(0, warning(now, &options));
        }
    }
}

/// What may be several parts is helped by no card.
fn is_helped(result: &ReadingResult) -> bool {
    result.call == Some(Call::Undecided) && !result.may_be_several() && !result.is_shown_unlike()
}

fn advice_for(result: &ReadingResult, areas: &Areas, index: usize, predictive: &Predictive) -> Vec<Advice> {
    let advice_of = |step, text: &str| Advice { step, text: text.to_owned() };
    let mut advice = vec![advice_of(Step::Ladder, "a card with a ladder of greys")];
    if areas.alike.is_empty() {
        advice.push(advice_of(Step::Board, "a plain board under everything"));
    }
    if !areas.known.is_empty() && areas.readings.len() <= MOST_LAID_ANEW {
        advice.push(advice_of(Step::AnotherPhoto, "another photo of the same parts, laid anew"));
    }
    let likeliest = result
        .shades
        .iter()
        .filter_map(|entry| Some((entry.shade.as_deref()?, entry.probability)))
        .max_by(|p, q| p.1.total_cmp(&q.1));
    let Some((shade, _)) = likeliest else { return advice };
    let relief = areas.readings[index].patch.relief;
    let part = |known: KnownColour| KnownPart { lab: known.lab, lab_cov: known.cov, relief };
    if let Some(known) = predictive.colour_of(shade) {
        advice.push(advice_of(Step::KnownParts(vec![part(known)]), "a part of certain shade"));
    }
    if let Some((id, known)) = predictive.best_specimen_of(shade) {
        let text = format!("the specimen “{id}” of your references");
        advice.push(advice_of(Step::KnownParts(vec![part(known)]), &text));
    }
    let of_each = predictive.shades().iter().filter_map(|shade| predictive.best_specimen_of(&shade.id));
    let parts: Vec<KnownPart> = of_each.map(|(_, known)| part(known)).collect();
    if parts.len() > 1 {
        advice.push(advice_of(Step::KnownParts(parts), "one specimen of each shade"));
    }
    advice
}

fn warning(now: f64, options: &[(&str, f64)]) -> Warning {
    // A step that leaves more than nine tenths of the bar is no advice.
    let worth: Vec<_> = options.iter().filter(|(_, then)| *then < 0.9 * now).take(MOST_STEPS).collect();
    let remedy = match worth.as_slice() {
        [] => "A better photo of the same kind would not settle it: measure with more care (diffuse light, larger areas), \
               or look at moulds and paint."
            .to_owned(),
        [(best, then), rest @ ..] => {
            let others: Vec<String> =
                rest.iter().map(|(text, then)| format!("; with {text}, ± {then:.1}")).collect();
            format!("Photograph it again with {best} beside it: about ± {then:.1}{}.", others.concat())
        }
    };
    Warning {
        code: "undecided".to_owned(),
        text: format!("Its colour is known to ± {now:.1} CIEDE2000, too little to call it."),
        remedy,
    }
}

/// Distance in CIEDE2000 from the reading's colour that it keeps within with 97.5 %.
fn bar(mean: &Vector3<f64>, cov: &Matrix3<f64>, draws: &DifferenceDraws) -> Option<f64> {
    let mut both = Vector6::zeros();
    both.fixed_rows_mut::<3>(0).copy_from(mean);
    both.fixed_rows_mut::<3>(3).copy_from(mean);
    let mut joint = Matrix6::identity() * 1e-9;
    joint.fixed_view_mut::<3, 3>(0, 0).copy_from(cov);
    compare_pair(&both, &joint, draws).ok().map(|(interval, _)| interval.high)
}

//! The constants from photographs of charts: what makes the true colours least surprising.
//!
//! The score is the mean over sources of the mean over their charts, the four scenarios and the patches read
//! of the natural logarithm of the predicted density at the published Lab (the logarithmic score: T. Gneiting
//! and A. E. Raftery, "Strictly proper scoring rules, prediction, and estimation", J. American Statistical
//! Association 102 (2007)). Every source counts the same, however many charts it gave. The prediction is that
//! of [`fit`], with its tempered evidence, so that what is learned is what is used.
//!
//! The search is by pattern (R. Hooke and T. A. Jeeves, "'Direct search' solution of numerical and statistical
//! problems", J. ACM 8 (1961)): one constant after the other is tried a step up and a step down, kept where
//! the score rises, and its step halved where neither helps. It needs no derivatives, never lowers the score,
//! and gives the same constants on every machine. Standard deviations move by factors, all else by sums.

use std::collections::BTreeMap;

use super::charts::{Chart, Scenario};
use super::constants::Constants;
use super::fit;
use crate::stats::{Component, Mixture};

/// No single reading counts for less, so that one mislabelled chart cannot rule the fit.
const LEAST_LOG_DENSITY: f64 = -30.0;
const FIRST_STEP: f64 = 0.15;
/// A constant whose step has become shorter than this is settled.
const LEAST_STEP: f64 = 0.01;

/// How long to learn, and from what.
#[derive(Debug, Clone, PartialEq)]
pub struct LearnOptions {
    /// Number of constants to try a step of.
    pub steps: usize,
    /// At most so many charts of each source.
    pub charts_per_source: usize,
    /// Only constants whose name starts with one of these; all where empty.
    pub only: Vec<String>,
}

/// One step of the search.
#[derive(Debug, Clone, PartialEq)]
pub struct LearnStep {
    /// Which constant was tried.
    pub constant: String,
    /// The best score so far, in nats a reading.
    pub score: f64,
    /// Whether the constant was changed.
    pub kept: bool,
}

/// Searches better constants from `start`; `told` hears of every step.
///
/// `None` where there is no chart to learn from or the model cannot be solved with `start`.
pub fn learn(
    charts: &[Chart],
    start: &Constants,
    options: &LearnOptions,
    mut told: impl FnMut(&LearnStep),
) -> Option<Constants> {
    let charts = thinned(charts, options.charts_per_source);
    let mut best = start.clone();
    let mut score = log_score(&charts, &best)?;
    let mut steps: Vec<(usize, String, f64)> = parameters(&mut best)
        .into_iter()
        .enumerate()
        .filter(|(_, p)| options.only.is_empty() || options.only.iter().any(|name| p.name.starts_with(name)))
        .map(|(index, parameter)| (index, parameter.name, FIRST_STEP))
        .collect();
    let mut next = 0;
    for _ in 0..options.steps {
        let Some(at) =
            (0..steps.len()).map(|i| (next + i) % steps.len()).find(|i| steps[*i].2.abs() >= LEAST_STEP)
        else {
            break;
        };
        let (index, name, step) = &mut steps[at];
        let better = [*step, -*step].into_iter().find_map(|by| {
            let moved = moved(&best, *index, by);
            let reached = log_score(&charts, &moved).filter(|reached| *reached > score)?;
            Some((moved, reached, by))
        });
        let kept = better.is_some();
        match better {
            // The direction that helped comes first the next time.
            Some((moved, reached, by)) => (best, score, *step) = (moved, reached, by),
            None => *step *= 0.5,
        }
        told(&LearnStep { constant: name.clone(), score, kept });
        next = at + 1;
    }
    Some(best)
}

/// Mean log density of the true Lab over sources, charts, scenarios and readings; natural logarithm, Lab units.
pub fn log_score(charts: &[Chart], constants: &Constants) -> Option<f64> {
    let mut sources: BTreeMap<&str, Vec<f64>> = BTreeMap::new();
    for chart in charts {
        let scores: Vec<f64> = Scenario::ALL
            .into_iter()
            .map(|scenario| log_score_of_chart(chart, scenario, constants))
            .collect::<Option<Vec<Option<f64>>>>()?
            .into_iter()
            .flatten()
            .collect();
        if let Some(score) = mean(&scores) {
            sources.entry(&chart.source).or_default().push(score);
        }
    }
    let of_sources: Vec<f64> = sources.values().filter_map(|scores| mean(scores)).collect();
    mean(&of_sources).filter(|score| score.is_finite())
}

fn mean(values: &[f64]) -> Option<f64> {
    (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
}

/// Outer `None`: the model cannot be solved. Inner `None`: this chart has nothing to read.
#[expect(clippy::option_option, reason = "two different absences, see above")]
fn log_score_of_chart(chart: &Chart, scenario: Scenario, constants: &Constants) -> Option<Option<f64>> {
    let (known, asked) = chart.split(scenario);
    let asked: Vec<_> = asked.into_iter().filter(|patch| !patch.clipped).collect();
    let patches: Vec<_> = asked.iter().map(|patch| patch.patch.clone()).collect();
    let light = fit(&known, &patches, constants)?;
    let densities: Vec<f64> = asked
        .iter()
        .enumerate()
        .map(|(index, patch)| {
            let parts = light.reading_mixture(index).into_iter();
            let components = parts.map(|(weight, mean, cov)| Component { weight, mean, cov }).collect();
            Some(Mixture::new(components)?.log_density(&patch.lab).ok()?.max(LEAST_LOG_DENSITY))
        })
        .collect::<Option<_>>()?;
    Some(mean(&densities))
}

/// At most `most` charts of each source, spread evenly over those it has.
fn thinned(charts: &[Chart], most: usize) -> Vec<Chart> {
    let mut sources: BTreeMap<&str, Vec<&Chart>> = BTreeMap::new();
    for chart in charts {
        sources.entry(&chart.source).or_default().push(chart);
    }
    sources
        .values()
        .flat_map(|charts| {
            let kept = charts.len().min(most);
            (0..kept).map(move |i| charts[i * charts.len() / kept].clone())
        })
        .collect()
}

/// A constant that is learned.
struct Parameter<'a> {
    name: String,
    value: &'a mut f64,
    /// Moved by factors and so never changes its sign.
    by_factor: bool,
}

fn moved(constants: &Constants, index: usize, by: f64) -> Constants {
    let mut constants = constants.clone();
    if let Some(parameter) = parameters(&mut constants).into_iter().nth(index) {
        *parameter.value =
            if parameter.by_factor { *parameter.value * libm::exp(by) } else { *parameter.value + by };
    }
    constants
}

/// Every constant that charts can teach, those of all codings first. Not among them: the lengths and the
/// floor that a chart cannot tell (its colours are too far apart), the grids of scales, and the last coding,
/// of which there are too few examples.
fn parameters(constants: &mut Constants) -> Vec<Parameter<'_>> {
    let mut list = Vec::new();
    let mut add = |name: String, value, by_factor| list.push(Parameter { name, value, by_factor });
    let k = constants;
    for (name, value) in [
        ("calibration", &mut k.calibration),
        ("evidence_power", &mut k.evidence_power),
        ("tail_degrees", &mut k.tail_degrees),
        ("exposure_sd", &mut k.exposure_sd),
        ("unaided_white_point", &mut k.unaided_white_point),
        ("flare_sd", &mut k.flare_sd),
        ("flare_tint_sd", &mut k.flare_tint_sd),
        ("light_slope_sd", &mut k.light_slope_sd),
        ("tint_slope_sd", &mut k.tint_slope_sd),
        ("cross_sd", &mut k.cross_sd),
        ("misfit_length", &mut k.misfit_length),
        ("misfit_lightness_weight", &mut k.misfit_lightness_weight),
        ("misfit_floor", &mut k.misfit_floor),
        ("rest_growth", &mut k.rest_growth),
        ("coding_sd", &mut k.coding_sd),
        ("clipped_coding_sd", &mut k.clipped_coding_sd),
    ] {
        add(name.to_owned(), value, true);
    }
    for (axis, value) in ["L", "a", "b"].iter().zip(&mut k.misfit_sds) {
        add(format!("misfit_sd {axis}"), value, true);
    }
    for (axis, value) in ["L", "a", "b"].iter().zip(&mut k.rest_sds) {
        add(format!("rest_sd {axis}"), value, true);
    }
    for (i, chroma) in k.chroma_scales.iter_mut().enumerate() {
        add(format!("chroma scale {i} log_weight"), &mut chroma.log_weight, false);
    }
    add("unaided_log_gain".to_owned(), &mut k.unaided_log_gain, false);
    let fitted = k.codings.len().saturating_sub(1);
    for (i, coding) in k.codings.iter_mut().take(fitted).enumerate() {
        let mut of = |name: &str, value, by_factor| add(format!("coding {i} {name}"), value, by_factor);
        of("log_weight", &mut coding.log_weight, false);
        of("log_gain", &mut coding.log_gain, false);
        of("log_gain_green", &mut coding.log_gain_green, false);
        of("white_point_sd", &mut coding.white_point_sd, true);
        of("saturation", &mut coding.saturation, false);
        of("saturation_sd", &mut coding.saturation_sd, true);
        for (bend, sd) in coding.bends.iter_mut().zip(&mut coding.bend_sds) {
            of("bend", bend, false);
            of("bend_sd", sd, true);
        }
    }
    list
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::light::charts::{ChartPatch, PUBLISHED_LAB_IN_D50};
    use crate::light::forward::linear_of_lab;

    /// A chart as a camera would show it that codes sRGB, at half the brightness and a little too warm.
    fn chart(source: &str, name: &str) -> Chart {
        let patch = |(i, (name, lab)): (usize, &(&str, [f64; 3]))| {
            let linear = linear_of_lab(&(*lab).into());
            let coded = [0.55, 0.5, 0.42]
                .iter()
                .zip(linear.iter())
                .map(|(gain, v)| crate::color::srgb_encode((gain * v).clamp(0.0, 1.0)));
            let coded: Vec<f64> = coded.collect();
            let at = [(i % 6) as f64 / 3.0 - 0.83, (i / 6) as f64 / 3.0 - 0.5];
            ChartPatch::new(name, [coded[0], coded[1], coded[2]], at, false).unwrap()
        };
        let patches = PUBLISHED_LAB_IN_D50.iter().enumerate().map(patch).collect();
        Chart { name: name.into(), source: source.into(), patches }
    }

    #[test]
    fn a_few_steps_raise_the_score_and_leave_the_rest_alone() {
        let charts = [chart("one", "a"), chart("one", "b"), chart("two", "c")];
        let start = Constants::learned();
        let options = LearnOptions { steps: 3, charts_per_source: 1, only: vec!["rest_sd".into()] };
        let mut scores = vec![log_score(&charts[1..], start).unwrap()];
        let mut named = Vec::new();
        let better = learn(&charts, start, &options, |step| {
            scores.push(step.score);
            named.push(step.constant.clone());
        })
        .unwrap();
        assert_eq!(named, ["rest_sd L", "rest_sd a", "rest_sd b"]);
        assert!(scores.windows(2).all(|pair| pair[1] >= pair[0]), "{scores:?}");
        // These charts are rendered perfectly, so that less rest must do better.
        assert!(better.rest_sds.iter().zip(start.rest_sds).all(|(new, old)| *new < old));
        assert_eq!(better.codings, start.codings);
        assert_eq!(log_score(&charts[1..], &better).unwrap(), *scores.last().unwrap());
    }

    #[test]
    fn nothing_to_learn_from_is_told() {
        let options = LearnOptions { steps: 1, charts_per_source: 1, only: Vec::new() };
        assert!(learn(&[], Constants::learned(), &options, |_| ()).is_none());
    }
}

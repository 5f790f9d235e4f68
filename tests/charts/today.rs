//! What people do today with the same numbers, beside the model: which of the chart's colours is it?
//!
//! Every method names the nearest of the published patch colours by CIEDE2000; Sameshot has them as references, judges
//! all patches of a photo together as it judges parts, and names the most probable one. It decides at 95 %; each other
//! method then decides on as many readings, those where the nearest colour leads the next by most.

use nalgebra::{DMatrix, Matrix3, Vector3};
use sameshot::color::{
    ciede2000, lab_in_d50_from_linear_srgb, lab_of, linear_srgb_from_lab_in_d50, srgb_decode,
};
use sameshot::light::charts::{Chart, ChartPatch, PUBLISHED_LAB_IN_D50, Scenario};
use sameshot::light::{Constants, KnownPatch, fit};
use sameshot::shade::{Classification, Predictive, Priors, classify_together};

use crate::score::{left_out_fits, photos, unseen, wide_charts};

/// One answer: how sure its method is of it (comparable within a method), and whether it is wrong.
struct Call {
    sureness: f64,
    wrong: bool,
    /// Every source counts the same.
    weight: f64,
}

const METHODS: [&str; 4] = ["mean sRGB, no card", "grey point scaled", "3×3 matrix", "Sameshot"];

fn linear(coded: &Vector3<f64>) -> Vector3<f64> {
    coded.map(srgb_decode)
}

fn linear_of_lab(lab: &Vector3<f64>) -> Vector3<f64> {
    linear_srgb_from_lab_in_d50(lab_of(*lab)).into()
}

/// Channel by channel, so that the known areas come out right on average.
fn scaled_to_grey(known: &[KnownPatch]) -> Matrix3<f64> {
    let truth: Vector3<f64> = known.iter().map(|zone| linear_of_lab(&zone.lab)).sum();
    let shown: Vector3<f64> = known.iter().map(|zone| linear(&zone.patch.coded)).sum();
    Matrix3::from_diagonal(&truth.component_div(&shown))
}

/// Least squares from shown to true linear RGB over the known areas.
fn matrix_through(known: &[KnownPatch]) -> Option<Matrix3<f64>> {
    let shown = DMatrix::from_fn(known.len(), 3, |i, j| linear(&known[i].patch.coded)[j]);
    let truth = DMatrix::from_fn(known.len(), 3, |i, j| linear_of_lab(&known[i].lab)[j]);
    let solution = shown.svd(true, true).solve(&truth, 1e-9).ok()?;
    Some(Matrix3::from_fn(|i, j| solution[(j, i)]))
}

/// The nearest colour and by how much it leads the next.
fn nearest(patch: &ChartPatch, corrected: &Matrix3<f64>) -> (f64, bool) {
    let lab = lab_in_d50_from_linear_srgb((corrected * linear(&patch.patch.coded)).into());
    let mut away: Vec<(f64, &str)> = PUBLISHED_LAB_IN_D50
        .iter()
        .map(|(name, colour)| (ciede2000(lab, lab_of((*colour).into())), *name))
        .collect();
    away.sort_by(|p, q| p.0.total_cmp(&q.0));
    (away[1].0 - away[0].0, away[0].1 != patch.name)
}

/// The chart's colours as shades, in their order: eight specimens each, that scatter as the parts of one shade do.
pub(crate) fn references() -> Predictive {
    let specimen = |lab: &[f64; 3], i: usize| {
        let off = |halves: usize| [0.6, -0.6][(i >> halves) % 2];
        serde_json::json!({"id": i.to_string(), "lab": [lab[0] + off(0), lab[1] + off(1), lab[2] + off(2)],
            "sd": [0.1, 0.1, 0.1], "method": "published"})
    };
    let shades = PUBLISHED_LAB_IN_D50.iter().map(|(name, lab)| {
        let specimens: Vec<_> = (0..8).map(|i| specimen(lab, i)).collect();
        serde_json::json!({"id": name, "specimens": specimens})
    });
    let text =
        serde_json::json!({"sameshot_shades": 1, "family": "chart", "shades": shades.collect::<Vec<_>>()});
    Predictive::from_references(&serde_json::from_value(text).unwrap()).unwrap()
}

/// The most probable shade and its probability, and whether it is wrong.
fn most_probable(classes: &Classification, name: &str) -> (f64, bool) {
    let of = |i: &usize, j: &usize| classes.probabilities[*i].total_cmp(&classes.probabilities[*j]);
    let best = (0..classes.probabilities.len()).max_by(of).unwrap();
    (classes.probabilities[best], PUBLISHED_LAB_IN_D50[best].0 != name)
}

/// Calls of all methods on one chart; no matrix from greys alone.
fn calls(
    chart: &Chart,
    scenario: Scenario,
    constants: &Constants,
    references: &Predictive,
) -> [Vec<(f64, bool)>; 4] {
    let (known, asked) = chart.split(scenario);
    let asked: Vec<&ChartPatch> = asked.into_iter().filter(|patch| !patch.clipped).collect();
    let patches: Vec<_> = asked.iter().map(|patch| patch.patch.clone()).collect();
    let by = |corrected: Option<Matrix3<f64>>| -> Vec<(f64, bool)> {
        corrected.iter().flat_map(|corrected| asked.iter().map(|patch| nearest(patch, corrected))).collect()
    };
    let light = fit(&known, &patches, constants).unwrap();
    let together = classify_together(&light.components, references, &Priors::default()).unwrap();
    let ours =
        asked.iter().zip(&together.readings).map(|(patch, classes)| most_probable(classes, patch.name));
    let greys: Vec<KnownPatch> = known.iter().filter(|zone| zone.lab.yz().norm() < 3.0).cloned().collect();
    let matrix = if scenario == Scenario::AllButGreens { matrix_through(&known) } else { None };
    [
        by(Some(Matrix3::identity())),
        by((!greys.is_empty()).then(|| scaled_to_grey(&greys))),
        by(matrix),
        ours.collect(),
    ]
}

/// Share wrong among the surest calls that make up `share` of all.
fn wrong_among_surest(calls: &mut [Call], share: f64) -> f64 {
    calls.sort_by(|p, q| q.sureness.total_cmp(&p.sureness));
    let all: f64 = calls.iter().map(|call| call.weight).sum();
    let (mut decided, mut wrong) = (0.0, 0.0);
    for call in calls.iter() {
        if decided + call.weight > share * all * (1.0 + 1e-9) {
            break;
        }
        decided += call.weight;
        wrong += if call.wrong { call.weight } else { 0.0 };
    }
    wrong / decided
}

#[test]
fn fewer_wrong_calls_than_what_people_do_today() {
    let (fits, references) = (left_out_fits(), references());
    for (set, charts) in [("photos 1 to 6", &photos()[..6]), ("17 sources", &wide_charts()[..])] {
        for scenario in Scenario::AIDED {
            let mut of_methods: [Vec<Call>; 4] = Default::default();
            for chart in charts {
                let of_source = charts.iter().filter(|other| other.source == chart.source).count();
                let found = calls(chart, scenario, unseen(&fits, &chart.source), &references);
                for (all, found) in of_methods.iter_mut().zip(found) {
                    let weight = 1.0 / (of_source * found.len().max(1)) as f64;
                    all.extend(found.into_iter().map(|(sureness, wrong)| Call { sureness, wrong, weight }));
                }
            }
            compare(&format!("{set}, {}", scenario.name()), &mut of_methods);
        }
    }
}

fn compare(name: &str, of_methods: &mut [Vec<Call>; 4]) {
    let ours = &of_methods[3];
    let all: f64 = ours.iter().map(|call| call.weight).sum();
    let decided: f64 = ours.iter().filter(|call| call.sureness >= 0.95).map(|call| call.weight).sum();
    let share = decided / all;
    println!("{name}: Sameshot decides {:.0} % at 95 % confidence", 100.0 * share);
    let wrong: Vec<Option<[f64; 2]>> = of_methods
        .iter_mut()
        .map(|calls| (!calls.is_empty()).then(|| [share, 1.0].map(|share| wrong_among_surest(calls, share))))
        .collect();
    for (method, wrong) in METHODS.iter().zip(&wrong) {
        if let Some([decided, all]) = wrong {
            println!(
                "    {method:20} wrong at that share {:5.1} %, if all must be called {:5.1} %",
                100.0 * decided,
                100.0 * all
            );
        }
    }
    let Some(Some([ours, _])) = wrong.last() else { panic!("no calls") };
    for (method, wrong) in METHODS.iter().zip(&wrong[..3]) {
        if let Some([theirs, _]) = wrong {
            assert!(ours <= theirs, "{name}: {method} is wrong in {theirs:.3}, Sameshot in {ours:.3}");
        }
    }
}

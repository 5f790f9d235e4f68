//! [`Priors::even`] chosen anew without each owner's charts, and what the charts of that owner then make of it.
//!
//! All patches of a chart are judged together with its 24 published colours as shades, in light that was fitted with
//! constants which never saw the owner either. The distance of which the true colours of all other owners' patches are most
//! probable is the one chosen.

use sameshot::light::charts::{Chart, PUBLISHED_LAB_IN_D50, Scenario};
use sameshot::light::{Component, fit};
use sameshot::shade::{Classification, Predictive, Priors, classify_together};

use crate::mean;
use crate::score::{LeftOut, left_out_fits, unseen, wide_charts};
use crate::today::references;

const DISTANCES: [f64; 8] = [2.0, 3.0, 4.0, 6.0, 8.0, 10.0, 12.0, 16.0];
/// Beside all patches but the greens every distance does: -ln P is 0.028 or 0.029 from 2 to 16.
const SCENARIOS: [Scenario; 2] = [Scenario::OneGrey, Scenario::AllGreys];
/// No colour is less probable: one patch shall not decide.
const LEAST_PROBABILITY: f64 = 1e-6;
const CONFIDENCE: f64 = 0.95;

/// What one distance makes of the patches of some charts.
#[derive(Clone, Copy)]
struct Outcome {
    /// Means of −ln P of the true colour, of the share decided and of the share decided and wrong.
    surprise: f64,
    decided: f64,
    wrong: f64,
}

impl Outcome {
    fn of(classes: &Classification, truth: usize) -> Self {
        let called = classes.probabilities.iter().chain([&classes.none]).position(|p| *p >= CONFIDENCE);
        Self {
            surprise: -classes.probabilities[truth].max(LEAST_PROBABILITY).ln(),
            decided: f64::from(called.is_some()),
            wrong: f64::from(called.is_some_and(|called| called != truth)),
        }
    }

    fn mean(outcomes: &[Self]) -> Self {
        let of = |of: fn(&Self) -> f64| mean(outcomes.iter().map(of));
        Self { surprise: of(|o| o.surprise), decided: of(|o| o.decided), wrong: of(|o| o.wrong) }
    }
}

/// The light of a chart with the places of its patches' colours among the published.
fn read(chart: &Chart, scenario: Scenario, fits: &[LeftOut]) -> (Vec<Component>, Vec<usize>) {
    let (known, mut asked) = chart.split(scenario);
    asked.retain(|patch| !patch.clipped);
    let patches: Vec<_> = asked.iter().map(|patch| patch.patch.clone()).collect();
    let light = fit(&known, &patches, unseen(fits, &chart.source)).unwrap();
    let place = |name: &str| PUBLISHED_LAB_IN_D50.iter().position(|(other, _)| *other == name).unwrap();
    (light.components, asked.iter().map(|patch| place(patch.name)).collect())
}

/// Of a source's charts, with each distance.
fn outcomes(
    charts: &[&Chart],
    scenario: Scenario,
    fits: &[LeftOut],
    references: &Predictive,
) -> [Outcome; 8] {
    let read: Vec<_> = charts.iter().map(|chart| read(chart, scenario, fits)).collect();
    DISTANCES.map(|even| {
        let priors = Priors { even, ..Priors::default() };
        let of_chart = |(components, truths): &(Vec<Component>, Vec<usize>)| {
            let together = classify_together(components, references, &priors).unwrap();
            let of_patch = |(classes, truth): (&Classification, &usize)| Outcome::of(classes, *truth);
            Outcome::mean(&together.readings.iter().zip(truths).map(of_patch).collect::<Vec<_>>())
        };
        Outcome::mean(&read.iter().map(of_chart).collect::<Vec<_>>())
    })
}

#[test]
#[ignore = "three minutes: every chart is judged with eight distances"]
fn the_distance_chosen_without_an_owner_serves_its_charts() {
    let (charts, fits, references) = (wide_charts(), left_out_fits(), references());
    let mut of_owners = Vec::new();
    for fit in &fits {
        let of_source = |source: &String| {
            let charts: Vec<&Chart> = charts.iter().filter(|chart| chart.source == *source).collect();
            (!charts.is_empty())
                .then(|| SCENARIOS.map(|scenario| outcomes(&charts, scenario, &fits, &references)))
        };
        of_owners.push(fit.left_out.iter().filter_map(of_source).collect::<Vec<_>>());
    }
    let all: Vec<_> = of_owners.iter().flatten().copied().collect();
    for (at, distance) in DISTANCES.iter().enumerate() {
        for (scenario, outcomes) in SCENARIOS.iter().zip(over(&all, at)) {
            print(&format!("{distance:4}, {}", scenario.name()), &outcomes);
        }
    }
    let mut unseen = Vec::new();
    for (owner, fit) in fits.iter().enumerate() {
        let others = of_owners.iter().enumerate().filter(|(other, _)| *other != owner);
        let others: Vec<_> = others.flat_map(|(_, sources)| sources).copied().collect();
        let surprise = |at: &usize| over(&others, *at).iter().map(|outcome| outcome.surprise).sum::<f64>();
        let best = (0..DISTANCES.len()).min_by(|p, q| surprise(p).total_cmp(&surprise(q))).unwrap();
        println!("without {}: {}", fit.left_out.join(", "), DISTANCES[best]);
        unseen.extend(of_owners[owner].iter().map(|source| source.map(|outcomes| outcomes[best])));
    }
    for (place, scenario) in SCENARIOS.iter().enumerate() {
        let of_scenario: Vec<Outcome> = unseen.iter().map(|source| source[place]).collect();
        let outcome = Outcome::mean(&of_scenario);
        print(&format!("chosen without the owner, {}", scenario.name()), &outcome);
        assert!(outcome.wrong <= 0.01 * outcome.decided, "{}: too many are called wrongly", scenario.name());
        assert!(outcome.decided > 0.8, "{}: too few are called", scenario.name());
    }
}

/// Of each scenario the mean over sources with one distance.
fn over(sources: &[[[Outcome; 8]; 2]], at: usize) -> [Outcome; 2] {
    [0, 1].map(|place| Outcome::mean(&sources.iter().map(|source| source[place][at]).collect::<Vec<_>>()))
}

fn print(what: &str, Outcome { surprise, decided, wrong }: &Outcome) {
    let (decided, wrong) = (100.0 * decided, 100.0 * wrong / decided);
    println!("{what}: -ln P {surprise:.3}, decided {decided:.1} %, wrong of these {wrong:.2} %");
}

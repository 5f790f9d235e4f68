//! The light model on photographs of the 24-patch colour rendition chart (McCamy, Marcus and Davidson 1976)
//! by other people: some patches are taken as known, the others are read and compared with their published
//! Lab. Every chart is read with constants that were fitted without any chart of its owner.
//!
//! `data/chart-patches.csv` holds eight photos, `data/chart-patches-wide.csv` 80 charts from 17 sources
//! (`data/chart-sources-wide.csv` names each): medians of the coded sRGB, not the pictures.
//! `data/light-left-out.json` holds the constants of 13 fits, each without one owner: sources 04 to 07 have
//! one owner, 14 and 15 another, and the photos share theirs with sources 09, 11, 14 and 15.
//!
//! The targets are those set for the model before it was made. Targets that it misses are named in
//! [`MISSED`] with the reason; all others are held to.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    reason = "a check may stop where it fails, and prints what it measured"
)]

mod even;
mod invented;
mod score;
mod today;

use std::collections::BTreeMap;

use sameshot::light::charts::{Chart, Scenario};
use score::{LeftOut, Score, left_out_fits, photos, score, unseen, wide_charts};

const LEVELS: [f64; 4] = [0.50, 0.68, 0.95, 0.99];

/// Targets that are missed.
///
/// Photos 1 to 6 come from three sources that are easier than most of the 17, and one prior serves all:
/// nothing that a grey shows tells the kinds apart, so bars that are true over all sources are wide on these
/// photos. Shorter bars (a calibration of 0.65) bring the photos into the wanted band after all greys (70 and
/// 97 %) and leave 48 and 80 % of the readings of the 17 sources inside: the worse lie.
///
/// Of the 17 sources two are beyond the model after greys alone: source 05 (hardly any saturation) and source
/// 17 (lamps at the edge); most of what lacks to 95 % lies there. The one Gaussian that is reported has no
/// tails, so that it lacks more than the mixture.
const MISSED: &[&str] = &[
    "photos 1 to 6, one grey: mean surprise, Gaussian",
    "photos 1 to 6, one grey: inside 68 %, mixture",
    "photos 1 to 6, one grey: inside 95 %, mixture",
    "photos 1 to 6, one grey: inside 68 %, Gaussian",
    "photos 1 to 6, one grey: inside 95 %, Gaussian",
    "17 sources, one grey: inside 68 %, Gaussian",
    "17 sources, one grey: inside 95 %, Gaussian",
    "photos 1 to 6, all greys: inside 68 %, mixture",
    "photos 1 to 6, all greys: inside 95 %, mixture",
    "photos 1 to 6, all greys: inside 68 %, Gaussian",
    "photos 1 to 6, all greys: inside 95 %, Gaussian",
    "17 sources, all greys: inside 95 %, mixture",
    "17 sources, all greys: inside 95 %, Gaussian",
    "photos 1 to 6, all but four greens: inside 68 %, mixture",
    "photos 1 to 6, all but four greens: inside 68 %, Gaussian",
];

/// Scores of one set in one scenario, charts gathered by source; photos count as their own source.
struct Row {
    name: String,
    sources: Vec<Vec<Score>>,
}

impl Row {
    fn of(
        set: &str,
        scenario: Scenario,
        charts: &[Chart],
        fits: &[LeftOut],
        group: fn(&Chart) -> &String,
    ) -> Row {
        let mut sources: BTreeMap<&String, Vec<Score>> = BTreeMap::new();
        for chart in charts {
            let scores = score(chart, scenario, unseen(fits, &chart.source));
            sources.entry(group(chart)).or_default().extend(scores.iter().map(|(_, score)| *score));
        }
        sources.retain(|_, scores| !scores.is_empty());
        Row { name: format!("{set}, {}", scenario.name()), sources: sources.into_values().collect() }
    }

    fn per_source(&self, of: impl Fn(&Score) -> f64) -> Vec<f64> {
        self.sources.iter().map(|scores| mean(scores.iter().map(&of))).collect()
    }

    fn covered(&self, level: f64, of: impl Fn(&Score) -> f64) -> f64 {
        mean(self.per_source(|score| f64::from(of(score) <= level)).into_iter())
    }

    fn median_de00(&self) -> f64 {
        median(self.sources.iter().flatten().map(|score| score.de00).collect())
    }

    fn print(&self) {
        let surprise = self.per_source(|s| s.surprise);
        let gaussian = self.per_source(|s| s.surprise_of_gaussian);
        let percent = |of: fn(&Score) -> f64| {
            LEVELS.map(|level| format!("{:3.0}", 100.0 * self.covered(level, of))).join(" ")
        };
        println!(
            "{:28} | {:5.2} {:5.2} | {:5.2} {:5.2} | {} | {} | {:5.2}",
            self.name,
            median(surprise.clone()),
            mean(surprise.into_iter()),
            median(gaussian.clone()),
            mean(gaussian.into_iter()),
            percent(|s| s.level),
            percent(|s| s.level_of_gaussian),
            self.median_de00(),
        );
    }
}

fn mean(values: impl ExactSizeIterator<Item = f64>) -> f64 {
    let count = values.len();
    values.sum::<f64>() / count as f64
}

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    let middle = values.len() / 2;
    if values.len() % 2 == 1 { values[middle] } else { 0.5 * (values[middle - 1] + values[middle]) }
}

/// Something that shall lie between two limits.
struct Target {
    name: String,
    reached: f64,
    least: f64,
    most: f64,
}

impl Target {
    fn holds(&self) -> bool {
        (self.least..=self.most).contains(&self.reached)
    }
}

struct Limits {
    photos_mean: f64,
    wide_median: f64,
    wide_mean: f64,
}

const LIMITS: [Limits; 3] = [
    Limits { photos_mean: 10.7, wide_median: 11.2, wide_mean: 12.0 },
    Limits { photos_mean: 10.2, wide_median: 10.8, wide_mean: 11.6 },
    Limits { photos_mean: 8.4, wide_median: 9.0, wide_mean: 9.6 },
];

fn targets(photos: &Row, wide: &Row, limits: &Limits) -> Vec<Target> {
    let mut targets = Vec::new();
    let mut at_most = |name: String, reached: f64, most: f64| {
        targets.push(Target { name, reached, least: f64::NEG_INFINITY, most });
    };
    for (kind, of) in
        [("mixture", (|s| s.surprise) as fn(&Score) -> f64), ("Gaussian", |s| s.surprise_of_gaussian)]
    {
        let of_photos = photos.per_source(of);
        let of_wide = wide.per_source(of);
        at_most(
            format!("{}: mean surprise, {kind}", photos.name),
            mean(of_photos.into_iter()),
            limits.photos_mean,
        );
        at_most(
            format!("{}: median surprise, {kind}", wide.name),
            median(of_wide.clone()),
            limits.wide_median,
        );
        at_most(format!("{}: mean surprise, {kind}", wide.name), mean(of_wide.into_iter()), limits.wide_mean);
    }
    for row in [photos, wide] {
        for (kind, of) in
            [("mixture", (|s| s.level) as fn(&Score) -> f64), ("Gaussian", |s| s.level_of_gaussian)]
        {
            for (level, least, most) in [(0.68, 0.60, 0.78), (0.95, 0.91, 0.98)] {
                let name = format!("{}: inside {:.0} %, {kind}", row.name, 100.0 * level);
                targets.push(Target { name, reached: row.covered(level, of), least, most });
            }
        }
    }
    targets
}

#[test]
fn constants_that_never_saw_the_owner_foretell_its_charts() {
    let (photos, wide, fits) = (photos(), wide_charts(), left_out_fits());
    println!("surprise: negative natural log density of the true Lab, median and mean over sources");
    println!("{:28} | mixture     | Gaussian    | inside 50 68 95 99 | of Gaussian     | CIEDE2000", "");
    let mut missed = Vec::new();
    // Without a target, but never a short bar around a wrong value.
    let nothing = Row::of("17 sources", Scenario::Nothing, &wide, &fits, |chart| &chart.source);
    nothing.print();
    assert!(nothing.covered(0.95, |s| s.level) >= 0.91, "{}: bars too short", nothing.name);
    for (scenario, limits) in Scenario::AIDED.into_iter().zip(&LIMITS) {
        let easy = Row::of("photos 1 to 6", scenario, &photos[..6], &fits, |chart| &chart.name);
        let hard = Row::of("photos 7 and 8", scenario, &photos[6..], &fits, |chart| &chart.name);
        let many = Row::of("17 sources", scenario, &wide, &fits, |chart| &chart.source);
        [&easy, &hard, &many].into_iter().for_each(Row::print);

        // Never a short bar around a wrong value.
        assert!(hard.covered(0.95, |s| s.level) >= 0.85, "{}: bars too short", hard.name);
        assert!(easy.covered(0.95, |s| s.level_of_gaussian) >= 0.91, "{}: bars too short", easy.name);
        let mut all = targets(&easy, &many, limits);
        if scenario == Scenario::AllButGreens {
            let name = format!("{}: median CIEDE2000", easy.name);
            all.push(Target { name, reached: easy.median_de00(), least: 0.0, most: 2.9 });
        }
        missed.extend(all.into_iter().filter(|target| !target.holds()));
    }
    for target in &missed {
        let Target { name, reached, least, most } = target;
        println!("missed: {name}: {reached:.3} is not within {least:.2} to {most:.2}");
    }
    let new: Vec<&str> =
        missed.iter().map(|target| target.name.as_str()).filter(|name| !MISSED.contains(name)).collect();
    assert!(new.is_empty(), "targets held before: {new:?}");
}

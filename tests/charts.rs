//! The light model on photographs of the 24-patch colour rendition chart (McCamy, Marcus and Davidson 1976)
//! by other people: some patches are taken as known, the others are measured and compared with their
//! published Lab (D50; the chart maker's values for charts made after November 2014).
//!
//! `data/chart-patches.csv` holds eight photos, `data/chart-patches-wide.csv` 80 charts from 17 sources
//! (`data/chart-sources-wide.csv` names each source): medians of the coded sRGB, not the pictures.

use std::collections::BTreeMap;
use std::path::Path;

use nalgebra::{Matrix3, Vector3};
use sameshot::color::{ciede2000, lab_of};
use sameshot::light::{Constants, KnownPatch, LENGTH_UNITS, Light, Patch, fit};

struct ChartPatch {
    name: String,
    patch: Patch,
    lab: Vector3<f64>,
    clipped: bool,
}

struct Chart {
    name: String,
    source: String,
    patches: Vec<ChartPatch>,
}

const GREYS: [&str; 6] = [
    "white 9.5 (.05 D)",
    "neutral 8 (.23 D)",
    "neutral 6.5 (.44 D)",
    "neutral 5 (.70 D)",
    "neutral 3.5 (1.05 D)",
    "black 2 (1.5 D)",
];
const GREENS: [&str; 4] = ["foliage", "green", "yellow green", "bluish green"];
const ONE_GREY: [&str; 1] = ["neutral 5 (.70 D)"];
/// Sources of the eight photos, as the wide set names them: photos of one source share a camera.
const PHOTO_SOURCES: [(&str, &str); 8] = [
    ("chart-01.jpg", "source-09"),
    ("chart-02.jpg", "source-09"),
    ("chart-03.png", "source-15"),
    ("chart-04.jpg", "source-15"),
    ("chart-05.jpg", "source-14"),
    ("chart-06.jpg", "source-14"),
    ("chart-07.jpg", "source-11"),
    ("chart-08.jpg", "source-11"),
];

fn rows(file: &str) -> Vec<BTreeMap<String, String>> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data").join(file);
    csv::Reader::from_path(path).unwrap().deserialize().map(|row| row.unwrap()).collect()
}

fn number(row: &BTreeMap<String, String>, column: &str) -> f64 {
    row[column].parse().unwrap()
}

fn patch(row: &BTreeMap<String, String>, at: [f64; 2]) -> Patch {
    let coded = Vector3::new(number(row, "r"), number(row, "g"), number(row, "b"));
    // The slope's length unit is half the chart's longer side.
    let at = at.map(|v| v / LENGTH_UNITS);
    Patch { coded, coded_cov: Matrix3::zeros(), at, relief: None }
}

fn photos() -> Vec<Chart> {
    let mut charts: BTreeMap<String, Vec<BTreeMap<String, String>>> = BTreeMap::new();
    for row in rows("chart-patches.csv") {
        charts.entry(row["photo"].clone()).or_default().push(row);
    }
    charts
        .into_iter()
        .map(|(name, rows)| {
            let corner = |row: &str, col: &str| {
                let r = rows.iter().find(|r| r["row"] == row && r["col"] == col).unwrap();
                [number(r, "x"), number(r, "y")]
            };
            let corners = [corner("1", "1"), corner("1", "6"), corner("4", "6"), corner("4", "1")];
            let middle = [0, 1].map(|axis| corners.iter().map(|c| c[axis]).sum::<f64>() / 4.0);
            let half = (corners[1][0] - corners[0][0]).hypot(corners[1][1] - corners[0][1]) / 2.0 / 0.95;
            let source = PHOTO_SOURCES.iter().find(|(photo, _)| *photo == name).unwrap().1.to_owned();
            let patches = rows
                .iter()
                .map(|row| {
                    let at = [(number(row, "x") - middle[0]) / half, (number(row, "y") - middle[1]) / half];
                    let patch = patch(row, at);
                    let clipped = patch.coded.max() > 0.985;
                    let lab = Vector3::new(number(row, "L"), number(row, "a"), number(row, "b_star"));
                    ChartPatch { name: row["patch"].clone(), patch, lab, clipped }
                })
                .collect();
            Chart { name, source, patches }
        })
        .collect()
}

/// The wide set carries no Lab: the published values are those of the photos' table.
fn wide_charts(published: &Chart) -> Vec<Chart> {
    let lab_of: BTreeMap<&str, Vector3<f64>> =
        published.patches.iter().map(|p| (p.name.as_str(), p.lab)).collect();
    let mut charts: BTreeMap<String, Chart> = BTreeMap::new();
    for row in rows("chart-patches-wide.csv") {
        let chart = charts.entry(row["chart"].clone()).or_insert_with(|| Chart {
            name: row["chart"].clone(),
            source: row["source"].clone(),
            patches: Vec::new(),
        });
        chart.patches.push(ChartPatch {
            name: row["patch"].clone(),
            patch: patch(&row, [number(&row, "x"), number(&row, "y")]),
            lab: lab_of[row["patch"].as_str()],
            clipped: row["clipped"] != "0",
        });
    }
    charts.into_values().collect()
}

#[derive(Clone, Copy)]
enum Scenario {
    OneGrey,
    AllGreys,
    AllButGreens,
}

impl Scenario {
    const ALL: [Scenario; 3] = [Scenario::OneGrey, Scenario::AllGreys, Scenario::AllButGreens];

    fn name(self) -> &'static str {
        match self {
            Scenario::OneGrey => "one grey",
            Scenario::AllGreys => "all greys",
            Scenario::AllButGreens => "all but four greens",
        }
    }

    fn is_known(self, name: &str) -> bool {
        match self {
            Scenario::OneGrey => ONE_GREY.contains(&name),
            Scenario::AllGreys => GREYS.contains(&name),
            Scenario::AllButGreens => !GREENS.contains(&name),
        }
    }

    fn is_asked(self, name: &str) -> bool {
        !GREYS.contains(&name) && !self.is_known(name)
    }
}

/// What one chart shows of one scenario: a row of numbers for each patch asked for.
#[derive(Default, Clone)]
struct Score {
    /// Negative logarithm of the density at the true Lab.
    surprise: Vec<f64>,
    /// Squared Mahalanobis distance by the mixture's moments.
    distance2: Vec<f64>,
    de00: Vec<f64>,
}

fn score(chart: &Chart, scenario: Scenario, constants: &Constants) -> Score {
    let known: Vec<KnownPatch> = chart
        .patches
        .iter()
        .filter(|p| scenario.is_known(&p.name) && !p.clipped)
        .map(|p| KnownPatch { patch: p.patch.clone(), lab: p.lab, lab_cov: Matrix3::zeros() })
        .collect();
    let asked: Vec<&ChartPatch> = chart.patches.iter().filter(|p| scenario.is_asked(&p.name)).collect();
    let patches: Vec<Patch> = asked.iter().map(|p| p.patch.clone()).collect();
    let light = fit(&known, &patches, constants).unwrap();
    let mut score = Score::default();
    for (index, patch) in asked.iter().enumerate() {
        let (mean, cov) = light.reading(index);
        let off = patch.lab - mean;
        score.surprise.push(-log_density(&light, index, &patch.lab));
        score.distance2.push((off.transpose() * cov.try_inverse().unwrap() * off)[0]);
        score.de00.push(ciede2000(lab_of(mean), lab_of(patch.lab)));
    }
    score
}

fn log_density(light: &Light, index: usize, lab: &Vector3<f64>) -> f64 {
    let terms = light.reading_mixture(index).into_iter().map(|(weight, mean, cov)| {
        let off = lab - mean;
        let distance2 = (off.transpose() * cov.try_inverse().unwrap() * off)[0];
        weight * (-0.5 * distance2).exp() / ((2.0 * std::f64::consts::PI).powi(3) * cov.determinant()).sqrt()
    });
    terms.sum::<f64>().ln()
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

fn median(values: &[f64]) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    sorted[sorted.len() / 2]
}

fn share_below(values: &[f64], limit: f64) -> f64 {
    values.iter().filter(|v| **v <= limit).count() as f64 / values.len() as f64
}

#[test]
fn table() {
    let photos = photos();
    let wide = wide_charts(&photos[0]);
    let constants = Constants::learned();
    for scenario in Scenario::ALL {
        let scores: Vec<Score> = photos[..6].iter().map(|c| score(c, scenario, constants)).collect();
        print_row("photos 1-6", scenario, &scores);
        let scores: Vec<Score> = wide.iter().map(|c| score(c, scenario, constants)).collect();
        print_row("wide", scenario, &scores);
    }
}

fn print_row(set: &str, scenario: Scenario, scores: &[Score]) {
    let all =
        |of: fn(&Score) -> &Vec<f64>| -> Vec<f64> { scores.iter().flat_map(|s| of(s).clone()).collect() };
    let per_chart: Vec<f64> = scores.iter().map(|s| mean(&s.surprise)).collect();
    let distance2 = all(|s| &s.distance2);
    println!(
        "{set:12} {:20} surprise {:.2}  inside 95 %: {:.3}  68 %: {:.3}  median CIEDE2000 {:.2}",
        scenario.name(),
        mean(&per_chart),
        share_below(&distance2, 7.815),
        share_below(&distance2, 3.527),
        median(&all(|s| &s.de00)),
    );
}

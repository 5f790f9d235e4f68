//! Charts, the constants that never saw their owner, and what a chart scores with them.

use std::collections::BTreeMap;
use std::path::Path;

use nalgebra::{Matrix3, Vector3};
use sameshot::color::{ciede2000, lab_of};
use sameshot::light::charts::{Chart, ChartPatch, Scenario, charts_from_csv};
use sameshot::light::{Constants, Light, fit};
use sameshot::stats::{Component, Draws, Mixture, chi_squared_cdf, log_normal_density};
use serde::Deserialize;

fn data(file: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data").join(file);
    std::fs::read_to_string(path).unwrap()
}

pub(crate) fn wide_charts() -> Vec<Chart> {
    charts_from_csv(&data("chart-patches-wide.csv")).unwrap()
}

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

#[derive(Deserialize)]
struct PhotoRow {
    photo: String,
    patch: String,
    row: usize,
    col: usize,
    x: f64,
    y: f64,
    r: f64,
    g: f64,
    b: f64,
    #[serde(rename = "L")]
    l: f64,
    a: f64,
    b_star: f64,
}

/// The eight photos, their positions brought from pixels into the chart's own frame.
pub(crate) fn photos() -> Vec<Chart> {
    let text = data("chart-patches.csv");
    let mut photos: BTreeMap<String, Vec<PhotoRow>> = BTreeMap::new();
    for row in csv::Reader::from_reader(text.as_bytes()).deserialize() {
        let row: PhotoRow = row.unwrap();
        photos.entry(row.photo.clone()).or_default().push(row);
    }
    photos.into_iter().map(|(name, rows)| photo(name, &rows)).collect()
}

fn photo(name: String, rows: &[PhotoRow]) -> Chart {
    let corner = |row: usize, col: usize| {
        let at = rows.iter().find(|r| r.row == row && r.col == col).unwrap();
        [at.x, at.y]
    };
    let corners = [corner(1, 1), corner(1, 6), corner(4, 6), corner(4, 1)];
    let middle = [0, 1].map(|axis| corners.iter().map(|c| c[axis]).sum::<f64>() / 4.0);
    // The centres of the outer patches lie at 0.95 of the chart's half side.
    let half = (corners[1][0] - corners[0][0]).hypot(corners[1][1] - corners[0][1]) / 2.0 / 0.95;
    let source = PHOTO_SOURCES.iter().find(|(photo, _)| *photo == name).unwrap().1.to_owned();
    let patches = rows
        .iter()
        .map(|row| {
            let coded = [row.r, row.g, row.b];
            let at = [(row.x - middle[0]) / half, (row.y - middle[1]) / half];
            let clipped = coded.iter().any(|c| *c > 0.985);
            let patch = ChartPatch::new(&row.patch, coded, at, clipped).unwrap();
            assert_eq!(patch.lab, Vector3::new(row.l, row.a, row.b_star), "published Lab of {}", row.patch);
            patch
        })
        .collect();
    Chart { name, source, patches }
}

/// Constants fitted without the charts of one owner.
#[derive(Deserialize)]
pub(crate) struct LeftOut {
    pub left_out: Vec<String>,
    pub constants: Constants,
}

pub(crate) fn left_out_fits() -> Vec<LeftOut> {
    serde_json::from_str(&data("light-left-out.json")).unwrap()
}

/// The constants that never saw the owner of this source.
pub(crate) fn unseen<'a>(fits: &'a [LeftOut], source: &str) -> &'a Constants {
    let mut found = fits.iter().filter(|fit| fit.left_out.iter().any(|left_out| left_out == source));
    let fit = found.next().unwrap_or_else(|| panic!("no constants without {source}"));
    assert!(found.next().is_none(), "{source} is left out twice");
    &fit.constants
}

/// What one reading scores.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Score {
    /// Negative natural logarithm of the mixture's density at the true Lab, in Lab units.
    pub surprise: f64,
    /// The same of the one Gaussian that is reported.
    pub surprise_of_gaussian: f64,
    /// Probability of the highest-density region on whose edge the truth lies.
    pub level: f64,
    /// The same of the one Gaussian that is reported.
    pub level_of_gaussian: f64,
    pub de00: f64,
}

/// One score a patch that was asked for, with the patch's name.
pub(crate) fn score(chart: &Chart, scenario: Scenario, constants: &Constants) -> Vec<(&'static str, Score)> {
    let (known, asked) = chart.split(scenario);
    let patches: Vec<_> = asked.iter().map(|p| p.patch.clone()).collect();
    let light = fit(&known, &patches, constants).unwrap();
    let of =
        |(index, patch): (usize, &&ChartPatch)| (patch.name, score_of_reading(&light, index, &patch.lab));
    asked.iter().enumerate().map(of).collect()
}

fn score_of_reading(light: &Light, index: usize, truth: &Vector3<f64>) -> Score {
    let (mean, cov) = light.reading(index);
    let off = truth - mean;
    let components = light
        .reading_mixture(index)
        .into_iter()
        .map(|(weight, mean, cov)| Component { weight, mean, cov })
        .collect();
    let mixture = Mixture::new(components).unwrap();
    let log_density = log_density_of(&mixture);
    let at_truth = log_density(truth);
    let draws = draws_of(&mixture, 300);
    let denser = draws.iter().filter(|draw| log_density(draw) > at_truth).count();
    let distance2 = (off.transpose() * cov.try_inverse().unwrap() * off)[0];
    Score {
        surprise: -at_truth,
        surprise_of_gaussian: -log_normal_density(&off, &cov).unwrap(),
        level: denser as f64 / draws.len() as f64,
        level_of_gaussian: chi_squared_cdf(distance2, 3.0),
        de00: ciede2000(lab_of(mean), lab_of(*truth)),
    }
}

/// The mixture's log density, with every matrix inverted once.
fn log_density_of(mixture: &Mixture<3>) -> impl Fn(&Vector3<f64>) -> f64 {
    let terms: Vec<(f64, Vector3<f64>, Matrix3<f64>)> = mixture
        .components()
        .iter()
        .map(|c| {
            let norm = ((2.0 * std::f64::consts::PI).powi(3) * c.cov.determinant()).sqrt();
            (c.weight / norm, c.mean, c.cov.try_inverse().unwrap())
        })
        .collect();
    move |x| {
        let density: f64 = terms
            .iter()
            .map(|(height, mean, inverse)| {
                let off = x - mean;
                height * (-0.5 * off.dot(&(inverse * off))).exp()
            })
            .sum();
        density.max(f64::MIN_POSITIVE).ln()
    }
}

fn draws_of(mixture: &Mixture<3>, count: usize) -> Vec<Vector3<f64>> {
    let mut source = Draws::seeded(1);
    let roots: Vec<_> = mixture.components().iter().map(|c| c.cov.cholesky().unwrap().unpack()).collect();
    (0..count)
        .map(|_| {
            let mut left = source.uniform();
            let last = roots.len() - 1;
            let chosen = mixture
                .components()
                .iter()
                .position(|c| {
                    left -= c.weight;
                    left < 0.0
                })
                .unwrap_or(last);
            mixture.components()[chosen].mean + roots[chosen] * source.normals::<3>()
        })
        .collect()
}

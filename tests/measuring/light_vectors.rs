//! The light model against an independent implementation of the formulas in `src/light/mod.rs`.
//!
//! `data/light_vectors.py` computed `data/light-vectors.json` with NumPy, from the same constants: coded sRGB of
//! patches, places and known Lab in, mean and covariance of the mixture out, its common scales brought down to two
//! there by the roots of the orthogonal quadratic. It iterates Gauss–Newton to 1e-6 prior standard deviations where
//! the program stops after a step of 0.01 and so may lag by a little. When a constant changes, run it again; when a
//! formula does, write it there too, from the documentation and not from the code.

use nalgebra::{DMatrix, Matrix3, Vector3};
use sameshot::light::{Constants, Given, KnownPatch, LENGTH_UNITS, Patch, fit, fit_given};
use serde::Deserialize;

#[derive(Deserialize)]
struct Case {
    name: String,
    coded: Vec<[f64; 3]>,
    /// In the model's length unit.
    at: Vec<[f64; 2]>,
    /// The first so many patches are known.
    known: usize,
    known_lab: Vec<[f64; 3]>,
    known_sd: Vec<[f64; 3]>,
    /// Which photo shows each patch; the first where nothing is said.
    #[serde(default)]
    photo: Vec<usize>,
    /// Known patches that show one thing.
    #[serde(default)]
    shown_again: Vec<Vec<usize>>,
    /// Readings that show one part; each its own where nothing is said.
    #[serde(default)]
    parts: Vec<Vec<usize>>,
    mean: Vec<f64>,
    cov: Vec<Vec<f64>>,
    weights: Vec<f64>,
}

/// Of the standard deviation of the reading: far below what a person could see in a bar.
const MEAN_TOLERANCE_SD: f64 = 1e-3;
/// Of the product of the two standard deviations.
const COV_TOLERANCE: f64 = 1e-3;
const WEIGHT_TOLERANCE: f64 = 1e-3;

#[test]
fn readings_agree_with_an_independent_implementation() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/light-vectors.json");
    let cases: Vec<Case> = serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    assert_eq!(cases.len(), 6);
    for case in cases {
        let patches: Vec<Patch> = case
            .coded
            .iter()
            .zip(&case.at)
            .enumerate()
            .map(|(index, (coded, at))| Patch {
                coded: (*coded).into(),
                coded_cov: Matrix3::zeros(),
                at: at.map(|v| v / LENGTH_UNITS),
                relief: None,
                photo: case.photo.get(index).copied().unwrap_or(0),
            })
            .collect();
        let known: Vec<KnownPatch> = (0..case.known)
            .map(|i| KnownPatch {
                patch: patches[i].clone(),
                lab: case.known_lab[i].into(),
                lab_cov: Matrix3::from_diagonal(&Vector3::from(case.known_sd[i]).map(|sd| sd * sd)),
                shared: None,
            })
            .collect();
        let readings = &patches[case.known..];
        let light = if case.parts.is_empty() {
            fit(&known, readings, Constants::learned()).unwrap()
        } else {
            let of_part = |part: &Vec<usize>| part.iter().map(|reading| readings[*reading].clone()).collect();
            let parts: Vec<Vec<Patch>> = case.parts.iter().map(of_part).collect();
            let given = Given { known, shown_again: case.shown_again.clone(), ..Given::default() };
            fit_given(&given, &parts, Constants::learned()).unwrap()
        };

        let n = case.mean.len();
        assert_eq!(light.mean.len(), n);
        let cov = DMatrix::from_fn(n, n, |i, j| case.cov[i][j]);
        let sd = |i: usize| cov[(i, i)].sqrt();
        let mut worst = [0.0_f64; 3];
        for i in 0..n {
            worst[0] = worst[0].max((light.mean[i] - case.mean[i]).abs() / sd(i));
            for j in 0..n {
                worst[1] = worst[1].max((light.cov[(i, j)] - cov[(i, j)]).abs() / (sd(i) * sd(j)));
            }
        }
        assert_eq!(light.components.len(), case.weights.len(), "{}", case.name);
        for (component, weight) in light.components.iter().zip(&case.weights) {
            worst[2] = worst[2].max((component.weight - weight).abs());
        }
        println!(
            "{}: mean {:.1e} sd, covariance {:.1e}, weights {:.1e}",
            case.name, worst[0], worst[1], worst[2]
        );
        assert!(worst[0] < MEAN_TOLERANCE_SD, "{}: mean off by {} sd", case.name, worst[0]);
        assert!(worst[1] < COV_TOLERANCE, "{}: covariance off by {}", case.name, worst[1]);
        assert!(worst[2] < WEIGHT_TOLERANCE, "{}: weights off by {}", case.name, worst[2]);
    }
}

//! Readings compared with shades and with each other: 40 readings, 3 shades, 780 pairs.

use divan::{Bencher, black_box};
use nalgebra::{Matrix3, Matrix6, Vector3, Vector6};
use sameshot::shade::{DifferenceDraws, Predictive, References, compare_pair, difference_to_shades};

const READINGS: usize = 40;

fn references() -> References {
    let shade = |id: &str, l: f64, a: f64, b: f64| {
        let specimens: Vec<String> = (0..5)
            .map(|i| {
                let d = 0.4 * f64::from(i - 2);
                format!(
                    r#"{{"id": "{i}", "lab": [{}, {}, {}], "sd": [0.6, 0.4, 0.4], "method": "photo"}}"#,
                    l + d,
                    a - 0.5 * d,
                    b + 0.3 * d * d
                )
            })
            .collect();
        format!(r#"{{"id": "{id}", "specimens": [{}]}}"#, specimens.join(","))
    };
    let shades = [
        shade("green/light", 52.0, -24.0, 24.0),
        shade("green/medium", 47.0, -25.0, 22.0),
        shade("green/dark", 42.0, -26.0, 20.0),
    ];
    let text = format!(r#"{{"sameshot_shades": 1, "family": "green", "shades": [{}]}}"#, shades.join(","));
    serde_json::from_str(&text).unwrap()
}

fn readings() -> Vec<Vector3<f64>> {
    (0..READINGS).map(|i| Vector3::new(42.0 + 0.25 * i as f64, -25.0, 20.0 + 0.1 * i as f64)).collect()
}

#[divan::bench]
fn draws_of_a_photo(bencher: Bencher) {
    bencher.bench(|| DifferenceDraws::seeded(black_box(1)));
}

#[divan::bench]
fn predictive_of_a_family(bencher: Bencher) {
    let references = references();
    bencher.bench(|| Predictive::from_references(black_box(&references)));
}

#[divan::bench]
fn classify_40_readings(bencher: Bencher) {
    let predictive = Predictive::from_references(&references()).unwrap();
    let (readings, cov) = (readings(), Matrix3::identity() * 2.0);
    bencher.bench(|| {
        readings.iter().map(|r| predictive.classify(black_box(r), &cov).map_or(0.0, |c| c.none)).sum::<f64>()
    });
}

#[divan::bench]
fn differences_of_40_readings_to_3_shades(bencher: Bencher) {
    let predictive = Predictive::from_references(&references()).unwrap();
    let (readings, cov, draws) = (readings(), Matrix3::identity() * 2.0, DifferenceDraws::seeded(1));
    bencher.bench(|| {
        readings
            .iter()
            .filter_map(|r| difference_to_shades((black_box(r), &cov), &[], predictive.shades(), &draws).ok())
            .map(|d| d.len())
            .sum::<usize>()
    });
}

/// `chroma` 30: through the local metric; 3: near neutral, the exact formula.
#[divan::bench(args = [30.0, 3.0])]
fn pairs_of_40_readings(bencher: Bencher, chroma: f64) {
    let draws = DifferenceDraws::seeded(1);
    let mut cov = Matrix6::identity() * 2.0;
    for i in 0..3 {
        cov[(i, i + 3)] = 1.5;
        cov[(i + 3, i)] = 1.5;
    }
    bencher.bench(|| {
        let mut sum = 0.0;
        for i in 0..READINGS {
            for j in i + 1..READINGS {
                let l = |k: usize| 42.0 + 0.25 * k as f64;
                let mean = Vector6::new(l(i), -chroma, 0.5 * chroma, l(j), -chroma, 0.5 * chroma);
                sum += compare_pair(black_box(&mean), &cov, &draws).map_or(0.0, |found| found.1);
            }
        }
        sum
    });
}

//! Against combinations written out, and on readings whose answer is plain.

use nalgebra::{DMatrix, DVector, Matrix3, SVector, Vector3};

use super::super::References;
use super::classes::{OWN_SHARE, URN};
use super::*;
use crate::light::{Drag, SharedError};
use crate::stats::{Mixture, log_normal_density};

/// Three greens 5 apart, many specimens each, so that every shade is one normal to a few per cent.
fn greens() -> Predictive {
    let specimens = |l: f64| -> Vec<serde_json::Value> {
        (0..12)
            .map(|i| {
                let off = 0.5 * f64::from(i % 4) - 0.75;
                serde_json::json!({"id": format!("{l} {i}"), "lab": [l + off, -20.0 - off, 8.0 + 0.5 * off],
                    "sd": [0.2, 0.2, 0.2], "method": "spectrophotometer"})
            })
            .collect()
    };
    let shade = |id: &str, l: f64| serde_json::json!({"id": id, "specimens": specimens(l)});
    let references: References = serde_json::from_value(serde_json::json!({
        "sameshot_shades": 1, "family": "green",
        "shades": [shade("light", 55.0), shade("medium", 50.0), shade("dark", 45.0)]}))
    .unwrap();
    Predictive::from_references(&references).unwrap()
}

/// A photo that shows half of all chroma, as one scale whose error all readings share. With the covariance as read, grey
/// would be as likely.
#[test]
fn little_saturation_makes_nothing_grey() {
    let colours = [[50.0, 0.0, 0.0], [50.0, -30.0, 20.0], [50.0, 5.0, -35.0], [50.0, 14.0, 28.0]];
    let specimens = |lab: [f64; 3]| -> Vec<serde_json::Value> {
        let off = |i: usize| [0.5, -0.5][i % 2];
        (0..12)
            .map(|i| {
                serde_json::json!({"id": i.to_string(), "lab": [lab[0] + off(i), lab[1] + off(i / 2), lab[2] + off(i / 4)],
                    "sd": [0.2, 0.2, 0.2], "method": "spectrophotometer"})
            })
            .collect()
    };
    let shades = colours.iter().enumerate();
    let shades: Vec<_> = shades
        .map(|(i, lab)| serde_json::json!({"id": i.to_string(), "specimens": specimens(*lab)}))
        .collect();
    let references: References =
        serde_json::from_value(serde_json::json!({"sameshot_shades": 1, "family": "all", "shades": shades}))
            .unwrap();
    let predictive = Predictive::from_references(&references).unwrap();
    let read = colours[1..].iter().flat_map(|[l, a, b]| [*l, 0.5 * a, 0.5 * b]);
    let mean = DVector::from_iterator(9, read);
    // The scale is known to half of itself, all else to 1.5.
    let by_scale = DVector::from_fn(9, |i, _| if i % 3 == 0 { 0.0 } else { 0.5 * mean[i] });
    let cov = &by_scale * by_scale.transpose() + DMatrix::identity(9, 9) * 2.25;
    let photo = Component { weight: 1.0, mean, cov, drags: Vec::new() };
    let together = classify_together(&[photo], &predictive, &Priors::default()).unwrap();
    for (i, reading) in together.readings.iter().enumerate() {
        assert!(reading.probabilities[i + 1] > 0.85, "{i}: {reading:?}");
    }
}

/// Readings of these lightnesses with an error that all share and one of each.
fn light(lightnesses: &[f64], shared_sd: f64, own_sd: f64) -> Component {
    let n = 3 * lightnesses.len();
    let cov = DMatrix::from_fn(n, n, |i, j| {
        let shared = if i % 3 == j % 3 { shared_sd * shared_sd } else { 0.0 };
        shared + if i == j { own_sd * own_sd } else { 0.0 }
    });
    let mean = lightnesses.iter().flat_map(|l| [*l, -20.0, 8.0]);
    Component { weight: 1.0, mean: DVector::from_iterator(n, mean), cov, drags: Vec::new() }
}

/// Errors are those at the colours read.
fn judged_with_even_errors(component: &Component, predictive: &Predictive, priors: &Priors) -> Together {
    let components = std::slice::from_ref(component);
    let classes = Classes::of(predictive, Some(priors), components).of_even_errors();
    judged(&classes, components).unwrap()
}

/// Probability that a reading is none of the shades.
const NONE: f64 = 0.1;

/// The urn's prior of three readings, one after the other.
fn urn(classes: [usize; 3]) -> f64 {
    let (mut strangers, mut prior) = (0.0, 1.0);
    for (before, class) in classes.into_iter().enumerate() {
        let none = (URN * NONE + strangers) / (URN + before as f64);
        prior *= if class == 3 { none } else { (1.0 - none) / 3.0 };
        strangers += f64::from(u8::from(class == 3));
    }
    prior
}

/// Probabilities of three readings summed over all 64 combinations of the three shades and none of them, each a normal of nine
/// dimensions (for shades of one width and a normal of strangers, which the method takes exactly) with what it says of them
/// beside the light's own covariance.
fn assert_judged_as_written_out(
    component: &Component,
    predictive: &mut Predictive,
    spread: &Matrix3<f64>,
    errors: impl Fn([usize; 3]) -> DMatrix<f64>,
) {
    let (centre, strangers) = (predictive.shades[1].mean, Matrix3::from_diagonal(&[30.0, 20.0, 25.0].into()));
    predictive.others = Mixture::normal(centre, strangers);
    let mut of_readings = [[0.0; 4]; 3];
    let (mut first_two_differ, mut all) = (0.0, 0.0);
    for combination in 0..64 {
        let classes = [combination / 16, combination / 4 % 4, combination % 4];
        let mean_of = |class: usize| predictive.shades.get(class).map_or(centre, |shade| shade.mean);
        let apart =
            SVector::<f64, 9>::from_fn(|row, _| component.mean[row] - mean_of(classes[row / 3])[row % 3]);
        let of_parts = DMatrix::from_fn(9, 9, |row, column| {
            let at = (row % 3, column % 3);
            let own = if classes[row / 3] == 3 { strangers[at] } else { spread[at] * OWN_SHARE };
            spread[at] * (1.0 - OWN_SHARE) + if row / 3 == column / 3 { own } else { 0.0 }
        });
        let cov = errors(classes) + &of_parts;
        let density = log_normal_density(&apart, &cov.fixed_view::<9, 9>(0, 0).into_owned()).unwrap().exp();
        let probability = density * urn(classes);
        (0..3).for_each(|reading| of_readings[reading][classes[reading]] += probability);
        first_two_differ += if classes[0] == classes[1] { 0.0 } else { probability };
        all += probability;
    }
    let together =
        judged_with_even_errors(component, predictive, &Priors { none: NONE, ..Priors::default() });
    assert!((together.differ(0, 1).0 - first_two_differ / all).abs() < 1e-9, "{together:?}");
    for (found, expected) in together.readings.iter().zip(of_readings) {
        for (p, density) in found.probabilities.iter().chain([&found.none]).zip(expected) {
            assert!((p - density / all).abs() < 1e-9, "{found:?} {:?}", expected.map(|p| p / all));
        }
    }
}

#[test]
fn equals_the_sum_over_all_combinations() {
    let mut predictive = greens();
    let spread = predictive.spread_within_shade().to_owned();
    for shade in &mut predictive.shades {
        shade.mean_cov = Matrix3::zeros();
        shade.next_part = Mixture::normal(shade.mean, spread);
    }
    let component = light(&[53.0, 47.5, 50.5], 4.0, 1.0);
    assert_judged_as_written_out(&component, &mut predictive, &spread, |_| component.cov.clone());
}

/// The error of the medium shade's mean (half as wide as parts scatter) is common to that shade and, by the light's gain,
/// to all readings; that of the light shade's to its own parts.
#[test]
fn a_known_part_takes_the_doubt_about_its_own_shade_out() {
    let mut predictive = greens();
    let spread = predictive.spread_within_shade().to_owned();
    let error = SharedError { group: 1, cov: spread * 0.5 };
    let of_light_shade = spread * 0.7;
    for (shade, mean_cov) in predictive.shades.iter_mut().zip([of_light_shade, error.cov, Matrix3::zeros()]) {
        shade.mean_cov = mean_cov;
        shade.next_part = Mixture::normal(shade.mean, spread + mean_cov);
    }
    let gain = DMatrix::from_fn(
        9,
        3,
        |row, column| {
            if row % 3 == column { 0.95 - 0.1 * (row / 3) as f64 } else { 0.05 }
        },
    );
    let light = light(&[52.1, 47.8, 50.3], 1.0, 0.8);
    let cov = &light.cov + &gain * error.cov * gain.transpose();
    let component = Component { cov, drags: vec![Drag { error, gain: gain.clone() }], ..light };
    // Readings less their shades by the error, the one of the medium shade going the other way.
    let errors = |shades: [usize; 3]| {
        let by_error = DMatrix::from_fn(9, 3, |row, column| {
            let of_shade = shades[row / 3] == 1 && row % 3 == column;
            gain[(row, column)] - if of_shade { 1.0 } else { 0.0 }
        });
        let of_light_shade = DMatrix::from_fn(9, 9, |row, column| {
            let both = shades[row / 3] == 0 && shades[column / 3] == 0;
            if both { of_light_shade[(row % 3, column % 3)] } else { 0.0 }
        });
        &light.cov + &by_error * error.cov * by_error.transpose() + of_light_shade
    };
    assert_judged_as_written_out(&component, &mut predictive, &spread, errors);
}

#[test]
fn one_reading_is_judged_as_it_is_alone() {
    let predictive = greens();
    for l in [44.0, 47.0, 52.0, 60.0] {
        let component = light(&[l], 1.0, 1.0);
        let together =
            classify_together(std::slice::from_ref(&component), &predictive, &Priors::default()).unwrap();
        let mean = component.mean.fixed_rows::<3>(0).into_owned();
        let cov = component.cov.fixed_view::<3, 3>(0, 0).into_owned();
        let alone = predictive.classify(&mean, &cov).unwrap();
        for (p, q) in together.readings[0].probabilities.iter().zip(&alone.probabilities) {
            assert!((p - q).abs() < 0.02, "{l}: {together:?} {alone:?}");
        }
    }
}

/// An error of 5 that all share: alone every reading is open. Parts 5 apart each can only be the three shades;
/// parts all alike stay open, as nothing tells which shade they are.
#[test]
fn readings_settle_each_other_by_their_differences() {
    let predictive = greens();
    let judge = |lightnesses: &[f64]| {
        let component = light(lightnesses, 5.0, 0.5);
        classify_together(&[component], &predictive, &Priors::default()).unwrap()
    };
    let ladder = judge(&[57.0, 52.0, 47.0]);
    for (reading, shade) in ladder.readings.iter().zip([0, 1, 2]) {
        assert!(reading.probabilities[shade] > 0.9, "{ladder:?}");
    }
    let alike = judge(&[52.5, 52.4, 52.6, 52.5]);
    assert!(alike.readings.iter().all(|c| c.probabilities.iter().all(|p| *p < 0.8)), "{alike:?}");
}

/// A part 25 too light for the family is none of it and disturbs no other.
#[test]
fn a_stranger_tells_nothing_of_the_others() {
    let predictive = greens();
    let found =
        classify_together(&[light(&[50.2, 80.0, 45.1], 0.8, 0.5)], &predictive, &Priors::default()).unwrap();
    let found = found.readings;
    assert!(found[1].none > 0.99 && found[0].probabilities[1] > 0.95, "{found:?}");
    assert!(found[2].probabilities[2] > 0.95, "{found:?}");
}

/// Two parts read alike and one read as far from these as from grey, by a camera whose errors only near colours share. As
/// the covariance at the colours read has it, the third could well be of the shade of the two; but had it their colour, it
/// would share their error.
#[test]
fn what_was_read_far_from_parts_of_one_shade_is_not_of_it() {
    let (predictive, priors) = (greens(), Priors::default());
    let read = [[50.0, -20.0, 8.0], [50.2, -20.1, 8.1], [50.1, -11.0, 4.4]].map(Vector3::<f64>::from);
    let cov = DMatrix::from_fn(9, 9, |i, j| {
        let near = (-(read[i / 3] - read[j / 3]).norm_squared() / (2.0 * 10.0_f64.powi(2))).exp();
        if i % 3 == j % 3 { 16.0 * near + if i == j { 0.25 } else { 0.0 } } else { 0.0 }
    });
    let mean = DVector::from_iterator(9, read.iter().flatten().copied());
    let photo = Component { weight: 1.0, mean, cov, drags: Vec::new() };
    let as_read = judged_with_even_errors(&photo, &predictive, &priors).differ(0, 2).0;
    let together = classify_together(&[photo], &predictive, &priors).unwrap();
    let ((strange, _), (alike, _)) = (together.differ(0, 2), together.differ(0, 1));
    assert!(as_read < 0.9 && strange > 0.95 && alike < 0.05, "{as_read} {strange} {alike}");
}

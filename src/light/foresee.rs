//! What a better photo would give: the model asked about known areas that are not there yet.
//!
//! An invented area is put where it would lie, with the coded values that the light as fitted would give it. Its
//! residual is zero, so the readings stay where they are and their covariance shrinks to what the next photo can be
//! expected to leave. The heaviest coding stands for all, at its parameters as they are, and its scales of trouble
//! keep their weights: an area that is not there is no evidence.

use nalgebra::{Matrix3, Vector3};

use super::areas::Areas;
use super::constants::Constants;
use super::forward::{Theta, forward, veiled};
use super::linearise::{place, placed};
use super::posterior::{PriorCov, Unscaled, own_covariances};
use super::prior::prior_of;
use super::solve::{Light, Trouble};
use super::taught::{Taught, middle_of};
use super::{Given, KnownPatch, Patch, Relief};

/// A step that a person can take.
#[derive(Debug, Clone, PartialEq)]
pub enum Step {
    /// A ladder of greys right beside the readings.
    Ladder,
    /// A part of certain shade right beside the readings.
    KnownPart {
        /// Its Lab D50.
        lab: Vector3<f64>,
        /// Covariance of a part of that shade.
        lab_cov: Matrix3<f64>,
        /// Its surface, as [`Patch::relief`].
        relief: Option<Relief>,
    },
}

/// L\* of the steps of a usual printed ladder.
const LADDER: [f64; 6] = [20.0, 35.0, 50.0, 60.0, 75.0, 90.0];
/// Standard deviations of a card's steps that were measured once.
const LADDER_SDS: [f64; 3] = [0.5, 0.3, 0.3];

/// Covariance of each reading's Lab as it would be known after a step. `light` is that of `given` and `readings`.
/// `None` where there is nothing to read or the model cannot be solved.
pub fn foresee(
    step: &Step,
    given: &Given,
    readings: &[Patch],
    light: &Light,
    constants: &Constants,
) -> Option<Vec<Matrix3<f64>>> {
    let with_step = with_step(step, given.known, readings, light)?;
    let all = Taught::of(&Given { known: &with_step, ..*given });
    let coding = constants.codings.get(light.heaviest.coding)?;
    let areas = Areas::at(&light.theta, &placed(&all.areas, readings, middle_of(given.known)), constants);
    let (known_unscaled, unscaled) = (all.unscaled(&areas), Unscaled::of(&areas, all.len()));
    let mut covs = vec![Matrix3::zeros(); readings.len()];
    let mut weights = 0.0;
    let of_one_chroma = |p: &Trouble, q: &Trouble| p.chroma == q.chroma;
    let mut trouble = light.heaviest.trouble.clone();
    trouble.sort_by_key(|trouble| trouble.chroma);
    for alike in trouble.chunk_by(of_one_chroma) {
        let chroma_scale = constants.chroma_scales.get(alike.first()?.chroma)?.scale;
        let prior = (chroma_scale, prior_of(coding, chroma_scale, constants));
        let of_known = areas.covariance(0..all.len(), 0..all.len(), &prior, constants);
        let prior_cov = PriorCov::of([&of_known, &known_unscaled], &unscaled, &areas, &prior, constants);
        for trouble in alike {
            let scale = trouble.scale * constants.calibration;
            for (cov, of_component) in covs.iter_mut().zip(own_covariances(&prior_cov, scale)?) {
                *cov += of_component * trouble.weight;
            }
            weights += trouble.weight;
        }
    }
    Some(covs.into_iter().map(|cov| cov / weights).collect())
}

/// What is known, with what the step adds right beside the readings.
fn with_step(
    step: &Step,
    known: &[KnownPatch],
    readings: &[Patch],
    light: &Light,
) -> Option<Vec<KnownPatch>> {
    let beside = middle(readings)?;
    let invent = |lab: Vector3<f64>, lab_cov: Matrix3<f64>, relief| {
        let at = place(beside, middle_of(known));
        let coded = coded_of(&lab, at, &veiled(&light.theta, relief))?;
        let patch = Patch { coded, coded_cov: Matrix3::zeros(), at: beside, relief };
        Some(KnownPatch { patch, lab, lab_cov, shared: None })
    };
    let mut all = known.to_vec();
    match step {
        Step::Ladder => {
            let cov = Matrix3::from_diagonal(&Vector3::from(LADDER_SDS).map(|sd| sd * sd));
            for lightness in LADDER {
                all.extend(invent(Vector3::new(lightness, 0.0, 0.0), cov, None));
            }
        }
        Step::KnownPart { lab, lab_cov, relief } => all.push(invent(*lab, *lab_cov, *relief)?),
    }
    Some(all)
}

/// Middle of the readings; none without readings.
fn middle(readings: &[Patch]) -> Option<[f64; 2]> {
    if readings.is_empty() {
        return None;
    }
    let n = readings.len() as f64;
    Some([0, 1].map(|axis| readings.iter().map(|patch| patch.at[axis]).sum::<f64>() / n))
}

/// Coded values that the fitted light gives a colour: Newton's method from mid scale. `None` for a colour
/// that the photo could not have coded.
fn coded_of(lab: &Vector3<f64>, at: [f64; 2], theta: &Theta) -> Option<Vector3<f64>> {
    let mut coded = Vector3::repeat(0.5);
    for _ in 0..40 {
        let here = forward(theta, &coded, at);
        let step = here.by_coded.try_inverse()? * (lab - here.lab);
        // Half of full scale at most: the curve is far from straight.
        coded += step * (0.2 / step.amax().max(1e-12)).min(1.0);
        coded.apply(|c| *c = c.clamp(0.003, 1.2));
        if step.amax() < 1e-6 {
            break;
        }
    }
    let miss = (forward(theta, &coded, at).lab - lab).norm();
    (miss < 0.5 && coded.max() < 0.98).then_some(coded)
}

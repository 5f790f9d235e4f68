//! What the parameters cannot explain.

use nalgebra::{Matrix3, Vector3};

use super::Patch;
use super::constants::Constants;
use super::forward::{FLARE, Forward, GAIN};

/// Chroma beyond which misfit and rest grow no further.
const CHROMA_CAP: f64 = 100.0;

fn chroma(lab: &Vector3<f64>) -> f64 {
    // The small term keeps it smooth at the grey axis.
    (lab[1] * lab[1] + lab[2] * lab[2] + 1e-6).sqrt().min(CHROMA_CAP)
}

/// Length over Lab within which two moulded parts share the short rest. The learned length is that of a card,
/// each patch of which has pigments of its own; parts near in colour are mixed of the same ones and so have the
/// same spectrum but for depth: with measured cameras and lamps their difference keeps within a few per cent of
/// itself. 100 units make that 4 %, and give the best log score beside a known part in the rehearsal.
const PARTS_LENGTH: f64 = 100.0;

/// What is left to a part by itself, in each of L\*, a\* and b\*: a coloured neighbour's light, dust, a seam. No
/// scale of the photo's trouble applies to it. Best log score beside a known part in the rehearsal.
const PARTS_PRIVATE_SD: f64 = 0.1;

/// Covariance that two areas share because their colours are near: diagonal in L\*, a\*, b\*.
///
/// A long part over all of a colour's neighbourhood and a short rest; both grow with chroma, times
/// `chroma_scale`.
pub(super) fn shared(
    (patch, here): (&Patch, &Forward),
    (other, there): (&Patch, &Forward),
    chroma_scale: f64,
    k: &Constants,
) -> Matrix3<f64> {
    let (p, q) = (&here.lab, &there.lab);
    let long = |lab: &Vector3<f64>| k.misfit_floor + chroma_scale * chroma(lab) / 30.0;
    let short = |lab: &Vector3<f64>| 1.0 + chroma_scale * k.rest_growth * chroma(lab) / 30.0;
    let misfit = long(p) * long(q) * near(p, q, k.misfit_lightness_weight, k.misfit_length);
    let rest = match (patch.relief, other.relief) {
        (None, None) => near(p, q, 1.0, k.rest_length),
        (Some(_), Some(_)) => near(p, q, 1.0, PARTS_LENGTH),
        // A part is of other pigments than any patch of a card.
        _ => 0.0,
    };
    let rest = short(p) * short(q) * rest;
    let squared = |sds: [f64; 3]| Vector3::from(sds).map(|sd| sd * sd);
    Matrix3::from_diagonal(&(squared(k.misfit_sds) * misfit + squared(k.rest_sds) * rest))
}

/// 1 for equal colours, falling over `length`; a step in L\* counts `weight` times.
fn near(p: &Vector3<f64>, q: &Vector3<f64>, weight: f64, length: f64) -> f64 {
    let apart = p - q;
    let distance2 = apart.norm_squared() + (weight * weight - 1.0) * apart[0] * apart[0];
    libm::exp(-distance2 / (2.0 * length * length))
}

/// Covariance that two areas (or one with itself, where `same`) have because their codes err: what the camera's
/// curve does besides the model. It was learned as each patch's own; two parts near in colour have nearly the
/// same codes and so share it.
pub(super) fn coding(
    (patch, here): (&Patch, &Forward),
    (other, there): (&Patch, &Forward),
    same: bool,
    k: &Constants,
) -> Matrix3<f64> {
    let share = match (patch.relief, other.relief) {
        _ if same => 1.0,
        (Some(_), Some(_)) => near(&here.lab, &there.lab, 1.0, PARTS_LENGTH),
        _ => return Matrix3::zeros(),
    };
    let sizes = coding_sds(patch, k).component_mul(&coding_sds(other, k)) * share;
    here.by_coded * Matrix3::from_diagonal(&sizes) * there.by_coded.transpose()
}

/// Standard deviation of each coded channel, larger at the ends of the scale.
fn coding_sds(patch: &Patch, k: &Constants) -> Vector3<f64> {
    let logistic = |z: f64| 1.0 / (1.0 + libm::exp(-z.clamp(-500.0, 500.0)));
    patch.coded.map(|c| {
        let at_an_end = logistic((c - 0.985) / 0.005) + logistic((0.015 - c) / 0.005);
        k.coding_sd + k.clipped_coding_sd * at_an_end
    })
}

/// What is left to one area by itself: scatter of its pixels, and a floor.
pub(super) fn private(patch: &Patch, here: &Forward, k: &Constants) -> Matrix3<f64> {
    let scatter = here.by_coded * patch.coded_cov * here.by_coded.transpose();
    let private_sd = if patch.relief.is_some() { PARTS_PRIVATE_SD } else { k.private_sd };
    Matrix3::identity() * (private_sd * private_sd) + scatter
}

/// Covariance that two areas (or one with itself, where `same`) have from the angle of rounded surfaces to the
/// light.
pub(super) fn angle(
    (patch, here): (&Patch, &Forward),
    (other, there): (&Patch, &Forward),
    same: bool,
) -> Matrix3<f64> {
    let (Some(relief), Some(others)) = (patch.relief, other.relief) else { return Matrix3::zeros() };
    let own = if same { relief.log_light_sd * relief.log_light_sd } else { 0.0 };
    let variance = own + relief.shared_log_light_sd * others.shared_log_light_sd;
    by_all(here, GAIN) * by_all(there, GAIN).transpose() * variance
}

/// The same from gloss and haze left over on parts.
pub(super) fn gloss(
    (patch, here): (&Patch, &Forward),
    (other, there): (&Patch, &Forward),
    same: bool,
) -> Matrix3<f64> {
    let (Some(relief), Some(others)) = (patch.relief, other.relief) else { return Matrix3::zeros() };
    let own = if same { relief.gloss_sd * relief.gloss_sd } else { 0.0 };
    let variance = own + relief.shared_gloss_sd * others.shared_gloss_sd;
    by_all(here, FLARE) * by_all(there, FLARE).transpose() * variance
}

/// How Lab moves when a parameter of all three channels does.
fn by_all(here: &Forward, first: usize) -> Vector3<f64> {
    (0..3).map(|channel| here.by_theta.column(first + channel).into_owned()).sum()
}

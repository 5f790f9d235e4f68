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

/// Covariance that two areas share because their colours are near: diagonal in L\*, a\*, b\*.
///
/// A long part over all of a colour's neighbourhood and a short rest; both grow with chroma, times
/// `chroma_scale`.
pub(super) fn shared(p: &Vector3<f64>, q: &Vector3<f64>, chroma_scale: f64, k: &Constants) -> Matrix3<f64> {
    let apart = p - q;
    let near = |weight: f64, length: f64| {
        let distance2 = apart.norm_squared() + (weight * weight - 1.0) * apart[0] * apart[0];
        libm::exp(-distance2 / (2.0 * length * length))
    };
    let long = |lab: &Vector3<f64>| k.misfit_floor + chroma_scale * chroma(lab) / 30.0;
    let short = |lab: &Vector3<f64>| 1.0 + chroma_scale * k.rest_growth * chroma(lab) / 30.0;
    let misfit = long(p) * long(q) * near(k.misfit_lightness_weight, k.misfit_length);
    let rest = short(p) * short(q) * near(1.0, k.rest_length);
    let squared = |sds: [f64; 3]| Vector3::from(sds).map(|sd| sd * sd);
    Matrix3::from_diagonal(&(squared(k.misfit_sds) * misfit + squared(k.rest_sds) * rest))
}

/// What is left to one area by itself: coding noise, scatter of its pixels, and a floor.
pub(super) fn private(patch: &Patch, here: &Forward, k: &Constants) -> Matrix3<f64> {
    let logistic = |z: f64| 1.0 / (1.0 + libm::exp(-z.clamp(-500.0, 500.0)));
    let coding = patch.coded.map(|c| {
        let at_an_end = logistic((c - 0.985) / 0.005) + logistic((0.015 - c) / 0.005);
        let sd = k.coding_sd + k.clipped_coding_sd * at_an_end;
        sd * sd
    });
    let noise = Matrix3::from_diagonal(&coding) + patch.coded_cov;
    Matrix3::identity() * (k.private_sd * k.private_sd) + here.by_coded * noise * here.by_coded.transpose()
}

/// Uncertainty from the angle of a rounded surface to the light.
pub(super) fn angle(patch: &Patch, here: &Forward) -> Matrix3<f64> {
    let sd = patch.relief.map_or(0.0, |relief| relief.log_light_sd);
    let brighter: Vector3<f64> = (0..3).map(|c| here.by_theta.column(GAIN + c).into_owned()).sum();
    brighter * brighter.transpose() * (sd * sd)
}

/// Uncertainty from gloss and haze left over on one part.
pub(super) fn gloss(patch: &Patch, here: &Forward) -> Matrix3<f64> {
    let sd = patch.relief.map_or(0.0, |relief| relief.gloss_sd);
    let hazier: Vector3<f64> = (0..3).map(|c| here.by_theta.column(FLARE + c).into_owned()).sum();
    hazier * hazier.transpose() * (sd * sd)
}

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
pub(super) fn shared(p: &Vector3<f64>, q: &Vector3<f64>, k: &Constants) -> Matrix3<f64> {
    let mut apart = p - q;
    apart[0] *= k.misfit_lightness_weight;
    let growth = |lab: &Vector3<f64>| k.misfit_floor + chroma(lab) / 30.0;
    let near = libm::exp(-apart.norm_squared() / (2.0 * k.misfit_length * k.misfit_length));
    let size = growth(p) * growth(q) * near;
    Matrix3::from_diagonal(&Vector3::from(k.misfit_sds).map(|sd| sd * sd * size))
}

/// Independent rest of one area, with the noise of its coded values.
pub(super) fn rest(patch: &Patch, here: &Forward, k: &Constants) -> Matrix3<f64> {
    let growth = 1.0 + k.rest_growth * chroma(&here.lab) / 30.0;
    let own = Vector3::from(k.rest_sds).map(|sd| sd * sd * growth * growth);
    let logistic = |z: f64| 1.0 / (1.0 + libm::exp(-z.clamp(-500.0, 500.0)));
    let coding = patch.coded.map(|c| {
        let at_an_end = logistic((c - 0.985) / 0.005) + logistic((0.015 - c) / 0.005);
        let sd = k.coding_sd + k.clipped_coding_sd * at_an_end;
        sd * sd
    });
    let noise = Matrix3::from_diagonal(&coding) + patch.coded_cov;
    Matrix3::from_diagonal(&own) + here.by_coded * noise * here.by_coded.transpose()
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

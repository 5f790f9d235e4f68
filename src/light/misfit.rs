//! What the parameters cannot explain.

use nalgebra::{Matrix3, Vector3};

use super::constants::Constants;
use super::forward::{FLARE, Forward, GAIN, Theta, lab_of_linear};
use super::{Patch, Relief};

/// Chroma beyond which misfit and rest grow no further.
const CHROMA_CAP: f64 = 100.0;

fn chroma(lab: &Vector3<f64>) -> f64 {
    // The small term keeps it smooth at the grey axis.
    (lab[1] * lab[1] + lab[2] * lab[2] + 1e-6).sqrt().min(CHROMA_CAP)
}

/// Length over Lab within which two moulded parts share the short rest. The learned length is that of a card,
/// each patch of which has pigments of its own; parts near in colour are mixed of the same ones and so have the
/// same spectrum but for depth: with measured cameras and lamps their difference keeps within a few per cent of
/// itself. 100 units make that 4 %; of 25, 60 and 150 units the longer had the better log score beside a known part in
/// the rehearsal, from 60 on hardly so.
const PARTS_LENGTH: f64 = 100.0;

/// What is left to a part by itself, in each of L\*, a\* and b\*: a coloured neighbour's light, dust, a seam. No
/// scale of the photo's trouble applies to it. Of 0.1, 0.2 and 0.3 the least had the best log score beside a known
/// part in the rehearsal.
const PARTS_PRIVATE_SD: f64 = 0.1;

/// Reflectance of a mid grey.
const MID_GREY: f64 = 0.2;

/// How near two colours are: 1 for equal ones, towards 0 for far ones.
#[derive(Debug, Clone, Copy)]
pub(super) struct Near {
    /// Over the length of the misfit.
    long: f64,
    /// Over that of the short rest.
    short: f64,
    /// Share of the coding noise that both have.
    pub coding: f64,
}

/// What a mid grey would look like if a photo at these parameters were taken as it is, in Lab.
///
/// What a camera does besides the model depends on its codes. Within a photo these go with the colour; the same colour in a
/// photo of other exposure and balance has others, and shares the misfit as a colour does that lies as far off.
pub(super) fn exposed(theta: &Theta) -> Vector3<f64> {
    lab_of_linear(&theta.fixed_rows::<3>(GAIN).map(|gain| MID_GREY * libm::exp(-gain))).0
}

/// How near two areas are, or one to itself where `same`; `exposed` is the difference of their photos by [`exposed`]. The
/// coding noise was learned as each patch's own; two parts near in colour have nearly the same codes and so share it.
pub(super) fn near(
    (patch, here): (&Patch, &Forward),
    (other, there): (&Patch, &Forward),
    same: bool,
    exposed: &Vector3<f64>,
    k: &Constants,
) -> Near {
    let (p, q) = (&here.lab, &there.lab);
    let own = if same { 1.0 } else { 0.0 };
    // 1 for equal colours, falling over `length`; a step in L* counts `weight` times.
    let kernel = |weight: f64, length: f64| {
        let squared = |d: &Vector3<f64>| d.norm_squared() + (weight * weight - 1.0) * d[0] * d[0];
        libm::exp(-(squared(&(p - q)) + squared(exposed)) / (2.0 * length * length))
    };
    let long = kernel(k.misfit_lightness_weight, k.misfit_length);
    match (patch.relief, other.relief) {
        (None, None) => Near { long, short: kernel(1.0, k.rest_length), coding: own },
        (Some(_), Some(_)) => {
            let parts = kernel(1.0, PARTS_LENGTH);
            Near { long, short: parts, coding: parts }
        }
        // A part is of other pigments than any patch of a card.
        _ => Near { long, short: 0.0, coding: 0.0 },
    }
}

/// Standard deviations of misfit and rest of an area in L\*, a\*, b\*, which grow with its chroma.
#[derive(Debug, Clone, Copy)]
pub(super) struct Growth {
    long: Vector3<f64>,
    short: Vector3<f64>,
}

/// The growth at a scale of the trouble with chroma.
pub(super) fn growth(lab: &Vector3<f64>, chroma_scale: f64, k: &Constants) -> Growth {
    let grown = chroma_scale * chroma(lab) / 30.0;
    Growth {
        long: Vector3::from(k.misfit_sds) * (k.misfit_floor + grown),
        short: Vector3::from(k.rest_sds) * (1.0 + k.rest_growth * grown),
    }
}

/// Covariance that two areas share because their colours are near: the diagonal, in L\*, a\*, b\*. A long part
/// over all of a colour's neighbourhood and a short rest.
pub(super) fn shared(near: Near, p: &Growth, q: &Growth) -> Vector3<f64> {
    p.long.component_mul(&q.long) * near.long + p.short.component_mul(&q.short) * near.short
}

/// How Lab of an area errs because its codes do, a column a channel: what the camera's curve does besides the
/// model.
pub(super) fn coding(patch: &Patch, here: &Forward, k: &Constants) -> Matrix3<f64> {
    here.by_coded * Matrix3::from_diagonal(&coding_sds(patch, k))
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

/// How the Lab of an area moves with something that its surface does: one standard deviation of what all parts of
/// the photo have in common, and of what this part has by itself. Zero for a flat area.
#[derive(Debug, Clone, Copy)]
pub(super) struct OfSurface {
    /// In common.
    pub common: Vector3<f64>,
    /// By itself.
    pub own: Vector3<f64>,
}

impl OfSurface {
    fn along(moves: Vector3<f64>, common_sd: f64, own_sd: f64) -> Self {
        Self { common: moves * common_sd, own: moves * own_sd }
    }
}

/// The angle of a rounded surface to the light.
pub(super) fn angle(patch: &Patch, here: &Forward) -> OfSurface {
    let [common, own] =
        patch.relief.map_or([0.0; 2], |r| [r.shared_light, r.light].map(|l| l.sd(here.contrast)));
    OfSurface::along(by_all(here, GAIN), common, own)
}

/// Gloss and haze left over.
pub(super) fn gloss(patch: &Patch, here: &Forward) -> OfSurface {
    let [common, own] = patch.relief.map_or([0.0; 2], |r| [r.shared_gloss_sd, r.gloss_sd]);
    OfSurface::along(by_all(here, FLARE), common, own)
}

/// The colour of the light on a surface at its angle.
pub(super) fn tint(patch: &Patch, here: &Forward) -> OfSurface {
    let moved = |log_tint: Vector3<f64>| here.by_theta.fixed_columns::<3>(GAIN) * log_tint * here.contrast;
    let of = |tint: fn(&Relief) -> Vector3<f64>| {
        patch.relief.as_ref().map_or_else(Vector3::zeros, |r| moved(tint(r)))
    };
    OfSurface { common: of(|r| r.shared_log_tint), own: of(|r| r.log_tint) }
}

/// How Lab moves when a parameter of all three channels does.
fn by_all(here: &Forward, first: usize) -> Vector3<f64> {
    (0..3).map(|channel| here.by_theta.column(first + channel).into_owned()).sum()
}

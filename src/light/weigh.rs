//! The ways in which a camera may have coded the light, weighed by how well each explains the known areas.

use nalgebra::{DMatrix, DVector};

use super::constants::{Constants, LearnedCoding};
use super::factor::factor;
use super::linearise::{Linear, Placed, linearise};
use super::posterior::scaled_plus;
use super::prior::{Prior, prior_of};
use super::taught::Taught;
use crate::stats::gauss_nodes;

/// Common scales of a photo's trouble: a Student-t as a finite scale mixture, spaced evenly in logarithm.
const SCALES: usize = 5;
/// A coding at a chroma scale of less weight is dropped.
const LEAST_GROUP: f64 = 0.004;

/// One coding: its prior at each chroma scale, and the model made linear.
pub(super) struct Coding {
    /// Each with its scale of the trouble with chroma.
    pub priors: Vec<(f64, Prior)>,
    pub linear: Linear,
    /// Prior covariance of the known areas at each chroma scale and common scale 1, and what no scale scales.
    pub known: Vec<DMatrix<f64>>,
    pub known_unscaled: DMatrix<f64>,
}

impl Coding {
    pub(super) fn of(
        coding: &LearnedCoding,
        photos: usize,
        taught: &Taught,
        areas: &[Placed],
        constants: &Constants,
    ) -> Option<Self> {
        let unaided = taught.coloured().is_empty().then(|| constants.unaided(coding));
        let coding = unaided.as_ref().unwrap_or(coding);
        let at = |scale: f64| (scale, prior_of(coding, scale, photos, constants));
        let priors: Vec<_> = constants.chroma_scales.iter().map(|chroma| at(chroma.scale)).collect();
        let linear = linearise(&priors, taught, areas, constants)?;
        let zones = 0..taught.len();
        let covariance = |prior| linear.areas.covariance(zones.clone(), zones.clone(), prior, constants);
        let known: Vec<DMatrix<f64>> = priors.iter().map(covariance).collect();
        let mut known_unscaled = DMatrix::zeros(3 * taught.len(), 3 * taught.len());
        taught.add_unscaled(&mut known_unscaled, &linear.areas);
        Some(Self { priors, linear, known, known_unscaled })
    }
}

/// A coding at one chroma scale and one common scale, with how well it explains the known areas.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Candidate {
    /// Its place among the constants' codings.
    pub coding: usize,
    /// Place of its scale of the trouble with chroma among the constants'.
    pub chroma: usize,
    /// Common scale.
    pub scale: f64,
    log_weight: f64,
}

/// Candidates that matter, in their order, with weights that add up to 1.
///
/// Dropping light candidates would cut the tails off, and these are what makes the bars true on odd photos: the
/// common scales of a coding and chroma scale become two that have the same tails, and only what is left of less
/// than [`LEAST_GROUP`] is dropped.
pub(super) fn kept(candidates: &[Candidate]) -> Vec<(Candidate, f64)> {
    let total = log_sum(candidates.iter().map(|c| c.log_weight));
    let weighted: Vec<(Candidate, f64)> =
        candidates.iter().map(|c| (*c, libm::exp(c.log_weight - total))).collect();
    let mut kept: Vec<(Candidate, f64)> = weighted
        .chunk_by(|(p, _), (q, _)| (p.coding, p.chroma) == (q.coding, q.chroma))
        .filter(|scales| scales.iter().map(|(_, weight)| weight).sum::<f64>() >= LEAST_GROUP)
        .flat_map(two_of)
        .collect();
    let all: f64 = kept.iter().map(|(_, weight)| weight).sum();
    kept.iter_mut().for_each(|(_, weight)| *weight /= all);
    kept
}

/// The common scales of one coding and chroma scale as two, with the same first three moments of the squared scale:
/// variance, kurtosis and sixth moment of the mixture stay.
fn two_of(scales: &[(Candidate, f64)]) -> Vec<(Candidate, f64)> {
    let squared: Vec<(f64, f64)> = scales.iter().map(|(c, weight)| (c.scale * c.scale, *weight)).collect();
    let at = |(squared, weight): (f64, f64)| {
        scales.first().map(|(first, _)| (Candidate { scale: squared.sqrt(), ..*first }, weight))
    };
    gauss_nodes(&squared, 2).into_iter().filter_map(at).collect()
}

/// The common scales with the logarithm of their prior weights.
fn scales(constants: &Constants) -> [(f64, f64); SCALES] {
    let [least, most] = constants.scale_range;
    let step = libm::log(most / least) / (SCALES - 1) as f64;
    let degrees = constants.tail_degrees;
    let mut scales: [(f64, f64); SCALES] = std::array::from_fn(|i| {
        let log_scale = libm::log(least) + step * i as f64;
        let scale = libm::exp(log_scale);
        (scale, -degrees * log_scale - degrees / (2.0 * scale * scale))
    });
    let total = log_sum(scales.iter().map(|s| s.1));
    scales.iter_mut().for_each(|s| s.1 -= total);
    scales
}

fn log_sum(values: impl Iterator<Item = f64> + Clone) -> f64 {
    let most = values.clone().fold(f64::NEG_INFINITY, f64::max);
    most + libm::log(values.map(|v| libm::exp(v - most)).sum())
}

/// Every coding at every chroma scale and common scale, in this order; `None` where a matrix cannot be factored.
pub(super) fn candidates(
    codings: &[Coding],
    taught: &Taught,
    target: &DVector<f64>,
    constants: &Constants,
) -> Option<Vec<Candidate>> {
    let k = target.len();
    let of_codings = log_sum(constants.codings.iter().map(|coding| coding.log_weight));
    let of_chroma = log_sum(constants.chroma_scales.iter().map(|chroma| chroma.log_weight));
    let [greys, others] = taught.shown_once();
    let power_of_greys =
        constants.evidence_power * greys / (3.0 * greys * taught.greys as f64).max(1.0).sqrt();
    let scales = scales(constants);
    let mut all = Vec::with_capacity(codings.len() * constants.chroma_scales.len() * SCALES);
    for (coding, Coding { linear, known, known_unscaled, .. }) in codings.iter().enumerate() {
        let residual = target - linear.mean.rows(0, k);
        for (chroma, cov) in known.iter().enumerate() {
            let log_prior = constants.codings[coding].log_weight - of_codings
                + constants.chroma_scales[chroma].log_weight
                - of_chroma;
            for (scale, log_scale_weight) in scales {
                let observed = scaled_plus(cov, scale * scale, known_unscaled);
                let [of_greys, of_others] = log_evidence(observed, &residual, taught)?;
                let log_weight = log_prior
                    + log_scale_weight
                    + power_of_greys * of_greys
                    + constants.evidence_power * others * of_others;
                if !log_weight.is_finite() {
                    return None;
                }
                all.push(Candidate { coding, chroma, scale, log_weight });
            }
        }
    }
    Some(all)
}

/// Logarithm of the density of the residuals of the greys given what boards tell of the light, and of those of all
/// others given both, up to a constant. That places of a board look alike under some light says nothing of the camera:
/// it does not count.
fn log_evidence(observed: DMatrix<f64>, residual: &DVector<f64>, taught: &Taught) -> Option<[f64; 2]> {
    let factor = factor(observed)?;
    let whitened = factor.whiten(residual);
    let of = |i: usize| -0.5 * whitened[i] * whitened[i] - factor.log_diagonal()[i];
    let (first, last) = (3 * taught.alike, 3 * (taught.alike + taught.greys));
    Some([(first..last).map(of).sum(), (last..residual.len()).map(of).sum()])
}

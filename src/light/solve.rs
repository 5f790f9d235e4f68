//! The joint posterior of all readings, as a mixture over codings and scales.

use nalgebra::{Cholesky, DMatrix, DVector, Dyn, Matrix3, Matrix6, Vector3, Vector6};

use super::budget::{Source, budgets_of};
use super::constants::Constants;
use super::linearise::{Linear, Placed, add_known, linearise};
use super::prior::{Prior, prior_of};
use super::{KnownPatch, Patch};

/// Common scales of a photo's trouble: a Student-t as a finite scale mixture, spaced evenly in logarithm.
const SCALES: usize = 6;
const LEAST_SCALE: f64 = 0.45;
const MOST_SCALE: f64 = 4.0;
/// Components lighter than this are dropped.
const LEAST_WEIGHT: f64 = 1e-4;
/// Half photo widths → the length unit of the learned slopes (half the longer side of a chart that covers
/// 20 to 50 % of the photo's width).
const LENGTH_UNITS: f64 = 2.5;

/// One Gaussian of the posterior mixture.
#[derive(Debug, Clone, PartialEq)]
pub struct Component {
    /// Its weight; the weights of a photo add up to 1.
    pub weight: f64,
    /// Lab of all readings, three entries a reading.
    pub mean: DVector<f64>,
    /// Joint covariance of `mean`.
    pub cov: DMatrix<f64>,
}

/// All readings of one photo together.
#[derive(Debug, Clone, PartialEq)]
pub struct Light {
    /// The posterior mixture, heaviest first; empty only without readings.
    pub components: Vec<Component>,
    /// Its mean.
    pub mean: DVector<f64>,
    /// Its joint covariance.
    pub cov: DMatrix<f64>,
    /// For each reading, each part's share of the trace of its covariance; they add up to 1.
    pub budgets: Vec<Vec<(Source, f64)>>,
    /// Logarithm of the probability density of the known Labs under the model, before they were known.
    pub log_evidence: f64,
}

impl Light {
    /// Mean and covariance of one reading's Lab; `index` must be that of a reading.
    pub fn reading(&self, index: usize) -> (Vector3<f64>, Matrix3<f64>) {
        block(&self.mean, &self.cov, index)
    }

    /// The mixture of one reading: weight, mean and covariance of each component.
    pub fn reading_mixture(&self, index: usize) -> Vec<(f64, Vector3<f64>, Matrix3<f64>)> {
        let of = |c: &Component| {
            let (mean, cov) = block(&c.mean, &c.cov, index);
            (c.weight, mean, cov)
        };
        self.components.iter().map(of).collect()
    }

    /// Lab of two readings one after the other, with their joint covariance.
    pub fn pair(&self, a: usize, b: usize) -> (Vector6<f64>, Matrix6<f64>) {
        let at = |row: usize| if row < 3 { 3 * a + row } else { 3 * b + row - 3 };
        (
            Vector6::from_fn(|row, _| self.mean[at(row)]),
            Matrix6::from_fn(|row, column| self.cov[(at(row), at(column))]),
        )
    }
}

fn block(mean: &DVector<f64>, cov: &DMatrix<f64>, index: usize) -> (Vector3<f64>, Matrix3<f64>) {
    let at = 3 * index;
    (mean.fixed_rows::<3>(at).into_owned(), cov.fixed_view::<3, 3>(at, at).into_owned())
}

/// A coding at one scale, with how well it explains the known areas.
struct Candidate {
    coding: usize,
    scale: f64,
    log_weight: f64,
    /// Factor of scale² × covariance of the known areas + covariance of the known values.
    factor: Option<Cholesky<f64, Dyn>>,
}

/// Fits the light to the known areas and reads all others.
///
/// Returns `None` where the model cannot be solved: a colour or a position is no number.
pub fn fit(known: &[KnownPatch], readings: &[Patch], constants: &Constants) -> Option<Light> {
    let areas = placed(known, readings);
    let codings: Vec<(Prior, Linear)> = constants
        .codings
        .iter()
        .map(|coding| prior_of(coding, constants))
        .map(|prior| linearise(&prior, known, &areas, constants).map(|linear| (prior, linear)))
        .collect::<Option<_>>()?;
    let target =
        DVector::from_iterator(3 * known.len(), known.iter().flat_map(|zone| zone.lab.iter().copied()));
    let mut candidates = candidates(&codings, known, &target, constants)?;
    candidates.sort_by(|p, q| q.log_weight.total_cmp(&p.log_weight));
    let best = candidates.first()?.log_weight;
    let evidence: f64 = candidates.iter().map(|c| libm::exp(c.log_weight - best)).sum();
    candidates.retain(|c| libm::exp(c.log_weight - best) / evidence >= LEAST_WEIGHT);
    let kept: f64 = candidates.iter().map(|c| libm::exp(c.log_weight - best)).sum();

    let mut components = Vec::with_capacity(candidates.len());
    let mut budgets = Vec::new();
    for candidate in &candidates {
        let (prior, linear) = &codings[candidate.coding];
        let (weights, mean, cov) = posterior(candidate, linear, &target);
        if !mean.iter().chain(cov.iter()).all(|v| v.is_finite()) {
            return None;
        }
        if budgets.is_empty() {
            budgets = budgets_of(&weights, prior, linear, &areas, known, candidate.scale, constants);
        }
        components.push(Component { weight: libm::exp(candidate.log_weight - best) / kept, mean, cov });
    }
    let (mean, cov) = moments(&components)?;
    add_doubt_between(&mut budgets, &components, &mean, &cov);
    let log_evidence = best + libm::log(evidence);
    Some(Light { components, mean, cov, budgets, log_evidence })
}

/// Places every area, known ones first, measured from the middle of the known ones.
fn placed<'a>(known: &'a [KnownPatch], readings: &'a [Patch]) -> Vec<Placed<'a>> {
    let n = known.len().max(1) as f64;
    let middle = [0, 1].map(|axis| known.iter().map(|zone| zone.patch.at[axis]).sum::<f64>() / n);
    known
        .iter()
        .map(|zone| &zone.patch)
        .chain(readings)
        .map(|patch| Placed { patch, at: [0, 1].map(|axis| LENGTH_UNITS * (patch.at[axis] - middle[axis])) })
        .collect()
}

fn scales(tail_degrees: f64) -> [(f64, f64); SCALES] {
    let step = libm::log(MOST_SCALE / LEAST_SCALE) / (SCALES - 1) as f64;
    let mut scales: [(f64, f64); SCALES] = std::array::from_fn(|i| {
        let log_scale = libm::log(LEAST_SCALE) + step * i as f64;
        let scale = libm::exp(log_scale);
        (scale, -tail_degrees * log_scale - tail_degrees / (2.0 * scale * scale))
    });
    let total = log_sum(scales.iter().map(|s| s.1));
    scales.iter_mut().for_each(|s| s.1 -= total);
    scales
}

fn log_sum(values: impl Iterator<Item = f64> + Clone) -> f64 {
    let most = values.clone().fold(f64::NEG_INFINITY, f64::max);
    most + libm::log(values.map(|v| libm::exp(v - most)).sum())
}

fn candidates(
    codings: &[(Prior, Linear)],
    known: &[KnownPatch],
    target: &DVector<f64>,
    constants: &Constants,
) -> Option<Vec<Candidate>> {
    let k = target.len();
    let total = log_sum(constants.codings.iter().map(|coding| coding.log_weight));
    let mut all = Vec::with_capacity(codings.len() * SCALES);
    for (index, (_, linear)) in codings.iter().enumerate() {
        let residual = target - linear.mean.rows(0, k);
        for (scale, log_scale_weight) in scales(constants.tail_degrees) {
            let mut log_weight = constants.codings[index].log_weight - total + log_scale_weight;
            let mut factor = None;
            if k > 0 {
                let mut observed = linear.cov.view((0, 0), (k, k)) * (scale * scale);
                add_known(&mut observed, known);
                let cholesky = Cholesky::new(observed)?;
                let half = cholesky.l_dirty().solve_lower_triangular(&residual)?;
                let log_root: f64 = (0..k).map(|i| libm::log(cholesky.l_dirty()[(i, i)])).sum();
                log_weight -= 0.5 * half.norm_squared()
                    + log_root
                    + 0.5 * k as f64 * libm::log(2.0 * std::f64::consts::PI);
                factor = Some(cholesky);
            }
            if !log_weight.is_finite() {
                return None;
            }
            all.push(Candidate { coding: index, scale, log_weight, factor });
        }
    }
    Some(all)
}

/// Weights of the known areas in the readings (3m × 3k), posterior mean and covariance of the readings.
fn posterior(
    candidate: &Candidate,
    linear: &Linear,
    target: &DVector<f64>,
) -> (DMatrix<f64>, DVector<f64>, DMatrix<f64>) {
    let k = target.len();
    let m = linear.mean.len() - k;
    let own = linear.cov.view((k, k), (m, m)) * (candidate.scale * candidate.scale);
    let decoded = linear.mean.rows(k, m).into_owned();
    let Some(factor) = &candidate.factor else {
        return (DMatrix::zeros(m, 0), decoded, own);
    };
    let cross = linear.cov.view((0, k), (k, m)) * (candidate.scale * candidate.scale);
    let solved = factor.solve(&cross);
    let mean = decoded + solved.transpose() * (target - linear.mean.rows(0, k));
    let cov = own - cross.transpose() * &solved;
    let cov = (&cov + cov.transpose()) * 0.5;
    (solved.transpose(), mean, cov)
}

fn moments(components: &[Component]) -> Option<(DVector<f64>, DMatrix<f64>)> {
    let first = components.first()?;
    let mut mean = DVector::zeros(first.mean.len());
    for c in components {
        mean.axpy(c.weight, &c.mean, 1.0);
    }
    let mut cov = DMatrix::zeros(mean.len(), mean.len());
    for c in components {
        let off = &c.mean - &mean;
        cov.ger(c.weight, &off, &off, 1.0);
        cov.zip_apply(&c.cov, |sum, value| *sum += c.weight * value);
    }
    Some((mean, cov))
}

/// The budget of the heaviest component stands for all; what the components differ by is doubt about the
/// tone curve, since a component is first of all a way of coding light.
fn add_doubt_between(
    budgets: &mut [Vec<(Source, f64)>],
    components: &[Component],
    mean: &DVector<f64>,
    cov: &DMatrix<f64>,
) {
    for (index, budget) in budgets.iter_mut().enumerate() {
        let rows = 3 * index..3 * index + 3;
        let all: f64 = rows.clone().map(|row| cov[(row, row)]).sum();
        let between: f64 = rows
            .flat_map(|row| components.iter().map(move |c| (row, c)))
            .map(|(row, c)| c.weight * (c.mean[row] - mean[row]) * (c.mean[row] - mean[row]))
            .sum();
        let doubt = if all > 0.0 { (between / all).clamp(0.0, 1.0) } else { 0.0 };
        for (source, share) in budget.iter_mut() {
            *share *= 1.0 - doubt;
            if *source == Source::ToneCurve {
                *share += doubt;
            }
        }
    }
}

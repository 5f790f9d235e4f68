//! The joint posterior of all readings, as a mixture over codings and scales.

use std::cell::OnceCell;

use nalgebra::{DMatrix, DVector, Matrix3, Matrix6, Vector3, Vector6};

use super::budget::{Scales, Source, budgets_of};
use super::constants::{Constants, LearnedCoding};
use super::factor::{Lower, factor};
use super::forward::{PARAMETERS, Theta};
use super::linearise::{Linear, Placed, linearise, placed};
use super::posterior::{Posterior, PriorCov, Unscaled, posterior, scaled_plus};
use super::prior::{Prior, prior_of};
use super::taught::Taught;
use super::unevenness::Unevenness;
use super::{Given, KnownPatch, Patch, SharedError};
use crate::stats::gauss_nodes;

/// Common scales of a photo's trouble: a Student-t as a finite scale mixture, spaced evenly in logarithm.
const SCALES: usize = 5;
/// A coding at a chroma scale of less weight is dropped.
const LEAST_GROUP: f64 = 0.004;

/// One Gaussian of the posterior mixture.
#[derive(Debug, Clone, PartialEq)]
pub struct Component {
    /// Its weight; the weights of a photo add up to 1.
    pub weight: f64,
    /// Lab of all readings, three entries a reading.
    pub mean: DVector<f64>,
    /// Joint covariance of `mean`.
    pub cov: DMatrix<f64>,
    /// How `mean` goes along with the errors that stated colours share, for each group of them.
    pub drags: Vec<Drag>,
}

/// How all readings go along with an error that the stated colours of some known areas share. Of `cov` it makes gain ×
/// error's covariance × gainᵀ; a reading beside a known part follows its error nearly whole, and that is how the two are
/// told to be alike however badly the shade's own mean is known.
#[derive(Debug, Clone, PartialEq)]
pub struct Drag {
    /// The error.
    pub error: SharedError,
    /// Readings by the error, three rows a reading, three columns.
    pub gain: DMatrix<f64>,
}

impl Component {
    /// The same of some of the readings.
    pub fn only(&self, readings: &[usize]) -> Self {
        let rows: Vec<usize> = readings.iter().flat_map(|i| [3 * i, 3 * i + 1, 3 * i + 2]).collect();
        let of = |drag: &Drag| Drag { error: drag.error, gain: drag.gain.select_rows(&rows) };
        Self {
            weight: self.weight,
            mean: self.mean.select_rows(&rows),
            cov: self.cov.select_rows(&rows).select_columns(&rows),
            drags: self.drags.iter().map(of).collect(),
        }
    }
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
    /// Where no colour is known, of each component the covariance of what makes readings of one colour look different; see
    /// [`Light::same_or_not`].
    pub(crate) of_one_colour: Vec<DMatrix<f64>>,
    /// For each reading, each part's share of the trace of its covariance; they add up to 1.
    pub budgets: Vec<Vec<(Source, f64)>>,
    /// Most probable parameters of the heaviest component's coding: log gains (3), bends (4), flare (3), slopes
    /// in x and y (3 each), cross terms (6), curve of the light (3).
    pub theta: Theta,
    /// The light over the photo at these parameters.
    pub unevenness: Unevenness,
    pub(crate) heaviest: Heaviest,
}

/// The coding of the heaviest component, with all components of it.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct Heaviest {
    /// Its place among the constants' codings.
    pub coding: usize,
    pub trouble: Vec<Trouble>,
}

/// How much trouble a component takes for granted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Trouble {
    /// Place of its scale of the trouble with chroma among the constants'.
    pub chroma: usize,
    /// Common scale.
    pub scale: f64,
    /// Its weight among all components.
    pub weight: f64,
}

impl Light {
    /// Mean and covariance of one reading's Lab; `index` must be that of a reading.
    pub fn reading(&self, index: usize) -> (Vector3<f64>, Matrix3<f64>) {
        block(&self.mean, &self.cov, index)
    }

    /// Covariance of one reading's Lab with each error that known areas share, beside the error's group.
    pub fn with_shared_errors(&self, index: usize) -> Vec<(usize, Matrix3<f64>)> {
        let drags = self.components.first().map_or(&[][..], |c| &c.drags);
        let of = |(place, drag): (usize, &Drag)| {
            let gains = self.components.iter().filter_map(|c| Some((c.weight, c.drags.get(place)?)));
            let gain = gains.fold(Matrix3::zeros(), |sum, (weight, drag)| {
                sum + drag.gain.fixed_view::<3, 3>(3 * index, 0) * weight
            });
            (drag.error.group, gain * drag.error.cov)
        };
        drags.iter().enumerate().map(of).collect()
    }

    /// The mixture of one reading: weight, mean and covariance of each component.
    pub fn reading_mixture(&self, index: usize) -> Vec<(f64, Vector3<f64>, Matrix3<f64>)> {
        let of = |c: &Component| {
            let (mean, cov) = block(&c.mean, &c.cov, index);
            (c.weight, mean, cov)
        };
        self.components.iter().map(of).collect()
    }

    /// The mixture of the Lab of reading `a` less that of reading `b`: weight, mean and covariance.
    pub fn difference_mixture(&self, a: usize, b: usize) -> Vec<(f64, Vector3<f64>, Matrix3<f64>)> {
        let of = |c: &Component| {
            let apart = c.mean.fixed_rows::<3>(3 * a) - c.mean.fixed_rows::<3>(3 * b);
            (c.weight, apart, cov_of_difference(&c.cov, a, b))
        };
        self.components.iter().map(of).collect()
    }

    /// The mixture of the difference of two readings for the question whether they are of one plastic.
    ///
    /// Where some colour is known this is [`Self::difference_mixture`]. Where none is, the camera's gain, curve and saturation
    /// are guesses and all differences are drawn to an unknown scale: made linear, a difference of six may as well be
    /// none. But no scale makes equal what is coded differently. Under any camera parts of one plastic differ by the light
    /// that falls on each, by gloss and by noise, to the same scale as all differences; so the covariance holds these
    /// alone, at each component's scale.
    pub fn same_or_not(&self, a: usize, b: usize) -> Vec<(f64, Vector3<f64>, Matrix3<f64>)> {
        let mut mixture = self.difference_mixture(a, b);
        for ((_, _, cov), of_one_colour) in mixture.iter_mut().zip(&self.of_one_colour) {
            *cov = cov_of_difference(of_one_colour, a, b);
        }
        mixture
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

fn cov_of_difference(cov: &DMatrix<f64>, a: usize, b: usize) -> Matrix3<f64> {
    let part = |i: usize, j: usize| cov.fixed_view::<3, 3>(3 * i, 3 * j).into_owned();
    part(a, a) + part(b, b) - part(a, b) - part(b, a)
}

/// A coding at one chroma scale and one common scale, with how well it explains the known areas.
#[derive(Debug, Clone, Copy)]
struct Candidate {
    coding: usize,
    chroma: usize,
    scale: f64,
    log_weight: f64,
}

/// One coding: its prior at each chroma scale, and the model made linear.
struct Coding {
    priors: Vec<(f64, Prior)>,
    linear: Linear,
    /// Prior covariance of the known areas at each chroma scale and common scale 1, and what no scale scales.
    known: Vec<DMatrix<f64>>,
    known_unscaled: DMatrix<f64>,
    /// The latter with and of the readings, worked out for codings that matter.
    unscaled: OnceCell<Unscaled>,
}

impl Coding {
    fn of(coding: &LearnedCoding, taught: &Taught, areas: &[Placed], constants: &Constants) -> Option<Self> {
        let at = |scale: f64| (scale, prior_of(coding, scale, constants));
        let priors: Vec<_> = constants.chroma_scales.iter().map(|chroma| at(chroma.scale)).collect();
        let linear = linearise(&priors, taught, areas, constants)?;
        let zones = 0..taught.len();
        let covariance = |prior| linear.areas.covariance(zones.clone(), zones.clone(), prior, constants);
        let of_known = priors.iter().map(covariance).collect();
        let known_unscaled = taught.unscaled(&linear.areas);
        Some(Self { priors, linear, known: of_known, known_unscaled, unscaled: OnceCell::new() })
    }

    /// Prior covariance of all areas at a chroma scale.
    fn prior_cov(&self, chroma: usize, constants: &Constants) -> PriorCov<'_> {
        let (known, areas) = (&self.known[chroma], &self.linear.areas);
        let unscaled = self.unscaled.get_or_init(|| Unscaled::of(areas, known.nrows() / 3));
        PriorCov::of([known, &self.known_unscaled], unscaled, areas, &self.priors[chroma], constants)
    }
}

/// Fits the light to the known areas and reads all others.
///
/// Returns `None` where the model cannot be solved: a colour or a position is no number.
pub fn fit(known: &[KnownPatch], readings: &[Patch], constants: &Constants) -> Option<Light> {
    fit_given(&Given { known, alike: &[] }, readings, constants)
}

/// The same beside surfaces of one colour that nobody knows.
pub fn fit_given(given: &Given, readings: &[Patch], constants: &Constants) -> Option<Light> {
    let taught = &Taught::of(given);
    let areas = placed(&taught.areas, readings, taught.middle());
    let codings = constants
        .codings
        .iter()
        .map(|coding| Coding::of(coding, taught, &areas, constants))
        .collect::<Option<Vec<_>>>()?;
    let target = taught.target();
    let candidates = kept(&candidates(&codings, taught, &target, constants)?);

    let chroma_scales = constants.chroma_scales.len();
    let mut prior_covs: Vec<Option<PriorCov>> = (0..codings.len() * chroma_scales).map(|_| None).collect();
    let mut components = Vec::with_capacity(candidates.len());
    let (mut budgets, mut of_one_colour) = (Vec::new(), Vec::new());
    let mut unevenness = None;
    for (candidate, weight) in &candidates {
        let coding = &codings[candidate.coding];
        let (linear, prior) = (&coding.linear, &coding.priors[candidate.chroma]);
        let prior_cov = prior_covs[candidate.coding * chroma_scales + candidate.chroma]
            .get_or_insert_with(|| coding.prior_cov(candidate.chroma, constants));
        let common = candidate.scale * constants.calibration;
        let Posterior { mean, cov, whitened, factor } = posterior(&linear.mean, prior_cov, common, &target)?;
        if !mean.sum().is_finite() || !cov.sum().is_finite() {
            return None;
        }
        // The heaviest component comes first.
        unevenness.get_or_insert_with(|| unevenness_of(linear, &prior.1, &factor, common, taught));
        if budgets.is_empty() {
            let gain = whitened.tr_mul(&factor.inverse());
            let scales = Scales { common, chroma: prior.0 };
            budgets = budgets_of(&gain, &prior.1, &linear.areas, taught, scales, constants);
        }
        if taught.coloured().is_empty() {
            of_one_colour.push(linear.areas.of_one_colour(taught.len()..areas.len(), &prior.1, common));
        }
        let drags = drags(taught, &whitened, &factor);
        components.push(Component { weight: *weight, mean, cov, drags });
    }
    let (mean, cov) = moments(&components)?;
    add_doubt_between(&mut budgets, &components, &mean, &cov);
    let coding = candidates.first()?.0.coding;
    let theta = codings[coding].linear.theta;
    let of_coding = candidates.iter().filter(|(candidate, _)| candidate.coding == coding);
    let trouble =
        of_coding.map(|&(Candidate { chroma, scale, .. }, weight)| Trouble { chroma, scale, weight });
    let heaviest = Heaviest { coding, trouble: trouble.collect() };
    Some(Light { components, mean, cov, of_one_colour, budgets, theta, unevenness: unevenness?, heaviest })
}

/// How the readings go along with the errors that known areas share: the columns of the gain (Rasmussen and Williams 2006,
/// equation 2.23) that belong to a group's areas, added up. `factor` is that of the known areas.
fn drags(taught: &Taught, whitened: &DMatrix<f64>, factor: &Lower) -> Vec<Drag> {
    let mut groups: Vec<(SharedError, DMatrix<f64>)> = Vec::new();
    // What the places of a board share is no error of a colour.
    for (index, zone) in taught.areas.iter().enumerate().skip(taught.alike) {
        let Some(error) = zone.shared else { continue };
        let mut of_zone = DMatrix::zeros(3 * taught.len(), 3);
        of_zone.fixed_view_mut::<3, 3>(3 * index, 0).copy_from(&Matrix3::identity());
        match groups.iter_mut().find(|(of_group, _)| of_group.group == error.group) {
            Some((of_group, sum)) => {
                *of_group = of_group.common_with(error);
                *sum += of_zone;
            }
            None => groups.push((error, of_zone)),
        }
    }
    let gain = |of_group| whitened.tr_mul(&factor.whiten_all(of_group));
    groups.into_iter().map(|(error, of_group)| Drag { error, gain: gain(of_group) }).collect()
}

/// The light over the photo at the parameters of one component: their covariance is that of the prior less what the
/// known areas explain of it (Rasmussen and Williams 2006, equation 2.24). `factor` is that of the known areas.
fn unevenness_of(linear: &Linear, prior: &Prior, factor: &Lower, common: f64, taught: &Taught) -> Unevenness {
    let spread = DMatrix::from_column_slice(PARAMETERS, PARAMETERS, prior.cov.as_slice()) * (common * common);
    let whitened = factor.whiten_all(linear.areas.jacobian.rows(0, 3 * taught.len()) * &spread);
    let cov = spread - whitened.tr_mul(&whitened);
    Unevenness::of(&linear.theta, &cov.fixed_view::<PARAMETERS, PARAMETERS>(0, 0).into(), taught.middle())
}

/// Candidates that matter, heaviest first, with weights that add up to 1.
///
/// Dropping light candidates would cut the tails off, and these are what makes the bars true on odd photos: the
/// common scales of a coding and chroma scale become two that have the same tails, and only what is left of less
/// than [`LEAST_GROUP`] is dropped.
fn kept(candidates: &[Candidate]) -> Vec<(Candidate, f64)> {
    let total = log_sum(candidates.iter().map(|c| c.log_weight));
    let weighted: Vec<(Candidate, f64)> =
        candidates.iter().map(|c| (*c, libm::exp(c.log_weight - total))).collect();
    let mut kept: Vec<(Candidate, f64)> = weighted
        .chunk_by(|(p, _), (q, _)| (p.coding, p.chroma) == (q.coding, q.chroma))
        .filter(|scales| scales.iter().map(|(_, weight)| weight).sum::<f64>() >= LEAST_GROUP)
        .flat_map(two_of)
        .collect();
    kept.sort_by(|(_, p), (_, q)| q.total_cmp(p));
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

fn candidates(
    codings: &[Coding],
    taught: &Taught,
    target: &DVector<f64>,
    constants: &Constants,
) -> Option<Vec<Candidate>> {
    let k = target.len();
    let of_codings = log_sum(constants.codings.iter().map(|coding| coding.log_weight));
    let of_chroma = log_sum(constants.chroma_scales.iter().map(|chroma| chroma.log_weight));
    let power_of_greys = constants.evidence_power / ((3 * taught.greys).max(1) as f64).sqrt();
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
                    + constants.evidence_power * of_others;
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

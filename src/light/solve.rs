//! The joint posterior of all readings, as a mixture over codings and scales.

use nalgebra::{DMatrix, DVector, Matrix3, Matrix6, Vector3, Vector6};

use super::budget::{Scales, Source, budgets_of};
use super::component::{Component, Drag};
use super::constants::Constants;
use super::factor::Lower;
use super::forward::{PARAMETERS, Theta};
use super::linearise::{Linear, placed};
use super::pooled::{self, Shown};
use super::posterior::{AtScale, Posterior, PriorCov, posterior};
use super::prior::Prior;
use super::taught::Taught;
use super::unevenness::Unevenness;
use super::weigh::{Coding, candidates, kept};
use super::{Given, KnownPatch, Patch, SharedError};

/// All readings of one photo, or of several photos of one camera, together.
#[derive(Debug, Clone, PartialEq)]
pub struct Light {
    /// The posterior mixture, heaviest first; empty only without readings.
    pub components: Vec<Component>,
    /// Its mean.
    pub mean: DVector<f64>,
    /// Its joint covariance.
    pub cov: DMatrix<f64>,
    /// How its mean goes along with the errors that stated colours share.
    pub drags: Vec<Drag>,
    /// Where no colour is known, of each component the covariance of what makes readings of one colour look different; see
    /// [`Light::same_or_not`].
    pub(crate) of_one_colour: Vec<DMatrix<f64>>,
    /// For each reading, how probable it is that the photos of its part show it as unlike as they do, or more so; 1 where one
    /// photo shows it.
    pub agreement: Vec<f64>,
    /// For each reading, each part's share of the trace of its covariance; they add up to 1.
    pub budgets: Vec<Vec<(Source, f64)>>,
    /// Most probable parameters of the first photo in the heaviest component's coding: log gains (3), bends (4), flare (3), slopes
    /// in x and y (3 each), cross terms (6), curve of the light (3).
    pub theta: Theta,
    /// The light over that photo at these parameters.
    pub unevenness: Unevenness,
}

impl Light {
    /// Mean and covariance of one reading's Lab; `index` must be that of a reading.
    pub fn reading(&self, index: usize) -> (Vector3<f64>, Matrix3<f64>) {
        block(&self.mean, &self.cov, index)
    }

    /// Covariance of one reading's Lab with each error that known areas share, beside the error's group.
    pub fn with_shared_errors(&self, index: usize) -> Vec<(usize, Matrix3<f64>)> {
        let of =
            |drag: &Drag| (drag.error.group, drag.gain.fixed_view::<3, 3>(3 * index, 0) * drag.error.cov);
        self.drags.iter().map(of).collect()
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

/// Fits the light to the known areas and reads all others.
///
/// Returns `None` where the model cannot be solved: a colour or a position is no number.
pub fn fit(known: &[KnownPatch], readings: &[Patch], constants: &Constants) -> Option<Light> {
    let shown: Vec<Vec<Patch>> = readings.iter().map(|patch| vec![patch.clone()]).collect();
    fit_given(&Given { known: known.to_vec(), ..Given::default() }, &shown, constants)
}

/// The same beside surfaces of one colour that nobody knows, and over several photos of one camera, for each of which things
/// were laid anew. A reading is a part as the photos show it, with one patch in each that does.
pub fn fit_given(given: &Given, readings: &[Vec<Patch>], constants: &Constants) -> Option<Light> {
    let taught = &Taught::of(given);
    let patches = || readings.iter().flatten();
    let of_areas = taught.areas.iter().map(|zone| &zone.patch).chain(patches());
    let photos = 1 + of_areas.map(|patch| patch.photo).max().unwrap_or(0);
    let middles: Vec<[f64; 2]> = (0..photos).map(|photo| taught.middle(photo)).collect();
    let areas = placed(taught, patches(), &middles);
    let shown = Shown::of(readings);
    let mean_of_shown = (!shown.once()).then(|| shown.mean());
    let codings = constants
        .codings
        .iter()
        .map(|coding| Coding::of(coding, photos, taught, &areas, constants))
        .collect::<Option<Vec<_>>>()?;
    let target = taught.target();
    let candidates = kept(&candidates(&codings, taught, &target, constants)?);

    let (heaviest, _) = *candidates.iter().max_by(|(_, p), (_, q)| p.total_cmp(q))?;
    let mut fitted = Vec::with_capacity(candidates.len());
    let mut of_heaviest = None;
    let mut agreement = vec![0.0; readings.len()];
    for of_coding in candidates.chunk_by(|(p, _), (q, _)| p.coding == q.coding) {
        let Coding { linear, priors, known, known_unscaled } = &codings[of_coding.first()?.0.coding];
        let unscaled = PriorCov::unscaled(known_unscaled, &linear.areas);
        for of_chroma in of_coding.chunk_by(|(p, _), (q, _)| p.chroma == q.chroma) {
            let chroma = of_chroma.first()?.0.chroma;
            let prior = &priors[chroma];
            let scaled = PriorCov::scaled(&known[chroma], &linear.areas, prior, constants);
            for &(candidate, weight) in of_chroma {
                let scale = candidate.scale * constants.calibration;
                let prior_cov = AtScale { scaled: &scaled, unscaled: &unscaled, scale };
                let Posterior { mean, cov, factor } = posterior(&linear.mean, prior_cov, &target)?;
                if !is_finite(mean.as_slice()) || !is_finite(cov.as_slice()) {
                    return None;
                }
                let drags = drags(taught, &factor);
                let of_one_colour = taught
                    .coloured()
                    .is_empty()
                    .then(|| linear.areas.of_one_colour(taught.len()..areas.len(), &prior.1, scale));
                for (sum, of_part) in agreement.iter_mut().zip(pooled::agreement(&shown, &mean, &cov)?) {
                    *sum += weight * of_part;
                }
                if candidate == heaviest {
                    let scales = Scales { common: scale, chroma: prior.0 };
                    let pooled = mean_of_shown.as_ref().map(|weights| &weights.by_reading);
                    let gain = factor.gain();
                    let budgets =
                        budgets_of(gain, pooled, &prior.1, &linear.areas, taught, scales, constants);
                    of_heaviest = Some((budgets, unevenness_of(linear, &prior.1, &factor, scale, taught)));
                }
                let component = Component { weight, mean, cov, drags };
                fitted.push(match &mean_of_shown {
                    Some(weights) => {
                        (weights.pooled(component), of_one_colour.map(|cov| weights.carried(&cov)))
                    }
                    None => (component, of_one_colour),
                });
            }
        }
    }
    let (mut budgets, unevenness) = of_heaviest?;
    fitted.sort_by(|(p, _), (q, _)| q.weight.total_cmp(&p.weight));
    let (components, of_one_colour): (Vec<Component>, Vec<Option<DMatrix<f64>>>) = fitted.into_iter().unzip();
    let of_one_colour = of_one_colour.into_iter().flatten().collect();
    let Component { mean, cov, drags, .. } = Component::joined(components.iter())?;
    add_doubt_between(&mut budgets, &components, &mean, &cov);
    let theta = *codings[heaviest.coding].linear.thetas.first()?;
    Some(Light { components, mean, cov, drags, of_one_colour, agreement, budgets, theta, unevenness })
}

fn is_finite(values: &[f64]) -> bool {
    values.iter().sum::<f64>().is_finite()
}

/// How the readings go along with the errors that known areas share: the columns of the gain (Rasmussen and Williams 2006,
/// equation 2.23) that belong to a group's areas, added up.
fn drags(taught: &Taught, factor: &Lower) -> Vec<Drag> {
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
    let gain = |of_group| factor.carried() * factor.whiten_all(of_group);
    groups.into_iter().map(|(error, of_group)| Drag { error, gain: gain(of_group) }).collect()
}

/// The light over the first photo at the parameters of one component: their covariance is that of the prior less what the
/// known areas explain of it (Rasmussen and Williams 2006, equation 2.24). `factor` is that of the known areas.
fn unevenness_of(linear: &Linear, prior: &Prior, factor: &Lower, common: f64, taught: &Taught) -> Unevenness {
    let spread = prior.cov.columns(0, PARAMETERS) * (common * common);
    let whitened = factor.whiten_all(linear.areas.jacobian.rows(0, 3 * taught.len()) * &spread);
    let cov = spread.rows(0, PARAMETERS) - whitened.tr_mul(&whitened);
    let cov = cov.fixed_view::<PARAMETERS, PARAMETERS>(0, 0).into();
    Unevenness::of(&linear.thetas[0], &cov, taught.middle(0))
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

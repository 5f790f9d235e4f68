//! What a reading may be: one of the shades, or none of them.

use nalgebra::{Cholesky, DMatrix, Dyn, Matrix3, Vector3};

use super::super::classify::Priors;
use super::super::covariance::positive;
use super::super::predictive::{PredictedShade, Predictive};
use super::paths::LEAST;
use super::supposed::{ErrorScale, Known, Supposed};
use crate::light::{Component, Drag};
use crate::stats::{Component as Normal, Mixture, NotPositiveDefinite};

/// Share of the variance of a shade's parts that each has by itself. In the rehearsal parts have all of it by themselves;
/// the parts of a figure may have less. With 0.7 and 1 instead, 72 and 70 % are decided there beside a part and a ladder, with
/// this 71, and 39 and 36 % after the ladder, with this 37; as many are wrong (5600 parts, seed 505).
pub(super) const OWN_SHARE: f64 = 0.85;
/// Parts that the prior of "none of these" is worth. Common practice, no source; in the rehearsal every part in twenty is a
/// stranger, whatever the others are, and the true shade is a little more probable than with 5.
pub(super) const URN: f64 = 10.0;

/// Share of an error's variance that is not worth three numbers on every path.
const NEXT_TO_NOTHING: f64 = 1e-3;

/// The shades, and none of them last.
pub(super) struct Classes<'a> {
    /// Logarithm of the prior among the shades, mean, and the part of the distribution that each part has by itself.
    shades: Vec<(f64, Vector3<f64>, Mixture<3>)>,
    /// Prior of none of them; without it every class has the factor 1, and paths are likelihoods.
    none: Option<f64>,
    others: &'a Mixture<3>,
    /// Its mean, and its covariance beyond what each part of a shade has by itself.
    strangers: (Vector3<f64>, Matrix3<f64>),
    /// S̄.
    spread: Matrix3<f64>,
    /// What errors grow from.
    pub(super) known: Known,
    /// Of each shade the error of its mean, without what known parts have in common with it; `None` where that is nothing.
    of_means: Vec<Option<Matrix3<f64>>>,
    /// Natural logarithm of the least likelihood of a combination kept, beside the best.
    pub(super) least: f64,
}

impl<'a> Classes<'a> {
    pub(super) fn of(predictive: &'a Predictive, priors: Option<&Priors>, components: &[Component]) -> Self {
        let drags = components.first().map_or(&[][..], |c| &c.drags);
        let count = predictive.shades().len().max(1) as f64;
        let of_means = errors_of_means(predictive, drags);
        // Of each shade: mean, covariance, and the share of that which is no error of the mean.
        let moments = |(k, shade): (usize, &PredictedShade)| {
            let (mean, cov) = shade.next_part.moments();
            let shared: f64 =
                error_of_known(drags, k).into_iter().chain(&of_means[k]).map(Matrix3::trace).sum();
            (mean, cov, 1.0 - shared / cov.trace())
        };
        let moments: Vec<_> = predictive.shades().iter().enumerate().map(moments).collect();
        let shades = priors.and_then(|priors| priors.shades.as_ref());
        let prior_of = |k: usize| shades.map_or(1.0, |p| p.get(k).copied().unwrap_or(0.0));
        let total: f64 = (0..moments.len()).map(prior_of).sum();
        let of_shade = |(k, (mean, _, share)): (usize, &(Vector3<f64>, Matrix3<f64>, f64))| {
            let own = |c: &Normal<3>| Normal { cov: c.cov * (OWN_SHARE * share), ..c.clone() };
            let whole = &predictive.shades()[k].next_part;
            let own = Mixture::new(whole.components().iter().map(own).collect());
            let log_prior = libm::log(prior_of(k) / total);
            (log_prior, *mean, own.unwrap_or_else(|| whole.clone()))
        };
        let spread = moments.iter().map(|(_, cov, share)| cov * *share).sum::<Matrix3<f64>>() / count;
        let (centre, others) = predictive.others().moments();
        let known = drags.iter().filter_map(|drag| moments.get(drag.error.group));
        let even = priors.map_or_else(|| Priors::default().even, |priors| priors.even);
        Self {
            of_means,
            known: Known::of(known.map(|(mean, ..)| *mean).collect(), even),
            shades: moments.iter().enumerate().map(of_shade).collect(),
            none: priors.map(|priors| priors.none),
            others: predictive.others(),
            strangers: (centre, positive(&(others - spread * OWN_SHARE))),
            spread,
            least: LEAST,
        }
    }

    /// As if the errors of readings did not depend on what their parts are supposed to be; no combination is too unlikely.
    #[cfg(test)]
    pub(super) fn of_even_errors(self) -> Self {
        Self { known: Known::nowhere(), least: f64::NEG_INFINITY, ..self }
    }

    pub(super) fn count(&self) -> usize {
        self.shades.len() + 1
    }

    /// The class that is none of the shades.
    pub(super) fn none(&self) -> usize {
        self.shades.len()
    }

    /// Mean Lab of a class.
    pub(super) fn mean(&self, class: usize) -> &Vector3<f64> {
        self.shades.get(class).map_or(&self.strangers.0, |(_, mean, _)| mean)
    }

    /// The colour that a part of a class is supposed to have, beside the one that was read; of a stranger nothing is supposed.
    pub(super) fn supposed(&self, class: usize, read: &Vector3<f64>) -> Option<Supposed> {
        self.shades.get(class).map(|(_, lab, _)| Supposed { lab: *lab, read: *read })
    }

    /// The error that a reading brings with it after readings of these classes, which no error so far stands for: that of its
    /// shade's mean for the first of a shade; for each stranger how far it lies off, beyond what each part of a shade does.
    pub(super) fn brought(&self, class: usize, before: &[usize]) -> Option<&Matrix3<f64>> {
        match self.of_means.get(class) {
            Some(of_mean) => of_mean.as_ref().filter(|_| !before.contains(&class)),
            None => Some(&self.strangers.1),
        }
    }

    /// What each part has by itself of S̄.
    pub(super) fn own(&self) -> Matrix3<f64> {
        self.spread * OWN_SHARE
    }

    /// What all parts of a photo have in common of S̄.
    pub(super) fn common(&self) -> Matrix3<f64> {
        self.spread * (1.0 - OWN_SHARE)
    }

    /// How large the errors of a reading are if it is of a class, as they grow from there.
    pub(super) fn scale(&self, class: usize, read: &Vector3<f64>, from: Option<&Supposed>) -> ErrorScale {
        self.supposed(class, read).map_or(ErrorScale::NONE, |of| self.known.scale(&of, from))
    }

    /// Logarithm of the density of a reading with the light's covariance and that of errors of means carried so far, of a part
    /// of a class after those before.
    pub(super) fn log_density(
        &self,
        class: usize,
        before: &[usize],
        reading: &Vector3<f64>,
        cov: &Matrix3<f64>,
    ) -> Result<f64, NotPositiveDefinite> {
        match (self.shades.get(class), self.brought(class, before)) {
            (Some((_, _, own)), Some(of_mean)) => own.log_overlap(reading, &(cov + of_mean)),
            (Some((_, _, own)), None) => own.log_overlap(reading, cov),
            (None, _) => self.others.log_overlap(reading, cov),
        }
    }

    /// Logarithm of the prior of a class after those of the readings before: an urn (D. Blackwell and J. B. MacQueen,
    /// "Ferguson distributions via Pólya urn schemes", Annals of Statistics 1:353-355, 1973) for "none of these", so
    /// that one stranger makes another one likelier; shades are independent, since an exchanged limb must show.
    pub(super) fn log_prior(&self, class: usize, before: &[usize]) -> f64 {
        let Some(none) = self.none else { return 0.0 };
        let strangers = before.iter().filter(|class| **class == self.none()).count() as f64;
        let none = (URN * none + strangers) / (URN + before.len() as f64);
        match self.shades.get(class) {
            Some((log_prior, ..)) => log_prior + libm::log(1.0 - none),
            None => libm::log(none),
        }
    }

    /// L of the readings' covariance with the spread of parts in it.
    pub(super) fn factor(&self, mut cov: DMatrix<f64>) -> Result<DMatrix<f64>, NotPositiveDefinite> {
        let readings = cov.nrows() / 3;
        for i in 0..readings {
            for j in 0..readings {
                let mut block = cov.fixed_view_mut::<3, 3>(3 * i, 3 * j);
                block += if i == j { self.spread } else { self.common() };
            }
        }
        let refused = NotPositiveDefinite { rows: cov.nrows(), columns: cov.ncols() };
        Cholesky::<f64, Dyn>::new(cov).map(|factored| factored.unpack()).ok_or(refused)
    }
}

/// Of each shade the error of its mean, without what the known parts have in common with it.
fn errors_of_means(predictive: &Predictive, drags: &[Drag]) -> Vec<Option<Matrix3<f64>>> {
    let of = |(k, shade): (usize, &PredictedShade)| {
        let left = shade.mean_cov - error_of_known(drags, k).copied().unwrap_or_else(Matrix3::zeros);
        (left.trace() > NEXT_TO_NOTHING * shade.mean_cov.trace()).then(|| positive(&left))
    };
    predictive.shades().iter().enumerate().map(of).collect()
}

/// The error of a shade's mean that its known parts have.
fn error_of_known(drags: &[Drag], shade: usize) -> Option<&Matrix3<f64>> {
    drags.iter().find(|drag| drag.error.group == shade).map(|drag| &drag.error.cov)
}

//! What the known areas say about the readings, at one coding and given scales.

use std::ops::Range;

use nalgebra::{DMatrix, DVector, Matrix3};

use super::areas::Areas;
use super::constants::Constants;
use super::factor::{Lower, factor, subtract_square};
use super::prior::Prior;

/// Prior covariance of the known areas, of these with the readings, and of the readings; of each the part at common
/// scale 1 and the part that no scale scales.
pub(super) struct PriorCov<'a> {
    known: [&'a DMatrix<f64>; 2],
    cross: (DMatrix<f64>, &'a DMatrix<f64>),
    own: (DMatrix<f64>, &'a DMatrix<f64>),
}

/// What no scale scales, of the known areas with the readings and of the readings: the same at every scale of chroma.
pub(super) struct Unscaled {
    cross: DMatrix<f64>,
    own: DMatrix<f64>,
}

impl Unscaled {
    /// `known` is the number of known areas, which come first in `areas`.
    pub(super) fn of(areas: &Areas, known: usize) -> Self {
        let (zones, readings) = (0..known, known..areas.len());
        Self { cross: areas.relief(zones, readings.clone()), own: areas.relief(readings.clone(), readings) }
    }
}

impl<'a> PriorCov<'a> {
    /// `known` is that of the known areas, which come first in `areas`.
    pub(super) fn of(
        known: [&'a DMatrix<f64>; 2],
        unscaled: &'a Unscaled,
        areas: &Areas,
        prior: &(f64, Prior),
        constants: &Constants,
    ) -> Self {
        let count = known[0].nrows() / 3;
        let (zones, readings) = (0..count, count..areas.len());
        let of = |rows: &Range<usize>| areas.covariance(rows.clone(), readings.clone(), prior, constants);
        Self { known, cross: (of(&zones), &unscaled.cross), own: (of(&readings), &unscaled.own) }
    }

    fn known_at(&self, scale: f64) -> DMatrix<f64> {
        scaled_plus(self.known[0], scale * scale, self.known[1])
    }

    fn cross_at(&self, scale: f64) -> DMatrix<f64> {
        scaled_plus(&self.cross.0, scale * scale, self.cross.1)
    }

    fn own_at(&self, scale: f64) -> DMatrix<f64> {
        scaled_plus(&self.own.0, scale * scale, self.own.1)
    }
}

/// What the known areas say about the readings.
pub(super) struct Posterior {
    pub mean: DVector<f64>,
    pub cov: DMatrix<f64>,
    /// L⁻¹ × covariance of known areas with readings, with L the known areas' factor.
    pub whitened: DMatrix<f64>,
    /// L.
    pub factor: Lower,
}

/// Posterior of the readings at one common scale.
pub(super) fn posterior(
    prior_mean: &DVector<f64>,
    prior_cov: &PriorCov,
    scale: f64,
    target: &DVector<f64>,
) -> Option<Posterior> {
    let k = target.len();
    let m = prior_mean.len() - k;
    let factor = factor(prior_cov.known_at(scale))?;
    let whitened = factor.whiten_all(prior_cov.cross_at(scale));
    let mean = prior_mean.rows(k, m) + whitened.tr_mul(&factor.whiten(&(target - prior_mean.rows(0, k))));
    let mut cov = prior_cov.own_at(scale);
    subtract_square(&mut cov, &whitened);
    Some(Posterior { mean, cov, whitened, factor })
}

/// Posterior covariance of each reading by itself at one common scale.
pub(super) fn own_covariances(prior_cov: &PriorCov, scale: f64) -> Option<Vec<Matrix3<f64>>> {
    let factor = factor(prior_cov.known_at(scale))?;
    let whitened = factor.whiten_all(prior_cov.cross_at(scale));
    let own = prior_cov.own_at(scale);
    let of_reading = |index: usize| {
        let explained = whitened.columns(3 * index, 3);
        own.fixed_view::<3, 3>(3 * index, 3 * index) - explained.tr_mul(&explained).fixed_view::<3, 3>(0, 0)
    };
    Some((0..own.nrows() / 3).map(of_reading).collect())
}

/// A matrix times a number, plus another of its size, in one go over both.
pub(super) fn scaled_plus(matrix: &DMatrix<f64>, times: f64, other: &DMatrix<f64>) -> DMatrix<f64> {
    let pairs = matrix.as_slice().iter().zip(other.as_slice());
    let (rows, columns) = matrix.shape();
    DMatrix::from_vec(rows, columns, pairs.map(|(value, other)| value * times + other).collect())
}

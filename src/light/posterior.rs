//! What the known areas say about the readings, at one coding and given scales.

use std::ops::Range;

use nalgebra::{DMatrix, DVector, Matrix3};

use super::areas::Areas;
use super::constants::Constants;
use super::factor::{Lower, factor, subtract_square};
use super::prior::Prior;

/// Prior covariance of the known areas, of these with the readings, and of the readings; each at common scale 1,
/// and what no scale scales.
#[derive(Clone)]
pub(super) struct PriorCov {
    known: [DMatrix<f64>; 2],
    cross: [DMatrix<f64>; 2],
    own: [DMatrix<f64>; 2],
}

impl PriorCov {
    /// `known` is that of the known areas, which come first in `areas`.
    pub(super) fn of(
        known: [DMatrix<f64>; 2],
        areas: &Areas,
        prior: &(f64, Prior),
        constants: &Constants,
    ) -> Self {
        let count = known[0].nrows() / 3;
        let (zones, readings) = (0..count, count..areas.len());
        let both = |rows: &Range<usize>, columns: &Range<usize>| {
            [
                areas.covariance(rows.clone(), columns.clone(), prior, constants),
                areas.relief(rows.clone(), columns.clone()),
            ]
        };
        Self { known, cross: both(&zones, &readings), own: both(&readings, &readings) }
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
    let factor = factor(at_scale(&prior_cov.known, scale))?;
    let whitened = factor.whiten_all(at_scale(&prior_cov.cross, scale));
    let mean = prior_mean.rows(k, m) + whitened.tr_mul(&factor.whiten(&(target - prior_mean.rows(0, k))));
    let mut cov = at_scale(&prior_cov.own, scale);
    subtract_square(&mut cov, &whitened);
    Some(Posterior { mean, cov, whitened, factor })
}

/// Posterior covariance of each reading by itself at one common scale.
pub(super) fn own_covariances(prior_cov: &PriorCov, scale: f64) -> Option<Vec<Matrix3<f64>>> {
    let factor = factor(at_scale(&prior_cov.known, scale))?;
    let whitened = factor.whiten_all(at_scale(&prior_cov.cross, scale));
    let own = at_scale(&prior_cov.own, scale);
    let of_reading = |index: usize| {
        let explained = whitened.columns(3 * index, 3);
        own.fixed_view::<3, 3>(3 * index, 3 * index) - explained.tr_mul(&explained).fixed_view::<3, 3>(0, 0)
    };
    Some((0..own.nrows() / 3).map(of_reading).collect())
}

fn at_scale([scaled, fixed]: &[DMatrix<f64>; 2], scale: f64) -> DMatrix<f64> {
    scaled_plus(scaled, scale * scale, fixed)
}

/// A matrix times a number, plus another of its size, in one go over both.
pub(super) fn scaled_plus(matrix: &DMatrix<f64>, times: f64, other: &DMatrix<f64>) -> DMatrix<f64> {
    let pairs = matrix.as_slice().iter().zip(other.as_slice());
    let (rows, columns) = matrix.shape();
    DMatrix::from_vec(rows, columns, pairs.map(|(value, other)| value * times + other).collect())
}

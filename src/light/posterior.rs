//! What the known areas say about the readings, at one coding and given scales.

use nalgebra::{DMatrix, DVector};

use super::areas::Areas;
use super::constants::Constants;
use super::factor::{Lower, factor, subtract_square};
use super::prior::Prior;

/// Prior covariance of all areas, or a part of it.
#[derive(Debug, Clone)]
pub(super) struct PriorCov<'a> {
    /// Of the known areas.
    pub known: &'a DMatrix<f64>,
    /// Of the readings with the known areas.
    pub cross: DMatrix<f64>,
    /// Of the readings.
    pub own: DMatrix<f64>,
}

impl<'a> PriorCov<'a> {
    /// What a common scale scales, at scale 1. `known` is that of the known areas, which come first in `areas`.
    pub(super) fn scaled(
        known: &'a DMatrix<f64>,
        areas: &Areas,
        prior: &(f64, Prior),
        constants: &Constants,
    ) -> Self {
        let (zones, readings) = (0..known.nrows() / 3, known.nrows() / 3..areas.len());
        let cross = areas.covariance(readings.clone(), zones, prior, constants);
        Self { known, cross, own: areas.covariance(readings.clone(), readings, prior, constants) }
    }

    /// What no scale scales: the same at every scale of chroma.
    pub(super) fn unscaled(known: &'a DMatrix<f64>, areas: &Areas) -> Self {
        let (zones, readings) = (0..known.nrows() / 3, known.nrows() / 3..areas.len());
        let mut cross = DMatrix::zeros(3 * readings.len(), 3 * zones.len());
        areas.add_relief(&mut cross, readings.clone(), zones);
        let mut own = DMatrix::zeros(3 * readings.len(), 3 * readings.len());
        areas.add_relief(&mut own, readings.clone(), readings);
        Self { known, cross, own }
    }
}

/// Prior covariance of all areas at some common scale.
#[derive(Debug, Clone, Copy)]
pub(super) struct AtScale<'a> {
    /// What is scaled, at scale 1.
    pub scaled: &'a PriorCov<'a>,
    /// What no scale scales.
    pub unscaled: &'a PriorCov<'a>,
    /// The scale.
    pub scale: f64,
}

impl AtScale<'_> {
    /// The factor of the known areas' covariance, which carries that of the readings with them.
    fn factor(&self) -> Option<Lower> {
        let Self { scaled, unscaled, scale } = self;
        let (known, cross) = ([scaled.known, unscaled.known], [&scaled.cross, &unscaled.cross]);
        let (rows, columns) = (known[0].nrows() + cross[0].nrows(), known[0].ncols());
        let mut tall = Vec::with_capacity(rows * columns);
        for column in 0..columns {
            for [scaled, unscaled] in [known, cross].map(|pair| pair.map(|part| part.column(column))) {
                tall.extend(sums(scaled.as_slice(), scale * scale, unscaled.as_slice()));
            }
        }
        factor(DMatrix::from_vec(rows, columns, tall))
    }

    fn own(&self) -> DMatrix<f64> {
        scaled_plus(&self.scaled.own, self.scale * self.scale, &self.unscaled.own)
    }
}

/// What the known areas say about the readings.
pub(super) struct Posterior {
    pub mean: DVector<f64>,
    pub cov: DMatrix<f64>,
    /// Of the known areas' covariance; it carries that of the readings with them.
    pub factor: Lower,
}

/// Posterior of the readings: Rasmussen and Williams 2006, equations 2.23 and 2.24.
pub(super) fn posterior(
    prior_mean: &DVector<f64>,
    prior_cov: AtScale,
    target: &DVector<f64>,
) -> Option<Posterior> {
    let k = target.len();
    let factor = prior_cov.factor()?;
    let residual = factor.whiten(&(target - prior_mean.rows(0, k)));
    let mean = prior_mean.rows(k, prior_mean.len() - k) + factor.carried() * residual;
    let mut cov = prior_cov.own();
    subtract_square(cov.as_view_mut(), factor.carried());
    cov.fill_upper_triangle_with_lower_triangle();
    Some(Posterior { mean, cov, factor })
}

/// A matrix times a number, plus another of its size, in one go over both.
pub(super) fn scaled_plus(matrix: &DMatrix<f64>, times: f64, other: &DMatrix<f64>) -> DMatrix<f64> {
    let (rows, columns) = matrix.shape();
    DMatrix::from_vec(rows, columns, sums(matrix.as_slice(), times, other.as_slice()).collect())
}

fn sums(values: &[f64], times: f64, others: &[f64]) -> impl Iterator<Item = f64> {
    values.iter().zip(others).map(move |(value, other)| value * times + other)
}

//! Cholesky factors of covariances that may have lost a little of their definiteness to rounding.

use nalgebra::allocator::Allocator;
use nalgebra::{Cholesky, DefaultAllocator, Dim, OMatrix, OVector};
use thiserror::Error;

/// L of a covariance C with C + jitter·I = L Lᵀ.
#[derive(Debug, Clone, PartialEq)]
pub struct Factor<D: Dim>
where
    DefaultAllocator: Allocator<D, D>,
{
    /// Lower triangle, zeros above.
    pub l: OMatrix<f64, D, D>,
    /// What had to be added to the diagonal; 0 for a matrix that is positive definite as it stands.
    pub jitter: f64,
}

/// A matrix that is no covariance.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[error(
    "a {rows} by {columns} matrix is not a covariance: not square, or an error bar in it is negative, \
     zero or not a number"
)]
pub struct NotPositiveDefinite {
    /// Rows of the matrix.
    pub rows: usize,
    /// Its columns.
    pub columns: usize,
}

/// Largest jitter tried, in parts of the mean of the diagonal; beyond it the matrix is wrong, not rounded.
const LARGEST_JITTER: f64 = 1e-6;

/// The Cholesky factor of a symmetric matrix (its lower triangle is read), with as little as possible
/// added to the diagonal: nothing, else 1e-12, 1e-11, … 1e-6 of the diagonal's mean.
pub fn factor<D: Dim>(matrix: &OMatrix<f64, D, D>) -> Result<Factor<D>, NotPositiveDefinite>
where
    DefaultAllocator: Allocator<D, D>,
{
    let (rows, columns) = matrix.shape();
    let refused = NotPositiveDefinite { rows, columns };
    if rows != columns || rows == 0 || matrix.iter().any(|v| !v.is_finite()) {
        return Err(refused);
    }
    let scale = (0..rows).map(|i| matrix[(i, i)]).sum::<f64>() / rows as f64;
    let mut jitter = 0.0;
    while jitter <= 1.5 * LARGEST_JITTER * scale {
        let mut lifted = matrix.clone();
        (0..rows).for_each(|i| lifted[(i, i)] += jitter);
        if let Some(done) = Cholesky::new(lifted) {
            return Ok(Factor { l: done.l(), jitter });
        }
        jitter = if jitter > 0.0 { jitter * 10.0 } else { 1e-12 * scale };
        if jitter <= 0.0 {
            break;
        }
    }
    Err(refused)
}

impl<D: Dim> Factor<D>
where
    DefaultAllocator: Allocator<D, D> + Allocator<D>,
{
    /// L⁻¹ d, whose squared length is the squared Mahalanobis distance of d.
    pub fn whiten(&self, d: &OVector<f64, D>) -> OVector<f64, D> {
        let mut white = d.clone();
        for i in 0..white.len() {
            for j in 0..i {
                white[i] -= self.l[(i, j)] * white[j];
            }
            white[i] /= self.l[(i, i)];
        }
        white
    }

    /// L z: a draw of N(0, C) from a standard normal z.
    pub fn spread(&self, z: &OVector<f64, D>) -> OVector<f64, D> {
        &self.l * z
    }

    /// ln √det C.
    pub fn log_root_determinant(&self) -> f64 {
        (0..self.l.nrows()).map(|i| libm::log(self.l[(i, i)])).sum()
    }
}

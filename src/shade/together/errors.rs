//! What is known along one path of the errors of the shades' means, which known parts share, and of how far strangers lie from
//! where a part of a shade would.

use nalgebra::{DMatrix, DMatrixView, DVector, Matrix3, Matrix3xX, Vector3};

use crate::light::Drag;

/// Their Gaussian, and how the readings so far follow it.
#[derive(Clone)]
pub(super) struct Errors {
    mean: DVector<f64>,
    cov: DMatrix<f64>,
    /// The rows A, three a reading.
    followed: DMatrix<f64>,
}

impl Errors {
    pub(super) fn before_all(drags: &[Drag], readings: usize) -> Self {
        let size = 3 * drags.len();
        let mut cov = DMatrix::zeros(size, size);
        for (place, drag) in drags.iter().enumerate() {
            cov.fixed_view_mut::<3, 3>(3 * place, 3 * place).copy_from(&drag.error.cov);
        }
        Self { mean: DVector::zeros(size), cov, followed: DMatrix::zeros(3 * readings, size) }
    }

    /// The rows of A of the readings before, `rows` of them.
    pub(super) fn followed(&self, rows: usize) -> DMatrixView<'_, f64> {
        self.followed.rows(0, rows)
    }

    /// With one error more, that no reading so far follows.
    pub(super) fn with(self, error_cov: &Matrix3<f64>) -> Self {
        let size = self.mean.len();
        let mut cov = self.cov.resize(size + 3, size + 3, 0.0);
        cov.fixed_view_mut::<3, 3>(size, size).copy_from(error_cov);
        let followed = self.followed.resize_horizontally(size + 3, 0.0);
        Self { mean: self.mean.resize_vertically(size + 3, 0.0), cov, followed }
    }

    /// What they add to a whitened residual that follows them by `row`: its mean and its covariance.
    pub(super) fn seen_through(&self, row: &Matrix3xX<f64>) -> (Vector3<f64>, Matrix3<f64>) {
        if row.ncols() == 0 {
            return (Vector3::zeros(), Matrix3::zeros());
        }
        (row * &self.mean, row * &self.cov * row.transpose())
    }

    /// After a whitened residual that follows them by `row`: a Kalman filter's update.
    pub(super) fn after(mut self, at: usize, row: &Matrix3xX<f64>, white: &Vector3<f64>) -> Self {
        self.followed.rows_mut(at, 3).copy_from(row);
        let (mean, cov) = self.seen_through(row);
        // Of the identity and a covariance there is always an inverse.
        if let Some(inverse) = (Matrix3::identity() + cov).try_inverse() {
            let spread = &self.cov * row.transpose();
            let gain = &spread * inverse;
            self.mean += &gain * (white - mean);
            self.cov -= &gain * spread.transpose();
        }
        self
    }
}

//! What is known along one path of errors that several readings have in common: those of the shades' means, and how far each
//! stranger lies from where a part of a shade would.

use nalgebra::{DMatrix, DVector, Matrix3, Matrix3x6, Matrix3xX, Matrix6, Matrix6xX, Vector3, Vector6};

use crate::light::Drag;

/// Their Gaussian, three numbers an error, and how the readings so far follow it.
#[derive(Clone)]
pub(super) struct Errors {
    /// Of each error the shade whose mean has it; a stranger's own has no other reading.
    shades: Vec<Option<usize>>,
    /// Of −c.
    mean: DVector<f64>,
    cov: DMatrix<f64>,
    /// The rows A, three a reading.
    followed: DMatrix<f64>,
}

impl Errors {
    /// Those that known parts brought, in their order.
    pub(super) fn of_known(drags: &[Drag], readings: usize) -> Self {
        let none = Self {
            shades: Vec::new(),
            mean: DVector::zeros(0),
            cov: DMatrix::zeros(0, 0),
            followed: DMatrix::zeros(3 * readings, 0),
        };
        drags.iter().fold(none, |errors, drag| errors.with(Some(drag.error.group), &drag.error.cov))
    }

    /// With one error more, which no reading so far follows.
    pub(super) fn with(self, shade: Option<usize>, error_cov: &Matrix3<f64>) -> Self {
        let size = self.mean.len();
        let mut cov = self.cov.resize(size + 3, size + 3, 0.0);
        cov.fixed_view_mut::<3, 3>(size, size).copy_from(error_cov);
        let followed = self.followed.resize_horizontally(size + 3, 0.0);
        let shades = self.shades.into_iter().chain([shade]).collect();
        Self { shades, mean: self.mean.resize_vertically(size + 3, 0.0), cov, followed }
    }

    /// Beside the next reading, to which L_ij (`by_others`, for the readings j before it) brings the errors of those, and
    /// the light (`gains`) those of known parts.
    pub(super) fn beside(&self, by_others: &Matrix3xX<f64>, gains: &[Matrix3<f64>]) -> Beside<'_> {
        let mut rows = Matrix6xX::zeros(self.mean.len());
        rows.fixed_rows_mut::<3>(0).copy_from(&(by_others * self.followed.rows(0, by_others.ncols())));
        for (place, gain) in gains.iter().enumerate() {
            rows.fixed_view_mut::<3, 3>(3, 3 * place).copy_from(gain);
        }
        let across = &rows * &self.cov;
        Beside { errors: self, mean: &rows * &self.mean, cov: &across * rows.transpose(), across, rows }
    }

    /// After a whitened residual that follows them by `row`: a Kalman filter's update.
    pub(super) fn after(mut self, at: usize, row: &Matrix3xX<f64>, white: &Vector3<f64>) -> Self {
        self.followed.rows_mut(at, 3).copy_from(row);
        let spread = &self.cov * row.transpose();
        // Of the identity and a covariance there is always an inverse.
        if let Some(inverse) = (Matrix3::identity() + row * &spread).try_inverse() {
            let gain = &spread * inverse;
            self.mean += &gain * (white - row * &self.mean);
            self.cov -= &gain * spread.transpose();
        }
        self
    }
}

/// Errors beside a reading, with what does not depend on its class worked out once: rows T for what other readings bring of
/// them and for what the light does, T times their covariance, and mean and covariance of T (−c).
pub(super) struct Beside<'e> {
    errors: &'e Errors,
    rows: Matrix6xX<f64>,
    across: Matrix6xX<f64>,
    mean: Vector6<f64>,
    cov: Matrix6<f64>,
}

impl Beside<'_> {
    /// What they add to the reading's residual if it is of a class: mean and covariance. What other readings bring is
    /// `scale` times as large.
    pub(super) fn residual(&self, class: usize, scale: &Matrix3<f64>) -> (Vector3<f64>, Matrix3<f64>) {
        let by_both = by_both(scale);
        let mut mean = by_both * self.mean;
        let mut cov = by_both * self.cov * by_both.transpose();
        for place in self.of_class(class) {
            mean -= self.errors.mean.fixed_rows::<3>(3 * place);
            let both = by_both * self.across.fixed_columns::<3>(3 * place);
            cov -= both + both.transpose();
            for other in self.of_class(class) {
                cov += self.errors.cov.fixed_view::<3, 3>(3 * place, 3 * other);
            }
        }
        (mean, cov)
    }

    /// How the residual follows them.
    pub(super) fn row(&self, class: usize, scale: &Matrix3<f64>) -> Matrix3xX<f64> {
        let mut row = by_both(scale) * &self.rows;
        for place in self.of_class(class) {
            let mut own = row.fixed_view_mut::<3, 3>(0, 3 * place);
            own -= Matrix3::identity();
        }
        row
    }

    /// Where the errors stand that the class's own mean has: they are in what is supposed as well as in what was read.
    fn of_class(&self, class: usize) -> impl Iterator<Item = usize> {
        let of = move |(place, shade): (usize, &Option<usize>)| (*shade == Some(class)).then_some(place);
        self.errors.shades.iter().enumerate().filter_map(of)
    }
}

/// What is read less what other readings bring, and with what the light does.
fn by_both(scale: &Matrix3<f64>) -> Matrix3x6<f64> {
    let mut by_both = Matrix3x6::zeros();
    by_both.fixed_columns_mut::<3>(0).copy_from(&-scale);
    by_both.fixed_columns_mut::<3>(3).copy_from(&Matrix3::identity());
    by_both
}

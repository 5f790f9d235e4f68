//! Covariances of L\*, a\*, b\* as a file keeps them: standard deviations, and beside them the three correlations
//! (L\*a\*, L\*b\*, a\*b\*). Errors of exposure and white point move all three together: without the correlations a bar
//! is right in each coordinate and wrong in between.

use nalgebra::{Matrix3, Vector3};

/// No variance is taken to be smaller.
const LEAST_VARIANCE: f64 = 1e-6;

/// The covariance of standard deviations and correlations; uncorrelated where none are given.
pub(super) fn covariance(sd: [f64; 3], correlation: Option<[f64; 3]>) -> Matrix3<f64> {
    let [la, lb, ab] = correlation.unwrap_or_default();
    let correlations = Matrix3::new(1.0, la, lb, la, 1.0, ab, lb, ab, 1.0);
    Matrix3::from_fn(|i, j| correlations[(i, j)] * sd[i] * sd[j])
}

/// Standard deviations and correlations of a covariance, rounded as files keep them.
pub(crate) fn parts(cov: &Matrix3<f64>) -> ([f64; 3], [f64; 3]) {
    let sd = [0, 1, 2].map(|i| cov[(i, i)].max(LEAST_VARIANCE).sqrt());
    let between = |i: usize, j: usize| (cov[(i, j)] / (sd[i] * sd[j])).clamp(-1.0, 1.0);
    let correlation = [between(0, 1), between(0, 2), between(1, 2)];
    // Towards zero: rounded away from it, strong correlations would contradict each other.
    (sd.map(rounded), correlation.map(|c| libm::trunc(c * 1000.0 + 1e-6_f64.copysign(c)) / 1000.0))
}

/// Whether three correlations can be those of three things.
pub(super) fn can_be(correlation: [f64; 3]) -> bool {
    let [la, lb, ab] = correlation;
    let determinant = 1.0 + 2.0 * la * lb * ab - la * la - lb * lb - ab * ab;
    correlation.iter().all(|c| (-1.0..=1.0).contains(c)) && determinant >= -0.01
}

/// The nearest covariance whose variances in every direction are at least [`LEAST_VARIANCE`] (its negative eigenvalues
/// raised; N. J. Higham, Linear Algebra Appl. 103:103-118, 1988).
pub(crate) fn positive(matrix: &Matrix3<f64>) -> Matrix3<f64> {
    of_eigenvalues(matrix, |value| value.max(LEAST_VARIANCE))
}

/// The symmetric square root.
pub(super) fn root(matrix: &Matrix3<f64>) -> Matrix3<f64> {
    of_eigenvalues(matrix, |value| value.max(0.0).sqrt())
}

fn of_eigenvalues(matrix: &Matrix3<f64>, change: impl Fn(f64) -> f64) -> Matrix3<f64> {
    let found = ((matrix + matrix.transpose()) * 0.5).symmetric_eigen();
    let changed: Vector3<f64> = found.eigenvalues.map(change);
    found.eigenvectors * Matrix3::from_diagonal(&changed) * found.eigenvectors.transpose()
}

/// Thousandths are finer than anything here is known.
pub(super) fn rounded(value: f64) -> f64 {
    libm::round(value * 1000.0) / 1000.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_written_is_what_was_meant() {
        let cov = Matrix3::new(4.0, -1.0, 1.5, -1.0, 1.0, 0.3, 1.5, 0.3, 2.25);
        let (sd, correlation) = parts(&cov);
        assert_eq!((sd, correlation), ([2.0, 1.0, 1.5], [-0.5, 0.5, 0.2]));
        assert!((covariance(sd, Some(correlation)) - cov).norm() < 1e-9);
        assert!((root(&cov) * root(&cov) - cov).norm() < 1e-9);
        assert!((positive(&cov) - cov).norm() < 1e-9);
        assert!(can_be(correlation) && can_be([0.0; 3]) && can_be([1.0; 3]));
        // Two that go with a third cannot go against each other.
        assert!(!can_be([0.9, 0.9, -0.9]) && !can_be([1.2, 0.0, 0.0]) && !can_be([f64::NAN, 0.0, 0.0]));
        let impossible = covariance([1.0; 3], Some([0.9, 0.9, -0.9]));
        assert!(positive(&impossible).symmetric_eigenvalues().min() > 0.0);
    }
}

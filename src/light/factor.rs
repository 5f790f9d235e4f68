//! Cholesky factor of the known areas' covariance: the fit factors a hundred of them, small and dense, and this is
//! several times as fast there as a general routine.

use nalgebra::{DMatrix, DVector};

/// Columns that are taken off the rest at once: more would not stay in registers.
const PANEL: usize = 4;
/// Rows of a block of right-hand sides, and columns of a block of a square.
const BLOCK: usize = 24;

/// Lower triangular L with L Lᵀ the matrix factored.
#[derive(Debug, Clone)]
pub(super) struct Lower {
    /// L; what stands above its diagonal is not read.
    l: DMatrix<f64>,
    /// Logarithms of the diagonal of L.
    log_diagonal: Vec<f64>,
}

/// Factors a symmetric matrix; `None` where it is not positive definite.
pub(super) fn factor(mut matrix: DMatrix<f64>) -> Option<Lower> {
    let size = matrix.nrows();
    let mut rest = matrix.as_mut_slice();
    for first in (0..size).step_by(PANEL) {
        let own = PANEL.min(size - first);
        let (panel, after) = rest.split_at_mut(own * size);
        factor_panel(panel, first, size)?;
        match panel.len() / size {
            PANEL => subtract_panel(after, panel, first + PANEL, size),
            _ => break,
        }
        rest = after;
    }
    let log_diagonal = (0..size).map(|i| libm::log(matrix[(i, i)])).collect();
    Some(Lower { l: matrix, log_diagonal })
}

/// Factors the columns from `first` on; what lies left of them was taken off before.
fn factor_panel(panel: &mut [f64], first: usize, size: usize) -> Option<()> {
    for column in 0..panel.len() / size {
        let diagonal = first + column;
        let (before, own) = panel.split_at_mut(column * size);
        let own = &mut own[diagonal..size];
        for other in before.chunks_exact(size) {
            let other = &other[diagonal..];
            let times = other[0];
            own.iter_mut().zip(other).for_each(|(x, y)| *x -= times * y);
        }
        if !(own[0].is_finite() && own[0] > 0.0) {
            return None;
        }
        let root = own[0].sqrt();
        own.iter_mut().for_each(|x| *x /= root);
    }
    Some(())
}

/// Takes the columns of a whole panel off all columns after it, the first of which is column `first`.
fn subtract_panel(after: &mut [f64], panel: &[f64], first: usize, size: usize) {
    let columns: [&[f64]; PANEL] = std::array::from_fn(|i| &panel[i * size..(i + 1) * size]);
    for (index, column) in after.chunks_exact_mut(size).enumerate() {
        let row = first + index;
        let [a, b, c, d] = columns.map(|column| &column[row..]);
        let times = [a[0], b[0], c[0], d[0]];
        for ((((x, a), b), c), d) in column[row..].iter_mut().zip(a).zip(b).zip(c).zip(d) {
            *x -= times[0] * a + times[1] * b + times[2] * c + times[3] * d;
        }
    }
}

impl Lower {
    /// Natural logarithms of the diagonal of L; their sum is that of the root of the determinant.
    pub(super) fn log_diagonal(&self) -> &[f64] {
        &self.log_diagonal
    }

    /// L⁻¹ b.
    pub(super) fn whiten(&self, b: &DVector<f64>) -> DVector<f64> {
        let mut x = b.clone();
        for (j, column) in self.l.as_slice().chunks_exact(x.len().max(1)).enumerate() {
            x[j] /= column[j];
            let times = x[j];
            x.as_mut_slice()[j + 1..].iter_mut().zip(&column[j + 1..]).for_each(|(x, l)| *x -= times * l);
        }
        x
    }

    /// L⁻¹ B.
    pub(super) fn whiten_all(&self, mut b: DMatrix<f64>) -> DMatrix<f64> {
        let (size, columns) = b.shape();
        for first in (0..size).step_by(BLOCK) {
            let own = BLOCK.min(size - first);
            let mut rest = b.rows(first, own).into_owned();
            if first > 0 {
                rest.gemm(-1.0, &self.l.view((first, 0), (own, first)), &b.rows(0, first), 1.0);
            }
            let inverse = inverse_of_lower(self.l.view((first, first), (own, own)).into_owned());
            b.view_mut((first, 0), (own, columns)).gemm(1.0, &inverse, &rest, 0.0);
        }
        b
    }

    /// (L Lᵀ)⁻¹ b.
    pub(super) fn solve(&self, b: &DVector<f64>) -> DVector<f64> {
        let mut x = self.whiten(b);
        for (j, column) in self.l.as_slice().chunks_exact(x.len().max(1)).enumerate().rev() {
            let later: f64 = x.as_slice()[j + 1..].iter().zip(&column[j + 1..]).map(|(x, l)| x * l).sum();
            x[j] = (x[j] - later) / column[j];
        }
        x
    }

    /// L⁻¹.
    pub(super) fn inverse(&self) -> DMatrix<f64> {
        self.whiten_all(DMatrix::identity(self.l.nrows(), self.l.nrows()))
    }
}

/// Inverse of a small lower triangular matrix; what stands above its diagonal is not read.
fn inverse_of_lower(lower: DMatrix<f64>) -> DMatrix<f64> {
    let size = lower.nrows();
    let mut inverse = DMatrix::identity(size, size);
    for (start, x) in inverse.as_mut_slice().chunks_exact_mut(size).enumerate() {
        for j in start..size {
            x[j] /= lower[(j, j)];
            let times = x[j];
            let column = &lower.as_slice()[j * size + j + 1..(j + 1) * size];
            x[j + 1..].iter_mut().zip(column).for_each(|(x, l)| *x -= times * l);
        }
    }
    inverse
}

/// Takes Aᵀ A off a symmetric matrix: its upper half is worked out in columns of blocks, the lower one is the same.
pub(super) fn subtract_square(from: &mut DMatrix<f64>, a: &DMatrix<f64>) {
    let size = from.nrows();
    let transposed = a.transpose();
    for first in (0..size).step_by(BLOCK) {
        let own = BLOCK.min(size - first);
        let rows = first + own;
        from.view_mut((0, first), (rows, own)).gemm(
            -1.0,
            &transposed.rows(0, rows),
            &a.columns(first, own),
            1.0,
        );
    }
    from.fill_lower_triangle_with_upper_triangle();
}

#[cfg(test)]
mod tests {
    use super::*;

    fn example() -> DMatrix<f64> {
        let wide = DMatrix::from_fn(61, 80, |i, j| ((i * 7 + j * 13) % 17) as f64 - 8.0);
        &wide * wide.transpose() + DMatrix::identity(61, 61)
    }

    #[test]
    fn agrees_with_a_general_routine() {
        let general = example().cholesky().unwrap();
        let lower = factor(example()).unwrap();
        let b = DVector::from_fn(61, |i, _| (i as f64 * 0.7).sin());
        assert!((lower.solve(&b) - general.solve(&b)).norm() < 1e-10);
        let whitened = general.l().solve_lower_triangular(&b).unwrap();
        assert!((lower.whiten(&b) - whitened).norm() < 1e-10);
        let log_root = lower.log_diagonal().iter().sum::<f64>();
        assert!((log_root - 0.5 * general.determinant().ln()).abs() < 1e-9);
        let many = DMatrix::from_fn(61, 7, |i, j| ((i * 3 + j) as f64 * 0.3).sin());
        let whitened = general.l().solve_lower_triangular(&many).unwrap();
        assert!((lower.whiten_all(many) - &whitened).norm() < 1e-10);
        let wide = DMatrix::from_fn(9, 61, |i, j| ((i * 5 + j) as f64 * 0.2).cos());
        let mut less = example();
        subtract_square(&mut less, &wide);
        assert!((less - (example() - wide.transpose() * &wide)).norm() < 1e-10);
        let identity = lower.inverse() * general.l();
        assert!((identity - DMatrix::identity(61, 61)).norm() < 1e-10);
    }

    #[test]
    fn what_is_no_covariance_is_refused() {
        let mut matrix = example();
        matrix[(3, 3)] = -1.0;
        assert!(factor(matrix).is_none());
        assert!(factor(DMatrix::from_element(1, 1, f64::NAN)).is_none());
    }
}

//! Cholesky factor of the known areas' covariance: the fit factors a hundred of them, small and dense, and
//! this is several times as fast there as a general routine, since most of it is products of blocks.

use nalgebra::{DMatrix, DVector};

/// Rows and columns of a block.
const BLOCK: usize = 24;

/// Lower triangular L with L Lᵀ the matrix factored.
#[derive(Debug, Clone)]
pub(super) struct Lower {
    /// L below its blocks on the diagonal; these and all above them are not read.
    below: DMatrix<f64>,
    /// Inverses of the blocks on the diagonal.
    inverses: Vec<DMatrix<f64>>,
    /// Logarithms of the diagonal of L.
    log_diagonal: Vec<f64>,
}

/// Factors a symmetric matrix; `None` where it is not positive definite.
pub(super) fn factor(mut matrix: DMatrix<f64>) -> Option<Lower> {
    let size = matrix.nrows();
    let mut inverses = Vec::with_capacity(size.div_ceil(BLOCK));
    let mut log_diagonal = Vec::with_capacity(size);
    for first in (0..size).step_by(BLOCK) {
        let own = BLOCK.min(size - first);
        let (after, rest) = (first + own, size - first - own);
        let rows = factor_rows(matrix.view((first, first), (own, own)).into_owned())?;
        log_diagonal.extend((0..own).map(|i| libm::log(rows[i * own + i])));
        let inverse_transposed = inverse_transposed_of_rows(&rows, own);
        if rest > 0 {
            let below = matrix.view((after, first), (rest, own)) * &inverse_transposed;
            matrix.view_mut((after, after), (rest, rest)).gemm(-1.0, &below, &below.transpose(), 1.0);
            matrix.view_mut((after, first), (rest, own)).copy_from(&below);
        }
        inverses.push(inverse_transposed.transpose());
    }
    Some(Lower { below: matrix, inverses, log_diagonal })
}

impl Lower {
    fn size(&self) -> usize {
        self.below.nrows()
    }

    /// Natural logarithms of the diagonal of L; their sum is that of the root of the determinant.
    pub(super) fn log_diagonal(&self) -> &[f64] {
        &self.log_diagonal
    }

    /// L⁻¹ b.
    pub(super) fn whiten(&self, b: &DVector<f64>) -> DVector<f64> {
        let mut x = b.clone();
        for (index, inverse) in self.inverses.iter().enumerate() {
            let (first, own) = (index * BLOCK, inverse.nrows());
            let before = self.below.view((first, 0), (own, first)) * x.rows(0, first);
            let solved = inverse * (x.rows(first, own) - before);
            x.rows_mut(first, own).copy_from(&solved);
        }
        x
    }

    /// (L Lᵀ)⁻¹ b.
    pub(super) fn solve(&self, b: &DVector<f64>) -> DVector<f64> {
        let mut x = self.whiten(b);
        for (index, inverse) in self.inverses.iter().enumerate().rev() {
            let (first, own) = (index * BLOCK, inverse.nrows());
            let (after, rest) = (first + own, self.size() - first - own);
            let later = self.below.view((after, first), (rest, own)).tr_mul(&x.rows(after, rest));
            let solved = inverse.tr_mul(&(x.rows(first, own) - later));
            x.rows_mut(first, own).copy_from(&solved);
        }
        x
    }

    /// L⁻¹: with many right-hand sides a product with it is the quickest way.
    pub(super) fn inverse(&self) -> DMatrix<f64> {
        let mut all = DMatrix::zeros(self.size(), self.size());
        for (index, inverse) in self.inverses.iter().enumerate() {
            let (first, own) = (index * BLOCK, inverse.nrows());
            let before =
                inverse * (self.below.view((first, 0), (own, first)) * all.view((0, 0), (first, first)));
            all.view_mut((first, 0), (own, first)).copy_from(&-before);
            all.view_mut((first, first), (own, own)).copy_from(inverse);
        }
        all
    }
}

/// Factor of a small symmetric matrix, row after row; what stands above the diagonal is rubbish.
fn factor_rows(matrix: DMatrix<f64>) -> Option<Vec<f64>> {
    let size = matrix.nrows();
    // Symmetric: columns are rows.
    let mut rows: Vec<f64> = matrix.data.into();
    for i in 0..size {
        let (above, rest) = rows.split_at_mut(i * size);
        let row = &mut rest[..size];
        for j in 0..i {
            let other = &above[j * size..=j * size + j];
            row[j] = (row[j] - dot(&row[..j], &other[..j])) / other[j];
        }
        let square = row[i] - dot(&row[..i], &row[..i]);
        if !(square.is_finite() && square > 0.0) {
            return None;
        }
        row[i] = square.sqrt();
    }
    Some(rows)
}

/// L⁻¹ᵀ of a small factor given row after row.
fn inverse_transposed_of_rows(rows: &[f64], size: usize) -> DMatrix<f64> {
    let mut inverse = vec![0.0; size * size];
    for i in 0..size {
        let (above, rest) = inverse.split_at_mut(i * size);
        let (own, row) = (&mut rest[..=i], &rows[i * size..=i * size + i]);
        own[i] = 1.0;
        for (k, l) in row[..i].iter().enumerate() {
            let other = &above[k * size..=k * size + k];
            own.iter_mut().zip(other).for_each(|(x, y)| *x -= l * y);
        }
        own.iter_mut().for_each(|x| *x /= row[i]);
    }
    // Rows of the inverse are columns of its transpose.
    DMatrix::from_vec(size, size, inverse)
}

/// Σ aᵢbᵢ in eight running sums, which the compiler can compute side by side.
fn dot(a: &[f64], b: &[f64]) -> f64 {
    let mut sums = [0.0; 8];
    let (a_chunks, b_chunks) = (a.chunks_exact(8), b.chunks_exact(8));
    let rest: f64 = a_chunks.remainder().iter().zip(b_chunks.remainder()).map(|(x, y)| x * y).sum();
    for (x, y) in a_chunks.zip(b_chunks) {
        for i in 0..8 {
            sums[i] += x[i] * y[i];
        }
    }
    sums.iter().sum::<f64>() + rest
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

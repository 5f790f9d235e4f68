//! Cholesky factor of the known areas' covariance: the fit factors a hundred of them, small and dense, and this is
//! several times as fast there as a general routine. What lies below a factored matrix is carried along, so that one go
//! gives both the factor and all that the readings need of it.

use nalgebra::{DMatrix, DMatrixView, DMatrixViewMut, DVector, DVectorView};

/// Columns that are taken off the next ones at once within a block: more would not stay in registers.
const PANEL: usize = 4;
/// Columns of a block, which is taken off all after it by a matrix product.
const BLOCK: usize = 24;

/// Lower triangular L with L Lᵀ the matrix factored.
#[derive(Debug, Clone)]
pub(super) struct Lower {
    /// L, and below it what was carried along. What stands above the diagonal is not read.
    tall: DMatrix<f64>,
    /// Logarithms of the diagonal of L.
    log_diagonal: Vec<f64>,
}

/// Factors the symmetric matrix at the top of a tall one, of which the lower triangle is read, and makes B L⁻ᵀ of all B
/// below it; `None` where it is not positive definite.
pub(super) fn factor(mut tall: DMatrix<f64>) -> Option<Lower> {
    let (rows, columns) = tall.shape();
    for first in (0..columns).step_by(BLOCK) {
        let next = columns.min(first + BLOCK);
        factor_block(&mut tall.as_mut_slice()[first * rows..next * rows], first, rows)?;
        let (block, mut after) = tall.columns_range_pair_mut(first..next, next..columns);
        subtract_square(after.rows_mut(next, rows - next), block.rows(next, rows - next));
    }
    let log_diagonal = (0..columns).map(|i| libm::log(tall[(i, i)])).collect();
    Some(Lower { tall, log_diagonal })
}

/// Factors the columns from `first` on of a matrix with so many rows; what lies left of them was taken off before.
fn factor_block(mut rest: &mut [f64], mut first: usize, rows: usize) -> Option<()> {
    while !rest.is_empty() {
        let own = (PANEL * rows).min(rest.len());
        let (panel, after) = rest.split_at_mut(own);
        factor_panel(panel, first, rows)?;
        first += PANEL;
        if !after.is_empty() {
            subtract_panel(after, panel, first, rows);
        }
        rest = after;
    }
    Some(())
}

/// The same column by column.
fn factor_panel(panel: &mut [f64], first: usize, rows: usize) -> Option<()> {
    for column in 0..panel.len() / rows {
        let diagonal = first + column;
        let (before, own) = panel.split_at_mut(column * rows);
        let own = &mut own[diagonal..rows];
        for other in before.chunks_exact(rows) {
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
fn subtract_panel(after: &mut [f64], panel: &[f64], first: usize, rows: usize) {
    let columns: [&[f64]; PANEL] = std::array::from_fn(|i| &panel[i * rows..(i + 1) * rows]);
    for (index, column) in after.chunks_exact_mut(rows).enumerate() {
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

    /// What was carried along: B L⁻ᵀ.
    pub(super) fn carried(&self) -> DMatrixView<'_, f64> {
        let size = self.tall.ncols();
        self.tall.rows(size, self.tall.nrows() - size)
    }

    /// The columns of L from the diagonal down, first to last.
    fn columns(&self) -> impl DoubleEndedIterator<Item = (usize, &[f64])> {
        let (rows, size) = self.tall.shape();
        self.tall
            .as_slice()
            .chunks_exact(rows.max(1))
            .enumerate()
            .map(move |(j, column)| (j, &column[j..size]))
    }

    /// L⁻¹ b.
    pub(super) fn whiten(&self, b: &DVector<f64>) -> DVector<f64> {
        let mut x = b.clone();
        self.whiten_in_place(x.as_mut_slice());
        x
    }

    /// L⁻¹ B.
    pub(super) fn whiten_all(&self, mut b: DMatrix<f64>) -> DMatrix<f64> {
        let size = b.nrows().max(1);
        b.as_mut_slice().chunks_exact_mut(size).for_each(|column| self.whiten_in_place(column));
        b
    }

    fn whiten_in_place(&self, x: &mut [f64]) {
        for (j, column) in self.columns() {
            x[j] /= column[0];
            let times = x[j];
            x[j + 1..].iter_mut().zip(&column[1..]).for_each(|(x, l)| *x -= times * l);
        }
    }

    /// (L Lᵀ)⁻¹ b.
    pub(super) fn solve(&self, b: &DVector<f64>) -> DVector<f64> {
        let mut x = self.whiten(b);
        for (j, column) in self.columns().rev() {
            let later: f64 = x.as_slice()[j + 1..].iter().zip(&column[1..]).map(|(x, l)| x * l).sum();
            x[j] = (x[j] - later) / column[0];
        }
        x
    }

    /// B (L Lᵀ)⁻¹ of what was carried along.
    pub(super) fn gain(&self) -> DMatrix<f64> {
        let mut gain = self.carried().into_owned();
        for (j, column) in self.columns().rev() {
            let (mut own, later) = gain.columns_range_pair_mut(j, j + 1..);
            own.gemv(-1.0, &later, &DVectorView::from_slice(&column[1..], column.len() - 1), 1.0);
            own /= column[0];
        }
        gain
    }
}

/// Takes A Aᵀ off the lower triangle of a matrix of as many rows or, where that has fewer columns, off these. Of the
/// upper triangle, blocks on the diagonal are changed as well.
pub(super) fn subtract_square(mut from: DMatrixViewMut<f64>, a: DMatrixView<f64>) {
    let (rows, columns) = from.shape();
    for first in (0..columns).step_by(BLOCK) {
        let (own, left) = (BLOCK.min(columns - first), rows - first);
        let times = a.rows(first, own).transpose();
        from.view_mut((first, first), (left, own)).gemm(-1.0, &a.rows(first, left), &times, 1.0);
    }
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
        subtract_square(less.as_view_mut(), wide.transpose().as_view());
        let off = less - (example() - wide.transpose() * &wide);
        assert!(off.lower_triangle().norm() < 1e-10);
        let mut tall = example().insert_rows(61, 9, 0.0);
        tall.rows_mut(61, 9).copy_from(&wide);
        let tall = factor(tall).unwrap();
        let carried = general.l().solve_lower_triangular(&wide.transpose()).unwrap();
        assert!((tall.carried() - carried.transpose()).norm() < 1e-10);
        assert!((tall.whiten(&b) - lower.whiten(&b)).norm() < 1e-12);
        assert!((tall.gain() - general.solve(&wide.transpose()).transpose()).norm() < 1e-10);
    }

    #[test]
    fn what_is_no_covariance_is_refused() {
        let mut matrix = example();
        matrix[(3, 3)] = -1.0;
        assert!(factor(matrix).is_none());
        assert!(factor(DMatrix::from_element(1, 1, f64::NAN)).is_none());
    }
}

//! All areas of a photo at some parameters, and the covariance they have before anything is known.

use std::ops::Range;

use nalgebra::{DMatrix, Matrix3};

use super::Patch;
use super::constants::Constants;
use super::forward::{Forward, PARAMETERS, Theta, forward};
use super::linearise::Placed;
use super::misfit::{self, Growth, Near};
use super::prior::Prior;

/// Areas at some parameters, with what their covariance is made of. What does not depend on the scale of the
/// trouble with chroma is worked out once for all of them.
#[derive(Debug, Clone)]
pub(super) struct Areas {
    /// Lab and derivatives of each.
    pub forwards: Vec<Forward>,
    /// Jacobians by the parameters on top of each other, 3n × parameters.
    pub jacobian: DMatrix<f64>,
    patches: Vec<Patch>,
    /// Of area i with each j ≤ i, at i (i + 1) / 2 + j.
    near: Vec<Near>,
    /// Of each area, see [`misfit::coding`].
    coding: Vec<Matrix3<f64>>,
    /// What is left to each area by itself.
    private: Vec<Matrix3<f64>>,
}

impl Areas {
    pub(super) fn at(theta: &Theta, placed: &[Placed], constants: &Constants) -> Self {
        let patches: Vec<Patch> = placed.iter().map(|area| area.patch.clone()).collect();
        let forwards: Vec<Forward> =
            placed.iter().map(|area| forward(theta, &area.patch.coded, area.at)).collect();
        let mut jacobian = DMatrix::zeros(3 * placed.len(), PARAMETERS);
        let mut near = Vec::with_capacity(placed.len() * (placed.len() + 1) / 2);
        for (i, here) in forwards.iter().enumerate() {
            jacobian.fixed_view_mut::<3, PARAMETERS>(3 * i, 0).copy_from(&here.by_theta);
            let pair =
                |j: usize| misfit::near((&patches[i], here), (&patches[j], &forwards[j]), i == j, constants);
            near.extend((0..=i).map(pair));
        }
        let each = |of: fn(&Patch, &Forward, &Constants) -> Matrix3<f64>| {
            patches.iter().zip(&forwards).map(|(patch, here)| of(patch, here, constants)).collect()
        };
        let (coding, private) = (each(misfit::coding), each(misfit::private));
        Areas { forwards, jacobian, patches, near, coding, private }
    }

    /// Number of areas.
    pub(super) fn len(&self) -> usize {
        self.forwards.len()
    }

    fn near(&self, i: usize, j: usize) -> Near {
        let (low, high) = (i.min(j), i.max(j));
        self.near[high * (high + 1) / 2 + low]
    }

    fn is_part(&self, i: usize) -> bool {
        self.patches[i].relief.is_some()
    }

    /// Prior covariance of the Lab of the areas `rows` with the areas `columns` at common scale 1, but for
    /// [`Self::relief`]: parameters, misfit and noise.
    pub(super) fn covariance(
        &self,
        rows: Range<usize>,
        columns: Range<usize>,
        (chroma_scale, prior): &(f64, Prior),
        constants: &Constants,
    ) -> DMatrix<f64> {
        let jacobian = |areas: &Range<usize>| self.jacobian.rows(3 * areas.start, 3 * areas.len());
        let prior_cov = DMatrix::from_column_slice(PARAMETERS, PARAMETERS, prior.cov.as_slice());
        let spread = prior_cov * jacobian(&columns).transpose();
        let mut cov = self.misfit(rows.clone(), columns.clone(), *chroma_scale, constants);
        cov.gemm(1.0, &jacobian(&rows), &spread, 1.0);
        cov + self.noise(rows, columns, |is_part| if is_part { 0.0 } else { 1.0 })
    }

    /// Its part that comes of misfit, rest and coding.
    pub(super) fn misfit(
        &self,
        rows: Range<usize>,
        columns: Range<usize>,
        chroma_scale: f64,
        constants: &Constants,
    ) -> DMatrix<f64> {
        let growth = |i: usize| misfit::growth(&self.forwards[i].lab, chroma_scale, constants);
        let growths: Vec<Growth> = (0..self.len()).map(growth).collect();
        blocks(rows, columns, |i, j| {
            let near = self.near(i, j);
            let shared = Matrix3::from_diagonal(&misfit::shared(near, growths[i], growths[j], constants));
            if near.coding == 0.0 {
                return Some(shared);
            }
            Some(shared + self.coding[i] * self.coding[j].transpose() * near.coding)
        })
    }

    /// What is left to each area by itself, times what `share` makes of its being a part.
    pub(super) fn noise(
        &self,
        rows: Range<usize>,
        columns: Range<usize>,
        share: impl Fn(bool) -> f64,
    ) -> DMatrix<f64> {
        blocks(rows, columns, |i, j| (i == j).then(|| self.private[i] * share(self.is_part(i))))
    }

    /// Covariance that no trouble with the camera scales: angle, gloss and noise of parts.
    pub(super) fn relief(&self, rows: Range<usize>, columns: Range<usize>) -> DMatrix<f64> {
        let noise = self.noise(rows.clone(), columns.clone(), |is_part| if is_part { 1.0 } else { 0.0 });
        self.angle(rows.clone(), columns.clone()) + self.gloss(rows, columns) + noise
    }

    /// Its part that comes of the angle of surfaces.
    pub(super) fn angle(&self, rows: Range<usize>, columns: Range<usize>) -> DMatrix<f64> {
        self.of_parts(rows, columns, misfit::angle)
    }

    /// Its part that comes of gloss and haze.
    pub(super) fn gloss(&self, rows: Range<usize>, columns: Range<usize>) -> DMatrix<f64> {
        self.of_parts(rows, columns, misfit::gloss)
    }

    fn of_parts(&self, rows: Range<usize>, columns: Range<usize>, of: Pairwise) -> DMatrix<f64> {
        blocks(rows, columns, |i, j| {
            let area = |i: usize| (&self.patches[i], &self.forwards[i]);
            (self.is_part(i) && self.is_part(j)).then(|| of(area(i), area(j), i == j))
        })
    }
}

type Pairwise = fn((&Patch, &Forward), (&Patch, &Forward), bool) -> Matrix3<f64>;

/// A matrix of 3×3 blocks; zero where there is none.
fn blocks(
    rows: Range<usize>,
    columns: Range<usize>,
    of: impl Fn(usize, usize) -> Option<Matrix3<f64>>,
) -> DMatrix<f64> {
    let mut matrix = DMatrix::zeros(3 * rows.len(), 3 * columns.len());
    for (column, j) in columns.enumerate() {
        for (row, i) in rows.clone().enumerate() {
            if let Some(block) = of(i, j) {
                matrix.fixed_view_mut::<3, 3>(3 * row, 3 * column).copy_from(&block);
            }
        }
    }
    matrix
}

//! All areas of a photo at some parameters, and the covariance they have before anything is known.

use std::ops::Range;

use nalgebra::{DMatrix, DVector, Matrix3, Vector3};

use super::Patch;
use super::budget::Source;
use super::constants::Constants;
use super::forward::{Forward, PARAMETERS, Theta, column, forward, veiled};
use super::linearise::Placed;
use super::misfit::{self, Growth, Near, OfSurface};
use super::prior::Prior;

/// Areas at some parameters, with what their covariance is made of. What does not depend on the scale of the
/// trouble with chroma is worked out once for all of them.
#[derive(Debug, Clone)]
pub(super) struct Areas {
    /// Lab and derivatives of each.
    pub forwards: Vec<Forward>,
    /// Jacobians by the parameters of all photos on top of each other, 3n × parameters.
    pub jacobian: DMatrix<f64>,
    /// Whether each is a part.
    parts: Vec<bool>,
    /// Of area i with each j ≤ i, at i (i + 1) / 2 + j.
    near: Vec<Near>,
    /// Of each area, see [`misfit::coding`].
    coding: Vec<Matrix3<f64>>,
    /// What is left to each area by itself.
    private: Vec<Matrix3<f64>>,
    angle: Vec<OfSurface>,
    tint: Vec<OfSurface>,
    gloss: Vec<OfSurface>,
}

impl Areas {
    /// Areas, each at the parameters of its photo.
    pub(super) fn at(thetas: &[Theta], placed: &[Placed], constants: &Constants) -> Self {
        let at_own = |area: &Placed| {
            forward(&veiled(&thetas[area.patch.photo], area.patch.relief), &area.coded, area.at)
        };
        let forwards: Vec<Forward> = placed.iter().map(at_own).collect();
        let mut jacobian = DMatrix::zeros(3 * placed.len(), PARAMETERS * thetas.len());
        let mut near = Vec::with_capacity(placed.len() * (placed.len() + 1) / 2);
        let area = |i: usize| (placed[i].patch, &forwards[i]);
        let exposed: Vec<Vector3<f64>> = thetas.iter().map(misfit::exposed).collect();
        let near_to = |i: usize, j: usize| {
            let between = exposed[placed[i].patch.photo] - exposed[placed[j].patch.photo];
            misfit::near(area(i), area(j), i == j, &between, constants)
        };
        for (i, here) in forwards.iter().enumerate() {
            for (parameter, moves) in here.by_theta.column_iter().enumerate() {
                jacobian
                    .fixed_view_mut::<3, 1>(3 * i, column(placed[i].patch.photo, parameter))
                    .copy_from(&moves);
            }
            near.extend((0..=i).map(|j| near_to(i, j)));
        }
        let each = |of: fn(&Patch, &Forward, &Constants) -> Matrix3<f64>| {
            (0..placed.len()).map(|i| of(area(i).0, area(i).1, constants)).collect()
        };
        let surface = |of: fn(&Patch, &Forward) -> OfSurface| {
            (0..placed.len()).map(|i| of(area(i).0, area(i).1)).collect()
        };
        let (coding, private) = (each(misfit::coding), each(misfit::private));
        let (angle, tint) = (surface(misfit::angle), surface(misfit::tint));
        let gloss = surface(misfit::gloss);
        let parts = placed.iter().map(|area| area.patch.relief.is_some()).collect();
        Areas { forwards, jacobian, parts, near, coding, private, angle, tint, gloss }
    }

    /// Number of areas.
    pub(super) fn len(&self) -> usize {
        self.forwards.len()
    }

    fn near(&self, i: usize, j: usize) -> Near {
        let (low, high) = (i.min(j), i.max(j));
        self.near[high * (high + 1) / 2 + low]
    }

    /// Prior covariance of the Lab of the areas `rows` with the areas `columns` at common scale 1, but for
    /// what [`Self::add_relief`] adds: parameters, misfit and noise.
    pub(super) fn covariance(
        &self,
        rows: Range<usize>,
        columns: Range<usize>,
        (chroma_scale, prior): &(f64, Prior),
        constants: &Constants,
    ) -> DMatrix<f64> {
        let jacobian = |areas: &Range<usize>| self.jacobian.rows(3 * areas.start, 3 * areas.len());
        let spread = &prior.cov * jacobian(&columns).transpose();
        let mut cov = self.misfit(rows.clone(), columns.clone(), *chroma_scale, constants);
        cov.gemm(1.0, &jacobian(&rows), &spread, 1.0);
        self.add_noise(&mut cov, rows, columns, |is_part| if is_part { 0.0 } else { 1.0 });
        cov
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
            let shared = Matrix3::from_diagonal(&misfit::shared(near, &growths[i], &growths[j]));
            if near.coding == 0.0 {
                return shared;
            }
            shared + self.coding[i] * self.coding[j].transpose() * near.coding
        })
    }

    /// Adds what is left to each area by itself, times what `share` makes of its being a part.
    pub(super) fn add_noise(
        &self,
        cov: &mut DMatrix<f64>,
        rows: Range<usize>,
        columns: Range<usize>,
        share: impl Fn(bool) -> f64,
    ) {
        add_to_own(cov, rows, columns, |i| self.private[i] * share(self.parts[i]));
    }

    /// Adds the covariance that no trouble with the camera scales: angle, gloss and noise of parts.
    pub(super) fn add_relief(&self, cov: &mut DMatrix<f64>, rows: Range<usize>, columns: Range<usize>) {
        let flat = |areas: &Range<usize>| !self.parts[areas.clone()].contains(&true);
        if flat(&rows) || flat(&columns) {
            return;
        }
        self.add_angle(cov, rows.clone(), columns.clone());
        self.add_gloss(cov, rows.clone(), columns.clone());
        self.add_noise(cov, rows, columns, |is_part| if is_part { 1.0 } else { 0.0 });
    }

    /// Covariance of what makes areas of one colour look different, whatever the camera: the light on each, by its angle and
    /// at its place, gloss and noise.
    pub(super) fn of_one_colour(
        &self,
        which: Range<usize>,
        prior: &Prior,
        common_scale: f64,
    ) -> DMatrix<f64> {
        let squared = common_scale * common_scale;
        let mut cov = DMatrix::zeros(3 * which.len(), 3 * which.len());
        self.add_relief(&mut cov, which.clone(), which.clone());
        add_to_own(&mut cov, which.clone(), which.clone(), |i| {
            let flat = self.private[i] + self.coding[i] * self.coding[i].transpose();
            flat * if self.parts[i] { 0.0 } else { squared }
        });
        let uneven = |(source, _): &&(Source, DVector<f64>)| {
            matches!(source, Source::UnevenLight | Source::UnevenTint)
        };
        for (_, direction) in prior.directions.iter().filter(uneven) {
            let moved = self.jacobian.rows(3 * which.start, 3 * which.len()) * direction;
            cov.ger(squared, &moved, &moved, 1.0);
        }
        cov
    }

    /// Adds its part that comes of the angle of surfaces: how much light they get, and of what colour.
    pub(super) fn add_angle(&self, cov: &mut DMatrix<f64>, rows: Range<usize>, columns: Range<usize>) {
        add_of_surfaces(cov, &self.angle, rows.clone(), columns.clone());
        add_of_surfaces(cov, &self.tint, rows, columns);
    }

    /// Adds its part that comes of gloss and haze.
    pub(super) fn add_gloss(&self, cov: &mut DMatrix<f64>, rows: Range<usize>, columns: Range<usize>) {
        add_of_surfaces(cov, &self.gloss, rows, columns);
    }
}

/// Adds the covariance of what surfaces do: in common to all, and of each by itself. For each photo things are laid anew,
/// but the table, the lamp and the room are the same: what all parts have in common against a flat card, those of all photos
/// have.
fn add_of_surfaces(
    cov: &mut DMatrix<f64>,
    surfaces: &[OfSurface],
    rows: Range<usize>,
    columns: Range<usize>,
) {
    let common = |areas: &Range<usize>| {
        let entries = surfaces[areas.clone()].iter().flat_map(|surface| surface.common.data.0[0]);
        DVector::from_iterator(3 * areas.len(), entries)
    };
    cov.ger(1.0, &common(&rows), &common(&columns), 1.0);
    add_to_own(cov, rows, columns, |i| surfaces[i].own * surfaces[i].own.transpose());
}

/// Adds to the blocks of areas with themselves.
fn add_to_own(
    cov: &mut DMatrix<f64>,
    rows: Range<usize>,
    columns: Range<usize>,
    of: impl Fn(usize) -> Matrix3<f64>,
) {
    for i in rows.start.max(columns.start)..rows.end.min(columns.end) {
        let mut block = cov.fixed_view_mut::<3, 3>(3 * (i - rows.start), 3 * (i - columns.start));
        block += of(i);
    }
}

/// A covariance of 3×3 blocks; of areas with themselves half of it is the other half.
fn blocks(
    rows: Range<usize>,
    columns: Range<usize>,
    of: impl Fn(usize, usize) -> Matrix3<f64>,
) -> DMatrix<f64> {
    let mut matrix = DMatrix::zeros(3 * rows.len(), 3 * columns.len());
    let symmetric = rows == columns;
    for (column, j) in columns.enumerate() {
        let last = if symmetric { j + 1 } else { rows.end };
        for (row, i) in (rows.start..last).enumerate() {
            matrix.fixed_view_mut::<3, 3>(3 * row, 3 * column).copy_from(&of(i, j));
        }
    }
    if symmetric {
        matrix.fill_lower_triangle_with_upper_triangle();
    }
    matrix
}

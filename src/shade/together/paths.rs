//! Combinations of shades for the readings of a photo, one reading after the other, in one component of the light.

use std::iter;

use nalgebra::{DMatrix, DVectorView, Matrix3, Matrix3xX, Vector3};

use super::classes::Classes;
use super::errors::{Beside, Errors};
use super::supposed::Supposed;
use crate::light::{Component, Drag};
use crate::stats::{NotPositiveDefinite, log_sum_exp};

/// Natural logarithm of the least likelihood of a combination kept, beside the best. On the charts of `tests/charts` -8, -10,
/// -12 and -16 differ by at most 0.002 in the mean −ln P of the true colour; -8 takes half the time of -12.
pub(super) const LEAST: f64 = -9.0;
/// The most combinations kept.
pub(super) const MOST: usize = 64;

/// A combination of classes for the readings so far.
#[derive(Clone)]
pub(super) struct Path {
    pub classes: Vec<usize>,
    /// Logarithm of its probability up to a constant.
    pub ln: f64,
    /// The whitened residuals w, three a reading.
    white: Vec<f64>,
    /// What is known of the errors −c.
    errors: Errors,
}

/// A path and what the next reading may be: all that is needed to go on, should it be likely enough.
struct Step<'p> {
    path: &'p Path,
    beside: &'p Beside<'p>,
    class: usize,
    ln: f64,
    /// How large what others tell of the reading's error is beside what was read of it.
    scale: Matrix3<f64>,
    /// The inverse of its L_ii.
    whitening: Matrix3<f64>,
    /// Its residual.
    left: Vector3<f64>,
}

impl Step<'_> {
    fn taken(self, at: usize, classes: &Classes) -> Path {
        let mut path = Path { ln: self.ln, ..self.path.clone() };
        let mut row = self.beside.row(self.class, &self.scale);
        if let Some(cov) = classes.brought(self.class, &path.classes) {
            let shade = (self.class != classes.none()).then_some(self.class);
            path.errors = path.errors.with(shade, cov);
            row = beside_each_other(&row, &-Matrix3::identity());
        }
        let white = self.whitening * self.left;
        path.errors = path.errors.after(at, &(self.whitening * row), &white);
        path.classes.push(self.class);
        path.white.extend_from_slice(white.as_slice());
        path
    }
}

/// The order in which the readings are taken, and the combinations that are likely in it.
pub(super) fn paths(
    classes: &Classes,
    component: &Component,
) -> Result<(Vec<usize>, Vec<Path>), NotPositiveDefinite> {
    let readings = component.mean.len() / 3;
    let order = most_certain_first(classes, component)?;
    let ordered = Ordered::of(classes, component.only(&order))?;
    let errors = Errors::of_known(&ordered.drags, readings);
    let mut paths =
        vec![Path { classes: Vec::new(), ln: libm::log(component.weight), white: Vec::new(), errors }];
    for slot in 0..readings {
        let mut steps = Vec::with_capacity(paths.len() * classes.count());
        let turn = ordered.turn(slot)?;
        let besides: Vec<Beside> =
            paths.iter().map(|path| path.errors.beside(&turn.before, &turn.gains)).collect();
        for (path, beside) in paths.iter().zip(&besides) {
            ordered.steps(&turn, path, beside, &mut steps)?;
        }
        let best = steps.iter().map(|step| step.ln).fold(f64::NEG_INFINITY, f64::max);
        steps.retain(|step| step.ln >= best + classes.least);
        steps.sort_by(|p, q| q.ln.total_cmp(&p.ln));
        steps.truncate(MOST);
        paths = steps.into_iter().map(|step| step.taken(3 * slot, classes)).collect();
    }
    Ok((order, paths))
}

fn most_certain_first(classes: &Classes, component: &Component) -> Result<Vec<usize>, NotPositiveDefinite> {
    let certainty = |i: usize| {
        let read = component.mean.fixed_rows::<3>(3 * i).into_owned();
        let cov = component.cov.fixed_view::<3, 3>(3 * i, 3 * i) + classes.common();
        let from = classes.known.nearest(&read, iter::empty());
        let of_class = |class: usize| {
            let scale = classes.scale(class, &read, from.as_ref());
            let cov = scale.matrix() * cov * scale.matrix();
            let density = classes.log_density(class, &[], &read, &cov)?;
            Ok(classes.log_prior(class, &[]) + density + scale.log_volume())
        };
        let logs: Vec<f64> = (0..classes.count()).map(of_class).collect::<Result<_, _>>()?;
        let best = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        Ok((best - log_sum_exp(logs.iter().copied()), i))
    };
    let mut order: Vec<(f64, usize)> =
        (0..component.mean.len() / 3).map(certainty).collect::<Result<_, _>>()?;
    order.sort_by(|p, q| q.0.total_cmp(&p.0));
    Ok(order.into_iter().map(|(_, i)| i).collect())
}

/// The reading whose turn it is, as it is after every path.
struct Turn {
    /// The first of its rows.
    at: usize,
    read: Vector3<f64>,
    /// L_ii L_iiᵀ without what each part has by itself, and the inverse of L_ii.
    own: Matrix3<f64>,
    whitening: Matrix3<f64>,
    /// L_ij for the readings j before it.
    before: Matrix3xX<f64>,
    /// How it follows the errors that known parts brought.
    gains: Vec<Matrix3<f64>>,
    /// Of each class, how large its errors are beside what is known.
    scales: Vec<Matrix3<f64>>,
}

/// A component of the light with its readings in their order.
struct Ordered<'a> {
    classes: &'a Classes<'a>,
    read: Vec<Vector3<f64>>,
    drags: Vec<Drag>,
    /// L.
    lower: DMatrix<f64>,
}

impl<'a> Ordered<'a> {
    fn of(classes: &'a Classes<'a>, component: Component) -> Result<Self, NotPositiveDefinite> {
        let Component { mean, mut cov, drags, .. } = component;
        for drag in &drags {
            cov.gemm(-1.0, &(&drag.gain * drag.error.cov), &drag.gain.transpose(), 1.0);
        }
        let read = (0..mean.len() / 3).map(|i| mean.fixed_rows::<3>(3 * i).into_owned()).collect();
        Ok(Self { classes, read, drags, lower: classes.factor(cov)? })
    }

    fn turn(&self, slot: usize) -> Result<Turn, NotPositiveDefinite> {
        let (at, read) = (3 * slot, self.read[slot]);
        let lower = self.lower.fixed_view::<3, 3>(at, at).into_owned();
        let whitening = lower.try_inverse().ok_or(NotPositiveDefinite { rows: at, columns: at })?;
        let own = lower * lower.transpose() - self.classes.own();
        let before = self.lower.fixed_rows::<3>(at).columns(0, at).into_owned();
        let gains = self
            .drags
            .iter()
            .map(|drag| drag.gain.fixed_rows::<3>(at).fixed_columns::<3>(0).into())
            .collect();
        let from = self.classes.known.nearest(&read, iter::empty());
        let scale = |class| self.classes.scale(class, &read, from.as_ref()).matrix();
        let scales = (0..self.classes.count()).map(scale).collect();
        Ok(Turn { at, read, own, whitening, before, gains, scales })
    }

    /// What a reading may be after a path.
    fn steps<'p>(
        &self,
        turn: &Turn,
        path: &'p Path,
        beside: &'p Beside,
        steps: &mut Vec<Step<'p>>,
    ) -> Result<(), NotPositiveDefinite> {
        let Turn { at, read, own, whitening, before, scales, .. } = turn;
        let by_others: Vector3<f64> = before * DVectorView::from_slice(&path.white, *at);
        // What others tell of this reading's error is scaled as the error is, what they leave of it by their distance.
        let nearest = self.classes.known.nearest(read, self.judged(path));
        for (class, scale) in scales.iter().enumerate() {
            let narrowed = self.classes.scale(class, read, nearest.as_ref());
            let corrected = read - scale * by_others;
            let (error, error_cov) = beside.residual(class, scale);
            let cov = narrowed.matrix() * own * narrowed.matrix() + error_cov;
            let density = self.classes.log_density(class, &path.classes, &(corrected - error), &cov)?;
            let ln = path.ln + self.classes.log_prior(class, &path.classes) + density + narrowed.log_volume();
            let whitening = whitening * narrowed.inverse();
            let left = corrected - self.classes.mean(class);
            steps.push(Step { path, beside, class, ln, scale: *scale, whitening, left });
        }
        Ok(())
    }

    /// The readings that a path supposes to be of some shade.
    fn judged(&self, path: &Path) -> impl Iterator<Item = Supposed> {
        let of = |(class, read): (&usize, &Vector3<f64>)| self.classes.supposed(*class, read);
        path.classes.iter().zip(&self.read).filter_map(of)
    }
}

/// Columns of two matrices of three rows, one after the other.
fn beside_each_other(left: &Matrix3xX<f64>, right: &Matrix3<f64>) -> Matrix3xX<f64> {
    Matrix3xX::from_iterator(left.ncols() + 3, left.iter().chain(right).copied())
}

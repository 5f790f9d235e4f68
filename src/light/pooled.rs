//! One part in several photos: its readings as one.
//!
//! The colour of a part is the mean of its readings, W y, with the covariance W C Wᵀ, C being that of all readings
//! (GUM, JCGM 100:2008, 5.2.2). What the photos share, the camera's curve and colours, most of the misfit, the known colours,
//! stays in it; the light on each part, exposure, white balance and noise are averaged.
//!
//! The weights that C itself asks for, (Aᵀ C⁻¹ A)⁻¹ Aᵀ C⁻¹ with A which reading shows which part (A. C. Aitken, Proceedings of
//! the Royal Society of Edinburgh 55:42-48, 1935), are not used: an error that two readings share nearly whole, one a little
//! more than the other, is then read off the little by which they differ, and the result lies far outside of both. In the
//! rehearsal, two photos after a ladder, a\* was off by 6.6 with them and by 5.5 without (root mean square).
//!
//! That readings of one part agree under some way of coding says nothing of it, as with the places of a board; where they do
//! not agree at all, [`agreement`] tells.

use nalgebra::{DMatrix, DVector, Matrix3};

use super::Patch;
use super::component::{Component, Drag};
use crate::stats::chi_squared_cdf;

/// Which readings show which part.
#[derive(Debug, Clone)]
pub(super) struct Shown {
    /// Of every reading its part.
    part: Vec<usize>,
    parts: usize,
}

impl Shown {
    pub(super) fn of(parts: &[Vec<Patch>]) -> Self {
        let part = parts.iter().enumerate().flat_map(|(part, shown)| shown.iter().map(move |_| part));
        Self { part: part.collect(), parts: parts.len() }
    }

    /// Whether each part is shown once, so that there is nothing to pool.
    pub(super) fn once(&self) -> bool {
        self.part.len() == self.parts
    }

    /// The mean of a part's readings.
    pub(super) fn mean(&self) -> Weights {
        let mut by_reading = DMatrix::zeros(3 * self.parts, 3 * self.part.len());
        for (reading, part) in self.part.iter().enumerate() {
            let shown = self.part.iter().filter(|other| *other == part).count() as f64;
            let share = Matrix3::identity() / shown;
            by_reading.fixed_view_mut::<3, 3>(3 * part, 3 * reading).copy_from(&share);
        }
        Weights { by_reading }
    }
}

/// The colours of parts by those of the readings.
#[derive(Debug, Clone)]
pub(super) struct Weights {
    /// Three rows a part and three columns a reading.
    pub by_reading: DMatrix<f64>,
}

impl Weights {
    /// The Gaussian of the parts.
    pub(super) fn pooled(&self, of_readings: Component) -> Component {
        let of = |drag: Drag| Drag { error: drag.error, gain: &self.by_reading * drag.gain };
        Component {
            weight: of_readings.weight,
            mean: &self.by_reading * of_readings.mean,
            cov: self.carried(&of_readings.cov),
            drags: of_readings.drags.into_iter().map(of).collect(),
        }
    }

    /// Covariance that the parts have from one of the readings.
    pub(super) fn carried(&self, cov: &DMatrix<f64>) -> DMatrix<f64> {
        &self.by_reading * cov * self.by_reading.transpose()
    }
}

/// Of each part, how probable it is that its readings lie as far apart as they do, or farther, given how far apart those of
/// all other parts lie: 1 for a part that is shown once, next to 0 where two photos do not show the same part.
///
/// With d the differences of all readings from the first one of their part, P the inverse of their covariance and u = P d,
/// what the others leave of a part's differences has the covariance P⁻¹ of its own block, and uᵀ P⁻¹ u over that block is χ².
/// What parts have in common (exposure, white balance) so says nothing, and of two parts that were taken for each other both
/// stand out. `None` where the covariance is none.
pub(super) fn agreement(shown: &Shown, mean: &DVector<f64>, cov: &DMatrix<f64>) -> Option<Vec<f64>> {
    let first = |reading: usize| shown.part.iter().position(|part| *part == shown.part[reading]);
    let again: Vec<(usize, usize)> = (0..shown.part.len())
        .filter_map(|reading| Some((reading, first(reading).filter(|first| *first != reading)?)))
        .collect();
    let rows = 3 * again.len();
    let at = |row: usize| {
        let (reading, first) = again[row / 3];
        (3 * reading + row % 3, 3 * first + row % 3)
    };
    let apart = DVector::from_fn(rows, |row, _| mean[at(row).0] - mean[at(row).1]);
    let between = DMatrix::from_fn(rows, rows, |i, j| {
        let ((p, p0), (q, q0)) = (at(i), at(j));
        cov[(p, q)] - cov[(p, q0)] - cov[(p0, q)] + cov[(p0, q0)]
    });
    let precision = between.cholesky()?.inverse();
    let pulled = &precision * apart;
    let of_part = |part: usize| {
        let own: Vec<usize> = (0..rows).filter(|row| shown.part[again[row / 3].0] == part).collect();
        if own.is_empty() {
            return Some(1.0);
        }
        let (pulled, block) = (pulled.select_rows(&own), precision.select_rows(&own).select_columns(&own));
        let squared = pulled.dot(&block.cholesky()?.solve(&pulled));
        Some(1.0 - chi_squared_cdf(squared, own.len() as f64))
    };
    (0..shown.parts).map(of_part).collect()
}

#[cfg(test)]
mod tests {
    use nalgebra::Vector3;

    use super::super::forward::linear_of_lab;
    use super::super::{Constants, Given, KnownPatch, Relief, fit_given};
    use super::*;
    use crate::color::srgb_encode;

    /// What a plain camera makes of a colour, exposed so many times as long.
    fn patch(lab: [f64; 3], at: [f64; 2], photo: usize, exposed: f64) -> Patch {
        let coded = linear_of_lab(&Vector3::from(lab)).map(|light| srgb_encode(light * exposed));
        Patch { coded, coded_cov: Matrix3::zeros(), at, relief: None, photo }
    }

    fn ladder(photo: usize, exposed: f64) -> Vec<KnownPatch> {
        let step = |(n, l): (usize, f64)| {
            let (lab, at) = ([l, 0.0, 0.0], [-0.4, 0.1 * n as f64 - 0.25]);
            let lab_cov = Matrix3::identity() * 0.1;
            KnownPatch { patch: patch(lab, at, photo, exposed), lab: lab.into(), lab_cov, shared: None }
        };
        [20.0, 35.0, 50.0, 60.0, 75.0, 90.0].into_iter().enumerate().map(step).collect()
    }

    fn part(lab: [f64; 3], photo: usize, exposed: f64) -> Patch {
        let relief = Relief { gloss_sd: 0.002, shared_gloss_sd: 0.004, ..Relief::default() };
        Patch { relief: Some(relief), ..patch(lab, [0.3, 0.1 * photo as f64], photo, exposed) }
    }

    /// Both photos' card and four greens, the first of which is another one in the second photo.
    fn two_photos(second: [f64; 3]) -> (Given, Vec<Vec<Patch>>) {
        let known = [ladder(0, 0.8), ladder(1, 0.7)].concat();
        let shown_again = (0..6).map(|step| vec![step, step + 6]).collect();
        let shown = |lab, there| vec![part(lab, 0, 0.8), part(there, 1, 0.7)];
        let same = |lab| shown(lab, lab);
        let others = [[50.0, -15.0, 8.0], [40.0, -14.0, 8.0], [46.0, -16.0, 9.0]].map(same);
        let readings = std::iter::once(shown([45.0, -15.0, 8.0], second)).chain(others).collect();
        (Given { known, shown_again, ..Given::default() }, readings)
    }

    /// Mean of two values of equal standard uncertainty u that share an error of s: √(s² + u²/2) (GUM, JCGM 100:2008, 5.2.2).
    #[test]
    fn what_is_shared_stays_and_the_rest_is_averaged() {
        let shown = Shown::of(&[vec![part([50.0, 0.0, 0.0], 0, 1.0), part([50.0, 0.0, 0.0], 1, 1.0)]]);
        let (shared, own) = (4.0, 1.0);
        let cov = DMatrix::from_fn(6, 6, |i, j| {
            if i % 3 == j % 3 { shared + if i == j { own } else { 0.0 } } else { 0.0 }
        });
        let pooled = shown.mean().carried(&cov);
        assert!((pooled - DMatrix::identity(3, 3) * (shared + own / 2.0)).norm() < 1e-12);
        // 3² + 2² + 1² over a variance of 2 own: 7, which χ² of three degrees exceeds with 7.19 % (from memory of its table:
        // 6.25 is exceeded with 10 %, 7.81 with 5 %).
        let apart = DVector::from_vec(vec![3.0, 2.0, 1.0, 0.0, 0.0, 0.0]);
        let agree = agreement(&shown, &apart, &cov).unwrap()[0];
        assert!((agree - 0.0719).abs() < 1e-4, "{agree}");
    }

    #[test]
    fn two_photos_know_more_than_one_and_less_than_twice_as_much() {
        let constants = Constants::learned();
        let (given, readings) = two_photos([45.0, -15.0, 8.0]);
        let both = fit_given(&given, &readings, constants).unwrap();
        let first = |patches: &Vec<Patch>| vec![patches[0].clone()];
        let alone = Given { known: ladder(0, 0.8), ..Given::default() };
        let one = fit_given(&alone, &readings.iter().map(first).collect::<Vec<_>>(), constants).unwrap();
        let colour = [&one, &both].map(|light| light.reading(0).1.trace());
        assert!(colour[1] < colour[0] && colour[1] > 0.5 * colour[0], "{colour:?}");
        // Of the difference hardly anything is shared.
        let apart = [&one, &both].map(|light| light.difference_mixture(0, 1)[0].2.trace());
        assert!(apart[1] < 0.8 * apart[0], "{apart:?}");
        assert!((both.reading(0).0 - Vector3::new(45.0, -15.0, 8.0)).norm() < 3.0, "{}", both.reading(0).0);
        assert!(both.agreement.iter().all(|agree| *agree > 0.05), "{:?}", both.agreement);
        for budget in &both.budgets {
            assert!((budget.iter().map(|(_, share)| share).sum::<f64>() - 1.0).abs() < 1e-9, "{budget:?}");
        }
    }

    #[test]
    fn another_part_under_the_same_name_is_noticed() {
        let (given, readings) = two_photos([52.0, -20.0, 12.0]);
        let both = fit_given(&given, &readings, Constants::learned()).unwrap();
        assert!(
            both.agreement[0] < 1e-3 && both.agreement[1..].iter().all(|agree| *agree > 0.05),
            "{:?}",
            both.agreement
        );
    }
}

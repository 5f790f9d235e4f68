//! One Gaussian of the posterior mixture.

use nalgebra::{DMatrix, DVector};

use super::SharedError;

/// One Gaussian of the posterior mixture.
#[derive(Debug, Clone, PartialEq)]
pub struct Component {
    /// Its weight; the weights of a photo add up to 1.
    pub weight: f64,
    /// Lab of all readings, three entries a reading.
    pub mean: DVector<f64>,
    /// Joint covariance of `mean`.
    pub cov: DMatrix<f64>,
    /// How `mean` goes along with the errors that stated colours share, for each group of them.
    pub drags: Vec<Drag>,
}

/// How all readings go along with an error that the stated colours of some known areas share. Of `cov` it makes gain ×
/// error's covariance × gainᵀ; a reading beside a known part follows its error nearly whole, and that is how the two are
/// told to be alike however badly the shade's own mean is known.
#[derive(Debug, Clone, PartialEq)]
pub struct Drag {
    /// The error.
    pub error: SharedError,
    /// Readings by the error, three rows a reading, three columns.
    pub gain: DMatrix<f64>,
}

impl Component {
    /// Several as one of the same mean and covariance, which has their weights together; `None` where these are nothing.
    pub fn joined<'a>(components: impl Iterator<Item = &'a Self> + Clone) -> Option<Self> {
        let weight: f64 = components.clone().map(|c| c.weight).sum();
        let first = components.clone().next().filter(|_| weight > 0.0)?;
        let size = first.mean.len();
        let (mut mean, mut cov) = (DVector::zeros(size), DMatrix::zeros(size, size));
        let no_gain = |drag: &Drag| Drag { error: drag.error, gain: DMatrix::zeros(size, 3) };
        let mut drags: Vec<Drag> = first.drags.iter().map(no_gain).collect();
        for c in components.clone() {
            mean.axpy(c.weight / weight, &c.mean, 1.0);
            for (sum, drag) in drags.iter_mut().zip(&c.drags) {
                add_times(&mut sum.gain, &drag.gain, c.weight / weight);
            }
        }
        for c in components {
            let off = &c.mean - &mean;
            cov.ger(c.weight / weight, &off, &off, 1.0);
            add_times(&mut cov, &c.cov, c.weight / weight);
        }
        Some(Self { weight, mean, cov, drags })
    }

    /// The same of some of the readings.
    pub fn only(&self, readings: &[usize]) -> Self {
        let rows: Vec<usize> = readings.iter().flat_map(|i| [3 * i, 3 * i + 1, 3 * i + 2]).collect();
        let of = |drag: &Drag| Drag { error: drag.error, gain: drag.gain.select_rows(&rows) };
        Self {
            weight: self.weight,
            mean: self.mean.select_rows(&rows),
            cov: self.cov.select_rows(&rows).select_columns(&rows),
            drags: self.drags.iter().map(of).collect(),
        }
    }
}

/// Adds a matrix of the same size, times a number.
fn add_times(sum: &mut DMatrix<f64>, matrix: &DMatrix<f64>, times: f64) {
    let pairs = sum.as_mut_slice().iter_mut().zip(matrix.as_slice());
    pairs.for_each(|(sum, value)| *sum += times * value);
}

//! Propagation of uncertainty: linear as in the GUM, by draws as in its Supplement 1.
//!
//! GUM: JCGM 100:2008, "Evaluation of measurement data. Guide to the expression of uncertainty in
//! measurement". Supplement 1: JCGM 101:2008, "Propagation of distributions using a Monte Carlo method".

use nalgebra::{DMatrix, DVector};

use super::draws::Draws;
use super::quantile::Interval;

/// The result of a linear propagation of m inputs into n outputs.
#[derive(Debug, Clone, PartialEq)]
pub struct Linear {
    /// f at the inputs' estimates, n.
    pub value: DVector<f64>,
    /// Covariance of the outputs, n × n.
    pub cov: DMatrix<f64>,
    /// Sensitivity coefficients ∂f/∂x, n × m.
    pub sensitivity: DMatrix<f64>,
}

/// Steps of the numeric derivative in parts of an input's standard uncertainty: small enough for the
/// third order, large enough for the rounding of sums like 50 000 000 nm + 3 nm.
const STEP: f64 = 1e-2;

/// Covariance of f(x) from that of x by the law of propagation of uncertainty, J C Jᵀ, correlations of
/// the inputs included (GUM 5.2.2, equation 13; several outputs: H.2.3). Derivatives are central
/// differences (as in GUM 5.1.3, note 2, with a smaller step). An input of no uncertainty has no
/// sensitivity here: 0.
///
/// Right where f is nearly straight within the uncertainties; near a minimum it gives 0 and
/// [`propagate_draws`] must be used.
pub fn propagate_linear(
    f: impl Fn(&DVector<f64>) -> DVector<f64>,
    x: &DVector<f64>,
    cov: &DMatrix<f64>,
) -> Linear {
    let value = f(x);
    let mut sensitivity = DMatrix::zeros(value.len(), x.len());
    for i in 0..x.len() {
        let step = STEP * cov[(i, i)].max(0.0).sqrt();
        if step > 0.0 {
            let moved = |by: f64| {
                let mut moved = x.clone();
                moved[i] += by;
                f(&moved)
            };
            sensitivity.set_column(i, &((moved(step) - moved(-step)) / (2.0 * step)));
        }
    }
    let cov = &sensitivity * cov * sensitivity.transpose();
    Linear { value, cov, sensitivity }
}

impl Linear {
    /// Standard uncertainty of output `i`.
    pub fn standard_uncertainty(&self, i: usize) -> f64 {
        self.cov[(i, i)].max(0.0).sqrt()
    }

    /// Correlation of two outputs.
    pub fn correlation(&self, i: usize, j: usize) -> f64 {
        self.cov[(i, j)] / (self.standard_uncertainty(i) * self.standard_uncertainty(j))
    }
}

/// Effective degrees of freedom of a sum of independent contributions, each a standard uncertainty (times
/// its sensitivity) with its own degrees of freedom, infinite for one that is known: the
/// Welch–Satterthwaite formula, GUM G.4.1, equation G.2b. Infinite where every contribution is.
pub fn effective_degrees_of_freedom(contributions: &[(f64, f64)]) -> f64 {
    let combined: f64 = contributions.iter().map(|(u, _)| u * u).sum();
    let doubt: f64 = contributions.iter().map(|(u, dof)| u * u * u * u / dof).sum();
    if doubt > 0.0 { combined * combined / doubt } else { f64::INFINITY }
}

/// What a set of draws of one quantity says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Summary {
    /// Mean, the estimate of Supplement 1, 7.6.
    pub mean: f64,
    /// Standard uncertainty.
    pub u: f64,
    /// Median and probabilistically symmetric 95 % interval (5.3.3).
    pub symmetric: Interval,
    /// Shortest 95 % interval (5.3.4), lower and upper end.
    pub shortest: (f64, f64),
}

impl Summary {
    /// Of draws in any order. `None` of fewer than two draws.
    pub fn of_draws(mut draws: Vec<f64>) -> Option<Self> {
        if draws.len() < 2 {
            return None;
        }
        let n = draws.len() as f64;
        let mean = draws.iter().sum::<f64>() / n;
        let u = (draws.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>() / (n - 1.0)).sqrt();
        draws.sort_by(f64::total_cmp);
        // Supplement 1, 7.7.4: of all intervals of q = 0.95 M draws the shortest.
        let q = ((0.95 * n + 0.5) as usize).clamp(1, draws.len() - 1);
        let shortest = draws
            .iter()
            .zip(&draws[q..])
            .map(|(low, high)| (*low, *high))
            .min_by(|a, b| (a.1 - a.0).total_cmp(&(b.1 - b.0)))?;
        let symmetric = Interval::of_draws(&mut draws)?;
        Some(Self { mean, u, symmetric, shortest })
    }
}

/// Distribution of f(x) by `n` draws of x from `sample` (Supplement 1, clause 7), the same for the same
/// seed. `None` of fewer than two draws.
pub fn propagate_draws<X>(
    f: impl Fn(&X) -> f64,
    mut sample: impl FnMut(&mut Draws) -> X,
    n: usize,
    seed: u64,
) -> Option<Summary> {
    let mut source = Draws::seeded(seed);
    Summary::of_draws((0..n).map(|_| f(&sample(&mut source))).collect())
}

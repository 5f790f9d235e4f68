//! Finite mixtures of multivariate normal distributions.

use nalgebra::{SMatrix, SVector};

use super::draws::Draws;
use super::factor::{NotPositiveDefinite, factor};
use super::normal::{LN_TAU, log_weighted_density, normal_cdf, root_and_distance};

/// One normal distribution of a mixture.
#[derive(Debug, Clone, PartialEq)]
pub struct Component<const N: usize> {
    /// Its share, 0..=1.
    pub weight: f64,
    /// Its mean.
    pub mean: SVector<f64, N>,
    /// Its covariance.
    pub cov: SMatrix<f64, N, N>,
}

/// A mixture of normal distributions whose weights add up to 1.
#[derive(Debug, Clone, PartialEq)]
pub struct Mixture<const N: usize> {
    components: Vec<Component<N>>,
}

/// Sums of densities below this may have lost terms.
const LEAST_SUM: f64 = 1e-250;

/// ln Σ exp(x), without overflow; -∞ of nothing.
pub fn log_sum_exp(logs: impl IntoIterator<Item = f64> + Clone) -> f64 {
    let largest = logs.clone().into_iter().fold(f64::NEG_INFINITY, f64::max);
    if !largest.is_finite() {
        return largest;
    }
    largest + libm::log(logs.into_iter().map(|v| libm::exp(v - largest)).sum::<f64>())
}

impl<const N: usize> Mixture<N> {
    /// The mixture of these components, weights scaled to add up to 1. `None` where no weight is positive
    /// and finite.
    pub fn new(mut components: Vec<Component<N>>) -> Option<Self> {
        components.retain(|c| c.weight > 0.0);
        let total: f64 = components.iter().map(|c| c.weight).sum();
        if !(total.is_finite() && total > 0.0) {
            return None;
        }
        components.iter_mut().for_each(|c| c.weight /= total);
        Some(Self { components })
    }

    /// One normal distribution.
    pub fn normal(mean: SVector<f64, N>, cov: SMatrix<f64, N, N>) -> Self {
        Self { components: vec![Component { weight: 1.0, mean, cov }] }
    }

    /// The mixture of these weights, means and covariances; see [`Self::new`].
    pub fn of_parts(parts: Vec<(f64, SVector<f64, N>, SMatrix<f64, N, N>)>) -> Option<Self> {
        Self::new(parts.into_iter().map(|(weight, mean, cov)| Component { weight, mean, cov }).collect())
    }

    /// Its components; never empty.
    pub fn components(&self) -> &[Component<N>] {
        &self.components
    }

    /// Mean and covariance of the whole.
    pub fn moments(&self) -> (SVector<f64, N>, SMatrix<f64, N, N>) {
        let mean = self.components.iter().map(|c| c.mean * c.weight).sum::<SVector<f64, N>>();
        let cov = self.components.iter().fold(SMatrix::zeros(), |sum, c| {
            let d = c.mean - mean;
            sum + (c.cov + d * d.transpose()) * c.weight
        });
        (mean, cov)
    }

    /// ln of the density at x, natural logarithm.
    pub fn log_density(&self, x: &SVector<f64, N>) -> Result<f64, NotPositiveDefinite> {
        self.log_overlap(x, &SMatrix::zeros())
    }

    /// ln ∫ N(x; mean, cov) m(x) dx: how well this mixture m predicts a value that is known as a normal
    /// distribution. Each component's covariance is widened by `cov`, nothing is sampled.
    pub fn log_overlap(
        &self,
        mean: &SVector<f64, N>,
        cov: &SMatrix<f64, N, N>,
    ) -> Result<f64, NotPositiveDefinite> {
        // One logarithm for all, unless every term is too small for that.
        let term = |c: &Component<N>| {
            let (root_determinant, distance) = root_and_distance(&(mean - c.mean), &(c.cov + cov))?;
            Some(c.weight / root_determinant * libm::exp(-0.5 * distance))
        };
        let sum = self.components.iter().map(term).sum::<Option<f64>>();
        if let Some(sum) = sum.filter(|sum| *sum > LEAST_SUM && sum.is_finite()) {
            return Ok(libm::log(sum) - 0.5 * N as f64 * LN_TAU);
        }
        let logs: Vec<f64> = self
            .components
            .iter()
            .map(|c| log_weighted_density(c.weight, &(mean - c.mean), &(c.cov + cov)))
            .collect::<Result<_, _>>()?;
        Ok(log_sum_exp(logs.iter().copied()))
    }

    /// ln ∫ other(x) m(x) dx: how well this mixture m predicts a value that is known as another mixture.
    pub fn log_overlap_of(&self, other: &Self) -> Result<f64, NotPositiveDefinite> {
        let logs: Vec<f64> = other
            .components
            .iter()
            .map(|c| Ok(libm::log(c.weight) + self.log_overlap(&c.mean, &c.cov)?))
            .collect::<Result<_, _>>()?;
        Ok(log_sum_exp(logs.iter().copied()))
    }

    /// The distribution of A x + b.
    pub fn mapped<const M: usize>(&self, a: &SMatrix<f64, M, N>, b: &SVector<f64, M>) -> Mixture<M> {
        let of = |c: &Component<N>| Component {
            weight: c.weight,
            mean: a * c.mean + b,
            cov: a * c.cov * a.transpose(),
        };
        Mixture { components: self.components.iter().map(of).collect() }
    }

    /// The p-quantile, 0 < p < 1, of coordinate `i` alone, by bisection to 1e-10 of its width; NaN where
    /// there is no such coordinate.
    pub fn marginal_quantile(&self, i: usize, p: f64) -> f64 {
        if i >= N {
            return f64::NAN;
        }
        let sd = |c: &Component<N>| c.cov[(i, i)].max(0.0).sqrt();
        let below = |x: f64| -> f64 {
            self.components.iter().map(|c| c.weight * normal_cdf((x - c.mean[i]) / sd(c))).sum()
        };
        let edge = |side: f64| self.components.iter().map(move |c| c.mean[i] + side * 40.0 * sd(c));
        let mut low = edge(-1.0).fold(f64::INFINITY, f64::min);
        let mut high = edge(1.0).fold(f64::NEG_INFINITY, f64::max);
        let width = 1e-10 * (high - low);
        while high - low > width {
            let middle = 0.5 * (low + high);
            if below(middle) < p { low = middle } else { high = middle }
        }
        0.5 * (low + high)
    }

    /// `n` draws. Each component gets its exact share of them, rounded, so that small sets are smooth.
    pub fn draws(&self, n: usize, seed: u64) -> Result<Vec<SVector<f64, N>>, NotPositiveDefinite> {
        let mut source = Draws::seeded(seed);
        let mut out = Vec::with_capacity(n);
        let mut reached = 0.0;
        for component in &self.components {
            let factor = factor(&component.cov)?;
            reached += component.weight * n as f64;
            while (out.len() as f64 + 0.5) < reached {
                let z = SVector::from_fn(|_, _| source.normal());
                out.push(component.mean + factor.spread(&z));
            }
        }
        Ok(out)
    }
}

//! Quantiles of a quadratic form of normal variables, without draws.

use nalgebra::{Matrix3, SymmetricEigen, Vector3};

use super::factor::{NotPositiveDefinite, factor};
use super::quantile::Interval;

/// Q = xᵀ G x for x ~ N(mean, cov) in three dimensions, G positive definite.
///
/// In the axes of the whitened form Q is Σ (√λ_i z_i + c_i)² with independent standard normal z_i. Its
/// cumulant generating function is simple, and the saddlepoint approximation (R. Lugannani and S. Rice,
/// Advances in Applied Probability 12:475-490, 1980, in the r* form of Barndorff-Nielsen; for quadratic
/// forms D. Kuonen, Biometrika 86:929-935, 1999) gives its distribution. Quantiles of √Q between 2.5 and
/// 97.5 % are off by 1 % of its standard deviation, by 3 % where one axis has all the variance (512 draws:
/// 5 to 15 %), and are smooth in the inputs.
#[derive(Debug, Clone, PartialEq)]
pub struct QuadraticForm {
    /// Variances λ_i and squared offsets c_i² of the axes, in parts of `scale`.
    axes: [(f64, f64); 3],
    /// Mean of Q.
    scale: f64,
}

/// The cumulant generating function K at s, in what the approximation needs of it.
struct At {
    slope: f64,
    curvature: f64,
    /// The approximation's normal score of P(Q < K').
    score: f64,
}

/// 97.5 % point of the standard normal distribution.
const Z_975: f64 = 1.959_963_984_540_054;
/// Below this signed root the score is taken from its series: the two terms of r* cancel there.
const NEAR_MEAN: f64 = 1e-3;
/// The score is solved to this, 2e-7 in probability.
const SCORE_TOLERANCE: f64 = 1e-6;

impl QuadraticForm {
    /// Fails unless both `g` and `cov` are positive definite.
    pub fn new(
        g: &Matrix3<f64>,
        mean: &Vector3<f64>,
        cov: &Matrix3<f64>,
    ) -> Result<Self, NotPositiveDefinite> {
        let root = factor(g)?.l.transpose();
        let spread = root * factor(cov)?.l;
        let eigen = SymmetricEigen::new(spread * spread.transpose());
        let offsets = eigen.eigenvectors.transpose() * (root * mean);
        let scale = eigen.eigenvalues.sum() + offsets.norm_squared();
        let axis = |i: usize| (eigen.eigenvalues[i].max(0.0) / scale, offsets[i] * offsets[i] / scale);
        Ok(Self { axes: [axis(0), axis(1), axis(2)], scale })
    }

    /// Median and central 95 % of √Q.
    pub fn root_interval(&self) -> Interval {
        let root = |z: f64| self.quantile_at_score(z).max(0.0).sqrt();
        Interval { median: root(0.0), low: root(-Z_975), high: root(Z_975) }
    }

    /// The q with P(Q < q) = Φ(z).
    pub fn quantile_at_score(&self, z: f64) -> f64 {
        let largest = self.axes.iter().map(|(variance, _)| *variance).fold(0.0, f64::max);
        let limit = 0.5 / largest * (1.0 - 1e-12);
        let start = self.at(0.0);
        let mut step = 1.0 / start.curvature.sqrt();
        let mut first = (z * step).min(0.5 * limit);
        let mut at_first = self.at(first).score - z;
        // Out to where the score has been passed, then false position with halved weights (the Illinois
        // method), which keeps the bracket.
        let mut second = first;
        let mut at_second = at_first;
        for _ in 0..60 {
            if at_first * at_second < 0.0 || at_second == 0.0 {
                break;
            }
            (first, at_first) = (second, at_second);
            second = if at_first < 0.0 { (second + step).min(0.5 * (second + limit)) } else { second - step };
            at_second = self.at(second).score - z;
            step *= 2.0;
        }
        for _ in 0..60 {
            if at_second.abs() < SCORE_TOLERANCE {
                break;
            }
            let next = (first * at_second - second * at_first) / (at_second - at_first);
            let at_next = self.at(next).score - z;
            if at_next * at_second < 0.0 {
                (first, at_first) = (second, at_second);
            } else {
                at_first *= 0.5;
            }
            (second, at_second) = (next, at_next);
        }
        self.at(second).slope * self.scale
    }

    fn at(&self, s: f64) -> At {
        let (mut volume, mut shift, mut slope, mut curvature, mut third) = (1.0, 0.0, 0.0, 0.0, 0.0);
        for (variance, offset) in self.axes {
            let u = 1.0 / (1.0 - 2.0 * variance * s);
            volume *= u;
            shift += offset * s * u;
            slope += (variance + offset * u) * u;
            curvature += (2.0 * variance + 4.0 * offset * u) * variance * u * u;
            third += (8.0 * variance + 24.0 * offset * u) * variance * variance * u * u * u;
        }
        let value = 0.5 * libm::log(volume) + shift;
        let root = (2.0 * (s * slope - value)).max(0.0).sqrt().copysign(s);
        let skewness = third / (curvature * curvature.sqrt());
        let score = if root.abs() < NEAR_MEAN {
            skewness / 6.0 + s * curvature.sqrt()
        } else {
            root + libm::log(s * curvature.sqrt() / root) / root
        };
        At { slope, curvature, score }
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Draws, chi_squared_quantile, normal_quantile};
    use super::*;

    fn form(variances: [f64; 3], mean: [f64; 3]) -> QuadraticForm {
        let cov = Matrix3::from_diagonal(&Vector3::from(variances));
        QuadraticForm::new(&Matrix3::identity(), &Vector3::from(mean), &cov).unwrap()
    }

    /// χ² with 3, about 2 and about 1 degrees of freedom (the other axes next to nothing); tolerances in
    /// standard deviations of √Q.
    #[test]
    fn agrees_with_chi_squared() {
        for (variances, dof, sd, tolerance) in [
            ([1.0; 3], 3.0, 0.673, 0.01),
            ([1.0, 1.0, 1e-6], 2.0, 0.655, 0.012),
            ([1.0, 1e-6, 1e-6], 1.0, 0.603, 0.031),
        ] {
            let form = form(variances, [0.0; 3]);
            for p in [0.025, 0.1, 0.5, 0.9, 0.975, 0.999] {
                let found = form.quantile_at_score(normal_quantile(p)).sqrt();
                let exact = chi_squared_quantile(p, dof).sqrt();
                assert!((found - exact).abs() < tolerance * sd, "{dof} at {p}: {found}, exact {exact}");
            }
        }
    }

    /// Non-central χ² with one degree of freedom: √Q is |N(c, 1)|, known from Φ. At c = 3 its folding is
    /// below 0.0014, at c = 30 it is a normal distribution.
    #[test]
    fn agrees_with_a_folded_normal() {
        for c in [3.0, 30.0] {
            let found = form([1.0, 1e-8, 1e-8], [c, 0.0, 0.0]).root_interval();
            for (found, z) in [(found.low, -1.96), (found.median, 0.0), (found.high, 1.96)] {
                assert!((found - (c + z)).abs() < 0.03, "{c}: {found} for {z}");
            }
        }
    }

    #[test]
    fn agrees_with_draws() {
        let g = Matrix3::new(1.0, 0.05, -0.1, 0.05, 0.3, 0.1, -0.1, 0.1, 0.5);
        let cov = Matrix3::new(2.0, -0.5, 0.3, -0.5, 1.0, 0.2, 0.3, 0.2, 0.6);
        let lower = factor(&cov).unwrap();
        for mean in [[0.0, 0.0, 0.0], [1.0, -0.5, 0.4], [4.0, 2.0, -3.0]] {
            let mean = Vector3::from(mean);
            let mut source = Draws::seeded(3);
            let mut drawn: Vec<f64> = (0..200_000)
                .map(|_| {
                    let x = mean + lower.spread(&source.normals());
                    x.dot(&(g * x)).sqrt()
                })
                .collect();
            let drawn = Interval::of_draws(&mut drawn).unwrap();
            let found = QuadraticForm::new(&g, &mean, &cov).unwrap().root_interval();
            for (x, y) in [(found.low, drawn.low), (found.median, drawn.median), (found.high, drawn.high)] {
                assert!((x - y).abs() < 0.012 * (drawn.high - drawn.low), "{mean}: {found:?} {drawn:?}");
            }
        }
    }

    /// Nearly certain, and wide of many orders: still in order, positive and finite.
    #[test]
    fn stands_extremes() {
        for variances in [[1e-12; 3], [1e6, 1.0, 1e-6], [1e3; 3]] {
            for mean in [[0.0; 3], [1e-3, 0.0, 0.0], [50.0, -3.0, 2.0]] {
                let found = form(variances, mean).root_interval();
                let sound = 0.0 <= found.low && found.low < found.median && found.median < found.high;
                assert!(sound && found.high.is_finite(), "{variances:?} {mean:?}: {found:?}");
            }
        }
        assert!(QuadraticForm::new(&Matrix3::zeros(), &Vector3::zeros(), &Matrix3::identity()).is_err());
    }
}

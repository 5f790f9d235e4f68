//! The multivariate Student-t distribution and its form as a finite mixture of normal distributions.

use nalgebra::{SMatrix, SVector};

use super::factor::{NotPositiveDefinite, factor};
use super::mixture::{Component, Mixture};

/// A multivariate t distribution: x = mean + z/√g with z ~ N(0, scale) and g ~ Γ(ν/2, rate ν/2).
#[derive(Debug, Clone, PartialEq)]
pub struct StudentT<const N: usize> {
    /// Its centre.
    pub mean: SVector<f64, N>,
    /// Its scale matrix; the covariance is ν/(ν-2) of it where ν > 2.
    pub scale: SMatrix<f64, N, N>,
    /// Degrees of freedom ν > 0.
    pub dof: f64,
}

/// Step between the nodes of [`StudentT::mixture`], in standard deviations √(2/ν) of ln g. For ν = 4 that is 11 nodes, for
/// the 18 of 0.7; judging the parts of a photo together is for a good part a sum over them.
const NODE_STEP: f64 = 1.1;

impl<const N: usize> StudentT<N> {
    /// What the next specimen is, after `n` specimens of mean `mean` and unbiased covariance `cov`, all
    /// that is known of a normal population under Jeffreys' prior: ν = n - N degrees of freedom and the
    /// scale matrix (n + 1)(n - 1)/(n (n - N)) times `cov` (S. Geisser, "Predictive Inference", 1993).
    /// `None` unless n > N.
    pub fn predictive(mean: SVector<f64, N>, cov: SMatrix<f64, N, N>, n: usize) -> Option<Self> {
        let dof = n.checked_sub(N).filter(|&dof| dof > 0)? as f64;
        let n = n as f64;
        Some(Self { mean, scale: cov * ((n + 1.0) * (n - 1.0) / (n * dof)), dof })
    }

    /// ln of the density at x, natural logarithm.
    pub fn log_density(&self, x: &SVector<f64, N>) -> Result<f64, NotPositiveDefinite> {
        let factor = factor(&self.scale)?;
        let distance = factor.whiten(&(x - self.mean)).norm_squared();
        let (dof, dimensions) = (self.dof, N as f64);
        Ok(libm::lgamma(0.5 * (dof + dimensions))
            - libm::lgamma(0.5 * dof)
            - 0.5 * dimensions * libm::log(dof * std::f64::consts::PI)
            - factor.log_root_determinant()
            - 0.5 * (dof + dimensions) * libm::log1p(distance / dof))
    }

    /// The same distribution as a mixture of normals of one centre, so that it can be combined with other
    /// normals in closed form: nodes evenly spaced in ln g with weights of g's density there (the
    /// trapezoidal rule, which converges exponentially for such integrands). The density is kept within
    /// 1 % out to a squared distance of 30 for ν ≥ 3.
    pub fn mixture(&self) -> Mixture<N> {
        let half = 0.5 * self.dof;
        let step = NODE_STEP * (2.0 / self.dof).sqrt();
        // Density of u = ln g up to a factor; it is 1 at its mode u = 0 and falls slowly to the left.
        let density = |u: f64| libm::exp(half * (u - libm::exp(u) + 1.0));
        let node =
            |u: f64| Component { weight: density(u), mean: self.mean, cov: self.scale * libm::exp(-u) };
        let side = |direction: f64| {
            (0..200).map(move |i| direction * step * f64::from(i)).take_while(|&u| density(u) > 1e-5)
        };
        let components = side(-1.0).chain(side(1.0).skip(1)).map(node).collect();
        // The node at the mode has weight 1, so there is always something to mix.
        Mixture::new(components).unwrap_or_else(|| Mixture::normal(self.mean, self.scale))
    }
}

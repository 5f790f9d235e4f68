//! Seeded random draws that are the same on every machine.

use nalgebra::{DMatrix, DVector, SVector};
use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::{Rng, SeedableRng};

use super::factor::{NotPositiveDefinite, factor};
use super::normal::normal_quantile;

/// A stream of draws (xoshiro256++).
#[derive(Debug, Clone)]
pub struct Draws(Xoshiro256PlusPlus);

impl Draws {
    /// The stream that belongs to a seed.
    pub fn seeded(seed: u64) -> Self {
        Self(Xoshiro256PlusPlus::seed_from_u64(seed))
    }

    /// Uniform in 0..1, never 0 or 1.
    pub fn uniform(&mut self) -> f64 {
        ((self.0.next_u64() >> 12) as f64 + 0.5) / (1u64 << 52) as f64
    }

    /// Uniform in `low`..`high`.
    pub fn uniform_in(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.uniform()
    }

    /// Standard normal, by inversion.
    pub fn normal(&mut self) -> f64 {
        normal_quantile(self.uniform())
    }

    /// A column of standard normals.
    pub fn normals<const N: usize>(&mut self) -> SVector<f64, N> {
        SVector::from_fn(|_, _| self.normal())
    }

    /// A whole number in 0..n; 0 for n = 0.
    pub fn below(&mut self, n: usize) -> usize {
        ((self.uniform() * n as f64) as usize).min(n.saturating_sub(1))
    }

    /// Γ with this shape > 0 and rate 1 (G. Marsaglia and W. W. Tsang, "A simple method for generating
    /// gamma variables", ACM Transactions on Mathematical Software 26(3):363-372, 2000).
    pub fn gamma(&mut self, shape: f64) -> f64 {
        if shape < 1.0 {
            let boost = libm::pow(self.uniform(), 1.0 / shape);
            return boost * self.gamma(shape + 1.0);
        }
        let d = shape - 1.0 / 3.0;
        let c = 1.0 / (9.0 * d).sqrt();
        loop {
            let z = self.normal();
            let v = 1.0 + c * z;
            let v = v * v * v;
            if v > 0.0 && libm::log(self.uniform()) < 0.5 * z * z + d - d * v + d * libm::log(v) {
                return d * v;
            }
        }
    }

    /// χ² with `dof` > 0 degrees of freedom.
    pub fn chi_squared(&mut self, dof: f64) -> f64 {
        2.0 * self.gamma(0.5 * dof)
    }
}

/// `n` standard normal columns that cover their space evenly, for smooth quantiles of a small set: a
/// shifted additive recurrence (multiples of the powers of 1/φ, φ the root of φ^(N+1) = φ + 1, modulo 1;
/// M. Roberts 2018, after Kronecker), turned into normals by inversion, then moved and turned so that
/// mean and covariance are exactly 0 and I.
///
/// With 512 columns the 2.5, 50 and 97.5 % points of the length of a skewed normal vector are off by
/// 0.03, 0.02 and 0.10 of its standard deviation (independent draws: 0.06, 0.06 and 0.17), computed here
/// for N = 3.
pub fn spread_normals<const N: usize>(n: usize, seed: u64) -> Vec<SVector<f64, N>> {
    let mut phi = 2.0;
    for _ in 0..60 {
        phi = libm::pow(1.0 + phi, 1.0 / (N as f64 + 1.0));
    }
    let mut source = Draws::seeded(seed);
    let shift: SVector<f64, N> = SVector::from_fn(|_, _| source.uniform());
    let step: SVector<f64, N> = SVector::from_fn(|j, _| libm::pow(phi, -(j as f64 + 1.0)));
    let column = |i: usize| {
        (shift + step * (i as f64 + 1.0)).map(|v| {
            let within = v - v.floor();
            normal_quantile(within.clamp(1e-9, 1.0 - 1e-9))
        })
    };
    let columns: Vec<SVector<f64, N>> = (0..n).map(column).collect();

    let mean = columns.iter().sum::<SVector<f64, N>>() / n.max(1) as f64;
    let scatter =
        columns.iter().map(|z| (z - mean) * (z - mean).transpose()).sum::<nalgebra::SMatrix<f64, N, N>>();
    match factor(&(scatter / n.max(1) as f64)) {
        Ok(factor) => columns.iter().map(|z| factor.whiten(&(z - mean))).collect(),
        // Too few columns to have a covariance: leave them as they are.
        Err(_) => columns,
    }
}

/// `n` draws of N(mean, cov) of any dimension, one a column: for many readings at once.
pub fn joint_draws(
    mean: &DVector<f64>,
    cov: &DMatrix<f64>,
    n: usize,
    seed: u64,
) -> Result<DMatrix<f64>, NotPositiveDefinite> {
    let factor = factor(cov)?;
    let mut source = Draws::seeded(seed);
    let z = DMatrix::from_fn(mean.len(), n, |_, _| source.normal());
    let mut draws = &factor.l * z;
    draws.column_iter_mut().for_each(|mut column| column += mean);
    Ok(draws)
}

//! Whether error bars and probabilities are true: coverage, scores, calibration error.

use nalgebra::{SMatrix, SVector};

use super::draws::Draws;
use super::factor::NotPositiveDefinite;
use super::normal::{chi_squared_quantile, log_normal_density, normal_cdf};
use super::quantile::weighted_quantile;

/// Share of true values inside the region that should hold `level` (0..1) of them, from their squared
/// Mahalanobis distances in `dimensions` dimensions; NaN without distances.
pub fn region_coverage(squared_distances: &[f64], dimensions: usize, level: f64) -> f64 {
    let limit = chi_squared_quantile(level, dimensions as f64);
    let inside = squared_distances.iter().filter(|d| **d <= limit).count();
    inside as f64 / squared_distances.len() as f64
}

/// Logarithmic score of N(mean, cov) at what turned out true: its negative log density, natural
/// logarithm, less is better (I. J. Good 1952).
pub fn log_score<const N: usize>(
    truth: &SVector<f64, N>,
    mean: &SVector<f64, N>,
    cov: &SMatrix<f64, N, N>,
) -> Result<f64, NotPositiveDefinite> {
    log_normal_density(&(truth - mean), cov).map(|density| -density)
}

/// Continuous ranked probability score of draws against the truth, E|X - y| - ½ E|X - X'|, in the unit
/// of the quantity, less is better; the second term over pairs of different draws, so that small sets
/// are not favoured (T. Gneiting and A. E. Raftery, "Strictly proper scoring rules, prediction, and
/// estimation", JASA 102:359-378, 2007, section 4.2). NaN of fewer than two draws.
pub fn crps_of_draws(draws: &[f64], truth: f64) -> f64 {
    let n = draws.len() as f64;
    let mut sorted = draws.to_vec();
    sorted.sort_by(f64::total_cmp);
    let away = sorted.iter().map(|v| (v - truth).abs()).sum::<f64>() / n;
    // Σ over pairs of |x_i - x_j| is Σ (2 i - n + 1) x_(i) over the sorted draws.
    let apart: f64 = sorted.iter().enumerate().map(|(i, v)| (2.0 * i as f64 - n + 1.0) * v).sum();
    away - apart / (n * (n - 1.0))
}

/// The same of N(mean, sd²) in closed form (Gneiting and Raftery 2007, equation 21).
pub fn crps_of_normal(mean: f64, sd: f64, truth: f64) -> f64 {
    let z = (truth - mean) / sd;
    let density = libm::exp(-0.5 * z * z) / std::f64::consts::TAU.sqrt();
    sd * (z * (2.0 * normal_cdf(z) - 1.0) + 2.0 * density - 1.0 / std::f64::consts::PI.sqrt())
}

/// Brier's score of class probabilities against the true class, Σ (p_k - [k = truth])² / 2: for two
/// classes the squared error of the probability (G. W. Brier 1950). 0 is best, 1 worst.
pub fn brier_score(probabilities: &[f64], truth: usize) -> f64 {
    let off = |(k, p): (usize, &f64)| p - f64::from(u8::from(k == truth));
    0.5 * probabilities.iter().enumerate().map(off).map(|d| d * d).sum::<f64>()
}

/// One bin of a reliability diagram.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reliability {
    /// Answers in the bin.
    pub count: usize,
    /// Their mean confidence.
    pub confidence: f64,
    /// Share of them that were right.
    pub accuracy: f64,
}

/// Expected calibration error Σ n_b/n |accuracy_b - confidence_b| over `bins` equal bins of the
/// confidence 0..=1, a bin holding its upper end (M. P. Naeini, G. F. Cooper and M. Hauskrecht, AAAI
/// 2015), and the bins that are not empty. 0 without answers.
///
/// It is biased upwards: calibrated answers do not score 0 but about the square root of the number of
/// bins over n. Judge it by [`calibration_error_when_true`] at the same confidences.
pub fn calibration_error(answers: &[(f64, bool)], bins: usize) -> (f64, Vec<Reliability>) {
    let bins = bins.max(1);
    let mut sums = vec![(0usize, 0.0, 0usize); bins];
    for &(confidence, right) in answers {
        let bin = ((confidence * bins as f64).ceil() as usize).clamp(1, bins) - 1;
        sums[bin].0 += 1;
        sums[bin].1 += confidence;
        sums[bin].2 += usize::from(right);
    }
    let table: Vec<Reliability> = sums
        .into_iter()
        .filter(|(count, ..)| *count > 0)
        .map(|(count, confidence, right)| Reliability {
            count,
            confidence: confidence / count as f64,
            accuracy: right as f64 / count as f64,
        })
        .collect();
    let error = table.iter().map(|b| b.count as f64 * (b.accuracy - b.confidence).abs()).sum::<f64>();
    (error / answers.len().max(1) as f64, table)
}

/// What [`calibration_error`] would be for these very confidences if they were true: mean and 95th
/// percentile over `rounds` simulated outcomes. An error below the second number is no evidence against
/// calibration; the mean is the bias to take off before comparing with a fixed limit.
pub fn calibration_error_when_true(confidences: &[f64], bins: usize, rounds: usize, seed: u64) -> (f64, f64) {
    let mut source = Draws::seeded(seed);
    let errors: Vec<f64> = (0..rounds)
        .map(|_| {
            let answers: Vec<(f64, bool)> = confidences.iter().map(|&c| (c, source.uniform() < c)).collect();
            calibration_error(&answers, bins).0
        })
        .collect();
    (errors.iter().sum::<f64>() / rounds as f64, weighted_quantile(&errors, None, 0.95))
}

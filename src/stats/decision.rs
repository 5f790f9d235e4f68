//! From densities to class probabilities, and from these to a call or none.

use super::mixture::log_sum_exp;

/// P(k | x) ∝ π_k p_k(x), from natural logarithms of the densities and priors ≥ 0 of the same number.
/// All zero where no class can have made x.
pub fn class_probabilities(log_densities: &[f64], priors: &[f64]) -> Vec<f64> {
    let logs: Vec<f64> = log_densities.iter().zip(priors).map(|(d, p)| d + libm::log(*p)).collect();
    let evidence = log_sum_exp(logs.iter().copied());
    if !evidence.is_finite() {
        return vec![0.0; logs.len()];
    }
    logs.iter().map(|v| libm::exp(v - evidence)).collect()
}

/// The most probable class if its probability reaches `confidence`, else none: with a rejection costing
/// 1 - `confidence` of an error this rule makes the fewest errors for its rejections (C. K. Chow, "On
/// optimum recognition error and reject tradeoff", IEEE Transactions on Information Theory 16(1):41-46,
/// 1970). Of equal probabilities the first.
pub fn accepted_class(probabilities: &[f64], confidence: f64) -> Option<usize> {
    let first = probabilities.iter().copied().enumerate().next()?;
    let best =
        probabilities.iter().copied().enumerate().fold(first, |best, p| if p.1 > best.1 { p } else { best });
    (best.1 >= confidence).then_some(best.0)
}

/// Entropy of probabilities in bits.
pub fn entropy_bits(probabilities: &[f64]) -> f64 {
    -probabilities.iter().filter(|p| **p > 0.0).map(|p| p * libm::log2(*p)).sum::<f64>()
}

//! Medians and quantiles, weighted or not.

use serde::{Deserialize, Serialize};

/// A median with the central 95 %.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Interval {
    /// Half of the draws lie below.
    pub median: f64,
    /// 2.5 % of the draws lie below.
    pub low: f64,
    /// 97.5 % of the draws lie below.
    pub high: f64,
}

impl Interval {
    /// Of draws in any order; they are left partly sorted. `None` without draws. Quantiles are those of
    /// the stepped distribution function halfway between its ends: draw k of n (from 0) is at (k + ½)/n.
    pub fn of_draws(draws: &mut [f64]) -> Option<Self> {
        let n = draws.len();
        if n == 0 {
            return None;
        }
        let at = |p: f64| ((p * n as f64 - 0.5).max(0.0), n - 1);
        let mut pick = |p: f64| {
            let (position, last) = at(p);
            let below = (position as usize).min(last);
            let (_, &mut low, above) = draws.select_nth_unstable_by(below, f64::total_cmp);
            let next = above.iter().copied().fold(f64::INFINITY, f64::min);
            if next.is_finite() { low + (position - below as f64) * (next - low) } else { low }
        };
        Some(Self { median: pick(0.5), low: pick(0.025), high: pick(0.975) })
    }
}

/// The median; NaN without values.
pub fn median(values: &[f64]) -> f64 {
    weighted_quantile(values, None, 0.5)
}

/// Median absolute deviation from the median, times 1.4826 so that it estimates the standard deviation
/// of normal data (Hampel 1974); NaN without values.
pub fn mad(values: &[f64]) -> f64 {
    let centre = median(values);
    let distances: Vec<f64> = values.iter().map(|v| (v - centre).abs()).collect();
    1.482_602_218_505_602 * median(&distances)
}

/// The p-quantile, 0 ≤ p ≤ 1, of values with weights ≥ 0 (all 1 where `None`); NaN where nothing has
/// weight. Value k sits at the middle of its own share of the weight, straight lines in between, so that
/// with equal weights the median is the usual one.
pub fn weighted_quantile(values: &[f64], weights: Option<&[f64]>, p: f64) -> f64 {
    let weight_of = |i: usize| weights.map_or(1.0, |w| w.get(i).copied().unwrap_or(0.0)).max(0.0);
    let mut order: Vec<(f64, f64)> =
        values.iter().enumerate().map(|(i, &v)| (v, weight_of(i))).filter(|&(_, w)| w > 0.0).collect();
    order.sort_by(|a, b| a.0.total_cmp(&b.0));
    let total: f64 = order.iter().map(|&(_, w)| w).sum();
    let (Some(&(mut value, _)), Some(&(last, _))) = (order.first(), order.last()) else {
        return f64::NAN;
    };

    let target = p.clamp(0.0, 1.0) * total;
    let (mut middle, mut sum) = (f64::NEG_INFINITY, 0.0);
    for &(next, weight) in &order {
        let next_middle = sum + 0.5 * weight;
        if next_middle >= target {
            let reach = (target - middle) / (next_middle - middle);
            return if middle.is_finite() { value + reach * (next - value) } else { next };
        }
        (value, middle, sum) = (next, next_middle, sum + weight);
    }
    last
}

//! A centre and covariance that up to a quarter of strange points cannot move.

use nalgebra::{Matrix3, Vector3};

use super::factor::{NotPositiveDefinite, factor};
use super::normal::{chi_squared_cdf, chi_squared_quantile};
use super::quantile::weighted_quantile;

/// What most of the points say.
#[derive(Debug, Clone, PartialEq)]
pub struct Robust {
    /// Their centre.
    pub centre: Vector3<f64>,
    /// Covariance of a point, as that of a normal distribution which the kept points are the middle of.
    pub scatter: Matrix3<f64>,
    /// For each point whether it was kept.
    pub kept: Vec<bool>,
    /// Kish's effective number of kept points, (Σw)²/Σw². The covariance of the centre is `scatter` over
    /// this number if the points are independent, which neighbouring pixels are not.
    pub effective_count: f64,
}

/// Share of the weight that the search goes by.
const CORE: f64 = 0.75;
/// A point is kept up to this quantile of the squared distance.
const KEPT: f64 = 0.975;
/// Rounds of the search; it ends when nothing changes, usually after four to eight.
const ROUNDS: usize = 30;

/// Robust centre and scatter of points in three dimensions (colours), weights ≥ 0 or all 1.
///
/// The reweighted minimum covariance determinant: from the coordinates' medians and median deviations,
/// the three quarters of the weight that lie nearest are taken, their mean and covariance replace the
/// former ones, until nothing changes (the concentration step of P. J. Rousseeuw and K. Van Driessen,
/// "A fast algorithm for the minimum covariance determinant estimator", Technometrics 41(3):212-223,
/// 1999, from one deterministic start in the manner of Hubert, Rousseeuw and Verdonck 2012); then every
/// point within the 97.5 % distance counts. Both covariances are scaled to be right for normal points.
///
/// Fails where fewer than 5 points have weight or where they lie in a plane within rounding.
pub fn robust_centre(
    points: &[Vector3<f64>],
    weights: Option<&[f64]>,
) -> Result<Robust, NotPositiveDefinite> {
    let weights: Vec<f64> = (0..points.len())
        .map(|i| weights.map_or(1.0, |w| w.get(i).copied().unwrap_or(0.0)).max(0.0))
        .collect();
    if weights.iter().filter(|w| **w > 0.0).count() < 5 {
        return Err(NotPositiveDefinite { rows: 3, columns: 3 });
    }

    let (mut centre, mut scatter) = start(points, &weights);
    let mut core: Vec<bool> = Vec::new();
    for _ in 0..ROUNDS {
        let distances = squared_distances(points, &centre, &scatter)?;
        let reach = weighted_quantile(&distances, Some(&weights), CORE);
        let next: Vec<bool> = distances.iter().map(|d| *d <= reach).collect();
        if next == core {
            break;
        }
        core = next;
        (centre, scatter) = moments(points, &weights, &core);
        scatter *= consistency(CORE);
    }

    let distances = squared_distances(points, &centre, &scatter)?;
    let limit = chi_squared_quantile(KEPT, 3.0);
    let kept: Vec<bool> = distances.iter().map(|d| *d <= limit).collect();
    (centre, scatter) = moments(points, &weights, &kept);
    scatter *= consistency(KEPT);
    factor(&scatter)?;
    let sums = weights
        .iter()
        .zip(&kept)
        .filter(|(_, kept)| **kept)
        .fold((0.0, 0.0), |s, (w, _)| (s.0 + w, s.1 + w * w));
    Ok(Robust { centre, scatter, kept, effective_count: sums.0 * sums.0 / sums.1 })
}

fn start(points: &[Vector3<f64>], weights: &[f64]) -> (Vector3<f64>, Matrix3<f64>) {
    let mut centre = Vector3::zeros();
    let mut variance = Vector3::zeros();
    for i in 0..3 {
        let values: Vec<f64> = points.iter().map(|p| p[i]).collect();
        centre[i] = weighted_quantile(&values, Some(weights), 0.5);
        let away: Vec<f64> = values.iter().map(|v| (v - centre[i]).abs()).collect();
        let sd = 1.4826 * weighted_quantile(&away, Some(weights), 0.5);
        // Coded pictures have many equal values, so half of the points may not deviate at all.
        let mean_away =
            away.iter().zip(weights).map(|(v, w)| v * w).sum::<f64>() / weights.iter().sum::<f64>();
        variance[i] = (sd * sd).max(0.01 * mean_away * mean_away).max(1e-12);
    }
    (centre, Matrix3::from_diagonal(&variance))
}

fn squared_distances(
    points: &[Vector3<f64>],
    centre: &Vector3<f64>,
    scatter: &Matrix3<f64>,
) -> Result<Vec<f64>, NotPositiveDefinite> {
    let factor = factor(scatter)?;
    Ok(points.iter().map(|p| factor.whiten(&(p - centre)).norm_squared()).collect())
}

/// Weighted mean and covariance of the chosen points.
fn moments(points: &[Vector3<f64>], weights: &[f64], chosen: &[bool]) -> (Vector3<f64>, Matrix3<f64>) {
    let used =
        || points.iter().zip(weights).zip(chosen).filter(|(_, chosen)| **chosen).map(|((p, w), _)| (p, *w));
    let total: f64 = used().map(|(_, w)| w).sum();
    let centre = used().map(|(p, w)| p * w).sum::<Vector3<f64>>() / total;
    let scatter =
        used().map(|(p, w)| (p - centre) * (p - centre).transpose() * w).sum::<Matrix3<f64>>() / total;
    (centre, scatter)
}

/// What the covariance of the nearest share `p` of normal points must be multiplied by to be that of all:
/// p / P(χ²₅ ≤ q), q the p-quantile of χ²₃ (Croux and Haesbroeck 1999).
fn consistency(p: f64) -> f64 {
    p / chi_squared_cdf(chi_squared_quantile(p, 3.0), 5.0)
}

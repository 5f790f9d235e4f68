//! The normal distribution, and quantiles of χ² and Student's t.

use nalgebra::{SMatrix, SVector};
use statrs::distribution::{ChiSquared, ContinuousCDF, StudentsT};

use super::factor::{NotPositiveDefinite, factor};

/// ln 2π.
pub(super) const LN_TAU: f64 = 1.837_877_066_409_345_3;

/// Φ(x), the standard normal distribution function.
pub fn normal_cdf(x: f64) -> f64 {
    0.5 * libm::erfc(-x * std::f64::consts::FRAC_1_SQRT_2)
}

/// Φ⁻¹(p) for 0 < p < 1; ∓∞ at the ends, NaN outside.
///
/// M. J. Wichura, "Algorithm AS 241: the percentage points of the normal distribution", Applied
/// Statistics 37(3):477-484, 1988, PPND16: relative error about 1e-16. Written out here because draws
/// are made of it and must match across machines.
pub fn normal_quantile(p: f64) -> f64 {
    if !(0.0..=1.0).contains(&p) {
        return f64::NAN;
    }
    let from_half = p - 0.5;
    if from_half.abs() <= 0.425 {
        let r = 0.180625 - from_half * from_half;
        return from_half * polynomial(&CENTRE, r) / polynomial(&CENTRE_BELOW, r);
    }
    let tail = p.min(1.0 - p);
    if tail <= 0.0 {
        return f64::INFINITY.copysign(from_half);
    }
    let r = (-libm::log(tail)).sqrt();
    let size = if r <= 5.0 {
        polynomial(&TAIL, r - 1.6) / polynomial(&TAIL_BELOW, r - 1.6)
    } else {
        polynomial(&FAR, r - 5.0) / polynomial(&FAR_BELOW, r - 5.0)
    };
    size.copysign(from_half)
}

fn polynomial(coefficients: &[f64; 8], x: f64) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, c| sum * x + c)
}

#[rustfmt::skip]
const CENTRE: [f64; 8] = [
    3.387_132_872_796_366_6, 1.331_416_678_917_843_8e2, 1.971_590_950_306_551_4e3, 1.373_169_376_550_946e4,
    4.592_195_393_154_987e4, 6.726_577_092_700_87e4, 3.343_057_558_358_813e4, 2.509_080_928_730_122_7e3,
];
#[rustfmt::skip]
const CENTRE_BELOW: [f64; 8] = [
    1.0, 4.231_333_070_160_091e1, 6.871_870_074_920_579e2, 5.394_196_021_424_751e3,
    2.121_379_430_158_659_7e4, 3.930_789_580_009_271e4, 2.872_908_573_572_194_3e4, 5.226_495_278_852_854e3,
];
#[rustfmt::skip]
const TAIL: [f64; 8] = [
    1.423_437_110_749_683_5, 4.630_337_846_156_546, 5.769_497_221_460_691, 3.647_848_324_763_204_5,
    1.270_458_252_452_368_4, 2.417_807_251_774_506e-1, 2.272_384_498_926_918_4e-2, 7.745_450_142_783_414e-4,
];
#[rustfmt::skip]
const TAIL_BELOW: [f64; 8] = [
    1.0, 2.053_191_626_637_759, 1.676_384_830_183_803_8, 6.897_673_349_851e-1,
    1.481_039_764_274_800_8e-1, 1.519_866_656_361_645_7e-2, 5.475_938_084_995_345e-4, 1.050_750_071_644_416_9e-9,
];
#[rustfmt::skip]
const FAR: [f64; 8] = [
    6.657_904_643_501_103, 5.463_784_911_164_114, 1.784_826_539_917_291_3, 2.965_605_718_285_048_7e-1,
    2.653_218_952_657_612_4e-2, 1.242_660_947_388_078_4e-3, 2.711_555_568_743_487_6e-5,
    2.010_334_399_292_288_1e-7,
];
#[rustfmt::skip]
const FAR_BELOW: [f64; 8] = [
    1.0, 5.998_322_065_558_88e-1, 1.369_298_809_227_358e-1, 1.487_536_129_085_061_5e-2,
    7.868_691_311_456_133e-4, 1.846_318_317_510_054_8e-5, 1.421_511_758_316_446e-7, 2.044_263_103_389_939_8e-15,
];

/// Squared Mahalanobis distance dᵀ C⁻¹ d.
pub fn squared_distance<const N: usize>(
    d: &SVector<f64, N>,
    cov: &SMatrix<f64, N, N>,
) -> Result<f64, NotPositiveDefinite> {
    let factor = factor(cov)?;
    Ok(factor.whiten(d).norm_squared())
}

/// ln N(d; 0, C), natural logarithm, density per unit volume of d.
pub fn log_normal_density<const N: usize>(
    d: &SVector<f64, N>,
    cov: &SMatrix<f64, N, N>,
) -> Result<f64, NotPositiveDefinite> {
    log_weighted_density(1.0, d, cov)
}

/// ln (w N(d; 0, C)).
pub(super) fn log_weighted_density<const N: usize>(
    weight: f64,
    d: &SVector<f64, N>,
    cov: &SMatrix<f64, N, N>,
) -> Result<f64, NotPositiveDefinite> {
    if let Some((root_determinant, distance)) = root_and_distance(d, cov) {
        return Ok(libm::log(weight / root_determinant) - 0.5 * (distance + N as f64 * LN_TAU));
    }
    let factor = factor(cov)?;
    let log_density = -0.5 * factor.whiten(d).norm_squared() - factor.log_root_determinant();
    Ok(libm::log(weight) + log_density - 0.5 * N as f64 * LN_TAU)
}

/// √det C and dᵀ C⁻¹ d, the innermost step of every mixture, in one pass over the lower triangle; `None` where something
/// would have to be added to the diagonal.
pub(super) fn root_and_distance<const N: usize>(
    d: &SVector<f64, N>,
    cov: &SMatrix<f64, N, N>,
) -> Option<(f64, f64)> {
    let (mut l, mut white) = ([[0.0; N]; N], [0.0; N]);
    let (mut distance, mut root_determinant) = (0.0, 1.0);
    for i in 0..N {
        for j in 0..i {
            let below: f64 = (0..j).map(|k| l[i][k] * l[j][k]).sum();
            l[i][j] = (cov[(i, j)] - below) / l[j][j];
        }
        let square = cov[(i, i)] - l[i][..i].iter().map(|v| v * v).sum::<f64>();
        if !(square > 0.0 && square.is_finite()) {
            return None;
        }
        l[i][i] = square.sqrt();
        let before: f64 = (0..i).map(|k| l[i][k] * white[k]).sum();
        white[i] = (d[i] - before) / l[i][i];
        distance += white[i] * white[i];
        root_determinant *= l[i][i];
    }
    Some((root_determinant, distance))
}

/// P(χ² with `dof` degrees of freedom ≤ x); NaN unless `dof` > 0.
pub fn chi_squared_cdf(x: f64, dof: f64) -> f64 {
    ChiSquared::new(dof).map_or(f64::NAN, |law| law.cdf(x))
}

/// The value that χ² with `dof` degrees of freedom stays below with probability p in 0..1; NaN unless
/// `dof` > 0 and p lies there.
pub fn chi_squared_quantile(p: f64, dof: f64) -> f64 {
    quantile_of(ChiSquared::new(dof).ok(), p)
}

/// The value that Student's t with `dof` degrees of freedom stays below with probability p in 0..1; NaN
/// unless `dof` > 0 and p lies there.
pub fn student_t_quantile(p: f64, dof: f64) -> f64 {
    quantile_of(StudentsT::new(0.0, 1.0, dof).ok(), p)
}

fn quantile_of<L: ContinuousCDF<f64, f64>>(law: Option<L>, p: f64) -> f64 {
    match law {
        Some(law) if p > 0.0 && p < 1.0 => law.inverse_cdf(p),
        _ => f64::NAN,
    }
}

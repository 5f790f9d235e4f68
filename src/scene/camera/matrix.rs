//! The matrix from balanced raw to linear sRGB, fitted on the 24-patch chart.

use crate::color::linear_srgb_from_lab_in_d50;
use crate::scene::spectrum::Spectrum;
use crate::scene::tables::chart;
use crate::scene::truth::lab_in_d50_of;

use super::balance::Gains;

/// Least squares over the patches under the maker's light, each row adding up to 1. Patches weigh as in
/// a cube root (dark ones more), so that the error is about even in lightness.
pub fn fitted_on_chart(sensitivities: &[Spectrum; 3], light: &Spectrum) -> [[f64; 3]; 3] {
    let raw = |reflectance: &Spectrum| {
        let stimulus = light.times(reflectance);
        sensitivities.each_ref().map(|curve| curve.dot(&stimulus))
    };
    let gains = Gains::from_neutral(raw(&Spectrum::flat(1.0)));
    let patches: Vec<([f64; 3], [f64; 3], f64)> = chart()
        .iter()
        .map(|patch| {
            let lab = lab_in_d50_of(patch);
            let weight = libm::pow(0.02 + libm::pow((lab.l + 16.0) / 116.0, 3.0), -4.0 / 3.0);
            (gains.applied(raw(patch)), linear_srgb_from_lab_in_d50(lab), weight)
        })
        .collect();
    [0, 1, 2].map(|row| fitted_row(&patches, row))
}

/// One row (p, q, 1 − p − q): the constraint put in, two unknowns are left and solved by Cramer's rule.
fn fitted_row(patches: &[([f64; 3], [f64; 3], f64)], row: usize) -> [f64; 3] {
    let (mut uu, mut uv, mut vv, mut ut, mut vt) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for (balanced, target, weight) in patches {
        let u = balanced[0] - balanced[2];
        let v = balanced[1] - balanced[2];
        let t = target[row] - balanced[2];
        uu += weight * u * u;
        uv += weight * u * v;
        vv += weight * v * v;
        ut += weight * u * t;
        vt += weight * v * t;
    }
    let determinant = uu * vv - uv * uv;
    let p = (ut * vv - vt * uv) / determinant;
    let q = (uu * vt - uv * ut) / determinant;
    [p, q, 1.0 - p - q]
}

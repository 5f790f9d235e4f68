//! The matrix from balanced raw to linear sRGB, fitted on the 24-patch chart.

use super::balance::Gains;
use crate::color::{Lab, linear_srgb_from_lab_in_d50};
use crate::scene::spectrum::Spectrum;
use crate::scene::tables::{Illuminant, chart};
use crate::scene::truth::{xyz_of_light, xyz_under};

/// Least squares over the patches under the maker's light, row by row in XYZ over its white under D50, each row
/// adding up to 1. Residuals weigh by the slope of Lab's cube root, so that they are about even in Lab.
pub fn fitted_on_chart(sensitivities: &[Spectrum; 3], light: &Spectrum) -> [[f64; 3]; 3] {
    let raw = |reflectance: &Spectrum| {
        let stimulus = light.times(reflectance);
        sensitivities.each_ref().map(|curve| curve.dot(&stimulus))
    };
    let gains = Gains::from_white(raw(&Spectrum::flat(1.0)));
    let day = Illuminant::D50.spectrum();
    let white = xyz_of_light(day);
    let patches: Vec<([f64; 3], [f64; 3])> = chart()
        .iter()
        .map(|patch| {
            let xyz = xyz_under(day, patch);
            (gains.applied(raw(patch)), std::array::from_fn(|axis| xyz[axis] / white[axis]))
        })
        .collect();
    let to_xyz = [0, 1, 2].map(|row| fitted_row(&patches, row));
    let to_srgb = srgb_of_unit_xyz();
    std::array::from_fn(|row| {
        let entries: [f64; 3] =
            std::array::from_fn(|column| (0..3).map(|k| to_srgb[k][row] * to_xyz[k][column]).sum());
        // The published sRGB matrices round white by 1e-7; a neutral has to stay one.
        let sum: f64 = entries.iter().sum();
        entries.map(|entry| entry / sum)
    })
}

/// One row (p, q, 1 − p − q): the constraint put in, two unknowns are left and solved by Cramer's rule.
fn fitted_row(patches: &[([f64; 3], [f64; 3])], row: usize) -> [f64; 3] {
    let (mut uu, mut uv, mut vv, mut ut, mut vt) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for (balanced, target) in patches {
        let weight = libm::pow(target[row] + 0.01, -4.0 / 3.0);
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

/// Linear sRGB of X/Xn, Y/Yn and Z/Zn under D50 being 1 each alone; the way is linear, so these are the columns
/// of its matrix.
fn srgb_of_unit_xyz() -> [[f64; 3]; 3] {
    // Lab's function of 1 and of 0.
    const ZERO: f64 = 4.0 / 29.0;
    [[1.0, ZERO, ZERO], [ZERO, 1.0, ZERO], [ZERO, ZERO, 1.0]].map(|[fx, fy, fz]| {
        linear_srgb_from_lab_in_d50(Lab::new(116.0 * fy - 16.0, 500.0 * (fx - fy), 200.0 * (fy - fz)))
    })
}

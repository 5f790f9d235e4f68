//! What a measuring instrument would say: XYZ of a light and Lab D50 of a reflectance.
//!
//! Truth in Lab D50 is the reflectance under CIE D50 itself, not an adaptation from another light.

use super::Lab;
use super::cie::{Illuminant, observer};
use super::spectrum::Spectrum;

/// XYZ of a reflectance under a light, scaled so that the perfect white under it has Y = 1 (CIE 15, sums
/// over 5 nm).
pub fn xyz_under(light: &Spectrum, reflectance: &Spectrum) -> [f64; 3] {
    let [x, y, z] = observer();
    let scale = 1.0 / light.dot(y);
    let stimulus = light.times(reflectance);
    [x, y, z].map(|curve| stimulus.dot(curve) * scale)
}

/// XYZ of a light itself, Y = 1.
pub fn xyz_of_light(light: &Spectrum) -> [f64; 3] {
    xyz_under(light, &Spectrum::flat(1.0))
}

/// CIE 1976 L\*a\*b\* of a reflectance under CIE D50 for the 2° observer. The white is D50 as summed on this
/// grid, so the perfect white is (100, 0, 0) exactly; it differs from the tabulated white by 1e-5.
pub fn lab_in_d50_of(reflectance: &Spectrum) -> Lab {
    let light = Illuminant::D50.spectrum();
    let white = xyz_of_light(light);
    let xyz = xyz_under(light, reflectance);
    let [fx, fy, fz] = [0, 1, 2].map(|axis| cube_root_or_line(xyz[axis] / white[axis]));
    Lab::new(116.0 * fy - 16.0, 500.0 * (fx - fy), 200.0 * (fy - fz))
}

/// The function f(t) of CIE 15, equations 8.6 to 8.11.
fn cube_root_or_line(t: f64) -> f64 {
    const DELTA: f64 = 6.0 / 29.0;
    if t > DELTA * DELTA * DELTA { libm::cbrt(t) } else { t / (3.0 * DELTA * DELTA) + 4.0 / 29.0 }
}

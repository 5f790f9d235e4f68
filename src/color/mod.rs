//! Colour: CIE 1976 L\*a\*b\* under D50 for the 2° observer is the only space in which results are stated.
//!
//! Spectra of light and reflectances, the CIE's observer and illuminants lead here too ([`tristimulus`]).
//! Conversions and CIEDE2000 are those of the `palette` crate; this room pins the white points, the
//! adaptation and the argument order once, so that no other room chooses them again.
//!
//! White points are those of ASTM E308 as X, Y = 1, Z: D50 0.96422, 0.82521; D65 0.95047, 1.08883; the
//! sRGB matrix is the seven-digit one of the primaries of IEC 61966-2-1 under that D65. The four-digit
//! matrix and chromaticities of the standard itself give Lab values that differ by up to 0.03.

mod adapt;
#[cfg(test)]
mod checks;
pub mod cie;
mod convert;
mod difference;
mod local_metric;
mod pixels;
pub mod spectrum;
pub mod tristimulus;

pub use adapt::{Illuminant, lab_in_d50_from_lab, lab_in_d50_from_xyz};
pub use convert::{
    lab_in_d50_from_linear_srgb, linear_srgb_from_lab_in_d50, srgb_decode, srgb_encode, to_srgb8,
};
pub use difference::ciede2000;
pub use local_metric::LocalMetric;
pub use pixels::linear_srgb_to_lab_in_d50;

/// CIE 1976 L\*a\*b\*, D50, 2° observer; L\* in 0..=100, a\* and b\* unbounded.
pub type Lab = palette::Lab<palette::white_point::D50, f64>;

/// Lab as a column `[L*, a*, b*]`, for covariances.
pub fn column_of(lab: Lab) -> nalgebra::Vector3<f64> {
    nalgebra::Vector3::new(lab.l, lab.a, lab.b)
}

/// The inverse of [`column_of`].
pub fn lab_of(column: nalgebra::Vector3<f64>) -> Lab {
    Lab::new(column[0], column[1], column[2])
}

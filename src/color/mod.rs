//! Colour: CIE 1976 L\*a\*b\* under D50 for the 2° observer is the only space in which results are stated.
//!
//! Conversions and CIEDE2000 are those of the `palette` crate; this room pins the white points, the
//! adaptation and the argument order once, so that no other room chooses them again.

mod convert;
mod difference;

pub use convert::{
    lab_in_d50_from_linear_srgb, linear_srgb_from_lab_in_d50, srgb_decode, srgb_encode, to_srgb8,
};
pub use difference::ciede2000;

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

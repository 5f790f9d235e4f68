//! Linear sRGB ↔ Lab D50, and the sRGB transfer curve.

use palette::chromatic_adaptation::AdaptIntoUnclamped;
use palette::convert::{FromColorUnclamped, IntoColorUnclamped};
use palette::white_point::{D50, D65};
use palette::{LinSrgb, Xyz};

use super::Lab;

/// Lab D50 of a linear-light sRGB triple (1.0 = full scale; values outside 0..=1 are colours outside the
/// sRGB gamut and stay as they are). White D65 is adapted to D50 by Bradford's transform.
pub fn lab_in_d50_from_linear_srgb(rgb: [f64; 3]) -> Lab {
    let xyz: Xyz<D65, f64> = LinSrgb::new(rgb[0], rgb[1], rgb[2]).into_color_unclamped();
    let in_d50: Xyz<D50, f64> = xyz.adapt_into_unclamped();
    Lab::from_color_unclamped(in_d50)
}

/// The inverse of [`lab_in_d50_from_linear_srgb`]; nothing is clipped to the gamut.
pub fn linear_srgb_from_lab_in_d50(lab: Lab) -> [f64; 3] {
    let in_d50: Xyz<D50, f64> = lab.into_color_unclamped();
    let xyz: Xyz<D65, f64> = in_d50.adapt_into_unclamped();
    let rgb: LinSrgb<f64> = xyz.into_color_unclamped();
    [rgb.red, rgb.green, rgb.blue]
}

/// sRGB transfer curve (IEC 61966-2-1), coded 0..=1 → linear 0..=1; odd beyond.
pub fn srgb_decode(coded: f64) -> f64 {
    let v = coded.abs();
    let linear = if v <= 0.04045 { v / 12.92 } else { libm::pow((v + 0.055) / 1.055, 2.4) };
    linear.copysign(coded)
}

/// The inverse of [`srgb_decode`].
pub fn srgb_encode(linear: f64) -> f64 {
    let v = linear.abs();
    let coded = if v <= 0.003_130_8 { v * 12.92 } else { 1.055 * libm::pow(v, 1.0 / 2.4) - 0.055 };
    coded.copysign(linear)
}

/// A colour for the screen or a picture file: 8-bit sRGB, clipped to the gamut. Never measured from.
pub fn to_srgb8(lab: Lab) -> [u8; 3] {
    linear_srgb_from_lab_in_d50(lab).map(|v| (srgb_encode(v.clamp(0.0, 1.0)) * 255.0).round() as u8)
}

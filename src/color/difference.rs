//! CIEDE2000.

use palette::color_difference::Ciede2000;

use super::Lab;

/// CIEDE2000 colour difference of two colours, with k_L = k_C = k_H = 1.
///
/// Symmetric, 0 for equal colours. It has steps of up to 0.27 between colours closer than 5 units that
/// lie on opposite sides of the grey axis (Sharma, Wu and Dalal 2005), so it is evaluated, never
/// linearised, near neutral.
pub fn ciede2000(a: Lab, b: Lab) -> f64 {
    a.difference(b)
}

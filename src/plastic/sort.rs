//! Sorting pixels into matt body, glare (or another colour) and dark.

use nalgebra::Vector3;

/// The robust middle of an area's pixels, in linear-light sRGB.
#[derive(Debug, Clone, Copy)]
pub(super) struct Middle {
    /// Median of red + green + blue.
    pub luminance: f64,
    /// Median absolute deviation × 1.4826 of the natural logarithm of luminance.
    pub shading: f64,
    /// Unit-sum body chromaticity.
    body: Vector3<f64>,
    /// Unit-sum chromaticity of the lamp.
    white: Vector3<f64>,
    /// Typical distance of a matt pixel's chromaticity from `body`.
    spread: f64,
}

/// What a pixel shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    Matt,
    /// Surface light of the lamp, or anything else that is not the body's colour.
    Glare,
    Dark,
}

/// Pixels below this share of the median luminance are shadow or a gap, not the part.
const DARK_SHARE: f64 = 0.4;
/// Pixels above this share of the median luminance are glare whatever their colour: on grey plastic the
/// lamp's white has the body's own chromaticity.
const BRIGHT_SHARE: f64 = 1.9;
/// Robust standard deviations within which a pixel counts as the body's own colour.
const BODY_WIDTH: f64 = 3.0;
/// Chromaticity units (share of red + green + blue) below which no spread is believed: 8-bit steps alone
/// make this much on a dark part.
const LEAST_SPREAD: f64 = 0.004;

/// The robust middle of some pixels; `pixels` must not be empty.
pub(super) fn middle_of(pixels: &[Vector3<f64>], white: Vector3<f64>) -> Middle {
    let luminance = median(pixels.iter().map(|p| p.sum()).collect()).max(f64::MIN_POSITIVE);
    // Shadow and glare both have tails; the body is what lies between.
    let fair: Vec<&Vector3<f64>> = pixels
        .iter()
        .filter(|p| p.sum() > DARK_SHARE * luminance && p.sum() < BRIGHT_SHARE * luminance)
        .collect();
    let chroma = |axis: usize| median(fair.iter().map(|p| p[axis] / p.sum()).collect());
    let body = Vector3::new(chroma(0), chroma(1), chroma(2));
    let body = body / body.sum();
    let spread = 1.4826 * median(fair.iter().map(|p| (*p / p.sum() - body).norm()).collect());
    let logs: Vec<f64> = fair.iter().map(|p| libm::log(p.sum() / luminance)).collect();
    let middle_log = median(logs.clone());
    let shading = 1.4826 * median(logs.iter().map(|v| (v - middle_log).abs()).collect());
    Middle { luminance, shading, body, white: white / white.sum(), spread: spread.max(LEAST_SPREAD) }
}

/// Sorts one pixel by the middle of its area.
pub(super) fn sort_pixel(pixel: &Vector3<f64>, middle: &Middle) -> Kind {
    let luminance = pixel.sum();
    if luminance < DARK_SHARE * middle.luminance {
        return Kind::Dark;
    }
    if luminance > BRIGHT_SHARE * middle.luminance {
        return Kind::Glare;
    }
    let off = pixel / luminance - middle.body;
    // Noise in chromaticity grows as a pixel gets darker.
    let allowed = BODY_WIDTH * middle.spread * (middle.luminance / luminance).max(1.0);
    if off.norm() > allowed {
        return Kind::Glare;
    }
    // Towards white and brighter than the middle: the foot of a highlight, judged more strictly.
    let to_white = middle.white - middle.body;
    let length = to_white.norm();
    if length > 0.03 && luminance > 1.1 * middle.luminance && off.dot(&to_white) / length > 0.5 * allowed {
        return Kind::Glare;
    }
    Kind::Matt
}

/// Median; the upper of the two middle values for an even count, 0 for none.
fn median(mut values: Vec<f64>) -> f64 {
    if values.is_empty() {
        return 0.0;
    }
    let middle = values.len() / 2;
    *values.select_nth_unstable_by(middle, f64::total_cmp).1
}

//! Reading one area.

use nalgebra::{Matrix2, Matrix3, Matrix3x2, Vector2, Vector3};

use super::PixelCounts;
use super::sort::{Kind, middle_of, sort_pixel};
use crate::raster::{Raster, Shape, ShapeProblem, Span};

/// How an area is read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AreaOptions {
    /// How far the edge of the area is taken off where its size allows, in pixels.
    pub inset_px: f64,
    /// Linear-light sRGB direction of the lamp's white in this photo; glare pulls towards it.
    pub white: [f64; 3],
}

/// The body colour of one area.
#[derive(Debug, Clone, PartialEq)]
pub struct Area {
    /// Linear-light sRGB of the matt body at the area's median lightness, not yet levelled on any card.
    pub linear: Vector3<f64>,
    /// Covariance of `linear` from the scatter of the pixels.
    pub linear_cov: Matrix3<f64>,
    /// Robust standard deviation of the natural logarithm of luminance over the used pixels: how far
    /// shading varied.
    pub shading: f64,
    /// How the colour of the light changes across the area: covariance, over the used pixels, of the relative light of red,
    /// green and blue that a place in the area explains, shading taken out. See [`tint_across`].
    pub tint: Matrix3<f64>,
    /// Centre of the shape in pixels.
    pub centre_px: [f64; 2],
    /// What became of the pixels.
    pub pixels: PixelCounts,
    /// How far the edge was taken off in the end, in pixels.
    pub inset_px: f64,
}

/// Why an area gives no colour.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum AreaProblem {
    /// The shape itself is wrong.
    #[error(transparent)]
    Shape(#[from] ShapeProblem),
    /// Fewer than [`MIN_USED_PIXELS`] pixels were left.
    #[error(
        "leaves only {used} usable pixels of {inside} ({clipped} clipped, {dark} too dark, {glare} glare)",
        used = .0.used, inside = .0.inside, clipped = .0.clipped, dark = .0.dark, glare = .0.glare
    )]
    TooFewPixels(PixelCounts),
}

/// With fewer pixels there is no robust middle.
pub const MIN_USED_PIXELS: usize = 9;

/// At most this many pixels, evenly spread, give the robust middle; all pixels are then sorted by it.
const MIDDLE_SAMPLE: usize = 4096;

/// Neighbouring pixels share the camera's demosaicing, its noise reduction and JPEG's 8×8 blocks, so that
/// this many count as one independent look. From memory; deliberately on the safe side.
const PIXELS_PER_INDEPENDENT_LOOK: f64 = 64.0;

/// Reads the body colour of an area.
///
/// # Errors
/// [`AreaProblem`] where the shape cannot be read on this picture or leaves too few pixels.
pub fn read_area(raster: &Raster, shape: &Shape, options: &AreaOptions) -> Result<Area, AreaProblem> {
    shape.check(raster.width(), raster.height())?;
    // Never more than 40 % of the inner radius: a third of the area stays even in a narrow limb.
    let inset_px = options.inset_px.min(0.4 * shape.inner_radius_px());
    let whole = shape.spans(raster.width(), raster.height(), 0.0);
    let spans = shape.spans(raster.width(), raster.height(), inset_px);
    let mut counts = PixelCounts { inside: pixels_in(&whole), ..PixelCounts::default() };
    let mut usable: Vec<([f64; 2], Vector3<f64>)> = Vec::with_capacity(pixels_in(&spans));
    for (x, y) in spans.iter().flat_map(|span| (span.x_start..span.x_end).map(|x| (x, span.y))) {
        if raster.is_clipped(x, y) || !raster.is_opaque(x, y) {
            counts.clipped += 1;
        } else {
            usable.push(([f64::from(x), f64::from(y)], Vector3::from(raster.linear_at(x, y).map(f64::from))));
        }
    }
    if usable.len() < MIN_USED_PIXELS {
        counts.used = usable.len();
        return Err(AreaProblem::TooFewPixels(counts));
    }
    let stride = usable.len().div_ceil(MIDDLE_SAMPLE);
    let sample: Vec<Vector3<f64>> = usable.iter().step_by(stride).map(|(_, pixel)| *pixel).collect();
    let middle = middle_of(&sample, Vector3::from(options.white));
    let (mut matt, mut places) = (Vec::with_capacity(usable.len()), Vec::with_capacity(usable.len()));
    for (place, pixel) in usable {
        match sort_pixel(&pixel, &middle) {
            Kind::Matt => {
                matt.push(pixel);
                places.push(place);
            }
            Kind::Glare => counts.glare += 1,
            Kind::Dark => counts.dark += 1,
        }
    }
    counts.used = matt.len();
    if counts.used < MIN_USED_PIXELS {
        return Err(AreaProblem::TooFewPixels(counts));
    }
    let looks = looks_of(matt.len());
    let tint = tint_across(&places, &matt, looks);
    let (linear, linear_cov) = levelled(&matt, middle.luminance, looks);
    let centre_px = shape.centre();
    Ok(Area { linear, linear_cov, shading: middle.shading, tint, centre_px, pixels: counts, inset_px })
}

fn pixels_in(spans: &[Span]) -> usize {
    spans.iter().map(|span| (span.x_end - span.x_start) as usize).sum()
}

/// Independent looks that so many pixels are.
fn looks_of(pixels: usize) -> f64 {
    (pixels as f64 / PIXELS_PER_INDEPENDENT_LOOK).max(1.0)
}

/// How the colour of the light changes across an area: pixels c at places p, each c brought to the same luminance, are
/// written as c̄ (1 + G (p − p̄)) by least squares in each channel. G cov(p) Gᵀ is what that explains of the pixels, less what
/// two coefficients explain of noise alone in so many independent `looks`; it may so become negative.
///
/// Where a surface turns between two lamps of different colour, each of its sides has another mixture of them, and so has
/// its middle beside a card that lies flat. Zero where fewer than [`MIN_USED_PIXELS`] pixels or no place is told.
pub(crate) fn tint_across(places: &[[f64; 2]], pixels: &[Vector3<f64>], looks: f64) -> Matrix3<f64> {
    let n = pixels.len() as f64;
    if pixels.len() < MIN_USED_PIXELS {
        return Matrix3::zeros();
    }
    let share = |pixel: &Vector3<f64>| pixel / pixel.sum();
    let mean = pixels.iter().map(share).sum::<Vector3<f64>>() / n;
    let middle = places.iter().map(|p| Vector2::from(*p)).sum::<Vector2<f64>>() / n;
    let (mut spread, mut moved, mut scatter) = (Matrix2::zeros(), Matrix3x2::zeros(), Matrix3::zeros());
    for (place, pixel) in places.iter().zip(pixels) {
        let away = Vector2::from(*place) - middle;
        let off = (share(pixel) - mean).component_div(&mean);
        spread += away * away.transpose();
        moved += off * away.transpose();
        scatter += off * off.transpose();
    }
    // G = moved · spread⁻¹, so that G cov(p) Gᵀ = moved · spread⁻¹ · movedᵀ / n.
    let explained = |inverse| moved * inverse * moved.transpose() / n;
    let explained = spread.try_inverse().map_or_else(Matrix3::zeros, explained);
    explained - (scatter / n - explained) * (2.0 / looks)
}

/// Mean of matt pixels brought to one `luminance` (red + green + blue), with its covariance if so many of them
/// count as independent `looks`; `matt` must not be empty.
///
/// Scaling every pixel takes the shading out of the mean. What scatter is left across the body's direction is
/// noise; it is taken to be as large along it, where shading hides it. How far the shading of the place stands
/// for the part is another matter: [`Area::shading`] and the light model's angle of the surface.
pub(crate) fn levelled(matt: &[Vector3<f64>], luminance: f64, looks: f64) -> (Vector3<f64>, Matrix3<f64>) {
    let n = matt.len() as f64;
    let level = |pixel: &Vector3<f64>| pixel * (luminance / pixel.sum());
    let linear = matt.iter().map(level).sum::<Vector3<f64>>() / n;
    let off = |pixel: &Vector3<f64>| level(pixel) - linear;
    let scatter = matt.iter().map(off).map(|rest| rest * rest.transpose()).sum::<Matrix3<f64>>() / n;
    let body = linear.normalize();
    (linear, (scatter + body * body.transpose() * (0.5 * scatter.trace())) / looks)
}

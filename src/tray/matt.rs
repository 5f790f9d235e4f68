//! The place on a part where its plastic can be read.

use super::cutout::outline_of;
use super::mask::{self, Size};
use crate::raster::Shape;

/// So deep, as a share of the greatest depth around, is the ridge. Should the outline of the first strip touch itself, the
/// narrower one is taken.
const RIDGE_SHARES: [f32; 2] = [0.45, 0.65];
/// Specks so far from matt plastic do not interrupt the strip; it runs past anything wider, for in glare of half its
/// width reading could not tell which is the plastic.
const SPECK_PX: f32 = 1.0;
const LEAST_PX: usize = 9;

/// Outline of a strip of bare, matt plastic along the ridge of the part; `None` where paint, glare and shade leave none.
///
/// Halfway between its sides a part faces the camera, on all parts alike, while a flank turned to the lamp is up to a
/// fifth brighter. The strip runs along the whole length: one spot on the ridge may be tilted or shine, and over its
/// length much of that cancels.
pub(super) fn matt_place(
    own: &[bool],
    light: &[f32],
    tint: &[[f32; 2]],
    size: Size,
) -> Option<Vec<[f64; 2]>> {
    let inner = mask::depth(own, size);
    let deepest = inner.iter().copied().fold(0.0, f32::max);
    let around = mask::ranged(&inner, size, libm::roundf(deepest) as usize, f32::max);
    let matt = matt_pixels(&inner, light, tint)?;
    let off: Vec<bool> = matt.iter().map(|matt| !matt).collect();
    let off_by = mask::depth(&off, size);
    RIDGE_SHARES.into_iter().find_map(|share| {
        let on_ridge = |n: usize| inner[n] > 1.5 && inner[n] > share * around[n] && off_by[n] <= SPECK_PX;
        let ridge: Vec<bool> = (0..own.len()).map(on_ridge).collect();
        let strip = mask::largest(&mask::opened(&ridge, size), size);
        let outline = outline_of(&strip, size);
        let is_sound = Shape::Polygon(outline.clone()).check(size.width as u32, size.height as u32).is_ok();
        let bare = strip.iter().zip(&matt).filter(|(on, matt)| **on && **matt).count();
        (is_sound && bare >= LEAST_PX).then_some(outline)
    })
}

/// Bare, lit, matt plastic. Paint and glare have another tint than most of the part; deep shade is noisy and takes colour
/// from what is beside it.
fn matt_pixels(inner: &[f32], light: &[f32], tint: &[[f32; 2]]) -> Option<Vec<bool>> {
    const TINT_NEAR: f32 = 0.16;
    const DARKER: f32 = 0.75;
    const LIGHTER: f32 = 0.22;
    let core: Vec<usize> = (0..inner.len()).filter(|n| inner[*n] > 2.0).collect();
    if core.len() < 12 {
        return None;
    }
    let middle = |value: &dyn Fn(usize) -> f32, share: f64| {
        let mut values: Vec<f32> = core.iter().map(|n| value(*n)).collect();
        let at = ((values.len() - 1) as f64 * share) as usize;
        *values.select_nth_unstable_by(at, f32::total_cmp).1
    };
    let [red, blue] = [0, 1].map(|axis| middle(&|n| tint[n][axis], 0.5));
    let lit = middle(&|n| light[n], 0.75);
    let is_matt = |n: usize| {
        inner[n] > 1.5
            && libm::hypotf(tint[n][0] - red, tint[n][1] - blue) < TINT_NEAR
            && light[n] > lit - DARKER
            && light[n] < lit + LIGHTER
    };
    Some((0..inner.len()).map(is_matt).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A bar whose upper flank shines and whose right end is painted: read along its middle, past both.
    #[test]
    fn the_strip_runs_along_the_ridge_beside_glare_and_short_of_paint() {
        let size = Size { width: 140, height: 44 };
        let at = |n: usize| size.centre(n);
        let own: Vec<bool> = (0..size.pixels())
            .map(|n| at(n)[0] > 10.0 && at(n)[0] < 130.0 && (at(n)[1] - 22.0).abs() < 14.0)
            .collect();
        let shines = |n: usize| (12.0..19.0).contains(&at(n)[1]);
        let painted = |n: usize| at(n)[0] > 105.0;
        let light: Vec<f32> = (0..own.len()).map(|n| if shines(n) { 0.5 } else { 0.0 }).collect();
        let tint_of = |n: usize| match (painted(n), shines(n)) {
            (true, _) => [0.9, 0.2],
            (false, true) => [-0.35, -0.12],
            (false, false) => [-0.6, -0.2],
        };
        let tint: Vec<[f32; 2]> = (0..own.len()).map(tint_of).collect();
        let strip = Shape::Polygon(matt_place(&own, &light, &tint, size).unwrap());
        let pixels = strip.spans(140, 44, 0.0);
        assert!(pixels.iter().all(|span| span.y >= 18 && span.x_end <= 108), "{pixels:?}");
        assert!(strip.contains([25.0, 22.0]) && strip.contains([100.0, 22.0]), "{strip:?}");
        let all_paint = vec![[0.9, 0.2]; own.len()];
        let shining = vec![0.0; own.len()];
        assert!(matt_place(&own, &shining, &all_paint, size).is_some(), "all of one tint is plastic");
        let thin: Vec<bool> = (0..own.len()).map(|n| own[n] && at(n)[1] < 11.0).collect();
        assert!(matt_place(&thin, &light, &tint, size).is_none());
    }
}

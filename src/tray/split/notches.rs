//! A piece that is too wide for one part, cut straight between two notches of its outline.
//!
//! Two limbs that touch leave a notch on either side of the place where they do (the concave points at which touching
//! blobs are commonly cut; common practice, no source).

use super::labels::{grown, solidity};
use super::seams::LEAST_SIDE_SHARE;
use crate::card::hull_of;
use crate::tray::cutout::outline_of;
use crate::tray::mask::{Size, spots};

/// A notch is at least so many pixels deep.
const LEAST_DEPTH_PX: f64 = 3.0;
/// The deepest notches that are tried with each other.
const MOST_NOTCHES: usize = 10;
/// So much of the line between two notches has to lie inside the piece.
const LEAST_INSIDE: f64 = 0.8;
/// Two halves have to fill their hulls by so much more than the whole filled its own.
const LEAST_GAIN: f64 = 0.10;

/// The two halves on either side of the best line between two notches, where that makes both plainly fuller.
pub(in crate::tray) fn notch_halves(inside: &[bool], size: Size, least_px: f64) -> Option<[Vec<bool>; 2]> {
    let notches = notches(&outline_of(inside, size));
    let whole: Vec<u8> = inside.iter().map(|inside| u8::from(*inside)).collect();
    let united = solidity(&whole, &[1], size);
    let area = inside.iter().filter(|inside| **inside).count() as f64;
    let least = least_px.max(LEAST_SIDE_SHARE * area);
    let mut best: Option<(f64, Vec<u8>)> = None;
    for (n, a) in notches.iter().enumerate() {
        for b in &notches[n + 1..] {
            let Some(label) = cut(inside, [*a, *b], size, least) else { continue };
            let areas = [1, 2].map(|piece| label.iter().filter(|l| **l == piece).count() as f64);
            let hulls = areas[0] / solidity(&label, &[1], size) + areas[1] / solidity(&label, &[2], size);
            let filled = (areas[0] + areas[1]) / hulls;
            if best.as_ref().is_none_or(|best| filled > best.0) {
                best = Some((filled, label));
            }
        }
    }
    let (_, label) = best.filter(|best| best.0 >= united + LEAST_GAIN)?;
    Some([1, 2].map(|piece| label.iter().map(|l| *l == piece).collect()))
}

/// Corners of the outline that lie deepest inside its hull, each deeper than those beside it.
fn notches(outline: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let hull = hull_of(outline);
    let depth = |p: &[f64; 2]| {
        let edges = hull.iter().zip(hull.iter().cycle().skip(1));
        edges.map(|(a, b)| away(*p, *a, *b)).fold(f64::INFINITY, f64::min)
    };
    let depths: Vec<f64> = outline.iter().map(depth).collect();
    let n = outline.len();
    let mut found: Vec<(f64, [f64; 2])> = (0..n)
        .filter(|i| {
            let [before, after] = [depths[(i + n - 1) % n], depths[(i + 1) % n]];
            depths[*i] >= LEAST_DEPTH_PX && depths[*i] >= before && depths[*i] >= after
        })
        .map(|i| (depths[i], outline[i]))
        .collect();
    found.sort_by(|p, q| q.0.total_cmp(&p.0));
    found.truncate(MOST_NOTCHES);
    found.into_iter().map(|(_, p)| p).collect()
}

/// The two pieces that a line leaves, as labels 1 and 2; `None` where it runs outside or leaves too little.
fn cut(inside: &[bool], [a, b]: [[f64; 2]; 2], size: Size, least_px: f64) -> Option<Vec<u8>> {
    const STEPS: usize = 24;
    let is_inside = |n: &usize| {
        let t = (*n as f64 + 0.5) / STEPS as f64;
        let [x, y] = [0, 1].map(|axis| a[axis] + t * (b[axis] - a[axis]));
        let (x, y) = (x.max(0.0) as usize, y.max(0.0) as usize);
        x < size.width && y < size.height && inside[y * size.width + x]
    };
    if ((0..STEPS).filter(is_inside).count() as f64) < LEAST_INSIDE * STEPS as f64 {
        return None;
    }
    let clear: Vec<bool> = (0..inside.len()).map(|i| inside[i] && away(size.centre(i), a, b) > 1.0).collect();
    let mut pieces = spots(&clear, size);
    pieces.sort_by_key(|piece| std::cmp::Reverse(piece.len()));
    pieces.truncate(2);
    if pieces.len() < 2 || pieces.iter().any(|piece| (piece.len() as f64) < least_px) {
        return None;
    }
    Some(grown(inside, &pieces, size).0)
}

/// Distance of a point to a line from one point to another.
fn away(p: [f64; 2], a: [f64; 2], b: [f64; 2]) -> f64 {
    let d = [b[0] - a[0], b[1] - a[1]];
    let length2 = (d[0] * d[0] + d[1] * d[1]).max(1e-9);
    let t = (((p[0] - a[0]) * d[0] + (p[1] - a[1]) * d[1]) / length2).clamp(0.0, 1.0);
    libm::hypot(p[0] - a[0] - t * d[0], p[1] - a[1] - t * d[1])
}

#[cfg(test)]
mod tests {
    use super::*;

    const SIZE: Size = Size { width: 120, height: 100 };

    fn bars(bars: &[([f64; 2], [f64; 2])]) -> Vec<bool> {
        let is_in = |i: usize| bars.iter().any(|(a, b)| away(SIZE.centre(i), *a, *b) < 8.0);
        (0..SIZE.pixels()).map(is_in).collect()
    }

    #[test]
    fn limbs_in_a_v_and_side_by_side_are_cut_and_one_bent_limb_is_not_halved_along_itself() {
        let v = bars(&[([25.0, 15.0], [52.0, 85.0]), ([95.0, 15.0], [66.0, 85.0])]);
        let halves = notch_halves(&v, SIZE, 200.0).unwrap();
        let count = |half: &[bool]| half.iter().filter(|on| **on).count() as f64;
        let (left, right) = (count(&halves[0]), count(&halves[1]));
        assert!((left / right - 1.0).abs() < 0.25, "{left} {right}");
        let one = bars(&[([20.0, 50.0], [100.0, 50.0])]);
        assert!(notch_halves(&one, SIZE, 200.0).is_none());
    }
}

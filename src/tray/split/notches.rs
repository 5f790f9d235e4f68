//! Straight cuts between two notches of an outline.
//!
//! Two limbs that touch leave a notch on either side of the place where they do (the concave points at which touching
//! blobs are commonly cut; common practice, no source).

use super::labels::{grown, solidity};
use super::seams::LEAST_SIDE_SHARE;
use crate::raster::Shape;
use crate::tray::mask::Size;

/// A notch is at least so many pixels deep.
const LEAST_DEPTH_PX: f64 = 1.5;
/// The deepest notches that are tried with each other.
const MOST_NOTCHES: usize = 14;
/// So many of the deepest are tried with all points of the outline.
const DEEPEST: usize = 4;
/// Points of an outline so far apart are enough.
const STEP_PX: usize = 3;
/// So much of the line between two notches has to lie inside the piece.
const LEAST_INSIDE: f64 = 0.8;
/// Two halves have to fill their hulls by so much more than the whole filled its own.
const LEAST_GAIN: f64 = 0.10;

/// An outline, closed.
pub(in crate::tray) type Outline = Vec<[f64; 2]>;

/// Where a line that cuts may end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::tray) enum Ends {
    /// In notches.
    Both,
    /// In a notch, and anywhere on the outline: one limb over another may hide the second notch.
    One,
}

/// All pairs of outlines that a line between two notches of an outline leaves, or from one of the deepest to anywhere.
/// `reach_px` is how far along the outline a notch is looked at.
pub(in crate::tray) fn notch_cuts(
    outline: &[[f64; 2]],
    inside: &[bool],
    size: Size,
    reach_px: f64,
    ends: Ends,
) -> Vec<[Outline; 2]> {
    let points = along(outline);
    let notches = notches(&points, reach_px);
    let pairs: Vec<[usize; 2]> = match ends {
        Ends::Both => {
            notches.iter().enumerate().flat_map(|(n, a)| notches[n + 1..].iter().map(|b| [*a, *b])).collect()
        }
        Ends::One => {
            let anywhere = || (0..points.len()).step_by(STEP_PX);
            notches.iter().take(DEEPEST).flat_map(|a| anywhere().map(|b| [*a, b])).collect()
        }
    };
    pairs
        .into_iter()
        .map(|[a, b]| [a.min(b), a.max(b)])
        .filter(|[a, b]| b - a > 2 && is_inside([points[*a], points[*b]], inside, size))
        .map(|[a, b]| [few(&points[a..=b]), few(&[&points[b..], &points[..=a]].concat())])
        .collect()
}

/// Every few points and the last: the same outline, and less to reckon with.
fn few(points: &[[f64; 2]]) -> Outline {
    points.iter().step_by(STEP_PX).chain(points.last()).copied().collect()
}

/// The pixels that belong to each of several outlines; those between them go to the nearest.
pub(in crate::tray) fn filled(outlines: &[Outline], inside: &[bool], size: Size) -> Vec<Vec<bool>> {
    let pixels = |outline: &Outline| {
        let spans = Shape::Polygon(outline.clone()).spans(size.width as u32, size.height as u32, 0.0);
        let row = |span: &crate::raster::Span| {
            let start = span.y as usize * size.width;
            start + span.x_start as usize..start + span.x_end as usize
        };
        spans.iter().flat_map(row).filter(|i| inside[*i]).collect::<Vec<usize>>()
    };
    let (label, count) = grown(inside, &outlines.iter().map(pixels).collect::<Vec<_>>(), size);
    (1..=count).map(|piece| label.iter().map(|l| usize::from(*l) == piece).collect()).collect()
}

/// The two halves on either side of the line between two notches that makes both fullest, where they are plainly fuller
/// than the whole was.
pub(in crate::tray) fn notch_halves(
    outline: &[[f64; 2]],
    inside: &[bool],
    size: Size,
    least_px: f64,
    reach_px: f64,
) -> Option<[Vec<bool>; 2]> {
    let area = inside.iter().filter(|inside| **inside).count() as f64;
    let least = least_px.max(LEAST_SIDE_SHARE * area);
    let whole: Vec<u8> = inside.iter().map(|inside| u8::from(*inside)).collect();
    let united = solidity(&whole, &[1], size);
    let best = notch_cuts(outline, inside, size, reach_px, Ends::Both)
        .into_iter()
        .filter_map(|cut| {
            let [a, b] = cut.each_ref().map(|half| [area_of(half), area_of(&crate::card::hull_of(half))]);
            (a[0].min(b[0]) >= least).then(|| ((a[0] + b[0]) / (a[1] + b[1]).max(1.0), cut))
        })
        .max_by(|p, q| p.0.total_cmp(&q.0));
    let (_, cut) = best.filter(|best| best.0 >= united + LEAST_GAIN)?;
    filled(&cut, inside, size).try_into().ok()
}

/// Area inside an outline.
pub(in crate::tray) fn area_of(outline: &[[f64; 2]]) -> f64 {
    let next = outline.iter().cycle().skip(1);
    0.5 * outline.iter().zip(next).map(|(p, q)| cross(*p, *q)).sum::<f64>().abs()
}

/// Places on the outline that lie deepest behind the line from a point before to a point after, the deepest first.
fn notches(points: &[[f64; 2]], reach_px: f64) -> Vec<usize> {
    let n = points.len();
    if n < 8 {
        return Vec::new();
    }
    let reach = (libm::round(reach_px) as usize).clamp(1, n / 4);
    let twice: f64 = (0..n).map(|i| cross(points[i], points[(i + 1) % n])).sum();
    let depth = |i: usize| {
        let [p, before, after] = [i, i + n - reach, i + reach].map(|i| points[i % n]);
        let chord = [after[0] - before[0], after[1] - before[1]];
        let off = cross(chord, [p[0] - before[0], p[1] - before[1]]);
        // Inside lies to one side all along.
        off / libm::hypot(chord[0], chord[1]).max(1e-9) * twice.signum()
    };
    let depths: Vec<f64> = (0..n).map(depth).collect();
    let is_deepest = |i: usize| {
        (1..=reach).all(|d| depths[(i + n - d) % n] < depths[i] && depths[i] >= depths[(i + d) % n])
    };
    let mut found: Vec<usize> = (0..n).filter(|i| depths[*i] >= LEAST_DEPTH_PX && is_deepest(*i)).collect();
    found.sort_by(|p, q| depths[*q].total_cmp(&depths[*p]));
    found.truncate(MOST_NOTCHES);
    found
}

/// Points a pixel apart along an outline.
fn along(outline: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let mut points = Vec::new();
    let mut left = 0.0;
    for (p, q) in outline.iter().zip(outline.iter().cycle().skip(1)) {
        let d = [q[0] - p[0], q[1] - p[1]];
        let length = libm::hypot(d[0], d[1]);
        while left < length {
            points.push([0, 1].map(|axis| p[axis] + d[axis] * left / length));
            left += 1.0;
        }
        left -= length;
    }
    points
}

fn cross(a: [f64; 2], b: [f64; 2]) -> f64 {
    a[0] * b[1] - a[1] * b[0]
}

/// Whether most of a line lies inside.
fn is_inside([a, b]: [[f64; 2]; 2], inside: &[bool], size: Size) -> bool {
    const STEPS: usize = 24;
    let at = |n: &usize| {
        let t = (*n as f64 + 0.5) / STEPS as f64;
        let [x, y] = [0, 1].map(|axis| a[axis] + t * (b[axis] - a[axis]));
        let (x, y) = (x.max(0.0) as usize, y.max(0.0) as usize);
        x < size.width && y < size.height && inside[y * size.width + x]
    };
    (0..STEPS).filter(at).count() as f64 >= LEAST_INSIDE * STEPS as f64
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tray::cutout::outline_of;

    const SIZE: Size = Size { width: 120, height: 100 };

    /// Distance of a point to a line from one point to another.
    fn away(p: [f64; 2], a: [f64; 2], b: [f64; 2]) -> f64 {
        let d = [b[0] - a[0], b[1] - a[1]];
        let length2 = (d[0] * d[0] + d[1] * d[1]).max(1e-9);
        let t = (((p[0] - a[0]) * d[0] + (p[1] - a[1]) * d[1]) / length2).clamp(0.0, 1.0);
        libm::hypot(p[0] - a[0] - t * d[0], p[1] - a[1] - t * d[1])
    }

    fn bars(bars: &[([f64; 2], [f64; 2])]) -> Vec<bool> {
        let is_in = |i: usize| bars.iter().any(|(a, b)| away(SIZE.centre(i), *a, *b) < 8.0);
        (0..SIZE.pixels()).map(is_in).collect()
    }

    #[test]
    fn limbs_in_a_v_and_side_by_side_are_cut_and_one_bent_limb_is_not_halved_along_itself() {
        let v = bars(&[([25.0, 15.0], [52.0, 85.0]), ([95.0, 15.0], [66.0, 85.0])]);
        let halved = |own: &[bool]| notch_halves(&outline_of(own, SIZE), own, SIZE, 200.0, 12.0);
        let halves = halved(&v).unwrap();
        let count = |half: &[bool]| half.iter().filter(|on| **on).count() as f64;
        let (left, right) = (count(&halves[0]), count(&halves[1]));
        assert!((left / right - 1.0).abs() < 0.25, "{left} {right}");
        let one = bars(&[([20.0, 50.0], [100.0, 50.0])]);
        assert!(halved(&one).is_none());
    }
}

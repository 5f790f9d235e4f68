//! Which two parts may be left and right of one figure: alike in size and plastic, and one the mirror image of the
//! other.
//!
//! A part that lies on its other face shows the mirror image of itself, so that this is a proposal to look at and
//! nothing more.

use super::parts::FoundPart;

/// Two parts, by their index, and how well the outline of one covers the mirrored other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pair {
    /// Index of one part.
    pub a: usize,
    /// Index of the other.
    pub b: usize,
    /// Common area over joint area of the outlines, 0..=1.
    pub mirrored: f64,
}

/// Lengths and areas of a pair differ by at most this share.
const MOST_UNLIKE: f64 = 0.12;
/// Outlines cover each other at least so well.
const LEAST_COVER: f64 = 0.72;
/// Cells of a grid in which outlines are compared, along and across.
const GRID: [usize; 2] = [60, 30];

/// Pairs, the best first, no part in two. `same_plastic` gives the probability that two are of one plastic.
pub fn proposed_pairs(parts: &[FoundPart], same_plastic: impl Fn(usize, usize) -> f64) -> Vec<Pair> {
    let forms: Vec<Option<Vec<bool>>> = parts.iter().map(form_of).collect();
    let mut scored: Vec<(f64, Pair)> = Vec::new();
    for a in 0..parts.len() {
        for b in a + 1..parts.len() {
            let (Some(p), Some(q), Some(s), Some(t)) = (&forms[a], &forms[b], parts[a].size, parts[b].size)
            else {
                continue;
            };
            let unlike = |x: f64, y: f64| (x - y).abs() / x.max(y);
            if unlike(s.length_mm, t.length_mm) > MOST_UNLIKE || unlike(s.area_mm2, t.area_mm2) > MOST_UNLIKE
            {
                continue;
            }
            let mirrored = cover(p, q, [true, false]).max(cover(p, q, [false, true]));
            let same = same_plastic(a, b);
            if mirrored >= LEAST_COVER && same > 0.5 {
                scored.push((mirrored * same, Pair { a, b, mirrored }));
            }
        }
    }
    scored.sort_by(|p, q| q.0.total_cmp(&p.0));
    let mut taken = vec![false; parts.len()];
    let mut pairs = Vec::new();
    for (_, pair) in scored {
        if !taken[pair.a] && !taken[pair.b] {
            (taken[pair.a], taken[pair.b]) = (true, true);
            pairs.push(pair);
        }
    }
    pairs
}

/// The form of a whole part; one whose outline is doubtful has none.
fn form_of(part: &FoundPart) -> Option<Vec<bool>> {
    let is_whole = part.doubts.iter().all(|doubt| *doubt == super::Doubt::NoMattPlace);
    if is_whole { form_of_outline(&part.outline) } else { None }
}

/// An outline laid along its longest direction and scaled by its length, in a grid.
pub(super) fn form_of_outline(outline: &[[f64; 2]]) -> Option<Vec<bool>> {
    if outline.len() < 3 {
        return None;
    }
    let n = outline.len() as f64;
    let [cx, cy] = [0, 1].map(|axis| outline.iter().map(|p| p[axis]).sum::<f64>() / n);
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for p in outline {
        let (dx, dy) = (p[0] - cx, p[1] - cy);
        xx += dx * dx;
        xy += dx * dy;
        yy += dy * dy;
    }
    let (s, c) = libm::sincos(0.5 * libm::atan2(2.0 * xy, xx - yy));
    let turned: Vec<[f64; 2]> = outline
        .iter()
        .map(|p| [(p[0] - cx) * c + (p[1] - cy) * s, (p[1] - cy) * c - (p[0] - cx) * s])
        .collect();
    let ends = |axis: usize| {
        let values = turned.iter().map(|p| p[axis]);
        [values.clone().fold(f64::INFINITY, f64::min), values.fold(f64::NEG_INFINITY, f64::max)]
    };
    let ([left, right], [top, low]) = (ends(0), ends(1));
    let length = right - left;
    if !(length > 0.0) {
        return None;
    }
    // Centred by its box, so that a mirrored form falls on its like.
    let corners: Vec<[f64; 2]> = turned
        .iter()
        .map(|p| [(p[0] - (left + right) / 2.0) / length, (p[1] - (top + low) / 2.0) / length])
        .collect();
    let shape = crate::raster::Shape::Polygon(corners);
    let cell = |i: usize| {
        let [x, y] = [i % GRID[0], i / GRID[0]].map(|v| v as f64 + 0.5);
        [x / GRID[0] as f64 - 0.5, (y - GRID[1] as f64 / 2.0) / GRID[0] as f64]
    };
    Some((0..GRID[0] * GRID[1]).map(|i| shape.contains(cell(i))).collect())
}

/// Common over joint area of a form and another one turned over along the axes named.
pub(super) fn cover(a: &[bool], b: &[bool], over: [bool; 2]) -> f64 {
    let (mut both, mut either) = (0usize, 0usize);
    for i in 0..a.len() {
        let (x, y) = (i % GRID[0], i / GRID[0]);
        let x = if over[0] { GRID[0] - 1 - x } else { x };
        let y = if over[1] { GRID[1] - 1 - y } else { y };
        let other = b[y * GRID[0] + x];
        both += usize::from(a[i] && other);
        either += usize::from(a[i] || other);
    }
    both as f64 / either.max(1) as f64
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tray::Extent;

    /// A foot-like outline, mirrored or not, turned and moved.
    fn part(mirrored: bool, degrees: f64, at: f64) -> FoundPart {
        let flip = if mirrored { -1.0 } else { 1.0 };
        let (s, c) = degrees.to_radians().sin_cos();
        let corners = [[0.0, 0.0], [100.0, 0.0], [100.0, 34.0], [86.0, 34.0], [84.0, 18.0], [0.0, 20.0]];
        FoundPart {
            number: 1,
            outline: corners
                .iter()
                .map(|[x, y]| [x * c - y * flip * s + at, x * s + y * flip * c + at])
                .collect(),
            matt: None,
            centre: [at, at],
            area_px: 2000.0,
            size: Some(Extent { length_mm: 50.0, width_mm: 17.0, area_mm2: 500.0 }),
            doubts: vec![],
        }
    }

    #[test]
    fn mirror_images_are_paired_and_like_ones_are_not() {
        let parts = [part(false, 20.0, 0.0), part(true, 200.0, 300.0), part(false, 75.0, 600.0)];
        let pairs = proposed_pairs(&parts, |_, _| 0.9);
        assert_eq!(pairs.len(), 1, "{pairs:?}");
        assert_eq!(pairs[0].a.min(pairs[0].b), 0);
        assert!(pairs[0].a == 1 || pairs[0].b == 1, "one of the pair is the mirrored one: {pairs:?}");
        assert!(proposed_pairs(&parts, |_, _| 0.1).is_empty(), "of different plastic");
    }
}

//! Which two parts may be left and right of one figure: alike in size and plastic, and one the mirror image of the
//! other.
//!
//! A part that lies on its other face shows the mirror image of itself, so that this is a proposal to look at and
//! nothing more.

use super::form::{Form, MIRRORED};
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

/// Pairs, the best first, no part in two. `same_plastic` gives the probability that two are of one plastic.
pub fn proposed_pairs(parts: &[FoundPart], same_plastic: impl Fn(usize, usize) -> f64) -> Vec<Pair> {
    let forms: Vec<Option<Form>> = parts.iter().map(form_of).collect();
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
            let mirrored = MIRRORED.into_iter().map(|over| p.cover(q, over)).fold(0.0, f64::max);
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
fn form_of(part: &FoundPart) -> Option<Form> {
    let is_whole = part.doubts.iter().all(|doubt| *doubt == super::Doubt::NoMattPlace);
    if is_whole { Form::of(&part.outline) } else { None }
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

//! The plane of a card made exact by the sides of its greys, step by step outward from the marks.
//!
//! Four marks fix it well enough; with one side of the card out of sight the other end is a long way off, and the
//! squares between lead there.

use super::Grey;
use super::assemble::Plane;
use super::candidates::refined;
use crate::card::homography::Homography;

/// A step's corners may lie so far from where they were expected.
const MOST_OFF_MM: f64 = 1.6;
/// Marks nearer together than this share of the card's width fix its far end only with the help of the greys.
const NEAR: f64 = 0.6;
/// So many greys then have to help.
const LEAST_HELPERS: usize = 4;

/// The plane through marks and greys; `None` where marks at one end alone would have to carry it.
pub(super) fn sharpened(grey: &Grey, mut plane: Plane) -> Option<Plane> {
    let marks: Vec<[f64; 2]> = plane.pairs.iter().map(|(mm, _)| *mm).collect();
    let reach = marks.iter().map(|p| p[0]).fold(f64::NEG_INFINITY, f64::max)
        - marks.iter().map(|p| p[0]).fold(f64::INFINITY, f64::min);
    let mut steps = plane.layout.steps.clone();
    let away = |at: [f64; 2]| {
        marks.iter().map(|p| libm::hypot(p[0] - at[0], p[1] - at[1])).fold(f64::INFINITY, f64::min)
    };
    steps.sort_by(|a, b| away(a.square.centre()).total_cmp(&away(b.square.centre())));
    let mut helpers = 0;
    for step in steps {
        let corners = step.square.corners();
        let expected = corners.map(|corner| plane.to_picture.map(corner));
        let scale = plane.to_picture.area_scale(step.square.centre()).max(0.0).sqrt();
        let Some(seen) = refined(grey, expected) else { continue };
        let is_near = expected
            .iter()
            .zip(&seen)
            .all(|(p, q)| libm::hypot(p[0] - q[0], p[1] - q[1]) < MOST_OFF_MM * scale);
        if !is_near {
            continue;
        }
        plane.pairs.extend(corners.into_iter().zip(seen));
        if let Some(better) = Homography::through(&plane.pairs) {
            plane.to_picture = better;
            helpers += 1;
        }
    }
    let is_wide = reach > NEAR * plane.layout.size_mm[0];
    (is_wide || helpers >= LEAST_HELPERS).then_some(plane)
}

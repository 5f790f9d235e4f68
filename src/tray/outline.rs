//! Lengths, widths and areas of outlines.

use serde::{Deserialize, Serialize};

use crate::card::hull_of;

/// How large something is.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Extent {
    /// The longer side of the smallest rectangle around it, in mm.
    pub length_mm: f64,
    /// Its shorter side, in mm.
    pub width_mm: f64,
    /// Area inside the outline, in square mm.
    pub area_mm2: f64,
}

/// The extent of an outline in mm: the smallest of the rectangles that have a side along the hull (Freeman and
/// Shapira 1975). `None` for fewer than three corners that span an area.
pub fn extent_of(outline: impl Iterator<Item = [f64; 2]>) -> Option<Extent> {
    let points: Vec<[f64; 2]> = outline.collect();
    let hull = hull_of(&points);
    let mut best: Option<[f64; 2]> = None;
    for n in 0..hull.len() {
        let (a, b) = (hull[n], hull[(n + 1) % hull.len()]);
        let length = libm::hypot(b[0] - a[0], b[1] - a[1]);
        if length < 1e-9 {
            continue;
        }
        let [u, v] = [(b[0] - a[0]) / length, (b[1] - a[1]) / length];
        let span = |along: [f64; 2]| {
            let places = hull.iter().map(|p| p[0] * along[0] + p[1] * along[1]);
            places.clone().fold(f64::NEG_INFINITY, f64::max) - places.fold(f64::INFINITY, f64::min)
        };
        let sides = [span([u, v]), span([-v, u])];
        if best.is_none_or(|best| sides[0] * sides[1] < best[0] * best[1]) {
            best = Some(sides);
        }
    }
    let [a, b] = best?;
    let twice: f64 = (0..points.len())
        .map(|n| (points[n], points[(n + 1) % points.len()]))
        .map(|(p, q)| p[0] * q[1] - q[0] * p[1])
        .sum();
    (twice != 0.0).then(|| Extent { length_mm: a.max(b), width_mm: a.min(b), area_mm2: twice.abs() / 2.0 })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_turned_rectangle_has_its_own_sides() {
        let (s, c) = (0.6, 0.8);
        let corners = [[0.0, 0.0], [40.0, 0.0], [40.0, 9.0], [0.0, 9.0]];
        let turned = corners.map(|[x, y]| [x * c - y * s + 5.0, x * s + y * c]);
        let extent = extent_of(turned.into_iter()).unwrap();
        assert!((extent.length_mm - 40.0).abs() < 1e-9 && (extent.width_mm - 9.0).abs() < 1e-9, "{extent:?}");
        assert!((extent.area_mm2 - 360.0).abs() < 1e-9);
        assert!(extent_of([[1.0, 1.0], [2.0, 2.0], [3.0, 3.0]].into_iter()).is_none());
    }
}

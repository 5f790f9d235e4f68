//! Circles, rectangles and polygons on a photo.
//!
//! Coordinates are pixels of the upright photo, x to the right, y down; (0, 0) is the upper left corner of
//! the first pixel, whose centre is (0.5, 0.5).

use serde::{Deserialize, Serialize};

/// An area smaller than this many square pixels cannot be marked at all.
pub const MIN_AREA_PX: f64 = 1.0;

/// A marked area.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Shape {
    /// A disc.
    Circle {
        /// Its centre, x and y in pixels.
        centre: [f64; 2],
        /// Its radius in pixels.
        radius: f64,
    },
    /// An upright rectangle.
    Rect {
        /// Upper left corner.
        min: [f64; 2],
        /// Lower right corner.
        max: [f64; 2],
    },
    /// A simple polygon, closed by itself; three corners or more.
    Polygon(Vec<[f64; 2]>),
}

/// Why a shape cannot be read.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ShapeProblem {
    /// A coordinate is NaN, infinite or beyond ±1e6.
    #[error("has a coordinate that is no usable number")]
    NotANumber,
    /// The polygon has fewer than three corners.
    #[error("is a polygon with only {0} corners; three are needed")]
    TooFewCorners(usize),
    /// Two edges of the polygon cross.
    #[error("is a polygon that crosses itself")]
    CrossesItself,
    /// No area at all.
    #[error("has no area")]
    NoArea,
    /// No part of it lies on the photo.
    #[error("lies outside the photo")]
    Outside,
}

/// Pixels `x_start..x_end` of row `y`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Span {
    /// The row.
    pub y: u32,
    /// First column inside.
    pub x_start: u32,
    /// First column no longer inside.
    pub x_end: u32,
}

impl Shape {
    /// Area in square pixels; 0 for an empty shape.
    pub fn area_px(&self) -> f64 {
        match self {
            Shape::Circle { radius, .. } => std::f64::consts::PI * radius * radius,
            Shape::Rect { min, max } => (max[0] - min[0]).max(0.0) * (max[1] - min[1]).max(0.0),
            Shape::Polygon(corners) => signed_area(corners).abs(),
        }
    }

    /// Centre of gravity in pixels.
    pub fn centre(&self) -> [f64; 2] {
        match self {
            Shape::Circle { centre, .. } => *centre,
            Shape::Rect { min, max } => [(min[0] + max[0]) / 2.0, (min[1] + max[1]) / 2.0],
            Shape::Polygon(corners) => centroid(corners),
        }
    }

    /// Upper left and lower right corner of the smallest upright box around it.
    pub fn bounds(&self) -> ([f64; 2], [f64; 2]) {
        match self {
            Shape::Circle { centre, radius } => {
                ([centre[0] - radius, centre[1] - radius], [centre[0] + radius, centre[1] + radius])
            }
            Shape::Rect { min, max } => (*min, *max),
            Shape::Polygon(corners) => {
                corners.iter().fold(([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]), |(low, high), corner| {
                    (
                        [low[0].min(corner[0]), low[1].min(corner[1])],
                        [high[0].max(corner[0]), high[1].max(corner[1])],
                    )
                })
            }
        }
    }

    /// Whether a point lies inside.
    pub fn contains(&self, point: [f64; 2]) -> bool {
        self.depth_px(point) >= 0.0
    }

    /// How deep a point lies inside: distance to the outline in pixels, negative outside.
    pub fn depth_px(&self, point: [f64; 2]) -> f64 {
        match self {
            Shape::Circle { centre, radius } => {
                radius - libm::hypot(point[0] - centre[0], point[1] - centre[1])
            }
            Shape::Rect { min, max } => {
                (point[0] - min[0]).min(max[0] - point[0]).min(point[1] - min[1]).min(max[1] - point[1])
            }
            Shape::Polygon(corners) => polygon_depth(corners, point),
        }
    }

    /// The shape moved by so many pixels.
    pub fn moved_by(&self, offset_px: [f64; 2]) -> Shape {
        let shift = |p: &[f64; 2]| [p[0] + offset_px[0], p[1] + offset_px[1]];
        match self {
            Shape::Circle { centre, radius } => Shape::Circle { centre: shift(centre), radius: *radius },
            Shape::Rect { min, max } => Shape::Rect { min: shift(min), max: shift(max) },
            Shape::Polygon(corners) => Shape::Polygon(corners.iter().map(shift).collect()),
        }
    }

    /// Refuses what cannot be measured on a photo of this size.
    pub fn check(&self, width_px: u32, height_px: u32) -> Result<(), ShapeProblem> {
        let numbers: Vec<f64> = match self {
            Shape::Circle { centre, radius } => vec![centre[0], centre[1], *radius],
            Shape::Rect { min, max } => vec![min[0], min[1], max[0], max[1]],
            Shape::Polygon(corners) => corners.iter().flatten().copied().collect(),
        };
        if numbers.iter().any(|v| !v.is_finite() || v.abs() > 1e6) {
            return Err(ShapeProblem::NotANumber);
        }
        match self {
            Shape::Polygon(corners) if corners.len() < 3 => {
                return Err(ShapeProblem::TooFewCorners(corners.len()));
            }
            Shape::Polygon(corners) if crosses_itself(corners) => return Err(ShapeProblem::CrossesItself),
            Shape::Circle { radius, .. } if *radius <= 0.0 => return Err(ShapeProblem::NoArea),
            _ => {}
        }
        if self.area_px() < MIN_AREA_PX {
            return Err(ShapeProblem::NoArea);
        }
        let (low, high) = self.bounds();
        let outside = high[0] <= 0.0
            || high[1] <= 0.0
            || low[0] >= f64::from(width_px)
            || low[1] >= f64::from(height_px);
        if outside { Err(ShapeProblem::Outside) } else { Ok(()) }
    }

    /// Pixels whose centres lie at least `inset_px` inside the outline, clipped to the photo, row by row.
    pub fn spans(&self, width_px: u32, height_px: u32, inset_px: f64) -> Vec<Span> {
        let (low, high) = self.bounds();
        let clamp = |v: f64, top: u32| v.clamp(0.0, f64::from(top)) as u32;
        let rows = clamp(libm::floor(low[1]), height_px)..clamp(libm::ceil(high[1]), height_px);
        let mut spans = Vec::new();
        for y in rows {
            let [from, to] = match self {
                Shape::Polygon(corners) => reach_of_row(corners, f64::from(y) + 0.5),
                _ => [low[0], high[0]],
            };
            let columns = clamp(libm::floor(from), width_px)..clamp(libm::ceil(to), width_px);
            let mut open: Option<u32> = None;
            for x in columns.clone() {
                let inside = self.depth_px([f64::from(x) + 0.5, f64::from(y) + 0.5]) >= inset_px;
                match (inside, open) {
                    (true, None) => open = Some(x),
                    (false, Some(x_start)) => {
                        spans.push(Span { y, x_start, x_end: x });
                        open = None;
                    }
                    _ => {}
                }
            }
            if let Some(x_start) = open {
                spans.push(Span { y, x_start, x_end: columns.end });
            }
        }
        spans
    }

    /// Radius of the largest disc that fits inside, found on a grid of 24 points a side; at most a few per
    /// cent too small. Used to choose how far an area can be eroded.
    pub fn inner_radius_px(&self) -> f64 {
        let (low, high) = self.bounds();
        let mut best: f64 = 0.0;
        for row in 0..=24 {
            for column in 0..=24 {
                let point = [
                    low[0] + (high[0] - low[0]) * f64::from(column) / 24.0,
                    low[1] + (high[1] - low[1]) * f64::from(row) / 24.0,
                ];
                best = best.max(self.depth_px(point));
            }
        }
        best
    }
}

fn signed_area(corners: &[[f64; 2]]) -> f64 {
    edges(corners).map(|(p, q)| p[0] * q[1] - q[0] * p[1]).sum::<f64>() / 2.0
}

fn centroid(corners: &[[f64; 2]]) -> [f64; 2] {
    let area = signed_area(corners);
    if area == 0.0 {
        let n = corners.len().max(1) as f64;
        return [0, 1].map(|axis| corners.iter().map(|c| c[axis]).sum::<f64>() / n);
    }
    [0, 1].map(|axis| {
        edges(corners).map(|(p, q)| (p[axis] + q[axis]) * (p[0] * q[1] - q[0] * p[1])).sum::<f64>()
            / (6.0 * area)
    })
}

fn edges(corners: &[[f64; 2]]) -> impl Iterator<Item = ([f64; 2], [f64; 2])> + '_ {
    corners.iter().zip(corners.iter().cycle().skip(1)).map(|(p, q)| (*p, *q))
}

/// Least and greatest x of the edges within half a pixel of a row: a bent strip fills little of the box around it.
fn reach_of_row(corners: &[[f64; 2]], y: f64) -> [f64; 2] {
    let mut reach = [f64::INFINITY, f64::NEG_INFINITY];
    for (p, q) in edges(corners) {
        let (low, high) = if p[1] < q[1] { (p, q) } else { (q, p) };
        if high[1] < y - 0.5 || low[1] > y + 0.5 {
            continue;
        }
        let rise = (high[1] - low[1]).max(1e-9);
        for end in [low[1].max(y - 0.5), high[1].min(y + 0.5)] {
            let x = low[0] + (high[0] - low[0]) * ((end - low[1]) / rise).clamp(0.0, 1.0);
            reach = [reach[0].min(x), reach[1].max(x)];
        }
    }
    reach
}

fn polygon_depth(corners: &[[f64; 2]], point: [f64; 2]) -> f64 {
    let mut inside = false;
    let mut nearest = f64::INFINITY;
    for (p, q) in edges(corners) {
        if (p[1] > point[1]) != (q[1] > point[1])
            && point[0] < (q[0] - p[0]) * (point[1] - p[1]) / (q[1] - p[1]) + p[0]
        {
            inside = !inside;
        }
        nearest = nearest.min(distance_to_segment(point, p, q));
    }
    if inside { nearest } else { -nearest }
}

fn distance_to_segment(point: [f64; 2], p: [f64; 2], q: [f64; 2]) -> f64 {
    let along = [q[0] - p[0], q[1] - p[1]];
    let length2 = along[0] * along[0] + along[1] * along[1];
    let t = if length2 == 0.0 {
        0.0
    } else {
        (((point[0] - p[0]) * along[0] + (point[1] - p[1]) * along[1]) / length2).clamp(0.0, 1.0)
    };
    libm::hypot(point[0] - p[0] - t * along[0], point[1] - p[1] - t * along[1])
}

fn crosses_itself(corners: &[[f64; 2]]) -> bool {
    let all: Vec<_> = edges(corners).collect();
    (0..all.len()).any(|i| {
        // Neighbouring edges share a corner and may touch there.
        (i + 2..all.len())
            .filter(|&j| !(i == 0 && j == all.len() - 1))
            .any(|j| segments_cross(all[i], all[j]))
    })
}

fn segments_cross(a: ([f64; 2], [f64; 2]), b: ([f64; 2], [f64; 2])) -> bool {
    let side =
        |p: [f64; 2], q: [f64; 2], r: [f64; 2]| (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]);
    side(a.0, a.1, b.0) * side(a.0, a.1, b.1) < 0.0 && side(b.0, b.1, a.0) * side(b.0, b.1, a.1) < 0.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spans_of_a_rectangle_cover_its_pixels() {
        let shape = Shape::Rect { min: [2.0, 1.0], max: [5.0, 3.0] };
        assert_eq!(
            shape.spans(10, 10, 0.0),
            [Span { y: 1, x_start: 2, x_end: 5 }, Span { y: 2, x_start: 2, x_end: 5 }]
        );
        assert_eq!(shape.spans(10, 10, 1.0), []);
    }

    #[test]
    fn pixel_count_of_a_disc_is_its_area() {
        let disc = Shape::Circle { centre: [50.3, 49.1], radius: 30.0 };
        let count: u32 = disc.spans(100, 100, 0.0).iter().map(|s| s.x_end - s.x_start).sum();
        assert!((f64::from(count) / disc.area_px() - 1.0).abs() < 0.01, "{count}");
    }

    #[test]
    fn spans_of_a_bent_strip_are_its_pixels() {
        let corners = vec![
            [2.5, 3.5],
            [14.0, 2.5],
            [30.5, 20.5],
            [30.5, 33.5],
            [25.0, 33.5],
            [24.0, 22.0],
            [12.0, 8.5],
        ];
        let strip = Shape::Polygon(corners);
        for inset in [0.0, 1.3] {
            let spans = strip.spans(40, 40, inset);
            let on = |x: u32, y: u32| spans.iter().any(|s| s.y == y && (s.x_start..s.x_end).contains(&x));
            for (x, y) in (0..40).flat_map(|y| (0..40).map(move |x| (x, y))) {
                let depth = strip.depth_px([f64::from(x) + 0.5, f64::from(y) + 0.5]);
                assert_eq!(on(x, y), depth >= inset, "{x} {y}");
            }
        }
    }

    #[test]
    fn a_bow_tie_is_refused_and_a_square_is_not() {
        let bow_tie = Shape::Polygon(vec![[0.0, 0.0], [10.0, 10.0], [10.0, 0.0], [0.0, 10.0]]);
        assert_eq!(bow_tie.check(100, 100), Err(ShapeProblem::CrossesItself));
        let square = Shape::Polygon(vec![[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]]);
        assert_eq!(square.check(100, 100), Ok(()));
        assert!((square.inner_radius_px() - 5.0).abs() < 0.3);
        assert_eq!(square.centre(), [5.0, 5.0]);
        assert_eq!(square.moved_by([200.0, 0.0]).check(100, 100), Err(ShapeProblem::Outside));
    }
}

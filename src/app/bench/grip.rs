//! What lies under the pointer, and what dragging it does to a shape.

use crate::raster::Shape;

/// A circle never gets a smaller radius, a box no shorter side, in pixels of the photo.
pub(super) const SMALLEST_PX: f64 = 2.0;

/// The part of a shape that is dragged.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::app) enum Grip {
    /// The whole of it.
    Body,
    /// A corner of a box (clockwise from the upper left) or of a polygon.
    Corner(usize),
    /// The outline of a circle.
    Radius,
}

/// The handles of a shape and where they are, in pixels of the photo.
pub(super) fn handles(shape: &Shape) -> Vec<(Grip, [f64; 2])> {
    match shape {
        Shape::Circle { centre: [x, y], radius } => {
            [[x + radius, *y], [*x, y + radius], [x - radius, *y], [*x, y - radius]]
                .map(|point| (Grip::Radius, point))
                .to_vec()
        }
        Shape::Rect { min, max } => {
            let corners = [*min, [max[0], min[1]], *max, [min[0], max[1]]];
            corners.into_iter().enumerate().map(|(i, point)| (Grip::Corner(i), point)).collect()
        }
        Shape::Polygon(corners) => {
            corners.iter().enumerate().map(|(i, point)| (Grip::Corner(i), *point)).collect()
        }
    }
}

/// The handle of a shape that is nearest to a point and not farther than `reach_px`; on small shapes the
/// reach is shorter, so that there is something left to take the whole by.
pub(super) fn handle_at(shape: &Shape, point_px: [f64; 2], reach_px: f64) -> Option<Grip> {
    let (low, high) = shape.bounds();
    let reach_px = reach_px.min(0.35 * (high[0] - low[0]).min(high[1] - low[1]));
    handles(shape)
        .into_iter()
        .map(|(grip, handle)| (grip, libm::hypot(handle[0] - point_px[0], handle[1] - point_px[1])))
        .filter(|(_, distance)| *distance <= reach_px)
        .min_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(grip, _)| grip)
}

/// The shape after its grip was dragged from one point to another.
pub(super) fn dragged(shape: &Shape, grip: Grip, from_px: [f64; 2], to_px: [f64; 2]) -> Shape {
    let by = [to_px[0] - from_px[0], to_px[1] - from_px[1]];
    match (shape, grip) {
        (Shape::Circle { centre, .. }, Grip::Radius) => {
            let radius = libm::hypot(to_px[0] - centre[0], to_px[1] - centre[1]);
            Shape::Circle { centre: *centre, radius: radius.max(SMALLEST_PX) }
        }
        (Shape::Rect { min, max }, Grip::Corner(corner)) => {
            let (mut min, mut max) = (*min, *max);
            match corner {
                0 | 3 => min[0] = (min[0] + by[0]).min(max[0] - SMALLEST_PX),
                _ => max[0] = (max[0] + by[0]).max(min[0] + SMALLEST_PX),
            }
            match corner {
                0 | 1 => min[1] = (min[1] + by[1]).min(max[1] - SMALLEST_PX),
                _ => max[1] = (max[1] + by[1]).max(min[1] + SMALLEST_PX),
            }
            Shape::Rect { min, max }
        }
        (Shape::Polygon(corners), Grip::Corner(corner)) => {
            let mut corners = corners.clone();
            if let Some(point) = corners.get_mut(corner) {
                *point = [point[0] + by[0], point[1] + by[1]];
            }
            Shape::Polygon(corners)
        }
        _ => shape.moved_by(by),
    }
}

/// The shape grown by so many pixels on each side (shrunk, where negative).
pub(super) fn grown(shape: &Shape, across_px: f64, down_px: f64) -> Shape {
    match shape {
        Shape::Circle { centre, radius } => {
            let by = if across_px.abs() > down_px.abs() { across_px } else { down_px };
            Shape::Circle { centre: *centre, radius: (radius + by).max(SMALLEST_PX) }
        }
        Shape::Rect { min, max } => {
            let side = |axis: usize, by: f64| {
                let half = ((max[axis] - min[axis]) / 2.0 + by).max(SMALLEST_PX / 2.0);
                let middle = (min[axis] + max[axis]) / 2.0;
                (middle - half, middle + half)
            };
            let (x, y) = (side(0, across_px), side(1, down_px));
            Shape::Rect { min: [x.0, y.0], max: [x.1, y.1] }
        }
        Shape::Polygon(corners) => {
            let (low, high) = shape.bounds();
            let centre = shape.centre();
            let factor = [0, 1].map(|axis| {
                let side = (high[axis] - low[axis]).max(1e-9);
                let by = if axis == 0 { across_px } else { down_px };
                ((side + 2.0 * by) / side).max(SMALLEST_PX / side)
            });
            let place = |corner: &[f64; 2]| {
                [0, 1].map(|axis| centre[axis] + (corner[axis] - centre[axis]) * factor[axis])
            };
            Shape::Polygon(corners.iter().map(place).collect())
        }
    }
}

/// What is drawn with the mouse from one point to another; `None` while it is too small to mean anything.
pub(super) fn drawn(tool: Outline, from_px: [f64; 2], to_px: [f64; 2]) -> Option<Shape> {
    let size = [(to_px[0] - from_px[0]).abs(), (to_px[1] - from_px[1]).abs()];
    match tool {
        Outline::Circle => {
            let radius = libm::hypot(size[0], size[1]);
            (radius >= SMALLEST_PX).then_some(Shape::Circle { centre: from_px, radius })
        }
        Outline::Rect => {
            let min = [from_px[0].min(to_px[0]), from_px[1].min(to_px[1])];
            let max = [from_px[0].max(to_px[0]), from_px[1].max(to_px[1])];
            (size[0] >= SMALLEST_PX && size[1] >= SMALLEST_PX).then_some(Shape::Rect { min, max })
        }
    }
}

/// The box around a shape.
pub(super) fn bounding_box(shape: &Shape) -> Shape {
    let (min, max) = shape.bounds();
    Shape::Rect { min, max }
}

/// A regular hexagon, to begin a polygon with by keyboard.
pub(super) fn hexagon(centre_px: [f64; 2], radius_px: f64) -> Shape {
    let corner = |i: u32| {
        let angle = std::f64::consts::FRAC_PI_3 * f64::from(i);
        [centre_px[0] + radius_px * libm::cos(angle), centre_px[1] + radius_px * libm::sin(angle)]
    };
    Shape::Polygon((0..6).map(corner).collect())
}

/// What a drag of the mouse draws; polygons are drawn corner by corner instead.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::app) enum Outline {
    /// From the centre outwards.
    Circle,
    /// From corner to corner.
    Rect,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_handle_can_be_picked_and_follows_the_pointer() {
        let shapes = [
            Shape::Circle { centre: [50.0, 40.0], radius: 12.0 },
            Shape::Rect { min: [10.0, 20.0], max: [60.0, 50.0] },
            Shape::Polygon(vec![[0.0, 0.0], [30.0, 0.0], [10.0, 25.0]]),
        ];
        for shape in &shapes {
            for (grip, point) in handles(shape) {
                assert_eq!(handle_at(shape, [point[0] + 1.0, point[1]], 3.0), Some(grip));
                // Away from the middle, so that no side turns over.
                let centre = shape.centre();
                let to = [0, 1].map(|axis| point[axis] + (point[axis] - centre[axis]) * 0.5);
                let after = dragged(shape, grip, point, to);
                assert!(after.area_px() > shape.area_px(), "{grip:?} of {shape:?}");
                assert!(
                    handles(&after).iter().any(|(_, p)| libm::hypot(p[0] - to[0], p[1] - to[1]) < 1e-9),
                    "a handle is where it was dragged to"
                );
            }
            assert_eq!(handle_at(shape, [500.0, 500.0], 3.0), None);
        }
    }

    #[test]
    fn a_box_cannot_be_turned_inside_out() {
        let shape = Shape::Rect { min: [10.0, 10.0], max: [20.0, 20.0] };
        for corner in 0..4 {
            let Shape::Rect { min, max } = dragged(&shape, Grip::Corner(corner), [0.0; 2], [900.0, -900.0])
            else {
                panic!("a box stays a box");
            };
            assert!(max[0] - min[0] >= SMALLEST_PX && max[1] - min[1] >= SMALLEST_PX);
        }
    }

    #[test]
    fn growing_adds_to_every_side_and_shrinking_stops() {
        let shape = Shape::Rect { min: [10.0, 10.0], max: [20.0, 30.0] };
        assert_eq!(grown(&shape, 2.0, 0.0), Shape::Rect { min: [8.0, 10.0], max: [22.0, 30.0] });
        assert!(grown(&shape, -50.0, -50.0).area_px() >= SMALLEST_PX * SMALLEST_PX - 1e-9);
        let disc = Shape::Circle { centre: [0.0; 2], radius: 5.0 };
        assert_eq!(grown(&disc, 0.0, 3.0), Shape::Circle { centre: [0.0; 2], radius: 8.0 });
        let triangle = Shape::Polygon(vec![[0.0, 0.0], [30.0, 0.0], [0.0, 30.0]]);
        assert!(grown(&triangle, 3.0, 3.0).area_px() > triangle.area_px());
    }

    #[test]
    fn a_drag_backwards_draws_the_same_box() {
        let forth = drawn(Outline::Rect, [1.0, 2.0], [9.0, 8.0]);
        assert_eq!(forth, drawn(Outline::Rect, [9.0, 8.0], [1.0, 2.0]));
        assert_eq!(drawn(Outline::Circle, [3.0, 3.0], [3.5, 3.5]), None);
    }
}

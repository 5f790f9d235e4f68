//! The marks as outlines with numbers, in pixels of the report's photo.

use super::tray::number_of;
use crate::case::CaseDocument;
use crate::raster::Shape;
use crate::report::picture::free_place;

/// An outline with its number.
pub(super) struct Mark {
    /// "3" for a part, "K2" for an area of known colour.
    pub label: String,
    pub is_known: bool,
    /// Corners, closed by itself.
    pub corners: Vec<[f64; 2]>,
    /// Box of the number: left, top, right, bottom.
    pub tag: [f64; 4],
}

/// Height of a number's box.
pub(super) const TAG_HEIGHT_PX: f64 = 34.0;
/// Breadth of one of its letters.
const LETTER_PX: f64 = 16.0;
/// Corners of a circle.
const ROUND: usize = 40;

/// The marks of a case. `scale` makes pixels of the photo into those of the report, which has `size_px` of them. What is
/// no shape is left out.
pub(super) fn of(case: &CaseDocument, scale: f64, size_px: [u32; 2]) -> Vec<Mark> {
    let zones = case.zones.iter().enumerate().map(|(i, zone)| (format!("K{}", i + 1), true, &zone.shape));
    // A loose part is outlined whole, not where it was read.
    let loose = |id: &str| Some(case.tray.as_ref()?.part_of(id)?.shape());
    let readings = case.readings.iter().enumerate().map(|(i, mark)| {
        (number_of(case, i, &mark.id), false, loose(&mark.id).unwrap_or_else(|| mark.shape.clone()))
    });
    let mut marks: Vec<Mark> = zones
        .map(|(label, is_known, shape)| (label, is_known, shape.clone()))
        .chain(readings)
        .filter_map(|(label, is_known, shape)| {
            let corners = corners(&shape, scale)?;
            Some(Mark { label, is_known, corners, tag: [0.0; 4] })
        })
        .collect();
    let mut taken: Vec<[f32; 4]> = marks.iter().map(bounds).collect();
    // Parts matter more: their numbers are placed first.
    for mark in marks.iter_mut().rev() {
        let width = LETTER_PX * mark.label.len() as f64 + 14.0;
        let size = [width as f32, TAG_HEIGHT_PX as f32];
        let place = free_place(bounds(mark), size, (size_px[0], size_px[1]), &taken);
        taken.push(place);
        mark.tag = place.map(f64::from);
    }
    marks
}

fn corners(shape: &Shape, scale: f64) -> Option<Vec<[f64; 2]>> {
    let corners: Vec<[f64; 2]> = match shape {
        Shape::Circle { centre: [x, y], radius } => (0..ROUND)
            .map(|i| std::f64::consts::TAU * i as f64 / ROUND as f64)
            .map(|angle| [x + radius * libm::cos(angle), y + radius * libm::sin(angle)])
            .collect(),
        Shape::Rect { min, max } => vec![*min, [max[0], min[1]], *max, [min[0], max[1]]],
        Shape::Polygon(corners) => corners.clone(),
    };
    // A layout is not made for numbers far beyond any picture.
    let px = |v: f64| (v * scale).clamp(-1e5, 1e5);
    let is_shape = corners.len() >= 3 && corners.iter().flatten().all(|v| v.is_finite());
    is_shape.then(|| corners.into_iter().map(|corner| corner.map(px)).collect())
}

fn bounds(mark: &Mark) -> [f32; 4] {
    let far = [f32::INFINITY, f32::INFINITY, f32::NEG_INFINITY, f32::NEG_INFINITY];
    mark.corners.iter().fold(far, |[left, top, right, bottom], [x, y]| {
        let (x, y) = (*x as f32, *y as f32);
        [left.min(x), top.min(y), right.max(x), bottom.max(y)]
    })
}

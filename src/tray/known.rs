//! Parts of known shade in the boxes of a card.

use super::mask::{self, Size};
use super::matt::matt_place;
use crate::card::FoundCard;
use crate::raster::{Reduced, Shape};

/// Tint against the paper (logarithm) from which on a pixel is no paper.
const LEAST_TINT: f32 = 0.12;
/// A part covers at least this share of its box.
const LEAST_SHARE: f64 = 0.06;

/// For each box of a card, the matt place of the part that lies in it, in pixels of the photo; `None` for an empty box.
pub fn known_places(picture: &Reduced, card: &FoundCard) -> Vec<Option<Shape>> {
    card.layout().boxes.iter().map(|place| known_place(picture, card, place)).collect()
}

fn known_place(picture: &Reduced, card: &FoundCard, place: &crate::card::layout::RectMm) -> Option<Shape> {
    let factor = picture.factor as f64;
    let corners = place.shrunk(0.8).corners().map(|p| card.to_photo.map(p).map(|v| v / factor));
    let area = Shape::Polygon(corners.into());
    let (low, high) = area.bounds();
    let edge = |v: f64, end: usize| v.clamp(0.0, end as f64) as usize;
    let (left, top) = (edge(low[0], picture.width), edge(low[1], picture.height));
    let size = Size {
        width: edge(high[0].ceil(), picture.width).saturating_sub(left),
        height: edge(high[1].ceil(), picture.height).saturating_sub(top),
    };
    if size.width < 8 || size.height < 8 {
        return None;
    }
    let in_box: Vec<bool> = (0..size.pixels())
        .map(|n| {
            let [x, y] = size.centre(n);
            area.contains([x + left as f64, y + top as f64])
        })
        .collect();
    let logs: Vec<[f32; 3]> = (0..size.pixels())
        .map(|n| {
            let i = (n / size.width + top) * picture.width + n % size.width + left;
            picture.linear[i].map(|v| libm::logf(v.max(0.0) + 0.003))
        })
        .collect();
    // Most of a box is paper, the lightest thing in it.
    let paper: [f32; 3] = std::array::from_fn(|channel| {
        let mut values: Vec<f32> = (0..logs.len()).filter(|n| in_box[*n]).map(|n| logs[n][channel]).collect();
        let at = values.len() * 3 / 4;
        if values.is_empty() { 0.0 } else { *values.select_nth_unstable_by(at, f32::total_cmp).1 }
    });
    let off = |n: usize, channel: usize| logs[n][channel] - paper[channel];
    let light: Vec<f32> = (0..logs.len()).map(|n| (off(n, 0) + off(n, 1) + off(n, 2)) / 3.0).collect();
    let tint: Vec<[f32; 2]> =
        (0..logs.len()).map(|n| [off(n, 0) - off(n, 1), off(n, 2) - off(n, 1)]).collect();
    let is_part = |n: usize| in_box[n] && libm::hypotf(tint[n][0], tint[n][1]) > LEAST_TINT;
    let raw: Vec<bool> = (0..logs.len()).map(is_part).collect();
    let spots = mask::spots(&mask::smoothed(&raw, size, 5), size);
    let largest = spots.into_iter().max_by_key(Vec::len)?;
    let whole = in_box.iter().filter(|inside| **inside).count() as f64;
    if (largest.len() as f64) < LEAST_SHARE * whole {
        return None;
    }
    let mut own = vec![false; size.pixels()];
    largest.into_iter().for_each(|n| own[n] = true);
    let strip = matt_place(&own, &light, &tint, size)?.into_iter();
    let to_photo =
        |p: [f64; 2]| [p[0] + left as f64, p[1] + top as f64].map(|v| (v * factor * 10.0).round() / 10.0);
    Some(Shape::Polygon(strip.map(to_photo).collect()))
}

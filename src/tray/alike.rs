//! Parts of about the same size and outline, whichever way they lie and whatever their plastic.

use super::form::Form;
use super::overview::overview;
use crate::case::CaseDocument;

/// Lengths of parts alike differ by at most this share, areas by twice that.
const MOST_UNLIKE: f64 = 0.1;
/// Their outlines cover each other at least so well.
const LEAST_COVER: f64 = 0.76;

/// Numbers of the other parts that look like this one. Where no card gives the scale, sizes are in pixels.
pub fn alike(case: &CaseDocument, number: u32) -> Vec<u32> {
    let facts = overview(case, None, None).parts;
    let form = |number: u32| {
        let part = case.tray.as_ref()?.part(number)?;
        let area = part.shape().area_px();
        let form = Form::of(&part.outline)?;
        let size = facts.iter().find(|facts| facts.number == number)?.size;
        Some((form, size.map_or((area.sqrt(), area), |size| (size.length_mm, size.area_mm2))))
    };
    let Some((own, (length, area))) = form(number) else { return Vec::new() };
    let unlike = |x: f64, y: f64| (x - y).abs() / x.max(y);
    let is_alike = |other: &u32| {
        let Some((form, (other_length, other_area))) = form(*other) else { return false };
        unlike(length, other_length) <= MOST_UNLIKE
            && unlike(area, other_area) <= 2.0 * MOST_UNLIKE
            && own.likeness(&form) >= LEAST_COVER
    };
    facts.iter().map(|facts| facts.number).filter(|other| *other != number && is_alike(other)).collect()
}

#[cfg(test)]
mod tests {
    use serde_json::Map;

    use super::*;
    use crate::case::{LoosePart, TrayMarks};

    #[test]
    fn a_turned_and_a_mirrored_foot_are_alike_and_a_bar_is_not() {
        let foot = [[0.0, 0.0], [100.0, 0.0], [100.0, 34.0], [86.0, 34.0], [84.0, 18.0], [0.0, 20.0]];
        let (s, c) = (0.8, 0.6);
        let turned = foot.map(|[x, y]| [x * c - y * s + 300.0, x * s + y * c]);
        let mirrored = foot.map(|[x, y]| [x + 10.0, 400.0 - y]);
        let bar = [[0.0, 500.0], [112.0, 500.0], [112.0, 520.0], [0.0, 520.0]];
        let part = |number, outline: &[[f64; 2]]| LoosePart {
            number,
            outline: outline.to_vec(),
            reading: None,
            doubts: vec![],
            rest: Map::new(),
        };
        let parts = vec![part(1, &foot), part(2, &turned), part(3, &mirrored), part(4, &bar)];
        let mut case = CaseDocument::new("a.jpg");
        case.tray = Some(TrayMarks { parts, ..TrayMarks::default() });
        assert_eq!(alike(&case, 1), [2, 3]);
        assert_eq!(alike(&case, 9), Vec::<u32>::new());
    }
}

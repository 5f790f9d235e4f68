//! Marks of a case: looking them up, walking through them, and making new ones.

use crate::case::{CaseDocument, Edit, Known, MarkKey, MarkKind, ReadingMark, Surface, ZoneMark, unused_id};
use crate::raster::Shape;

/// Every mark: zones first, each list in its order.
pub(super) fn all(case: &CaseDocument) -> Vec<MarkKey> {
    let zones = case.zones.iter().map(|zone| MarkKey::zone(&zone.id));
    let readings = case.readings.iter().map(|reading| MarkKey::reading(&reading.id));
    zones.chain(readings).collect()
}

/// A zone by its key.
pub(super) fn zone<'a>(case: &'a CaseDocument, mark: &MarkKey) -> Option<&'a ZoneMark> {
    let is_zone = mark.kind == MarkKind::Zone;
    case.zones.iter().find(|zone| is_zone && zone.id == mark.id)
}

/// A reading by its key.
pub(super) fn reading<'a>(case: &'a CaseDocument, mark: &MarkKey) -> Option<&'a ReadingMark> {
    let is_reading = mark.kind == MarkKind::Reading;
    case.readings.iter().find(|reading| is_reading && reading.id == mark.id)
}

/// A mark's area.
pub(super) fn shape<'a>(case: &'a CaseDocument, mark: &MarkKey) -> Option<&'a Shape> {
    zone(case, mark).map(|zone| &zone.shape).or(reading(case, mark).map(|reading| &reading.shape))
}

/// A mark's kind of surface.
pub(super) fn surface(case: &CaseDocument, mark: &MarkKey) -> Option<Surface> {
    zone(case, mark).map(|zone| zone.surface).or(reading(case, mark).map(|reading| reading.surface))
}

/// The mark under a point: the smallest that contains it or whose outline is within `reach_px`.
pub(super) fn at(case: &CaseDocument, point_px: [f64; 2], reach_px: f64) -> Option<MarkKey> {
    all(case)
        .into_iter()
        .filter_map(|mark| shape(case, &mark).map(|shape| (mark, shape)))
        .filter(|(_, shape)| shape.depth_px(point_px) >= -reach_px)
        .min_by(|a, b| a.1.area_px().total_cmp(&b.1.area_px()))
        .map(|(mark, _)| mark)
}

/// The mark after (or before) another one in the order of [`all`], round and round.
pub(super) fn neighbour(case: &CaseDocument, mark: Option<&MarkKey>, forwards: bool) -> Option<MarkKey> {
    let marks = all(case);
    let last = marks.len().checked_sub(1)?;
    let place = marks.iter().position(|other| Some(other) == mark);
    let next = match (place, forwards) {
        (None, true) => 0,
        (None, false) => last,
        (Some(i), true) => (i + 1) % marks.len(),
        (Some(i), false) => i.checked_sub(1).unwrap_or(last),
    };
    marks.get(next).cloned()
}

/// A new part with the next free name.
pub(super) fn new_part(case: &CaseDocument, shape: Shape) -> ReadingMark {
    ReadingMark {
        id: unused_id(case, MarkKind::Reading, "part"),
        slot: None,
        shape,
        surface: Surface::Rounded,
        rest: Default::default(),
    }
}

/// A new known colour. `id` is used as it is where it is free, else with a number.
pub(super) fn new_zone(case: &CaseDocument, id: &str, shape: Shape, known: Known) -> ZoneMark {
    let surface = match known {
        Known::Lab { .. } => Surface::Flat,
        Known::Shade { .. } => Surface::Rounded,
    };
    ZoneMark { id: free_id(case, MarkKind::Zone, id), shape, known, surface, rest: Default::default() }
}

/// The edits that make a part a known colour, or a known colour a part, with the mark's new key.
pub(super) fn convert(case: &CaseDocument, mark: &MarkKey, known: Known) -> Option<(Vec<Edit>, MarkKey)> {
    let area = shape(case, mark)?.clone();
    let add = match mark.kind {
        MarkKind::Reading => Edit::AddZone(new_zone(case, &mark.id, area, known)),
        MarkKind::Zone => {
            let id = free_id(case, MarkKind::Reading, &mark.id);
            Edit::AddReading(ReadingMark { id, ..new_part(case, area) })
        }
    };
    let key = added_key(&add)?;
    Some((vec![Edit::Delete(mark.clone()), add], key))
}

/// The key of the mark that an edit adds.
pub(super) fn added_key(edit: &Edit) -> Option<MarkKey> {
    match edit {
        Edit::AddZone(zone) => Some(MarkKey::zone(&zone.id)),
        Edit::AddReading(reading) => Some(MarkKey::reading(&reading.id)),
        _ => None,
    }
}

fn free_id(case: &CaseDocument, kind: MarkKind, id: &str) -> String {
    let taken = all(case).into_iter().any(|mark| mark.kind == kind && mark.id == id);
    if taken { unused_id(case, kind, id) } else { id.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn disc(x: f64, radius: f64) -> Shape {
        Shape::Circle { centre: [x, 0.0], radius }
    }

    fn grey() -> Known {
        Known::Lab { lab: [50.0, 0.0, 0.0], sd: [1.0, 1.0, 1.5] }
    }

    fn with_part(case: &mut CaseDocument, shape: Shape) -> MarkKey {
        let edit = Edit::AddReading(new_part(case, shape));
        edit.apply(case).unwrap();
        added_key(&edit).unwrap()
    }

    fn with_zone(case: &mut CaseDocument, id: &str) -> MarkKey {
        let edit = Edit::AddZone(new_zone(case, id, disc(9.0, 5.0), grey()));
        edit.apply(case).unwrap();
        added_key(&edit).unwrap()
    }

    #[test]
    fn names_are_never_taken_twice() {
        let mut case = CaseDocument::new("bench.jpg");
        for _ in 0..3 {
            with_part(&mut case, disc(0.0, 5.0));
            with_zone(&mut case, "step 1");
        }
        let ids = |kind| all(&case).into_iter().filter(move |m| m.kind == kind).map(|m| m.id);
        assert_eq!(ids(MarkKind::Reading).collect::<Vec<_>>(), ["part 1", "part 2", "part 3"]);
        assert_eq!(ids(MarkKind::Zone).collect::<Vec<_>>(), ["step 1", "step 1 1", "step 1 2"]);
    }

    #[test]
    fn the_smallest_mark_under_the_pointer_wins() {
        let mut case = CaseDocument::new("bench.jpg");
        let large = with_part(&mut case, disc(0.0, 50.0));
        let little = with_part(&mut case, disc(10.0, 5.0));
        assert_eq!(at(&case, [10.0, 0.0], 0.0), Some(little));
        assert_eq!(at(&case, [-30.0, 0.0], 0.0), Some(large.clone()));
        assert_eq!(at(&case, [-52.0, 0.0], 3.0), Some(large));
        assert_eq!(at(&case, [-90.0, 0.0], 3.0), None);
    }

    #[test]
    fn a_part_becomes_a_known_colour_and_back_with_name_and_place() {
        let mut case = CaseDocument::new("bench.jpg");
        let part = with_part(&mut case, disc(3.0, 5.0));
        let known = Known::shade("green/medium");
        let (edits, zone) = convert(&case, &part, known.clone()).unwrap();
        edits.iter().try_for_each(|edit| edit.apply(&mut case)).unwrap();
        assert!(case.readings.is_empty());
        assert_eq!((case.zones[0].id.as_str(), &case.zones[0].known), ("part 1", &known));
        assert_eq!(case.zones[0].surface, Surface::Rounded, "a known part is as round as any part");
        let (edits, part_again) = convert(&case, &zone, known).unwrap();
        edits.iter().try_for_each(|edit| edit.apply(&mut case)).unwrap();
        assert_eq!(part_again, part);
        assert_eq!(case.readings[0].shape, disc(3.0, 5.0));
        assert!(case.zones.is_empty());
    }

    #[test]
    fn walking_through_the_marks_goes_round() {
        let mut case = CaseDocument::new("bench.jpg");
        assert_eq!(neighbour(&case, None, true), None);
        let part = with_part(&mut case, disc(0.0, 5.0));
        let zone = with_zone(&mut case, "grey");
        assert_eq!(neighbour(&case, None, true), Some(zone.clone()));
        assert_eq!(neighbour(&case, Some(&zone), true), Some(part.clone()));
        assert_eq!(neighbour(&case, Some(&part), true), Some(zone.clone()));
        assert_eq!(neighbour(&case, Some(&zone), false), Some(part));
    }
}

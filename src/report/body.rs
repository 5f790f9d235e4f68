//! The slots of a guide as boxes of a plain figure, for the window and for reports.

use crate::figure::{Line, LineSlot};

/// A box of the figure: sides in columns and rows of the figure's grid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// Left edge and width, in thirds of the figure.
    pub across: [f32; 2],
    /// The row, from the top.
    pub row: usize,
}

/// Where each slot stands, seen from the front: a slot without a mirror in the middle, a pair at both sides. The figure's
/// own left is at the viewer's right.
///
/// Arms and the like flank the slot listed before them; legs and feet carry it, so they stand below.
pub fn places(line: &Line) -> Vec<Place> {
    let mut out: Vec<Option<Place>> = vec![None; line.slots.len()];
    let mut rows: Vec<Row> = Vec::new();
    for (s, slot) in line.slots.iter().enumerate() {
        if out.get(s).is_none_or(Option::is_some) {
            continue;
        }
        let Some((mirror, other)) = slot.mirror.and_then(|m| Some((m, line.slots.get(m)?))) else {
            rows.push(Row::Middle);
            set(&mut out, s, Place { across: [1.0, 1.0], row: rows.len() - 1 });
            continue;
        };
        let flanks = !carries(slot) && rows.last() == Some(&Row::Middle);
        if flanks {
            if let Some(last) = rows.last_mut() {
                *last = Row::Flanked;
            }
        } else {
            rows.push(Row::Pair);
        }
        let (left, right) = if flanks { ([0.0, 1.0], [2.0, 1.0]) } else { ([0.5, 1.0], [1.5, 1.0]) };
        let own_left = slot.label.contains("left") || (!other.label.contains("left") && s > mirror);
        let row = rows.len() - 1;
        set(&mut out, s, Place { across: if own_left { right } else { left }, row });
        set(&mut out, mirror, Place { across: if own_left { left } else { right }, row });
    }
    out.into_iter().flatten().collect()
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Row {
    Middle,
    Flanked,
    Pair,
}

fn set(out: &mut [Option<Place>], at: usize, place: Place) {
    if let Some(free) = out.get_mut(at) {
        *free = Some(place);
    }
}

fn carries(slot: &LineSlot) -> bool {
    ["leg", "thigh", "shin", "foot", "boot", "shoe"].iter().any(|word| slot.id.contains(word))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_slot_has_a_place_of_its_own_and_left_is_at_the_viewers_right() {
        let text = include_str!("../../assets/demo/skerry-rescue.guide.json");
        let line = Line::new(&crate::guide::read_guide(text).unwrap());
        let places = places(&line);
        assert_eq!(places.len(), line.slots.len());
        for (i, one) in places.iter().enumerate() {
            for other in &places[i + 1..] {
                let apart = (one.across[0] - other.across[0]).abs() >= 1.0;
                assert!(one.row != other.row || apart, "{one:?} {other:?}");
            }
        }
        let at = |id: &str| places[line.slot(id).unwrap()];
        assert_eq!(at("torso").row, at("arm-left").row);
        assert!(at("arm-left").across[0] > at("arm-right").across[0]);
        assert!(at("leg-left").row > at("waist").row);
        assert_eq!(at("leg-left").row, at("leg-right").row);
    }
}

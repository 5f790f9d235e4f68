//! The figure as boxes, one a slot: what is said of each part in a word and a pattern. Where the boxes stand is that of
//! the window.

use super::plain::name_of;
use crate::case::CaseDocument;
use crate::figure::{Findings, Line};
use crate::guide::Guide;
use crate::report::body::{Place, places};
use crate::report::words::percent;

/// A plain figure.
pub(super) struct Diagram {
    pub boxes: Vec<SlotBox>,
    /// Rows of boxes.
    pub rows: usize,
    /// The same for who cannot see it.
    pub described: String,
}

/// One slot.
pub(super) struct SlotBox {
    pub place: Place,
    pub name: String,
    pub said: String,
    /// More of it, such as the shade.
    pub more: String,
    pub pattern: Pattern,
}

/// What stands at the left of a box; each means what its word says.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Pattern {
    /// The part belongs.
    Solid,
    /// It is doubtful.
    Slanting,
    /// It does not belong.
    Crossed,
    /// There is none, or nothing was seen; the box is dashed.
    Empty,
}

/// The figure of a finding.
pub(super) fn of(guide: &Guide, findings: &Findings, case: &CaseDocument) -> Diagram {
    let line = Line::new(guide);
    let places = places(&line);
    let mut boxes = Vec::new();
    for (slot, place) in line.slots.iter().zip(&places) {
        let found = findings.slots.iter().find(|found| found.slot == slot.id);
        let (said, pattern) = match found {
            _ if findings.missing.iter().any(|missing| missing.slot == slot.id) => {
                ("missing".to_owned(), Pattern::Empty)
            }
            None => ("not seen".to_owned(), Pattern::Empty),
            Some(found) => {
                let pattern = match found.word() {
                    "belongs" => Pattern::Solid,
                    "doubtful" => Pattern::Slanting,
                    _ => Pattern::Crossed,
                };
                // The probability is that of what the word says.
                let sure = if pattern == Pattern::Crossed { 1.0 - found.belongs } else { found.belongs };
                let of = if pattern == Pattern::Slanting { " that it belongs" } else { "" };
                (format!("{}, {}{of}", found.word(), percent(sure)), pattern)
            }
        };
        let mould = case.observations.iter().find(|seen| seen.slot == slot.id && seen.feature == "mould");
        let mould = mould.map(|seen| {
            let known = guide.moulds.iter().find(|mould| mould.id == seen.value);
            name_of(known.map_or(&*seen.value, |mould| mould.name()))
        });
        let name = name_of(&slot.label);
        boxes.push(SlotBox { place: *place, name, said, more: mould.unwrap_or_default(), pattern });
    }
    let rows = places.iter().map(|place| place.row + 1).max().unwrap_or(0);
    let told: Vec<String> = boxes.iter().map(|slot| format!("{}: {}", slot.name, slot.said)).collect();
    Diagram { boxes, rows, described: format!("The figure seen from the front. {}.", told.join("; ")) }
}

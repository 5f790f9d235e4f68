//! What was found in a photo by itself as edits of its case: a card's steps become zones, loose parts become readings.

use serde_json::Map;

use super::known::known_places;
use super::parts::{FindOptions, FoundPart, FoundTray, find_parts};
use super::sort::reading_id;
use crate::card::find::{SEARCH_PX, find_cards_in};
use crate::card::{FoundCard, KnownSteps, Variant};
use crate::case::{
    BoxPlace, CardFound, CaseDocument, Edit, Known, LoosePart, MAX_MARKS, MarkKey, ReadingMark, Surface,
    TrayMarks, ZoneMark,
};
use crate::problem::Problem;
use crate::raster::{Raster, Reduced, Shape};

/// Cards and, where asked for, the parts of a photo.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// Cards, the best first.
    pub cards: Vec<FoundCard>,
    /// Places of the parts in the boxes of the first card that has boxes.
    pub boxes: Vec<Option<Shape>>,
    /// Loose parts, if they were looked for.
    pub tray: Option<FoundTray>,
}

/// Looks for cards, and for loose parts if asked to.
pub fn look(raster: &Raster, for_parts: bool) -> Found {
    let picture = Reduced::of(raster, SEARCH_PX);
    let cards = find_cards_in(&picture);
    let strip = cards.iter().find(|card| card.variant == Variant::WithStrip);
    let boxes = strip.map(|card| known_places(&picture, card)).unwrap_or_default();
    let tray = for_parts.then(|| find_parts(&picture, &cards, &FindOptions::default()));
    Found { cards, boxes, tray }
}

impl Found {
    /// The edits that mark the cards. Steps marked before under the same names move; those that are not seen go.
    ///
    /// # Errors
    /// Where no card was found.
    pub fn card_edits(&self, case: &CaseDocument, steps: &KnownSteps) -> Result<Vec<Edit>, Problem> {
        let Some(best) = self.cards.first() else {
            return Err(Problem::new(
                "No card was found in this photo.",
                "Only the card that this program prints (“Grey card to print…”) can be found, with two of its corner \
                 marks in sight and at least a ninth of the photo wide. Mark any other card by hand.",
            ));
        };
        let mut edits = Vec::new();
        let mut kept = Vec::new();
        for (n, card) in self.cards.iter().enumerate() {
            for step in &card.steps {
                let Some(known) = steps.steps.get(step.number - 1) else { continue };
                let known = Known::Lab { lab: known.lab, sd: known.sd };
                let id = step_id(n, step.number);
                edits.extend(placed(case, &id, step.shape.clone(), known, Surface::Flat));
                kept.push(id);
            }
        }
        let old = case.zones.iter().filter(|zone| is_step(&zone.id) && !kept.contains(&zone.id));
        edits.extend(old.map(|zone| Edit::Delete(MarkKey::zone(&zone.id))));
        let to_mm = best.to_photo.inverse().map(|plane| plane.rows());
        edits.push(Edit::SetCardFound(to_mm.map(|to_mm| CardFound {
            card: if best.variant == Variant::Plain { "plain" } else { "with strip" }.into(),
            marks: best.marks,
            quality: (best.quality * 100.0).round() / 100.0,
            to_mm,
            boxes: self.boxes.iter().map(|place| place.as_ref().map(box_place)).collect(),
            rest: Map::new(),
        })));
        Ok(edits)
    }

    /// The edits that mark the parts, in place of those found before.
    ///
    /// # Errors
    /// Where there is no plain board, no part, or more parts than a case can hold.
    pub fn part_edits(&self, case: &CaseDocument) -> Result<Vec<Edit>, Problem> {
        let Some(tray) = self.tray.as_ref().filter(|tray| tray.has_board) else { return Err(no_board()) };
        if tray.parts.is_empty() {
            return Err(no_part());
        }
        let old: Vec<&str> = case.loose_parts().iter().filter_map(|part| part.reading.as_deref()).collect();
        let others = || case.readings.iter().filter(|reading| !old.contains(&reading.id.as_str()));
        let steps = self.cards.iter().map(|card| card.steps.len()).sum::<usize>();
        if case.zones.len() + steps + others().count() + tray.parts.len() > MAX_MARKS {
            return Err(too_many(tray.parts.len()));
        }
        let mut edits = vec![Edit::SetTray(None)];
        edits.extend(old.iter().map(|id| Edit::Delete(MarkKey::reading(*id))));
        let mut marks = TrayMarks {
            parts: Vec::new(),
            bodies: case.tray.as_ref().map(|tray| tray.bodies.clone()).unwrap_or_default(),
            rest: case.tray.as_ref().map(|tray| tray.rest.clone()).unwrap_or_default(),
        };
        for part in &tray.parts {
            let usual = reading_id(part.number);
            let id =
                if others().any(|reading| reading.id == usual) { format!("loose {usual}") } else { usual };
            let reading = part.matt.clone().map(|shape| ReadingMark::new(&id, shape));
            marks.parts.push(loose_part(part, reading.as_ref()));
            edits.extend(reading.map(Edit::AddReading));
        }
        edits.push(Edit::SetTray(Some(marks)));
        Ok(edits)
    }
}

/// A part as a case keeps it.
pub(super) fn loose_part(part: &FoundPart, reading: Option<&ReadingMark>) -> LoosePart {
    LoosePart {
        number: part.number as u32,
        outline: part.outline.clone(),
        reading: reading.map(|reading| reading.id.clone()),
        doubts: part.doubts.iter().map(|doubt| doubt.code().to_owned()).collect(),
        rest: Map::new(),
    }
}

/// The edits that say which shade the part in a box of the card is, or that it is unsure; boxes are counted from 1.
pub fn box_edits(case: &CaseDocument, number: usize, shade: Option<&str>) -> Vec<Edit> {
    let id = box_id(number);
    let places = case.card_found.as_ref().map(|card| card.boxes.as_slice()).unwrap_or_default();
    let place = number.checked_sub(1).and_then(|n| places.get(n)).and_then(Option::as_ref);
    match (place, shade) {
        (Some(place), Some(shade)) => placed(case, &id, place.shape(), Known::shade(shade), Surface::Rounded),
        _ if case.zones.iter().any(|zone| zone.id == id) => vec![Edit::Delete(MarkKey::zone(id))],
        _ => Vec::new(),
    }
}

/// The zone of the part in a box of the card, counted from 1.
pub fn box_id(number: usize) -> String {
    format!("known part {number}")
}

/// A zone with this shape and colour, new or moved.
fn placed(case: &CaseDocument, id: &str, shape: Shape, known: Known, surface: Surface) -> Vec<Edit> {
    let key = MarkKey::zone(id);
    match case.zones.iter().find(|zone| zone.id == id) {
        Some(zone) => {
            let mut edits = vec![Edit::Reshape(key.clone(), shape)];
            if zone.known != known {
                edits.push(Edit::SetKnown(key.clone(), known));
            }
            if zone.surface != surface {
                edits.push(Edit::SetSurface(key, surface));
            }
            edits
        }
        None => vec![Edit::AddZone(ZoneMark { id: id.into(), shape, known, surface, rest: Map::new() })],
    }
}

/// Name of a step's zone, on the card of that index.
pub(super) fn step_id(card: usize, step: usize) -> String {
    if card == 0 { format!("step {step}") } else { format!("card {} step {step}", card + 1) }
}

fn is_step(id: &str) -> bool {
    let words: Vec<&str> = id.split(' ').collect();
    let number = |text: &&str| text.parse::<u32>().is_ok();
    match words.as_slice() {
        ["step", n] => number(n),
        ["card", m, "step", n] => number(m) && number(n),
        _ => false,
    }
}

fn box_place(shape: &Shape) -> BoxPlace {
    let outline = if let Shape::Polygon(outline) = shape { outline.clone() } else { Vec::new() };
    BoxPlace { centre: shape.centre(), radius: shape.inner_radius_px(), outline, rest: Map::new() }
}

pub(super) fn no_board() -> Problem {
    Problem::new(
        "There is no plain board in the photo on which loose parts could be found.",
        "Lay the parts on a board or sheet of one neutral tone that fills most of the picture.",
    )
}

pub(super) fn no_part() -> Problem {
    Problem::new(
        "No loose part was found on the board.",
        "Parts must differ from the board in colour, or be lighter; take another board or come nearer.",
    )
}

pub(super) fn too_many(parts: usize) -> Problem {
    Problem::new(format!("{parts} parts are too many for one photo."), "Photograph them in two lots.")
}

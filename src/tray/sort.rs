//! A photo of a tray sorted: cards and known parts become zones, parts become readings, all are measured jointly, and
//! what was measured is laid into piles.

use serde_json::Map;

use super::found::{box_id, loose_part, no_board, no_part, step_id, too_many};
use super::known::known_places;
use super::pairs::{Pair, proposed_pairs};
use super::parts::{FindOptions, FoundTray, find_parts};
use crate::card::find::{SEARCH_PX, find_cards_in};
use crate::card::{FoundCard, KnownSteps, Variant};
use crate::case::{CaseDocument, Known, ReadingMark, Surface, TrayMarks, ZoneMark};
use crate::measure::{self, AreaCache, Call, Inputs, Measurement};
use crate::problem::Problem;
use crate::raster::{PhotoFacts, Raster, Reduced};
use crate::shade::References;

/// What a tray is sorted by.
#[derive(Debug, Clone, Copy)]
pub struct SortInputs<'a> {
    /// The upright photo.
    pub raster: &'a Raster,
    /// What its file says of itself.
    pub facts: &'a PhotoFacts,
    /// The shades.
    pub references: Option<&'a References>,
    /// The greys of the card.
    pub steps: &'a KnownSteps,
    /// Shade of the part in each box of the card, from the left; `None` where the box is empty or the shade unsure.
    pub known_parts: &'a [Option<String>],
    /// A shade is called only above this probability.
    pub confidence: f64,
}

/// A sorted tray.
#[derive(Debug, Clone)]
pub struct SortedTray {
    /// Cards, the best first.
    pub cards: Vec<FoundCard>,
    /// Parts in reading order.
    pub tray: FoundTray,
    /// Cards, known parts and parts as marks.
    pub case: CaseDocument,
    /// What was measured of them.
    pub measurement: Measurement,
    /// Parts that may be left and right of one figure, by their index.
    pub pairs: Vec<Pair>,
    /// What could not be measured, and what else to know.
    pub problems: Vec<Problem>,
}

/// The id of a part's reading.
pub fn reading_id(number: usize) -> String {
    format!("part {number:02}")
}

/// Who chose the places of a case: on a tray a program did, whoever asks.
pub fn marked_in(case: &CaseDocument) -> measure::Marked {
    if case.tray.is_some() { measure::Marked::ByProgram } else { measure::Marked::ByHand }
}

/// Finds and measures everything in a photo of a tray.
///
/// # Errors
/// Where there is no plain board, no part, or more parts than a case can hold.
pub fn sort_tray(inputs: &SortInputs, photo_name: &str) -> Result<SortedTray, Problem> {
    let picture = Reduced::of(inputs.raster, SEARCH_PX);
    let cards = find_cards_in(&picture);
    let tray = find_parts(&picture, &cards, &FindOptions::default());
    if !tray.has_board {
        return Err(no_board());
    }
    if tray.parts.is_empty() {
        return Err(no_part());
    }
    let mut problems = Vec::new();
    let case = case_of(inputs, photo_name, &picture, &cards, &tray, &mut problems);
    if case.zones.len() + case.readings.len() > crate::case::MAX_MARKS {
        return Err(too_many(tray.parts.len()));
    }
    if cards.is_empty() {
        problems.push(Problem::new(
            "No card was found, so sizes are unknown and shades uncertain.",
            "Lay a printed card (sameshot card) among the parts, all four corner marks in sight.",
        ));
    }
    let measured = measure::measure(
        &Inputs {
            raster: inputs.raster,
            facts: inputs.facts,
            case: &case,
            references: inputs.references,
            flat_field: None,
            other_photos: &[],
        },
        &measure::Options {
            confidence: inputs.confidence,
            remedies: false,
            marked: marked_in(&case),
            ..measure::Options::default()
        },
        &mut AreaCache::default(),
    );
    problems.extend(measured.problems.iter().map(|p| Problem::new(p.text.clone(), p.remedy.clone())));
    let measurement = measured.measurement;
    let pairs = proposed_pairs(&tray.parts, |a, b| same_plastic(&measurement, &tray, a, b));
    Ok(SortedTray { cards, tray, case, measurement, pairs, problems })
}

fn same_plastic(measurement: &Measurement, tray: &FoundTray, a: usize, b: usize) -> f64 {
    let [a, b] = [a, b].map(|n| reading_id(tray.parts[n].number));
    let pair =
        measurement.pairs.iter().find(|pair| (pair.a == a && pair.b == b) || (pair.a == b && pair.b == a));
    pair.map_or(0.0, |pair| 1.0 - pair.different_plastic)
}

fn case_of(
    inputs: &SortInputs,
    photo_name: &str,
    picture: &Reduced,
    cards: &[FoundCard],
    tray: &FoundTray,
    problems: &mut Vec<Problem>,
) -> CaseDocument {
    let mut case = CaseDocument::new(photo_name);
    for (n, card) in cards.iter().enumerate() {
        for step in &card.steps {
            let Some(known) = inputs.steps.steps.get(step.number - 1) else { continue };
            let known = Known::Lab { lab: known.lab, sd: known.sd };
            case.zones.push(ZoneMark::new(step_id(n, step.number), step.shape.clone(), known));
        }
    }
    let strip = cards.iter().find(|card| card.variant == Variant::WithStrip);
    let places = strip.map(|card| known_places(picture, card)).unwrap_or_default();
    for (n, shade) in inputs.known_parts.iter().enumerate() {
        let Some(shade) = shade else { continue };
        match places.get(n).cloned().flatten() {
            Some(shape) => case.zones.push(ZoneMark {
                id: box_id(n + 1),
                shape,
                known: Known::shade(shade),
                surface: Surface::Rounded,
                rest: Map::new(),
            }),
            None => problems.push(Problem::new(
                format!("Known part {} ({shade}) was not found in its box.", n + 1),
                "Lay it inside box and picture, on the bare paper, or leave it out of --known.",
            )),
        }
    }
    let mut marks = TrayMarks::default();
    for part in &tray.parts {
        let reading = part.matt.clone().map(|shape| ReadingMark::new(reading_id(part.number), shape));
        marks.parts.push(loose_part(part, reading.as_ref()));
        case.readings.extend(reading);
    }
    case.tray = Some(marks);
    case
}

/// Parts of one shade, the surest first; undecided ones and those of none of the shades come last.
#[derive(Debug, Clone, PartialEq)]
pub struct Pile {
    /// The call: a shade, undecided or none.
    pub call: Call,
    /// Numbers of the parts.
    pub numbers: Vec<usize>,
}

/// The piles in the order of the shades.
pub fn piles(sorted: &SortedTray, references: Option<&References>) -> Vec<Pile> {
    let called = sorted.tray.parts.iter().map(|part| {
        let id = reading_id(part.number);
        let reading = sorted.measurement.readings.iter().find(|reading| reading.id == id);
        (part.number, reading.and_then(|reading| reading.call.clone()))
    });
    piles_of(called, references)
}

/// The same of numbers with their calls; what was not read is undecided.
pub fn piles_of(
    called: impl Iterator<Item = (usize, Option<Call>)>,
    references: Option<&References>,
) -> Vec<Pile> {
    let mut piles: Vec<Pile> = Vec::new();
    for (number, call) in called {
        let call = call.unwrap_or(Call::Undecided);
        match piles.iter_mut().find(|pile| pile.call == call) {
            Some(pile) => pile.numbers.push(number),
            None => piles.push(Pile { call, numbers: vec![number] }),
        }
    }
    let shades = references.map(|references| references.shades.as_slice()).unwrap_or_default();
    let rank = |call: &Call| match call {
        Call::Shade(id) => shades.iter().position(|shade| shade.id == *id).unwrap_or(shades.len()),
        Call::Undecided => shades.len() + 1,
        Call::None => shades.len() + 2,
    };
    piles.sort_by_key(|pile| rank(&pile.call));
    piles
}

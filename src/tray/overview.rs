//! The loose parts of a case with all that follows for them: size, pile, likely partner.

use std::collections::BTreeMap;

use super::bodies::{LimbFit, fits};
use super::outline::{Extent, extent_of};
use super::pairs::proposed_pairs;
use super::parts::FoundPart;
use super::sort::{Pile, piles_of};
use crate::card::Homography;
use crate::case::{CaseDocument, Doubt, LoosePart};
use crate::measure::{Call, Measurement};
use crate::shade::References;

/// What is known of the loose parts of a case.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Overview {
    /// The parts in the order of their numbers.
    pub parts: Vec<PartFacts>,
    /// Their numbers by shade, undecided ones and those of none of the shades last.
    pub piles: Vec<Pile>,
    /// Numbers of two parts that may be left and right of one figure, and how well they cover each other, 0..=1.
    pub pairs: Vec<(u32, u32, f64)>,
    /// Limbs and the bodies they fit.
    pub fits: Vec<LimbFit>,
}

/// What is known of one part.
#[derive(Debug, Clone, PartialEq)]
pub struct PartFacts {
    /// Its number.
    pub number: u32,
    /// Its reading.
    pub reading: Option<String>,
    /// Length, width and area, where a card gives the scale.
    pub size: Option<Extent>,
    /// Where its number is written, in pixels of the photo.
    pub place: [f64; 2],
    /// The shade it was called, if it was read and compared.
    pub call: Option<Call>,
    /// What is doubtful about it.
    pub doubts: Vec<Doubt>,
    /// The part that may be its left or right.
    pub partner: Option<u32>,
}

/// Gathers what is known. `measurement` may be that of the marks a moment ago.
pub fn overview(
    case: &CaseDocument,
    measurement: Option<&Measurement>,
    references: Option<&References>,
) -> Overview {
    let plane = case.card_found.as_ref().map(|card| Homography::of_rows(&card.to_mm));
    let calls: BTreeMap<&str, Option<&Call>> =
        measurement.iter().flat_map(|m| &m.readings).map(|r| (r.id.as_str(), r.call.as_ref())).collect();
    let mut marks: Vec<&LoosePart> = case.loose_parts().iter().collect();
    marks.sort_by_key(|part| part.number);
    let mut parts: Vec<PartFacts> =
        marks.iter().map(|part| facts(case, part, plane.as_ref(), &calls)).collect();
    let pairs = pairs(&marks, &parts, measurement);
    for (a, b, _) in &pairs {
        for part in &mut parts {
            if part.number == *a {
                part.partner = Some(*b);
            } else if part.number == *b {
                part.partner = Some(*a);
            }
        }
    }
    let called = parts.iter().map(|part| (part.number as usize, part.call.clone()));
    Overview {
        piles: piles_of(called, references),
        fits: measurement.map(|measurement| fits(case, measurement)).unwrap_or_default(),
        parts,
        pairs,
    }
}

fn facts(
    case: &CaseDocument,
    part: &LoosePart,
    plane: Option<&Homography>,
    calls: &BTreeMap<&str, Option<&Call>>,
) -> PartFacts {
    let reading = case.readings.iter().find(|reading| Some(&reading.id) == part.reading.as_ref());
    let size = plane.and_then(|plane| extent_of(part.outline.iter().map(|p| plane.map(*p))));
    let call = reading.and_then(|reading| calls.get(reading.id.as_str()).copied().flatten().cloned());
    PartFacts {
        number: part.number,
        reading: reading.map(|reading| reading.id.clone()),
        size: size.filter(|size| size.length_mm.is_finite() && size.area_mm2.is_finite()),
        place: reading.map_or_else(|| part.shape().centre(), |reading| reading.shape.centre()),
        call,
        doubts: part.known_doubts().collect(),
        partner: None,
    }
}

fn pairs(
    marks: &[&LoosePart],
    parts: &[PartFacts],
    measurement: Option<&Measurement>,
) -> Vec<(u32, u32, f64)> {
    let Some(measurement) = measurement else { return Vec::new() };
    let mut same: BTreeMap<(&str, &str), f64> = BTreeMap::new();
    for pair in &measurement.pairs {
        same.insert((&pair.a, &pair.b), 1.0 - pair.different_plastic);
    }
    let forms: Vec<FoundPart> = marks.iter().zip(parts).map(|(mark, facts)| form(mark, facts)).collect();
    let of = |a: usize, b: usize| {
        let ids = parts[a].reading.as_deref().zip(parts[b].reading.as_deref());
        ids.and_then(|(a, b)| same.get(&(a, b)).or(same.get(&(b, a)))).copied().unwrap_or(0.0)
    };
    let numbered = proposed_pairs(&forms, of).into_iter();
    numbered.map(|pair| (parts[pair.a].number, parts[pair.b].number, pair.mirrored)).collect()
}

fn form(mark: &LoosePart, facts: &PartFacts) -> FoundPart {
    FoundPart {
        number: mark.number as usize,
        outline: mark.outline.clone(),
        matt: None,
        centre: mark.shape().centre(),
        area_px: mark.shape().area_px(),
        size: facts.size,
        doubts: facts.doubts.clone(),
    }
}

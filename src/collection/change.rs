//! A finding made ready for the history, and what it says otherwise than the one before.

use serde_json::Map;

use super::record::{RecordedFinding, RecordedPart, RecordedWho, SETTLED, Source};
use crate::case::CaseDocument;
use crate::figure::{Findings, name_and_run};
use crate::guide::slot_words;
use crate::measure::{Call, Measurement, ReadingResult};

/// More candidates than this are not kept.
const CANDIDATES: usize = 3;

/// What a finding is made from. The date is passed in: this room knows no clock.
#[derive(Debug, Clone, Copy)]
pub struct Made<'a> {
    /// The day, year-month-day.
    pub date: &'a str,
    /// The files it rests on.
    pub sources: &'a [Source],
    /// The marks.
    pub case: &'a CaseDocument,
    /// What was measured.
    pub measurement: &'a Measurement,
    /// Who the figure is, where a guide was weighed with.
    pub findings: Option<&'a Findings>,
}

/// The entry for the history.
pub fn recorded(made: &Made) -> RecordedFinding {
    let ranking = made.findings.map(|f| f.ranking.as_slice()).unwrap_or_default();
    let who = ranking.iter().take(CANDIDATES).map(|ranked| RecordedWho {
        character: ranked.character.clone(),
        run: ranked.run.clone(),
        probability: ranked.probability.clamp(0.0, 1.0),
    });
    RecordedFinding {
        date: made.date.into(),
        program: env!("CARGO_PKG_VERSION").into(),
        sources: made.sources.to_vec(),
        ranking: who.collect(),
        parts: parts(made),
        missing: made.findings.iter().flat_map(|f| f.missing.iter().map(|m| m.slot.clone())).collect(),
        rest: Map::new(),
    }
}

/// Every part that was read, and every one of which something was seen.
fn parts(made: &Made) -> Vec<RecordedPart> {
    let slot_of = |id: &str| made.case.readings.iter().find(|mark| mark.id == id)?.slot.clone();
    let read = made.measurement.readings.iter();
    let mut parts: Vec<RecordedPart> = read.map(|r| of_reading(r, slot_of(&r.id))).collect();
    let count = |slot: &str| made.case.readings.iter().filter(|m| m.slot.as_deref() == Some(slot)).count();
    for part in &mut parts {
        // Of several parts of one slot it is not known which one a look was at.
        let Some(slot) = part.slot.clone().filter(|slot| count(slot) == 1) else { continue };
        tell_seen(made, &slot, part);
    }
    for found in made.findings.iter().flat_map(|findings| &findings.slots) {
        if parts.iter().any(|part| part.slot.as_ref() == Some(&found.slot)) {
            continue;
        }
        let mut part = RecordedPart { slot: Some(found.slot.clone()), ..empty() };
        tell_seen(made, &found.slot, &mut part);
        parts.push(part);
    }
    parts
}

fn empty() -> RecordedPart {
    RecordedPart {
        reading: None,
        slot: None,
        call: None,
        probability: None,
        mould: None,
        belongs: None,
        state: Vec::new(),
        rest: Map::new(),
    }
}

fn of_reading(reading: &ReadingResult, slot: Option<String>) -> RecordedPart {
    let of = |shade: Option<&str>| {
        reading.shades.iter().find(|entry| entry.shade.as_deref() == shade).map(|entry| entry.probability)
    };
    let highest = || reading.shades.iter().map(|entry| entry.probability).reduce(f64::max);
    let probability = match &reading.call {
        None => None,
        Some(Call::Shade(id)) => of(Some(id)),
        Some(Call::None) => of(None),
        Some(Call::Undecided) => highest(),
    };
    RecordedPart {
        reading: Some(reading.id.clone()),
        slot,
        call: reading.call.clone().map(String::from),
        probability: probability.map(|p| p.clamp(0.0, 1.0)),
        ..empty()
    }
}

fn tell_seen(made: &Made, slot: &str, part: &mut RecordedPart) {
    let here = made.case.observations.iter().filter(|seen| seen.slot == slot);
    part.mould = here
        .clone()
        .find(|seen| seen.feature == "mould" && seen.sure && seen.value != "can't see")
        .map(|seen| seen.value.clone());
    part.state = here.filter(|seen| seen.feature == "condition").map(|seen| seen.value.clone()).collect();
    let found = made.findings.and_then(|findings| findings.slots.iter().find(|found| found.slot == slot));
    part.belongs = found.map(|found| found.belongs.clamp(0.0, 1.0));
}

/// What a new finding says otherwise than the one before, in words; empty where it says the same. Probabilities that
/// move without changing what is said are no change.
pub fn changes(before: &RecordedFinding, after: &RecordedFinding) -> Vec<String> {
    let mut out = Vec::new();
    let (was, is) = (who(before), who(after));
    if was != is {
        out.push(format!("who it is: {was}, now {is}"));
    }
    for part in &after.parts {
        let Some(old) = before.parts.iter().find(|old| old.reading == part.reading && old.slot == part.slot)
        else {
            out.push(format!("{}: was not looked at before", name(part)));
            continue;
        };
        let call = |part: &RecordedPart| part.call.clone().unwrap_or_else(|| "no shade".into());
        if call(old) != call(part) {
            out.push(format!("{}: {}, now {}", name(part), call(old), call(part)));
        }
        let (was, is) = (belongs(old), belongs(part));
        if was != is {
            out.push(format!("{}: {was}, now {is}", name(part)));
        }
    }
    let gone = before
        .parts
        .iter()
        .filter(|old| !after.parts.iter().any(|part| part.reading == old.reading && part.slot == old.slot));
    out.extend(gone.map(|old| format!("{}: is not found any more", name(old))));
    let only_in = |a: &RecordedFinding, b: &RecordedFinding| -> Vec<String> {
        a.missing.iter().filter(|slot| !b.missing.contains(slot)).cloned().collect()
    };
    out.extend(only_in(after, before).iter().map(|slot| format!("{}: missing now", slot_words(None, slot))));
    out.extend(
        only_in(before, after).iter().map(|slot| format!("{}: not missing any more", slot_words(None, slot))),
    );
    out
}

fn who(finding: &RecordedFinding) -> String {
    match (finding.settled(), finding.ranking.first()) {
        (Some(who), _) => name_and_run(&who.character, &who.run),
        (None, Some(_)) => "undecided".into(),
        (None, None) => "not weighed".into(),
    }
}

fn name(part: &RecordedPart) -> String {
    let slot = || part.slot.as_deref().map(|slot| slot_words(None, slot));
    part.reading.clone().or_else(slot).unwrap_or_else(|| "a part".into())
}

fn belongs(part: &RecordedPart) -> &'static str {
    match part.belongs {
        None => "not weighed",
        Some(p) if p >= SETTLED => "belongs",
        Some(p) if p <= 1.0 - SETTLED => "does not belong",
        Some(_) => "doubtful",
    }
}

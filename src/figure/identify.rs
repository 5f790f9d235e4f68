//! A case, its measurement and a guide → the finding.

use crate::case::CaseDocument;
use crate::guide::Guide;
use crate::light::Light;
use crate::measure::{Measurement, ReadingResult};
use crate::shade::{Predictive, Priors};

use super::condition::condition;
use super::evidence::{Condition, Evidence, Presence, ShadeLikelihood};
use super::findings::{FindingOptions, Findings, find};
use super::joint::joint_shades;
use super::line::{Line, Sort};
use super::signs::{Measured, OffColour, SlotPair, signs};
use super::weigh::{Weighed, weigh};

/// Shade probabilities on paper are rounded and modelled; below this they tell nothing.
const LEAST_PROBABILITY: f64 = 1e-4;

/// What lets the shades of one photo be weighed together instead of one by one.
#[derive(Debug, Clone, Copy)]
pub struct PhotoShades<'a> {
    /// The light of the photo; its readings are those of the measurement, in their order.
    pub light: &'a Light,
    /// The shades.
    pub predictive: &'a Predictive,
}

/// Joins a case's observations and readings with a guide. Readings without a slot are left out; of two readings of one
/// slot the one with more pixels counts. Whatever the guide does not know is told in the finding's notes, and the
/// rest is weighed without it. With `photo` the shades are weighed jointly, as they share the light; without, one by
/// one.
pub fn identify(
    case: &CaseDocument,
    measurement: &Measurement,
    photo: Option<PhotoShades>,
    guide: &Guide,
) -> Findings {
    let line = Line::new(guide);
    let (mut evidence, measured) = gather(case, measurement, photo, &line);
    let problems = evidence.check(&line);
    drop_unknown(&mut evidence, &line);
    let mut findings = find(&line, &evidence, &FindingOptions::default());
    let weighed = weigh(&line, &evidence).ok();
    findings.signs = signs(weighed.as_ref(), &evidence, &measured);
    let expected =
        |slot: usize, shade: &str| weighed.as_ref().map_or(0.0, |w| shade_probability(w, slot, shade));
    findings.condition = condition(guide, &line, &evidence, expected);
    for problem in problems.iter().map(ToString::to_string) {
        if !findings.notes.contains(&problem) {
            findings.notes.push(problem);
        }
    }
    findings
}

/// The evidence of a case, and what the photo says besides.
pub fn gather(
    case: &CaseDocument,
    measurement: &Measurement,
    photo: Option<PhotoShades>,
    line: &Line,
) -> (Evidence, Measured) {
    let mut evidence = Evidence::default();
    let mut measured = Measured::default();
    for seen in &case.observations {
        match &*seen.feature {
            "condition" | "presence" => state(&mut evidence, &seen.slot, &seen.value),
            feature => drop(evidence.see(&seen.slot, feature, &seen.value, seen.sure)),
        }
    }
    let mut slot_of: Vec<(&str, &str)> = Vec::new();
    for (slot, reading) in best_readings(case, measurement) {
        slot_of.push((&reading.id, slot));
        if reading.shades.is_empty() {
            continue;
        }
        let floor = |p: f64| if p.is_finite() { p.max(LEAST_PROBABILITY) } else { LEAST_PROBABILITY };
        let posterior: Vec<_> =
            reading.shades.iter().map(|s| (s.shade.clone(), floor(s.probability))).collect();
        let shade = ShadeLikelihood::from_posterior(&posterior, Priors::default().none);
        let none = reading.shades.iter().find(|s| s.shade.is_none()).map_or(0.0, |s| s.probability);
        let compared = reading.shades.iter().filter_map(|s| s.shade.clone()).collect();
        measured.off_colour.push(OffColour { slot: slot.into(), none, compared });
        let known = line.slot(slot).and_then(|s| line.slots.get(s));
        if known.is_none_or(|s| s.features.iter().any(|f| f.sort == Sort::Shade)) {
            evidence.at(slot).shade = Some(shade);
        }
    }
    if let Some(photo) = photo {
        read_jointly(measurement, photo, &slot_of, &mut evidence);
    }
    let slot =
        |id: &str| slot_of.iter().find(|(reading, _)| *reading == id).map(|(_, slot)| (*slot).to_owned());
    for pair in &measurement.pairs {
        if let (Some(a), Some(b)) = (slot(&pair.a), slot(&pair.b)) {
            measured.pairs.push(SlotPair { a, b, different: pair.different_plastic });
        }
    }
    (evidence, measured)
}

/// Puts one joint likelihood in the place of the single ones.
fn read_jointly(
    measurement: &Measurement,
    photo: PhotoShades,
    slot_of: &[(&str, &str)],
    evidence: &mut Evidence,
) {
    let has_shade = |slot: &str| evidence.slots.get(slot).is_some_and(|at| at.shade.is_some());
    let index = |id: &str| measurement.readings.iter().position(|r| r.id == id);
    let read = slot_of.iter().filter(|(_, slot)| has_shade(slot));
    let readings: Vec<_> = read.filter_map(|(id, slot)| Some((index(id)?, (*slot).to_owned()))).collect();
    let Some(joint) = joint_shades(photo.light, photo.predictive, &readings) else { return };
    for (_, slot) in &readings {
        evidence.at(slot).shade = None;
    }
    evidence.joint = Some(joint);
}

fn state(evidence: &mut Evidence, slot: &str, value: &str) {
    let at = evidence.at(slot);
    match value {
        "missing" => at.presence = Presence::Missing,
        "present" => at.presence = Presence::Present,
        _ => at.condition.extend(Condition::ALL.into_iter().find(|c| c.word() == value)),
    }
}

/// Slot → its reading, the one with the most pixels used.
fn best_readings<'a>(
    case: &'a CaseDocument,
    measurement: &'a Measurement,
) -> Vec<(&'a str, &'a ReadingResult)> {
    let mut out: Vec<(&str, &ReadingResult)> = Vec::new();
    for mark in &case.readings {
        let Some(slot) = mark.slot.as_deref() else { continue };
        let Some(reading) = measurement.readings.iter().find(|r| r.id == mark.id) else { continue };
        match out.iter_mut().find(|(s, _)| *s == slot) {
            Some((_, best)) if reading.pixels.used > best.pixels.used => *best = reading,
            Some(_) => {}
            None => out.push((slot, reading)),
        }
    }
    out
}

/// Takes out what the guide does not know, so that the rest can be weighed. Contradictions stay.
fn drop_unknown(evidence: &mut Evidence, line: &Line) {
    evidence.slots.retain(|id, _| line.slot(id).is_some());
    if let Some(joint) = &mut evidence.joint {
        let known: Vec<bool> = joint.slots.iter().map(|id| line.slot(id).is_some()).collect();
        let mut keep = known.iter();
        joint.slots.retain(|_| keep.next().copied().unwrap_or(false));
        for term in &mut joint.terms {
            let mut keep = known.iter();
            term.slots.retain(|_| keep.next().copied().unwrap_or(false));
        }
    }
    evidence.joint = evidence.joint.take().filter(|joint| !joint.slots.is_empty());
    for (id, at) in &mut evidence.slots {
        let Some(slot) = line.slot(id).and_then(|s| line.slots.get(s)) else { continue };
        at.looks.retain(|feature, seen| {
            let Some(known) = slot.feature(feature).and_then(|f| slot.features.get(f)) else { return false };
            match seen {
                super::Seen::CantSee => true,
                super::Seen::WornOff { .. } => known.sort == Sort::Paint,
                super::Seen::Value { value, .. } => known.values.contains(value),
            }
        });
    }
}

/// Probability that the part in a slot is of a shade, after all evidence.
fn shade_probability(weighed: &Weighed, s: usize, shade: &str) -> f64 {
    let Some((slot, view)) = weighed.line.slots.get(s).zip(weighed.part(s)) else { return 0.0 };
    let Some(f) = slot.features.iter().position(|f| f.sort == Sort::Shade) else { return 0.0 };
    let value = slot.features.get(f).and_then(|x| x.values.iter().position(|v| v == shade));
    let share = |k: &super::line::Kind| value.and_then(|v| k.shares.get(f)?.get(v).copied()).unwrap_or(0.0);
    let mut own = vec![0.0; slot.kinds.len()];
    for row in weighed.masses(s) {
        own.iter_mut().zip(row).for_each(|(sum, p)| *sum += p);
    }
    let each = slot.kinds.iter().zip(own).zip(&view.from);
    each.map(|((kind, mass), from)| share(kind) * (mass * view.belongs + from)).sum()
}

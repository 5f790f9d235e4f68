//! Why one character and not another, in words and odds.

use serde::{Deserialize, Serialize};

use super::evidence::{Evidence, Presence, Seen};
use super::line::{LineFeature, LineSlot, Sort};
use super::parts::own;
use super::slot_state::{Cell, absent, cell, look_on, shade_on};
use super::weigh::Weighed;

/// One piece of evidence for or against a host.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Reason {
    /// The slot it was seen in.
    pub slot: String,
    /// What was seen and what follows, for people; for a contradiction also what would have to be true.
    pub text: String,
    /// How many times likelier it is for this host than for the others together; below 1 it speaks against.
    pub odds: f64,
}

/// Odds nearer to 1 than this say nothing worth a line.
const SAYS_NOTHING: f64 = 1.2;
/// JSON knows no infinity; beyond this the number means nothing anyway.
const MOST_ODDS: f64 = 1e9;

/// One piece of evidence: slot, what was seen in words, the feature, and how well each kind explains it. Nothing but the
/// slot where there is no part.
pub(super) struct Piece<'a> {
    slot: usize,
    seen: Option<(String, Cell, Option<&'a LineFeature>)>,
}

/// The evidence piece by piece, the same for every host.
pub(super) fn all_pieces<'a>(weighed: &Weighed<'a>, evidence: &Evidence) -> Vec<Piece<'a>> {
    let mut out = Vec::new();
    for (s, slot) in weighed.line.slots.iter().enumerate() {
        if evidence.presence(&slot.id) == Presence::Missing {
            out.push(Piece { slot: s, seen: None });
            continue;
        }
        let seen = pieces(weighed, evidence, slot).into_iter();
        let seen = seen.map(|(what, like, feature)| (what, cell(slot, Presence::Present, like), feature));
        out.extend(seen.map(|seen| Piece { slot: s, seen: Some(seen) }));
    }
    out
}

/// The reasons for and against a host, the weightiest first. Each piece of evidence is weighed alone, against all
/// other hosts by how common they are.
pub(super) fn reasons(weighed: &Weighed, pieces: &[Piece], host: usize) -> Vec<Reason> {
    let mut out = Vec::new();
    for piece in pieces {
        let Some(slot) = weighed.line.slots.get(piece.slot) else { continue };
        match &piece.seen {
            None => {
                let factor: Vec<f64> = slot.kinds.iter().map(|kind| absent(slot, kind)).collect();
                let would = || "the part would have to be lost".to_owned();
                push(weighed, slot, host, &factor, "no part here", would, &mut out);
            }
            Some((what, cell, feature)) => {
                let would = || would_be(weighed, piece.slot, host, cell, *feature, what);
                push(weighed, slot, host, &cell.factor, what, would, &mut out);
            }
        }
    }
    let weight = |r: &Reason| libm::fabs(libm::log(r.odds.max(1.0 / MOST_ODDS)));
    out.sort_by(|a, b| weight(b).total_cmp(&weight(a)));
    out
}

/// What was seen in a slot, piece by piece: in words, kind → likelihood, and the feature.
fn pieces<'a>(
    weighed: &Weighed<'a>,
    evidence: &Evidence,
    slot: &'a LineSlot,
) -> Vec<(String, Vec<f64>, Option<&'a LineFeature>)> {
    let mut out = Vec::new();
    let parts = |like: Vec<f64>| -> Vec<f64> {
        like.iter().zip(&slot.kinds).map(|(l, kind)| if kind.part { *l } else { 0.0 }).collect()
    };
    let at = evidence.slots.get(&slot.id);
    for (id, seen) in at.iter().flat_map(|at| &at.looks) {
        let Some((f, feature)) = slot.feature(id).and_then(|f| Some((f, slot.features.get(f)?))) else {
            continue;
        };
        let Some(like) = look_on(slot, f, feature, seen) else { continue };
        out.push((seen_text(feature, seen), parts(like), Some(feature)));
    }
    let yellowed = at.is_some_and(|at| at.condition.contains(&super::Condition::Yellowed));
    let shade = slot.features.iter().find(|f| f.sort == Sort::Shade);
    let mut read = vec![0.0; slot.kinds.len()];
    let mut best: Vec<f64> = vec![0.0; shade.map_or(0, |f| f.values.len() + 1)];
    let mut any = false;
    let column =
        evidence.joint.as_ref().and_then(|j| Some((j, j.slots.iter().position(|id| *id == slot.id)?)));
    let terms =
        column.iter().flat_map(|(j, c)| j.terms.iter().filter_map(|t| Some((t.weight, t.slots.get(*c)?))));
    for (weight, likelihood) in terms.chain(at.and_then(|at| at.shade.as_ref()).map(|s| (1.0, s))) {
        any = true;
        let like = shade_on(weighed.line, slot, likelihood, yellowed);
        read.iter_mut().zip(like).for_each(|(sum, l)| *sum += weight * l);
        let names = shade.map_or(&[][..], |f| &f.values);
        let each =
            names.iter().map(|v| likelihood.shades.iter().find(|(id, _)| id == v).map_or(0.0, |x| x.1));
        best.iter_mut().zip(each.chain([likelihood.none])).for_each(|(sum, l)| *sum += weight * l);
    }
    if let (true, Some(feature)) = (any, shade) {
        let top = best.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1)).map_or(0, |(i, _)| i);
        let what = feature.labels.get(top).map_or("measured as no shade of the references".into(), |label| {
            format!("measured nearest to {label}")
        });
        out.push((what, parts(read), Some(feature)));
    }
    out
}

/// What was seen, for people: "ribbed cuffs", "badge: red disc (unsure)".
pub(super) fn seen_text(feature: &LineFeature, seen: &Seen) -> String {
    let (value, sure) = match seen {
        Seen::CantSee => return format!("{}: can’t see", feature.label),
        Seen::WornOff { sure } => ("worn off", *sure),
        Seen::Value { value, sure } => {
            let at = feature.values.iter().position(|v| v == value);
            (at.and_then(|i| feature.labels.get(i)).map_or(&**value, |l| l), *sure)
        }
    };
    let unsure = if sure { "" } else { " (unsure)" };
    match feature.sort {
        Sort::Mould => format!("{value}{unsure}"),
        _ => format!("{}: {value}{unsure}", feature.label),
    }
}

fn push(
    weighed: &Weighed,
    slot: &LineSlot,
    host: usize,
    factor: &[f64],
    what: &str,
    would: impl FnOnce() -> String,
    out: &mut Vec<Reason>,
) {
    let of = |h: usize| slot.kind_of.get(h).and_then(|k| factor.get(*k)).copied().unwrap_or(0.0);
    let others = || weighed.line.hosts.iter().enumerate().filter(|(h, _)| *h != host);
    let weight: f64 = others().map(|(_, x)| x.weight).sum();
    let rest: f64 = others().map(|(h, x)| x.weight * of(h)).sum();
    if weight <= 0.0 || (rest <= 0.0 && of(host) <= 0.0) {
        return;
    }
    let odds = if rest > 0.0 { (of(host) * weight / rest).min(MOST_ODDS) } else { MOST_ODDS };
    if odds < SAYS_NOTHING && odds > 1.0 / SAYS_NOTHING {
        return;
    }
    let name = weighed.line.hosts.get(host).map_or("", |h| &h.name);
    let text = if odds >= 1.0 {
        format!("{}, {what}: {} times likelier for {name}", slot.label, number(odds))
    } else {
        let against = number(1.0 / odds.max(1.0 / MOST_ODDS));
        format!("{}, {what}: {against} times likelier for others; {}", slot.label, would())
    };
    out.push(Reason { slot: slot.id.clone(), text, odds });
}

/// For evidence that speaks against a host: what would have to be true if it is this host after all.
fn would_be(
    weighed: &Weighed,
    s: usize,
    host: usize,
    cell: &super::slot_state::Cell,
    feature: Option<&LineFeature>,
    what: &str,
) -> String {
    let Some(slot) = weighed.line.slots.get(s) else { return String::new() };
    let kind = slot.kind_of.get(host).copied().unwrap_or(0);
    if slot.kinds.get(kind).is_some_and(|k| !k.part) {
        return "the part would have to have been added, since this one has none".into();
    }
    let there = cell.there.get(kind).copied().unwrap_or(0.0);
    let alone = if there > 0.0 { own(slot, cell, kind) / there } else { 0.0 };
    let view = weighed.part_if(s, host);
    let belongs = view.as_ref().map_or(alone, |v| v.belongs);
    if belongs < 0.5 {
        let donors = view.map(|v| weighed.donors(s, &v)).unwrap_or_default();
        let donor = donors.first().and_then(|(d, _)| weighed.line.hosts.get(*d));
        return match donor {
            Some(donor) => format!("the part would have to come from another figure, such as {}", donor.name),
            None => "the part would have to come from another figure".into(),
        };
    }
    match feature.map(|f| f.sort) {
        Some(Sort::Paint) if what.contains("worn off") || what.contains("none") => {
            "the paint would have to be worn off".into()
        }
        Some(Sort::Paint) => "it would have to be misread, or painted later (possible repaint)".into(),
        Some(Sort::Shade) => "the plastic would have to be aged, painted over or misread".into(),
        _ => "it would have to be misread".into(),
    }
}

/// Odds as people say them: 1.5, 12, 300.
pub(super) fn number(odds: f64) -> String {
    if odds < 10.0 {
        return format!("{odds:.1}");
    }
    let digits = libm::floor(libm::log10(odds));
    let unit = libm::pow(10.0, (digits - 1.0).max(0.0));
    let rounded = libm::round(odds / unit) * unit;
    if rounded >= 1e6 { "over a million".into() } else { format!("{rounded:.0}") }
}

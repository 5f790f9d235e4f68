//! What the evidence of one slot says of each kind of part: the factors of the posterior.

use super::evidence::{Condition, Evidence, JointShades, Presence, Seen, ShadeLikelihood, SlotEvidence};
use super::line::{Kind, Line, LineFeature, LineSlot, Sort};

/// One slot under all terms of the joint shades.
///
/// Terms that say the same of this slot are one cell: whatever they say of the others, what is to be known here depends on
/// them through it alone. Readings of one photo have many terms and few shades.
#[derive(Debug, Clone)]
pub(super) struct SlotState {
    pub(super) presence: Presence,
    /// At least one.
    pub(super) cells: Vec<Cell>,
    /// Term → its cell; empty where the slot is not read jointly and so the same under every term.
    cell_of: Vec<usize>,
}

impl SlotState {
    /// The number of a term's cell.
    pub(super) fn cell_of(&self, term: usize) -> usize {
        self.cell_of.get(term).copied().unwrap_or(0)
    }
}

/// One slot under one term.
#[derive(Debug, Clone)]
pub(super) struct Cell {
    /// Kind → P(what was seen | a part of this kind lies here); 0 for "no part".
    pub(super) like: Vec<f64>,
    /// Kind of the host → P(what was seen, and that a part is there).
    pub(super) there: Vec<f64>,
    /// Kind of the host → P(evidence of this slot).
    pub(super) factor: Vec<f64>,
}

/// The states of all slots.
pub(super) fn slot_states(line: &Line, evidence: &Evidence) -> Vec<SlotState> {
    let blank = SlotEvidence::default();
    let state = |slot: &LineSlot| {
        let at = evidence.slots.get(&slot.id).unwrap_or(&blank);
        let presence = evidence.presence(&slot.id);
        let seen = seen_on(slot, at);
        let mut columns: Vec<Option<&ShadeLikelihood>> = Vec::new();
        let mut cell_of = Vec::new();
        let column = |joint: &JointShades| joint.slots.iter().position(|s| *s == slot.id);
        if let Some((joint, column)) = evidence.joint.as_ref().and_then(|joint| Some((joint, column(joint)?)))
        {
            for shade in joint.terms.iter().map(|term| term.slots.get(column)) {
                let known = columns.iter().position(|other| *other == shade);
                cell_of.push(known.unwrap_or(columns.len()));
                columns.extend(known.is_none().then_some(shade));
            }
        }
        if columns.is_empty() {
            columns.push(at.shade.as_ref());
        }
        let cells = columns.into_iter().map(|shade| {
            let shade = shade.map(|s| shade_on(line, slot, s, at.condition.contains(&Condition::Yellowed)));
            let like = seen.iter().enumerate();
            let like = like.map(|(k, l)| l * shade.as_ref().and_then(|s| s.get(k)).unwrap_or(&1.0)).collect();
            cell(slot, presence, like)
        });
        SlotState { presence, cells: cells.collect(), cell_of }
    };
    line.slots.iter().map(state).collect()
}

/// The factors that follow from how well each kind explains what was seen.
///
/// With loss rate λ and exchange rate ε, ℓ the likelihoods and δ the donors' weights within the class of what fits:
/// a part is there and was seen so: (1 − λ)[(1 − ε) ℓ(k) + ε Σ δ(j) ℓ(j)]; where the host has no part, ε Σ δ(j) ℓ(j)
/// over all; missing: λ, and 1 − ε where the host has none; nothing known: 1.
pub(super) fn cell(slot: &LineSlot, presence: Presence, like: Vec<f64>) -> Cell {
    let there = there(slot, &like);
    let factor = match presence {
        Presence::Unknown => vec![1.0; slot.kinds.len()],
        Presence::Present => there.clone(),
        Presence::Missing => slot.kinds.iter().map(|kind| absent(slot, kind)).collect(),
    };
    Cell { like, there, factor }
}

/// Kind of the host → P(what was seen, and that a part is there), of how well each kind explains it.
pub(super) fn there(slot: &LineSlot, like: &[f64]) -> Vec<f64> {
    let mut sums = vec![(0.0, 0.0); slot.classes];
    for (kind, l) in slot.kinds.iter().zip(like).filter(|(kind, _)| kind.part) {
        if let Some((weighed, weight)) = sums.get_mut(kind.class) {
            *weighed += kind.weight * l;
            *weight += kind.weight;
        }
    }
    let ratio = |weighed: f64, weight: f64| if weight > 0.0 { weighed / weight } else { 0.0 };
    let donor: Vec<f64> = sums.iter().map(|(weighed, weight)| ratio(*weighed, *weight)).collect();
    let any = ratio(sums.iter().map(|s| s.0).sum(), sums.iter().map(|s| s.1).sum());
    let of = |(kind, l): (&Kind, &f64)| {
        if !kind.part {
            return slot.exchange * any;
        }
        let drawn = donor.get(kind.class).copied().unwrap_or(0.0);
        (1.0 - slot.lost) * ((1.0 - slot.exchange) * l + slot.exchange * drawn)
    };
    slot.kinds.iter().zip(like).map(of).collect()
}

/// P(no part here | the host's kind).
pub(super) fn absent(slot: &LineSlot, kind: &Kind) -> f64 {
    if kind.part { slot.lost } else { 1.0 - slot.exchange }
}

/// Kind → P(looks | kind), shades apart.
fn seen_on(slot: &LineSlot, at: &SlotEvidence) -> Vec<f64> {
    let mut out: Vec<f64> = slot.kinds.iter().map(|k| f64::from(u8::from(k.part))).collect();
    for (id, seen) in &at.looks {
        let Some(f) = slot.feature(id) else { continue };
        let Some(chances) = slot.features.get(f).and_then(|feature| look_on(slot, f, feature, seen)) else {
            continue;
        };
        out.iter_mut().zip(chances).for_each(|(sum, chance)| *sum *= chance);
    }
    out
}

/// Kind → P(one look | kind); `None` for a look that says nothing.
pub(super) fn look_on(slot: &LineSlot, f: usize, feature: &LineFeature, seen: &Seen) -> Option<Vec<f64>> {
    let (outcome, sure) = match seen {
        Seen::CantSee => return None,
        Seen::WornOff { sure } => (feature.values.len(), *sure),
        Seen::Value { value, sure } => (feature.values.iter().position(|v| v == value)?, *sure),
    };
    let error = if sure { feature.error } else { feature.unsure };
    Some(chances(slot, f, feature, outcome, error))
}

/// Kind → P(outcome of a look | kind).
pub(super) fn chances(
    slot: &LineSlot,
    f: usize,
    feature: &LineFeature,
    outcome: usize,
    error: f64,
) -> Vec<f64> {
    let by_value: Vec<f64> = (0..feature.values.len()).map(|v| feature.chance(outcome, v, error)).collect();
    let of = |kind: &Kind| {
        let mix = kind.mix.get(f).map_or(&[][..], |m| m);
        mix.iter().filter_map(|(v, share)| Some(share * by_value.get(*v)?)).sum()
    };
    slot.kinds.iter().map(of).collect()
}

/// Kind → P(shade measurement | kind).
///
/// A part's plastic may look like no shade of the line (rate `off_colour`), and a yellowed part like another shade of
/// its family (rate `aged`).
pub(super) fn shade_on(line: &Line, slot: &LineSlot, shade: &ShadeLikelihood, yellowed: bool) -> Vec<f64> {
    let Some(f) = slot.features.iter().position(|feature| feature.sort == Sort::Shade) else {
        return vec![1.0; slot.kinds.len()];
    };
    let values: Vec<&str> =
        slot.features.get(f).map_or(&[][..], |x| &x.values).iter().map(|v| &**v).collect();
    let plain: Vec<f64> = values.iter().map(|v| shade.of(v)).collect();
    let (off, aged) = (line.rates.off_colour(), if yellowed { line.rates.aged() } else { 0.0 });
    let family_mean = |of: &str| {
        let members: Vec<f64> =
            values.iter().zip(&plain).filter(|(v, _)| family(v) == family(of)).map(|(_, l)| *l).collect();
        members.iter().sum::<f64>() / members.len().max(1) as f64
    };
    let like: Vec<f64> = values
        .iter()
        .zip(&plain)
        .map(|(v, l)| {
            let seen = if aged > 0.0 { (1.0 - aged) * l + aged * family_mean(v) } else { *l };
            (1.0 - off) * seen + off * shade.none
        })
        .collect();
    let of = |kind: &Kind| {
        let shares = kind.shares.get(f).map_or(&[][..], |s| s);
        shares.iter().zip(&like).map(|(share, l)| share * l).sum()
    };
    slot.kinds.iter().map(of).collect()
}

/// The family of a shade: what stands before the stroke.
pub(super) fn family(shade: &str) -> &str {
    shade.split('/').next().unwrap_or(shade)
}

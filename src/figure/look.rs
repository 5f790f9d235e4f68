//! The next look: which observation would tell most?
//!
//! The expected fall of entropy by a look o is the mutual information I(X; o) = H(o) − Σ P(x) H(o | x), an identity
//! (Cover and Thomas 2006, Elements of Information Theory, section 2.4). Computed so it needs no difference of two
//! large entropies, and where o depends on x through the kind of part alone, the sum runs over kinds, not hosts.

use super::evidence::{Evidence, Presence};
use super::line::{LineSlot, Sort};
use super::parts::own;
use super::slot_state::{Cell, absent, cell, chances, there};
use super::weigh::Weighed;

/// What the next look should settle.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Question {
    /// Who the figure is: the host, or for a composite the host of the half that is looked at.
    #[default]
    Who,
    /// Whether the part looked at is what it should be.
    Parts,
}

/// Which looks are open to the person.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LookOptions {
    /// What is to be settled.
    pub question: Question,
    /// Whether shades can be read: there is a photo or one can be taken.
    pub shades: bool,
}

impl Default for LookOptions {
    fn default() -> Self {
        Self { question: Question::Who, shades: true }
    }
}

/// A look and what it is worth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NextLook {
    /// The slot's number.
    pub slot: usize,
    /// The feature's number in that slot.
    pub feature: usize,
    /// Expected fall of entropy, bits.
    pub bits: f64,
}

/// Every look not yet taken with what it is worth, the best first; equal ones in the guide's order.
pub fn next_looks(weighed: &Weighed, evidence: &Evidence, options: &LookOptions) -> Vec<NextLook> {
    let mut out = Vec::new();
    for (s, slot) in weighed.line.slots.iter().enumerate() {
        let Some(state) = weighed.slots.get(s) else { continue };
        if state.presence == Presence::Missing {
            continue;
        }
        let open = slot.features.iter().enumerate().filter(|(_, feature)| {
            !evidence.has_looked(&slot.id, &feature.id) && (options.shades || feature.sort != Sort::Shade)
        });
        let groups = match options.question {
            Question::Who => groups(weighed, s),
            Question::Parts => Groups::default(),
        };
        for (f, _) in open {
            let bits = match options.question {
                Question::Who => who_bits(weighed, s, f, &groups),
                Question::Parts => parts_bits(weighed, s, f),
            };
            out.push(NextLook { slot: s, feature: f, bits });
        }
    }
    out.sort_by(|a, b| b.bits.total_cmp(&a.bits));
    out
}

/// Hypotheses that predict a look alike: the host's kind here, and cell of the slot → probability.
#[derive(Default)]
struct Groups {
    kinds: Vec<usize>,
    /// Row after row, one a group.
    cells: Vec<f64>,
    totals: Vec<f64>,
}

impl Groups {
    fn add(&mut self, kind: usize, cells: &[f64]) {
        let total: f64 = cells.iter().sum();
        if total > LEAST_MASS {
            self.kinds.push(kind);
            self.cells.extend(cells);
            self.totals.push(total);
        }
    }
}

/// Hypotheses of less probability than this are left out: together they tell less than 1e-9 bit.
const LEAST_MASS: f64 = 1e-15;

fn groups(weighed: &Weighed, s: usize) -> Groups {
    let mut groups = Groups::default();
    let (Some(slot), Some(state)) = (weighed.line.slots.get(s), weighed.slots.get(s)) else { return groups };
    let cells = state.cells.len();
    if cells == 1 {
        // The look depends on the hypothesis through its kind alone, whatever the light did.
        let masses = weighed.masses(s);
        masses.iter().flatten().enumerate().for_each(|(kind, mass)| groups.add(kind, &[*mass]));
        return groups;
    }
    let composite = weighed.composite > 0.0;
    for rows in [Some(false), composite.then_some(true)].into_iter().flatten() {
        let rows = weighed.by_host(s, rows);
        slot.kind_of.iter().zip(rows.chunks_exact(cells)).for_each(|(kind, row)| groups.add(*kind, row));
    }
    groups
}

fn who_bits(weighed: &Weighed, s: usize, f: usize, groups: &Groups) -> f64 {
    let (Some(slot), Some(state)) = (weighed.line.slots.get(s), weighed.slots.get(s)) else { return 0.0 };
    let chances = all_chances(slot, f);
    let predicted: Vec<Vec<Vec<f64>>> =
        state.cells.iter().map(|cell| predict(slot, cell, state.presence, &chances)).collect();
    let outcomes = predicted.first().map_or(0, Vec::len);
    // Kind → outcome → cell, so that the sum over cells runs over neighbours in memory.
    let of_kind = |k: usize| -> Vec<f64> {
        (0..outcomes).flat_map(|o| predicted.iter().map(move |cell| cell[o][k])).collect()
    };
    let mut by_kind: Vec<Option<Vec<f64>>> = vec![None; slot.kinds.len()];
    let mut marginal = vec![0.0; outcomes];
    let mut conditional = 0.0;
    let rows = groups.cells.chunks_exact(predicted.len().max(1));
    for ((kind, cells), total) in groups.kinds.iter().zip(rows).zip(&groups.totals) {
        let Some(known) = by_kind.get_mut(*kind) else { continue };
        let table = known.get_or_insert_with(|| of_kind(*kind));
        for (sum, row) in marginal.iter_mut().zip(table.chunks_exact(cells.len())) {
            let joint: f64 = cells.iter().zip(row).map(|(p, chance)| p * chance).sum();
            *sum += joint;
            conditional -= joint * log2_or_zero(joint / total);
        }
    }
    (entropy_bits(&marginal) - conditional).max(0.0)
}

/// Outcome → kind of the part → P(outcome | kind).
fn all_chances(slot: &LineSlot, f: usize) -> Vec<Vec<f64>> {
    let Some(feature) = slot.features.get(f) else { return Vec::new() };
    (0..feature.outcomes()).map(|o| chances(slot, f, feature, o, feature.error)).collect()
}

/// Outcome → kind of the host → P(outcome | host's kind, what was seen before). The last outcome is "no part here",
/// possible where nobody yet said that there is one.
fn predict(slot: &LineSlot, before: &Cell, presence: Presence, chances: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let mut out: Vec<Vec<f64>> = chances
        .iter()
        .map(|chance| {
            let like: Vec<f64> = before.like.iter().zip(chance).map(|(l, c)| l * c).collect();
            let ratio = |(a, b): (f64, &f64)| if *b > 0.0 { a / b } else { 0.0 };
            there(slot, &like).into_iter().zip(&before.factor).map(ratio).collect()
        })
        .collect();
    if presence == Presence::Unknown {
        out.push(slot.kinds.iter().map(|kind| absent(slot, kind)).collect());
    }
    out
}

/// Fall of entropy of (kind that the host has here, whether the part is of that kind), if a part is there.
fn parts_bits(weighed: &Weighed, s: usize, f: usize) -> f64 {
    let (Some(slot), Some(state)) = (weighed.line.slots.get(s), weighed.slots.get(s)) else { return 0.0 };
    let Some(feature) = slot.features.get(f) else { return 0.0 };
    let masses = weighed.masses(s);
    let outcomes = feature.outcomes();
    // Kind → outcome → P(own, outcome) and P(exchanged, outcome).
    let mut joint = vec![(vec![0.0; outcomes], vec![0.0; outcomes]); slot.kinds.len()];
    for (before, masses) in state.cells.iter().zip(&masses) {
        for o in 0..outcomes {
            let chance = chances(slot, f, feature, o, feature.error);
            let like = before.like.iter().zip(chance).map(|(l, c)| l * c).collect();
            let after = cell(slot, Presence::Present, like);
            for (k, ((row, mass), there)) in joint.iter_mut().zip(masses).zip(&before.there).enumerate() {
                if *there <= 0.0 {
                    continue;
                }
                let own = own(slot, &after, k);
                let all = after.there.get(k).copied().unwrap_or(0.0);
                if let (Some(a), Some(b)) = (row.0.get_mut(o), row.1.get_mut(o)) {
                    *a += mass * own / there;
                    *b += mass * (all - own).max(0.0) / there;
                }
            }
        }
    }
    let mut marginal = vec![0.0; outcomes];
    let mut conditional = 0.0;
    for row in joint.iter().flat_map(|(a, b)| [a, b]) {
        let total: f64 = row.iter().sum();
        for (sum, p) in marginal.iter_mut().zip(row) {
            *sum += p;
            conditional -= p * log2_or_zero(p / total);
        }
    }
    (entropy_bits(&marginal) - conditional).max(0.0)
}

/// −Σ p log₂ p over values that add up to 1.
pub(super) fn entropy_bits(values: &[f64]) -> f64 {
    -values.iter().map(|p| p * log2_or_zero(*p)).sum::<f64>()
}

/// log₂, and 0 for what has no probability: p log p → 0 as p → 0.
fn log2_or_zero(p: f64) -> f64 {
    if p > 0.0 { libm::log2(p) } else { 0.0 }
}

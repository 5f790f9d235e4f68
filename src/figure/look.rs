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
            Question::Parts => Vec::new(),
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

/// Hypotheses that predict the look alike: the host's kind here, and cell of the slot → probability.
type Group = (usize, Vec<f64>);

fn groups(weighed: &Weighed, s: usize) -> Vec<Group> {
    let (Some(slot), Some(state)) = (weighed.line.slots.get(s), weighed.slots.get(s)) else {
        return Vec::new();
    };
    if state.cells.len() == 1 {
        // The look depends on the hypothesis through its kind alone, whatever the light did.
        let masses = weighed.masses(s);
        return masses.into_iter().flatten().enumerate().map(|(k, mass)| (k, vec![mass])).collect();
    }
    let whole = slot.kind_of.iter().copied().zip(weighed.by_host(s, false));
    let halves = weighed.composite > 0.0;
    let halves = halves.then(|| slot.kind_of.iter().copied().zip(weighed.by_host(s, true)));
    whole.chain(halves.into_iter().flatten()).collect()
}

/// Hypotheses of less probability than this are left out: together they tell less than 1e-9 bit.
const LEAST_MASS: f64 = 1e-15;

fn who_bits(weighed: &Weighed, s: usize, f: usize, groups: &[Group]) -> f64 {
    let (Some(slot), Some(state)) = (weighed.line.slots.get(s), weighed.slots.get(s)) else { return 0.0 };
    let chances = all_chances(slot, f);
    let predicted: Vec<Vec<Vec<f64>>> =
        state.cells.iter().map(|cell| predict(slot, cell, state.presence, &chances)).collect();
    let outcomes = predicted.first().map_or(0, Vec::len);
    // Kind → outcome → cell, so that the sum over cells runs over neighbours in memory.
    let at = |n: usize, o: usize, k: usize| predicted[n][o][k];
    let of_kind = |k: usize| -> Vec<Vec<f64>> {
        (0..outcomes).map(|o| (0..predicted.len()).map(|n| at(n, o, k)).collect()).collect()
    };
    let mut by_kind: Vec<Option<Vec<Vec<f64>>>> = vec![None; slot.kinds.len()];
    let mut marginal = vec![0.0; outcomes];
    let mut conditional = 0.0;
    for (kind, cells) in groups {
        let total: f64 = cells.iter().sum();
        let Some(known) = by_kind.get_mut(*kind).filter(|_| total > LEAST_MASS) else { continue };
        let table = known.get_or_insert_with(|| of_kind(*kind));
        for (sum, row) in marginal.iter_mut().zip(table) {
            let joint: f64 = cells.iter().zip(row.iter()).map(|(p, chance)| p * chance).sum();
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

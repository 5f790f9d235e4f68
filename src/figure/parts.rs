//! Does each part belong, and where could it have come from?

use super::evidence::Presence;
use super::line::{Kind, LineSlot};
use super::slot_state::Cell;
use super::weigh::Weighed;

/// What the posterior says of the part in one slot.
#[derive(Debug, Clone, PartialEq)]
pub struct PartView {
    /// Probability that the part is the figure's own, or of the same kind: nobody can tell these apart.
    pub belongs: f64,
    /// Kind → probability that the part was exchanged and is of that kind, not the figure's own; with `belongs`
    /// this adds up to 1.
    pub from: Vec<f64>,
}

impl Weighed<'_> {
    /// The part in a slot; `None` where it is missing.
    pub fn part(&self, slot: usize) -> Option<PartView> {
        self.part_with(slot, &self.masses(slot))
    }

    /// The part in a slot, if the whole figure is a certain host.
    pub fn part_if(&self, slot: usize, host: usize) -> Option<PartView> {
        let kind = *self.line.slots.get(slot)?.kind_of.get(host)?;
        let kinds = self.line.slots.get(slot)?.kinds.len();
        let state = self.slots.get(slot)?;
        let mut of = vec![0.0; state.cells.len()];
        for (n, term) in self.terms.iter().enumerate() {
            if let (Some(sum), Some(p)) = (of.get_mut(state.cell_of(n)), term.whole.get(host)) {
                *sum += p;
            }
        }
        let total: f64 = of.iter().sum();
        let mass = |p: f64| {
            let mut row = vec![0.0; kinds];
            if let Some(at) = row.get_mut(kind) {
                *at = if total > 0.0 { p / total } else { 1.0 / of.len() as f64 };
            }
            row
        };
        self.part_with(slot, &of.iter().map(|p| mass(*p)).collect::<Vec<_>>())
    }

    fn part_with(&self, slot: usize, masses: &[Vec<f64>]) -> Option<PartView> {
        let (of, state) = (self.line.slots.get(slot)?, self.slots.get(slot)?);
        if state.presence == Presence::Missing {
            return None;
        }
        let mut view = PartView { belongs: 0.0, from: vec![0.0; of.kinds.len()] };
        for (cell, masses) in state.cells.iter().zip(masses) {
            add_cell(of, cell, state.presence, masses, &mut view);
        }
        Some(view)
    }

    /// Hosts that an exchanged part could have come from, with their probabilities given that it does not belong;
    /// the likeliest first.
    pub fn donors(&self, slot: usize, view: &PartView) -> Vec<(usize, f64)> {
        let Some(of) = self.line.slots.get(slot) else { return Vec::new() };
        let total: f64 = view.from.iter().sum();
        if total <= 0.0 {
            return Vec::new();
        }
        let mut out: Vec<(usize, f64)> = Vec::new();
        for (kind, p) in of.kinds.iter().zip(&view.from).filter(|(_, p)| **p > 0.0) {
            for h in &kind.hosts {
                let share = self.line.hosts.get(*h).map_or(0.0, |host| host.weight / kind.weight);
                out.push((*h, share * p / total));
            }
        }
        out.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        out
    }
}

/// P(own part and what was seen | the host's kind k): (1 − λ) ℓ(k) [(1 − ε) + ε δ(k)].
pub(super) fn own(slot: &LineSlot, cell: &Cell, k: usize) -> f64 {
    let Some(kind) = slot.kinds.get(k).filter(|kind| kind.part) else { return 0.0 };
    let same = kind.weight / class_weight(slot, kind.class);
    let like = cell.like.get(k).copied().unwrap_or(0.0);
    (1.0 - slot.lost) * like * ((1.0 - slot.exchange) + slot.exchange * same)
}

/// Prior weight of all parts of a class.
pub(super) fn class_weight(slot: &LineSlot, class: usize) -> f64 {
    slot.class_weights.get(class).copied().unwrap_or(1.0)
}

fn add_cell(slot: &LineSlot, cell: &Cell, presence: Presence, masses: &[f64], view: &mut PartView) {
    // How much of each donor's likelihood arrives, class by class; the host's own kind is taken out below.
    let mut arrives = vec![0.0; slot.classes];
    let mut arrives_anywhere = 0.0;
    let mut by_kind = vec![0.0; slot.kinds.len()];
    let all_parts: f64 = slot.kinds.iter().filter(|k| k.part).map(|k| k.weight).sum();
    let classes: Vec<f64> = (0..slot.classes).map(|c| class_weight(slot, c)).collect();
    for (k, (kind, mass)) in slot.kinds.iter().zip(masses).enumerate().filter(|(_, (_, m))| **m > 0.0) {
        let there = cell.there.get(k).copied().unwrap_or(0.0);
        if !kind.part && presence == Presence::Unknown {
            // Nothing is expected here and nothing was seen.
            view.belongs += mass * (1.0 - slot.exchange);
            arrives_anywhere += mass * slot.exchange / all_parts.max(f64::MIN_POSITIVE);
            continue;
        }
        if there <= 0.0 {
            continue;
        }
        view.belongs += mass * own(slot, cell, k) / there;
        if !kind.part {
            arrives_anywhere += mass * slot.exchange / (all_parts * there);
            continue;
        }
        let weight = classes.get(kind.class).copied().unwrap_or(1.0);
        let amount = mass * (1.0 - slot.lost) * slot.exchange / (weight * there);
        if let (Some(sum), Some(own)) = (arrives.get_mut(kind.class), by_kind.get_mut(k)) {
            *sum += amount;
            *own = amount;
        }
    }
    let without = without_own(slot, &by_kind, &arrives);
    for (((j, kind), sum), like) in slot.kinds.iter().enumerate().zip(&mut view.from).zip(&cell.like) {
        if kind.part {
            *sum += kind.weight * like * (without.get(j).copied().unwrap_or(0.0) + arrives_anywhere);
        }
    }
}

/// For each kind the amount arriving from hosts of other kinds of its class, summed without cancellation.
fn without_own(slot: &LineSlot, by_kind: &[f64], arrives: &[f64]) -> Vec<f64> {
    let mut out = vec![0.0; slot.kinds.len()];
    let mut before = vec![0.0; arrives.len()];
    let mut pass = |order: &mut dyn Iterator<Item = (usize, &Kind)>| {
        before.fill(0.0);
        for (k, kind) in order {
            let (Some(sum), Some(out), Some(own)) =
                (before.get_mut(kind.class), out.get_mut(k), by_kind.get(k))
            else {
                continue;
            };
            *out += *sum;
            *sum += own;
        }
    };
    pass(&mut slot.kinds.iter().enumerate());
    pass(&mut slot.kinds.iter().enumerate().rev());
    out
}

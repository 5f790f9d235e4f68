//! Evidence → posterior over who the figure is, exactly. The algebra stands in the room's documentation.

use super::evidence::{Evidence, EvidenceProblem, Presence};
use super::line::Line;
use super::slot_state::{Cell, SlotState, slot_states};

/// The posterior of one figure.
#[derive(Debug, Clone)]
pub struct Weighed<'a> {
    /// What was weighed with.
    pub line: &'a Line,
    /// Host → probability that the figure is that one, exchanged parts allowed.
    pub whole: Vec<f64>,
    /// Probability that it is put together from two halves; with `whole` this adds up to 1.
    pub composite: f64,
    /// Natural logarithm of the probability of all evidence, up to the shade likelihoods' common factors.
    pub ln_evidence: f64,
    pub(super) slots: Vec<SlotState>,
    pub(super) terms: Vec<Term>,
    ln_pair_scale: f64,
}

/// The posterior's share under one term of the joint shades.
#[derive(Debug, Clone)]
pub(super) struct Term {
    /// Host → P(whole figure of this host, term).
    pub(super) whole: Vec<f64>,
    /// Host → P(composite whose upper half is of this host, term).
    pub(super) upper: Vec<f64>,
    /// Host → P(composite whose lower half is of this host, term).
    pub(super) lower: Vec<f64>,
    ln_weight: f64,
    ln_upper: Vec<f64>,
    ln_lower: Vec<f64>,
}

/// Why there is no posterior.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NoFit {
    /// The evidence is not in the guide's terms, or contradicts itself.
    Problems(Vec<EvidenceProblem>),
    /// Every hypothesis has probability 0. The text begins "no hypothesis fits: ".
    Nothing(String),
}

impl std::fmt::Display for NoFit {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            NoFit::Nothing(text) => f.write_str(text),
            NoFit::Problems(problems) => {
                let lines: Vec<String> = problems.iter().map(ToString::to_string).collect();
                f.write_str(&lines.join("\n"))
            }
        }
    }
}

impl std::error::Error for NoFit {}

/// Weighs the evidence. With none at all the prior comes back.
///
/// Cost: terms × hosts × slots, plus cells × kinds × features; no sampling, no approximation.
pub fn weigh<'a>(line: &'a Line, evidence: &Evidence) -> Result<Weighed<'a>, NoFit> {
    let problems = evidence.check(line);
    if !problems.is_empty() {
        return Err(NoFit::Problems(problems));
    }
    let slots = slot_states(line, evidence);
    let weights: Vec<f64> = match &evidence.joint {
        Some(joint) => joint.terms.iter().map(|t| t.weight).collect(),
        None => vec![1.0],
    };
    let total_weight: f64 = weights.iter().sum();
    let ln_weight: Vec<f64> = line.hosts.iter().map(|h| libm::log(h.weight)).collect();
    // Slot → cell → kind → logarithm of the factor.
    let ln_factors: Vec<Vec<Vec<f64>>> = slots
        .iter()
        .map(|state| {
            let ln = |cell: &Cell| cell.factor.iter().map(|f| libm::log(*f)).collect();
            state.cells.iter().map(ln).collect()
        })
        .collect();
    let mut terms: Vec<Term> = weights
        .iter()
        .enumerate()
        .map(|(n, weight)| {
            let mut term = Term {
                whole: vec![],
                upper: vec![],
                lower: vec![],
                ln_weight: libm::log(weight / total_weight),
                ln_upper: vec![0.0; line.hosts.len()],
                ln_lower: vec![0.0; line.hosts.len()],
            };
            for ((slot, state), ln_factors) in line.slots.iter().zip(&slots).zip(&ln_factors) {
                let half = if slot.upper { &mut term.ln_upper } else { &mut term.ln_lower };
                let Some(ln) = ln_factors.get(state.cell_of(n)) else { continue };
                for (sum, kind) in half.iter_mut().zip(&slot.kind_of) {
                    *sum += ln.get(*kind).copied().unwrap_or(f64::NEG_INFINITY);
                }
            }
            term
        })
        .collect();

    // Two halves of different hosts: prior κ w_A w_B / (1 − Σ w²) for A ≠ B.
    let same: f64 = line.hosts.iter().map(|h| h.weight * h.weight).sum();
    let ln_pair = libm::log(line.composite / (1.0 - same).max(f64::MIN_POSITIVE));
    let ln_whole = libm::log(1.0 - line.composite);
    let mut greatest = f64::NEG_INFINITY;
    // Term → logarithm of what its halves are still to be multiplied with.
    let mut ln_scales = Vec::with_capacity(terms.len());
    for term in &mut terms {
        let both = term.ln_upper.iter().zip(&term.ln_lower).zip(&ln_weight);
        term.whole = both.map(|((u, l), w)| ln_whole + term.ln_weight + w + u + l).collect();
        greatest = term.whole.iter().copied().fold(greatest, f64::max);
        let shift;
        (term.upper, term.lower, shift) = halves(&term.ln_upper, &term.ln_lower, &ln_weight);
        let ln_scale = ln_pair + term.ln_weight + shift;
        greatest = greatest.max(ln_scale + libm::log(term.upper.iter().copied().fold(0.0, f64::max)));
        ln_scales.push(ln_scale);
    }
    if !greatest.is_finite() {
        return Err(NoFit::Nothing(no_fit(line, &slots)));
    }
    for (term, ln_scale) in terms.iter_mut().zip(ln_scales) {
        term.whole.iter_mut().for_each(|p| *p = libm::exp(*p - greatest));
        let scale = libm::exp(ln_scale - greatest);
        term.upper.iter_mut().chain(&mut term.lower).for_each(|p| *p *= scale);
    }
    let total: f64 = terms.iter().flat_map(|t| t.whole.iter().chain(&t.upper)).sum();
    for all in terms.iter_mut().flat_map(|t| [&mut t.whole, &mut t.upper, &mut t.lower]) {
        all.iter_mut().for_each(|p| *p /= total);
    }
    let mut whole = vec![0.0; line.hosts.len()];
    for term in &terms {
        whole.iter_mut().zip(&term.whole).for_each(|(sum, p)| *sum += p);
    }
    let composite = terms.iter().flat_map(|t| &t.upper).sum();
    let ln_evidence = greatest + libm::log(total);
    Ok(Weighed { line, whole, composite, ln_evidence, slots, terms, ln_pair_scale: ln_pair - ln_evidence })
}

/// For each host of the upper half Σ over all *other* hosts of the lower half, the same for the lower half, and the
/// logarithm of what both are to be multiplied with.
///
/// The sum without one member is made from the sums before and after it: a difference of two sums would lose
/// its digits where one host carries nearly everything.
fn halves(ln_upper: &[f64], ln_lower: &[f64], ln_weight: &[f64]) -> (Vec<f64>, Vec<f64>, f64) {
    let scaled = |ln: &[f64]| {
        let ln: Vec<f64> = ln.iter().zip(ln_weight).map(|(l, w)| l + w).collect();
        let greatest = ln.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let shift = if greatest.is_finite() { greatest } else { 0.0 };
        (ln.iter().map(|l| libm::exp(l - shift)).collect::<Vec<f64>>(), shift)
    };
    let (upper, upper_shift) = scaled(ln_upper);
    let (lower, lower_shift) = scaled(ln_lower);
    let join = |own: &[f64], other: &[f64]| {
        own.iter().zip(without_each(other)).map(|(own, others)| own * others).collect()
    };
    (join(&upper, &lower), join(&lower, &upper), upper_shift + lower_shift)
}

/// Σ of all values but one, for each.
pub(super) fn without_each(values: &[f64]) -> Vec<f64> {
    let mut out = Vec::with_capacity(values.len());
    let mut before = 0.0;
    for v in values {
        out.push(before);
        before += v;
    }
    let mut after = 0.0;
    for (sum, v) in out.iter_mut().zip(values).rev() {
        *sum += after;
        after += v;
    }
    out
}

impl Weighed<'_> {
    /// Hosts with their probabilities, the likeliest first; equal ones in the guide's order.
    pub fn ranked(&self) -> Vec<(usize, f64)> {
        let mut out: Vec<(usize, f64)> = self.whole.iter().copied().enumerate().collect();
        out.sort_by(|a, b| b.1.total_cmp(&a.1));
        out
    }

    /// Probability that the upper half is of one host and the lower half of another.
    pub fn pair(&self, upper: usize, lower: usize) -> f64 {
        let hosts = (self.line.hosts.get(upper), self.line.hosts.get(lower));
        let (Some(a), Some(b), true) = (hosts.0, hosts.1, upper != lower && self.line.composite > 0.0) else {
            return 0.0;
        };
        let term = |t: &Term| {
            let (u, l) = (t.ln_upper.get(upper), t.ln_lower.get(lower));
            let ln = u.copied().unwrap_or(f64::NEG_INFINITY) + l.copied().unwrap_or(f64::NEG_INFINITY);
            libm::exp(self.ln_pair_scale + t.ln_weight + ln)
        };
        a.weight * b.weight * self.terms.iter().map(term).sum::<f64>()
    }

    /// The likeliest pairs of halves: (upper, lower, probability), of the `most` likeliest hosts of each half.
    pub fn pairs(&self, most: usize) -> Vec<(usize, usize, f64)> {
        let best = |half: fn(&Term) -> &Vec<f64>| {
            let mut sums: Vec<(usize, f64)> = (0..self.line.hosts.len())
                .map(|h| (h, self.terms.iter().filter_map(|t| half(t).get(h)).sum()))
                .collect();
            sums.sort_by(|a, b| b.1.total_cmp(&a.1));
            sums.truncate(most);
            sums
        };
        let (uppers, lowers) = (best(|t| &t.upper), best(|t| &t.lower));
        let each = uppers.iter().flat_map(|(a, _)| lowers.iter().map(|(b, _)| (*a, *b, self.pair(*a, *b))));
        let mut out: Vec<_> = each.filter(|(_, _, p)| *p > 0.0).collect();
        out.sort_by(|a, b| b.2.total_cmp(&a.2));
        out
    }

    /// Cell of the slot → kind → probability that the host of this slot's half has that kind here.
    pub(super) fn masses(&self, slot: usize) -> Vec<Vec<f64>> {
        let (Some(of), Some(state)) = (self.line.slots.get(slot), self.slots.get(slot)) else {
            return Vec::new();
        };
        let mut out = vec![vec![0.0; of.kinds.len()]; state.cells.len()];
        for (n, term) in self.terms.iter().enumerate() {
            let half = if of.upper { &term.upper } else { &term.lower };
            let Some(sums) = out.get_mut(state.cell_of(n)) else { continue };
            for ((kind, whole), part) in of.kind_of.iter().zip(&term.whole).zip(half) {
                if let Some(sum) = sums.get_mut(*kind) {
                    *sum += whole + part;
                }
            }
        }
        out
    }

    /// Host → cell of the slot → probability, row after row; of whole figures, or of composites whose half with this
    /// slot is the host's.
    pub(super) fn by_host(&self, slot: usize, composite: bool) -> Vec<f64> {
        let (Some(of), Some(state)) = (self.line.slots.get(slot), self.slots.get(slot)) else {
            return Vec::new();
        };
        let cells = state.cells.len();
        let mut out = vec![0.0; cells * of.kind_of.len()];
        for (n, term) in self.terms.iter().enumerate() {
            let row = match (composite, of.upper) {
                (false, _) => &term.whole,
                (true, true) => &term.upper,
                (true, false) => &term.lower,
            };
            let cell = state.cell_of(n);
            for (sums, p) in out.chunks_exact_mut(cells).zip(row) {
                if let Some(sum) = sums.get_mut(cell) {
                    *sum += p;
                }
            }
        }
        out
    }
}

/// Says which evidence cannot go together.
fn no_fit(line: &Line, slots: &[SlotState]) -> String {
    let none = |state: &SlotState| state.cells.iter().all(|c| c.factor.iter().all(|f| *f <= 0.0));
    let alone: Vec<&str> =
        line.slots.iter().zip(slots).filter(|(_, s)| none(s)).map(|(slot, _)| &*slot.label).collect();
    if !alone.is_empty() {
        return format!(
            "no hypothesis fits: nobody in the guide can have what was seen of the {}. Look again, or add it to \
             the guide.",
            alone.join(" and of the ")
        );
    }
    let seen = line.slots.iter().zip(slots).filter(|(_, s)| s.presence != Presence::Unknown);
    let names: Vec<&str> = seen.map(|(slot, _)| &*slot.label).collect();
    format!(
        "no hypothesis fits: each part is possible, but nobody in the guide has this {} together. Look again, or \
         allow for exchanged parts and mistaken looks in the guide's rates.",
        names.join(" and this ")
    )
}

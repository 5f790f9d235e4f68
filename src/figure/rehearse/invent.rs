//! A figure of known truth, and what a person would see of it.

use rand::{Rng, RngExt};
use rand_distr::{Distribution, StandardNormal};

use super::super::evidence::{Condition, Evidence, JointShades, JointTerm, Seen, ShadeLikelihood};
use super::super::line::{Line, LineFeature, LineSlot, Sort};
use super::super::slot_state::family;
use super::{RehearseOptions, Scenario};

/// A figure with everything that is true of it.
pub(super) struct Figure {
    /// Host of the upper half.
    pub(super) upper: usize,
    /// Host of the lower half; the same for a whole figure.
    pub(super) lower: usize,
    /// Slot → its part, if there is one.
    pub(super) parts: Vec<Option<TruePart>>,
    /// Parts that are of another kind than the host's.
    pub(super) exchanged: Vec<Exchanged>,
}

/// A part as it lies on the table.
pub(super) struct TruePart {
    /// Feature → its value.
    values: Vec<usize>,
    /// Feature → what is visible of it: the value, or for worn paint the bare plastic or traces.
    visible: Vec<usize>,
    /// How far it has yellowed, CIEDE2000 along the row of shades.
    yellowed: f64,
}

/// A part that does not belong.
pub(super) struct Exchanged {
    pub(super) slot: usize,
    /// Whether its shade is another than the own part's.
    pub(super) other_shade: bool,
}

pub(super) fn invent(line: &Line, scenario: Scenario, rng: &mut impl Rng) -> Figure {
    let hosts: Vec<f64> = line.hosts.iter().map(|h| h.weight).collect();
    let upper = draw(&hosts, rng);
    let mut lower = upper;
    while scenario == Scenario::TwoHalves && halves_alike(line, upper, lower) {
        lower = draw(&hosts, rng);
    }
    let wear = if scenario == Scenario::Worn { Some(0.5) } else { None };
    let age = if scenario == Scenario::Aged { 1.0 } else { 0.0 };
    let mut parts: Vec<Option<TruePart>> = Vec::new();
    for slot in &line.slots {
        let host = if slot.upper { upper } else { lower };
        let kind = slot.kind_of.get(host).copied().unwrap_or(0);
        let there = slot.kinds.get(kind).is_some_and(|k| k.part) && !rng.random_bool(slot.lost);
        parts.push(there.then(|| make(slot, kind, wear, age, rng)));
    }
    let mut figure = Figure { upper, lower, parts, exchanged: Vec::new() };
    let count = match scenario {
        Scenario::OneExchanged => 1,
        Scenario::TwoExchanged => 2,
        _ => 0,
    };
    // A figure may have too few parts left to exchange: then there are fewer.
    for _ in 0..200 {
        if figure.exchanged.len() == count {
            break;
        }
        exchange(line, &mut figure, rng);
    }
    figure
}

/// Whether a figure of these two halves is no other than a whole one of either.
fn halves_alike(line: &Line, upper: usize, lower: usize) -> bool {
    let same = |half: bool| {
        line.slots.iter().filter(|s| s.upper == half).all(|s| s.kind_of.get(upper) == s.kind_of.get(lower))
    };
    same(true) || same(false)
}

fn exchange(line: &Line, figure: &mut Figure, rng: &mut impl Rng) {
    let s = rng.random_range(0..line.slots.len());
    let Some(slot) = line.slots.get(s) else { return };
    let own = slot.kind_of.get(figure.upper).copied().unwrap_or(0);
    if figure.exchanged.iter().any(|x| x.slot == s) || figure.parts.get(s).is_none_or(Option::is_none) {
        return;
    }
    let class = slot.kinds.get(own).map(|k| k.class);
    let weights: Vec<f64> = slot
        .kinds
        .iter()
        .enumerate()
        .map(|(j, k)| if k.part && j != own && Some(k.class) == class { k.weight } else { 0.0 })
        .collect();
    if weights.iter().sum::<f64>() <= 0.0 {
        return;
    }
    let donor = draw(&weights, rng);
    let part = make(slot, donor, None, 0.0, rng);
    let shade = slot.features.iter().position(|f| f.sort == Sort::Shade);
    let mine = figure.parts.get(s).and_then(|p| p.as_ref());
    let value = |part: &TruePart| shade.and_then(|f| part.values.get(f).copied());
    let other_shade = mine.is_some_and(|mine| value(mine) != value(&part));
    figure.exchanged.push(Exchanged { slot: s, other_shade });
    if let Some(at) = figure.parts.get_mut(s) {
        *at = Some(part);
    }
}

fn make(slot: &LineSlot, kind: usize, wear: Option<f64>, age: f64, rng: &mut impl Rng) -> TruePart {
    let shares = slot.kinds.get(kind).map_or(&[][..], |k| &k.shares);
    let values: Vec<usize> = shares.iter().map(|s| draw(s, rng)).collect();
    let visible = slot.features.iter().zip(&values).map(|(f, v)| worn(f, *v, wear, rng)).collect();
    let yellowed = age * rng.random_range(0.0..1.5);
    TruePart { values, visible, yellowed }
}

fn worn(feature: &LineFeature, value: usize, wear: Option<f64>, rng: &mut impl Rng) -> usize {
    let painted = feature.sort == Sort::Paint && feature.bare != Some(value);
    if !painted || !rng.random_bool(wear.unwrap_or(feature.wear)) {
        return value;
    }
    match feature.bare {
        Some(bare) if !rng.random_bool(feature.traces) => bare,
        _ => feature.values.len(),
    }
}

/// Reads the shade of every part in one photo.
pub(super) fn read_shades(
    line: &Line,
    figure: &Figure,
    options: &RehearseOptions,
    evidence: &mut Evidence,
    rng: &mut impl Rng,
) {
    let normal = |rng: &mut dyn FnMut() -> f64, sd: f64| sd * rng();
    let mut standard = || -> f64 { StandardNormal.sample(rng) };
    let shared = normal(&mut standard, options.shared_sd);
    let mut slots = Vec::new();
    let mut readings: Vec<(&LineFeature, &str, f64)> = Vec::new();
    for (slot, part) in line.slots.iter().zip(&figure.parts) {
        let shade = slot.features.iter().enumerate().find(|(_, f)| f.sort == Sort::Shade);
        let (Some(part), Some((f, feature))) = (part, shade) else { continue };
        let Some(value) = part.values.get(f).and_then(|v| feature.values.get(*v)) else { continue };
        let own = normal(&mut standard, options.own_sd);
        let read = place(feature, value) * options.spacing + shared + own + part.yellowed;
        if part.yellowed > 0.5 {
            evidence.at(&slot.id).condition.push(Condition::Yellowed);
        }
        slots.push(slot.id.clone());
        readings.push((feature, family(value), read));
    }
    // Nodes of the shared error, evenly over ±4 standard deviations.
    let term = |node: i32| {
        let z = f64::from(node) * 0.4;
        let likelihood = |(feature, of, read): &(&LineFeature, &str, f64)| {
            let own = |v: &String| {
                let away =
                    (read - place(feature, v) * options.spacing - z * options.shared_sd) / options.own_sd;
                // Another family lies far off in hue.
                if family(v) == *of { libm::exp(-0.5 * away * away).max(1e-12) } else { 1e-12 }
            };
            ShadeLikelihood {
                shades: feature.values.iter().map(|v| (v.clone(), own(v))).collect(),
                // A colour of no family may lie anywhere within some 40 CIEDE2000.
                none: options.own_sd * libm::sqrt(std::f64::consts::TAU) / 40.0,
            }
        };
        JointTerm { weight: libm::exp(-0.5 * z * z), slots: readings.iter().map(likelihood).collect() }
    };
    if !slots.is_empty() {
        evidence.joint = Some(JointShades { slots, terms: (-10..=10).map(term).collect() });
    }
}

/// Place of a shade in the row of its family.
fn place(feature: &LineFeature, shade: &str) -> f64 {
    let row = feature.values.iter().filter(|v| family(v) == family(shade));
    row.take_while(|v| *v != shade).count() as f64
}

/// Looks at a feature as a person does: at the guide's error rates.
pub(super) fn look_at(
    line: &Line,
    figure: &Figure,
    s: usize,
    f: usize,
    options: &RehearseOptions,
    evidence: &mut Evidence,
    rng: &mut impl Rng,
) {
    let Some((slot, part)) = line.slots.get(s).zip(figure.parts.get(s).and_then(|p| p.as_ref())) else {
        return;
    };
    let (Some(feature), Some(visible)) = (slot.features.get(f), part.visible.get(f)) else { return };
    let sure = !rng.random_bool(options.unsure);
    let mut shown = *visible;
    if feature.outcomes() > 1 && rng.random_bool(if sure { feature.error } else { feature.unsure }) {
        shown = (shown + rng.random_range(1..feature.outcomes())) % feature.outcomes();
    }
    let seen = match feature.values.get(shown) {
        Some(value) => Seen::Value { value: value.clone(), sure },
        None => Seen::WornOff { sure },
    };
    evidence.at(&slot.id).looks.insert(feature.id.clone(), seen);
}

/// Draws by weight.
fn draw(weights: &[f64], rng: &mut impl Rng) -> usize {
    let mut left = rng.random_range(0.0..1.0) * weights.iter().sum::<f64>();
    for (i, w) in weights.iter().enumerate() {
        left -= w;
        if left < 0.0 {
            return i;
        }
    }
    weights.iter().rposition(|w| *w > 0.0).unwrap_or(0)
}

//! The hypotheses written out one by one, straight from the guide's text: what the algebra must equal.

use std::collections::BTreeMap;

use super::evidence::{Evidence, JointTerm, Presence, Seen, ShadeLikelihood};
use crate::guide::{Choice, FeatureKind, Guide, Part};

/// The posterior by enumeration.
#[derive(Debug, Default)]
pub(super) struct Brute {
    /// Host → P(whole).
    pub(super) whole: Vec<f64>,
    /// (upper, lower) → P.
    pub(super) pairs: BTreeMap<(usize, usize), f64>,
    /// Slot → P(belongs).
    pub(super) belongs: Vec<f64>,
    /// Slot → host → P(does not belong and came from this host).
    pub(super) donors: Vec<Vec<f64>>,
    /// P(evidence).
    pub(super) total: f64,
}

pub(super) struct Figure<'a> {
    pub(super) character: &'a str,
    parts: &'a BTreeMap<String, Part>,
    weight: f64,
}

pub(super) fn figures(guide: &Guide) -> Vec<Figure<'_>> {
    let mut out = Vec::new();
    for c in &guide.characters {
        for i in &c.issues {
            let run = guide.runs.iter().find(|r| r.id == i.run).expect("run");
            let weight = i.weight.unwrap_or(1.0) * run.weight.unwrap_or(1.0);
            out.push(Figure { character: &c.id, parts: &i.parts, weight });
        }
    }
    let total: f64 = out.iter().map(|f| f.weight).sum();
    out.iter_mut().for_each(|f| f.weight /= total);
    out
}

/// One way that a slot may have come to hold what it holds.
struct Way<'a> {
    prior: f64,
    /// What lies there; `None`: nothing.
    part: Option<&'a Part>,
    /// Where it was exchanged from.
    donor: Option<usize>,
    belongs: bool,
}

fn ways<'a>(guide: &Guide, all: &[Figure<'a>], host: usize, slot: &str) -> Vec<Way<'a>> {
    let of = guide.slots.iter().find(|s| s.id == slot).expect("slot");
    let (lost, exchange) =
        (of.lost.unwrap_or(guide.rates.lost()), of.exchange.unwrap_or(guide.rates.exchange()));
    let own = all[host].parts.get(slot);
    let fits = |d: &Figure| match (own, d.parts.get(slot)) {
        (_, None) => false,
        (None, Some(_)) => true,
        (Some(a), Some(b)) => guide
            .features
            .iter()
            .filter(|f| f.binds && f.slots.iter().any(|s| s == slot))
            .all(|f| shares(guide, slot, &f.id, a) == shares(guide, slot, &f.id, b)),
    };
    let donors: Vec<usize> = (0..all.len()).filter(|d| fits(&all[*d])).collect();
    let weight: f64 = donors.iter().map(|d| all[*d].weight).sum();
    // Where nobody has a part that fits, none can have been exchanged.
    let exchange = if donors.is_empty() { 0.0 } else { exchange };
    let mut out = Vec::new();
    let stays = if own.is_some() { 1.0 - lost } else { 1.0 };
    if own.is_some() {
        out.push(Way { prior: lost, part: None, donor: None, belongs: false });
    }
    let nothing = own.is_none();
    out.push(Way { prior: stays * (1.0 - exchange), part: own, donor: None, belongs: !nothing });
    for d in donors {
        let part = all[d].parts.get(slot);
        let same = own.is_some_and(|own| alike(guide, slot, own, part.expect("fits")));
        out.push(Way {
            prior: stays * exchange * all[d].weight / weight,
            part,
            donor: Some(d),
            belongs: same,
        });
    }
    out
}

fn feature_ids<'a>(guide: &'a Guide, slot: &str) -> Vec<&'a str> {
    ["mould", "shade"]
        .into_iter()
        .chain(guide.features.iter().map(|f| &*f.id))
        .filter(|f| !guide.values_in(slot, f).is_empty())
        .collect()
}

fn alike(guide: &Guide, slot: &str, a: &Part, b: &Part) -> bool {
    feature_ids(guide, slot).iter().all(|f| shares(guide, slot, f, a) == shares(guide, slot, f, b))
}

fn shares(guide: &Guide, slot: &str, feature: &str, part: &Part) -> Vec<(String, f64)> {
    let values = guide.values_in(slot, feature);
    let even = 1.0 / values.len() as f64;
    let of = |v: &str| match part.get(feature) {
        Some(Choice::One(one)) => f64::from(u8::from(one == v)),
        Some(Choice::Mixed(mixed)) => mixed.get(v).unwrap_or(&0.0) / mixed.values().sum::<f64>(),
        _ => even,
    };
    values.iter().map(|v| ((*v).to_owned(), of(v))).collect()
}

/// P(all looks of a slot | what lies there): hidden value by hidden value, hidden wear by hidden wear.
fn looks(guide: &Guide, evidence: &Evidence, slot: &str, part: &Part) -> f64 {
    let Some(at) = evidence.slots.get(slot) else { return 1.0 };
    let mut out = 1.0;
    for (id, seen) in &at.looks {
        let (shown, sure) = match seen {
            Seen::CantSee => continue,
            Seen::WornOff { sure } => ("worn off", *sure),
            Seen::Value { value, sure } => (&**value, *sure),
        };
        let feature = guide.features.iter().find(|f| f.id == *id);
        let paint = feature.is_some_and(|f| f.kind == FeatureKind::Paint);
        let mut outcomes: Vec<String> = guide.values_in(slot, id).iter().map(|v| (*v).to_owned()).collect();
        if paint {
            outcomes.push("worn off".into());
        }
        let misread = feature.and_then(|f| f.misread).unwrap_or(guide.rates.misread());
        let mut error = if id == "shade" { guide.rates.shade_misread() } else { misread };
        if paint {
            error = 1.0 - (1.0 - misread) * (1.0 - guide.rates.repaint());
        }
        if !sure {
            error = error.max(guide.rates.unsure());
        }
        let bare = feature.and_then(|f| f.bare.as_deref());
        let mut sum = 0.0;
        for (value, share) in shares(guide, slot, id, part) {
            let mut visible: Vec<(&str, f64)> = vec![(&value, 1.0)];
            if paint && bare != Some(&*value) {
                let wear = feature.and_then(|f| f.wear).unwrap_or(guide.rates.wear());
                let traces = if bare.is_some() { guide.rates.traces() } else { 1.0 };
                visible = vec![(&value, 1.0 - wear), ("worn off", wear * traces)];
                visible.extend(bare.map(|b| (b, wear * (1.0 - traces))));
            }
            for (state, chance) in visible {
                let others = (outcomes.len() - 1) as f64;
                let shows = match outcomes.len() {
                    1 => 1.0,
                    _ if state == shown => 1.0 - error,
                    _ => error / others,
                };
                sum += share * chance * shows;
            }
        }
        out *= sum;
    }
    out
}

fn shade(guide: &Guide, slot: &str, part: &Part, read: &ShadeLikelihood, yellowed: bool) -> f64 {
    let all: Vec<String> = guide.values_in(slot, "shade").iter().map(|v| (*v).to_owned()).collect();
    if all.is_empty() {
        return 1.0;
    }
    let family = |s: &str| s.split('/').next().unwrap_or("").to_owned();
    let mut sum = 0.0;
    for (value, share) in shares(guide, slot, "shade", part) {
        let mut seen = read.of(&value);
        if yellowed {
            let kin: Vec<f64> =
                all.iter().filter(|s| family(s) == family(&value)).map(|s| read.of(s)).collect();
            let mean = kin.iter().sum::<f64>() / kin.len() as f64;
            seen = (1.0 - guide.rates.aged()) * seen + guide.rates.aged() * mean;
        }
        sum += share * ((1.0 - guide.rates.off_colour()) * seen + guide.rates.off_colour() * read.none);
    }
    sum
}

/// Every hypothesis: who the upper and the lower half are, what befell every slot, what the light did.
pub(super) fn enumerate(guide: &Guide, evidence: &Evidence) -> Brute {
    let all = figures(guide);
    let count = all.len();
    let mut out = Brute {
        whole: vec![0.0; count],
        belongs: vec![0.0; guide.slots.len()],
        donors: vec![vec![0.0; count]; guide.slots.len()],
        ..Brute::default()
    };
    let rate = match &guide.halves {
        Some(halves) if count > 1 => halves.rate.unwrap_or(0.01),
        _ => 0.0,
    };
    let same: f64 = all.iter().map(|f| f.weight * f.weight).sum();
    let one = vec![JointTerm { weight: 1.0, slots: vec![] }];
    let terms = evidence.joint.as_ref().map_or(&one, |j| &j.terms);
    let weight: f64 = terms.iter().map(|t| t.weight).sum();
    for upper in 0..count {
        for lower in 0..count {
            let prior = if upper == lower {
                (1.0 - rate) * all[upper].weight
            } else if rate > 0.0 {
                rate * all[upper].weight * all[lower].weight / (1.0 - same)
            } else {
                continue;
            };
            let each: Vec<Vec<Way>> = guide
                .slots
                .iter()
                .map(|slot| {
                    let is_upper = guide.halves.as_ref().is_some_and(|h| h.upper.contains(&slot.id));
                    ways(guide, &all, if is_upper { upper } else { lower }, &slot.id)
                })
                .collect();
            for term in terms {
                let start = prior * term.weight / weight;
                walk(guide, evidence, term, &each, start, &mut Vec::new(), &mut |p, chosen| {
                    out.total += p;
                    if upper == lower {
                        out.whole[upper] += p;
                    } else {
                        *out.pairs.entry((upper, lower)).or_default() += p;
                    }
                    for (s, way) in chosen.iter().enumerate() {
                        let way = &each[s][*way];
                        if way.belongs {
                            out.belongs[s] += p;
                        } else if let (Some(d), Some(_)) = (way.donor, way.part) {
                            out.donors[s][d] += p;
                        }
                    }
                });
            }
        }
    }
    let total = out.total;
    let rows = out.donors.iter_mut().flatten();
    for p in out.whole.iter_mut().chain(out.pairs.values_mut()).chain(&mut out.belongs).chain(rows) {
        *p /= total;
    }
    out
}

fn walk(
    guide: &Guide,
    evidence: &Evidence,
    term: &JointTerm,
    each: &[Vec<Way>],
    p: f64,
    chosen: &mut Vec<usize>,
    done: &mut dyn FnMut(f64, &[usize]),
) {
    let s = chosen.len();
    let Some(ways) = each.get(s) else { return done(p, chosen) };
    let slot = &*guide.slots[s].id;
    let column = evidence.joint.as_ref().and_then(|j| j.slots.iter().position(|id| id == slot));
    let at = evidence.slots.get(slot);
    let yellowed = at.is_some_and(|a| a.condition.contains(&super::Condition::Yellowed));
    for (w, way) in ways.iter().enumerate() {
        let fits = match (evidence.presence(slot), way.part) {
            (Presence::Unknown, _) => 1.0,
            (Presence::Missing, part) => f64::from(u8::from(part.is_none())),
            (Presence::Present, None) => 0.0,
            (Presence::Present, Some(part)) => {
                let mut l = looks(guide, evidence, slot, part);
                if let Some(read) = column.map(|c| &term.slots[c]).or(at.and_then(|a| a.shade.as_ref())) {
                    l *= shade(guide, slot, part, read, yellowed);
                }
                l
            }
        };
        chosen.push(w);
        walk(guide, evidence, term, each, p * way.prior * fits, chosen, done);
        chosen.pop();
    }
}

//! A guide made ready for weighing: names become numbers, equal parts become one kind.

use std::collections::{BTreeMap, HashMap};

use crate::guide::{Choice, Feature, FeatureKind, Guide, Part, Rates, slot_words};

/// A guide made ready for weighing. Build it once; every finding uses it again.
#[derive(Debug, Clone)]
pub struct Line {
    /// Every character in every run it came with.
    pub hosts: Vec<Host>,
    /// The slots in the guide's order.
    pub slots: Vec<LineSlot>,
    /// Prior probability that the figure is put together from two halves.
    pub composite: f64,
    /// Error rates of the line.
    pub rates: Rates,
}

/// A character in one run.
#[derive(Debug, Clone, PartialEq)]
pub struct Host {
    /// The character's id.
    pub character: String,
    /// The run's id.
    pub run: String,
    /// Both, for people: "Keeper, second run".
    pub name: String,
    /// Prior probability; all hosts add up to 1.
    pub weight: f64,
}

/// A place in a figure.
#[derive(Debug, Clone)]
pub struct LineSlot {
    /// The slot's id.
    pub id: String,
    /// Its name for people.
    pub label: String,
    /// Share of figures that lost the part.
    pub lost: f64,
    /// Share of figures with the part exchanged.
    pub exchange: f64,
    /// Whether it is of the upper half.
    pub upper: bool,
    /// The slot on the other side.
    pub mirror: Option<usize>,
    /// What can be seen here; the shade is one of them where the guide has shades.
    pub features: Vec<LineFeature>,
    /// The kinds of part that the line has here.
    pub kinds: Vec<Kind>,
    /// Host → kind.
    pub kind_of: Vec<usize>,
    /// How many classes of parts there are that fit for one another.
    pub classes: usize,
    /// Class → prior weight of all its parts.
    pub class_weights: Vec<f64>,
}

/// Parts that nothing tells apart.
#[derive(Debug, Clone)]
pub struct Kind {
    /// False: the character has no part here.
    pub part: bool,
    /// Feature → value → share; adds up to 1 for each feature.
    pub shares: Vec<Vec<f64>>,
    /// The same without the values that it never has: feature → (value, share).
    pub mix: Vec<Vec<(usize, f64)>>,
    /// Feature → whether the guide says anything of it.
    pub said: Vec<bool>,
    /// Parts of one class fit for one another.
    pub class: usize,
    /// Prior weight of its hosts.
    pub weight: f64,
    /// Who has it.
    pub hosts: Vec<usize>,
}

/// Something that can be seen in a slot.
#[derive(Debug, Clone)]
pub struct LineFeature {
    /// Its id; "mould" and "shade" too.
    pub id: String,
    /// Its name for people.
    pub label: String,
    /// What it is.
    pub sort: Sort,
    /// What may be seen.
    pub values: Vec<String>,
    /// The values' names for people.
    pub labels: Vec<String>,
    /// The value that means "no paint".
    pub bare: Option<usize>,
    /// Share of such paint that is worn off; 0 for what cannot wear.
    pub wear: f64,
    /// Share of worn paint that leaves traces.
    pub traces: f64,
    /// Share of sure looks that are wrong, paint of a later hand included.
    pub error: f64,
    /// Share of unsure looks that are wrong.
    pub unsure: f64,
    /// How to see it, one sentence.
    pub how: String,
    /// How to know each value, where the guide says it.
    pub hows: Vec<Option<String>>,
}

/// What a feature is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Sort {
    /// The tool.
    Mould,
    /// The base colour.
    Shade,
    /// Paint.
    Paint,
    /// A joint.
    Joint,
    /// A mark of make.
    Mark,
}

impl Line {
    /// Makes a guide ready. The guide should have passed [`crate::guide::validate`]; what it would refuse is
    /// left out here.
    pub fn new(guide: &Guide) -> Self {
        let (hosts, issues) = hosts(guide);
        let slots = guide.slots.iter().map(|slot| line_slot(guide, slot, &hosts, &issues)).collect();
        let composite = match &guide.halves {
            Some(halves) if hosts.len() > 1 => halves.rate.unwrap_or(0.01),
            _ => 0.0,
        };
        Self { hosts, slots, composite, rates: guide.rates.clone() }
    }

    /// The number of a slot.
    pub fn slot(&self, id: &str) -> Option<usize> {
        self.slots.iter().position(|s| s.id == id)
    }
}

impl LineSlot {
    /// The number of a feature.
    pub fn feature(&self, id: &str) -> Option<usize> {
        self.features.iter().position(|f| f.id == id)
    }
}

impl LineFeature {
    /// Outcomes of a look: the values, and for paint "worn off" as the last.
    pub fn outcomes(&self) -> usize {
        self.values.len() + usize::from(self.sort == Sort::Paint)
    }

    /// Probability of an outcome where the part truly has a value and looks err at rate `error`.
    ///
    /// Paint that is worn off shows traces or nothing; a wrong look is any other outcome, all equally likely:
    /// P(o | v) = e/(K−1) + (1 − e − e/(K−1)) P(visible = o | v) over K outcomes.
    pub fn chance(&self, outcome: usize, value: usize, error: f64) -> f64 {
        let outcomes = self.outcomes();
        if outcomes < 2 {
            return 1.0;
        }
        let worn_off = self.values.len();
        let wear = if self.sort == Sort::Paint && self.bare != Some(value) { self.wear } else { 0.0 };
        let traces = if self.bare.is_some() { self.traces } else { 1.0 };
        let mut visible = 0.0;
        if outcome == value {
            visible += 1.0 - wear;
        }
        if outcome == worn_off {
            visible += wear * traces;
        }
        if Some(outcome) == self.bare {
            visible += wear * (1.0 - traces);
        }
        let other = error / (outcomes - 1) as f64;
        other + (1.0 - error - other) * visible
    }

    /// The outcome's name for people.
    pub fn outcome_label(&self, outcome: usize) -> &str {
        self.labels.get(outcome).map_or("worn off", |l| l)
    }
}

fn hosts(guide: &Guide) -> (Vec<Host>, Vec<&BTreeMap<String, Part>>) {
    let mut hosts = Vec::new();
    let mut issues = Vec::new();
    for character in &guide.characters {
        for issue in &character.issues {
            let run = guide.runs.iter().find(|r| r.id == issue.run);
            let run_name = run.map_or(&*issue.run, |r| r.name());
            hosts.push(Host {
                character: character.id.clone(),
                run: issue.run.clone(),
                name: format!("{}, {run_name}", character.name()),
                weight: issue.weight.unwrap_or(1.0) * run.and_then(|r| r.weight).unwrap_or(1.0),
            });
            issues.push(&issue.parts);
        }
    }
    let total: f64 = hosts.iter().map(|h| h.weight).sum();
    hosts.iter_mut().for_each(|h| h.weight /= total);
    (hosts, issues)
}

fn line_slot(
    guide: &Guide,
    slot: &crate::guide::Slot,
    hosts: &[Host],
    issues: &[&BTreeMap<String, Part>],
) -> LineSlot {
    let features = features(guide, &slot.id);
    let binds: Vec<bool> =
        features.iter().map(|f| guide.features.iter().any(|g| g.id == f.id && g.binds)).collect();
    let mut kinds: Vec<Kind> = Vec::new();
    let mut by_key: HashMap<Option<Vec<Vec<u64>>>, usize> = HashMap::new();
    let mut classes: HashMap<Vec<Vec<u64>>, usize> = HashMap::new();
    let mut kind_of = Vec::with_capacity(hosts.len());
    for (h, (host, parts)) in hosts.iter().zip(issues).enumerate() {
        let part = parts.get(&slot.id);
        let (shares, said) = shares(&features, part);
        let bits: Vec<Vec<u64>> = shares.iter().map(|s| s.iter().map(|x| x.to_bits()).collect()).collect();
        let bound = bits.iter().zip(&binds).filter(|(_, b)| **b).map(|(s, _)| s.clone()).collect();
        let kind = *by_key.entry(part.map(|_| bits)).or_insert_with(|| {
            let next = classes.len();
            let class = if part.is_some() { *classes.entry(bound).or_insert(next) } else { 0 };
            let some = |s: &Vec<f64>| s.iter().copied().enumerate().filter(|(_, x)| *x > 0.0).collect();
            let mix = shares.iter().map(some).collect();
            kinds.push(Kind {
                part: part.is_some(),
                shares,
                mix,
                said,
                class,
                weight: 0.0,
                hosts: Vec::new(),
            });
            kinds.len() - 1
        });
        if let Some(kind) = kinds.get_mut(kind) {
            kind.weight += host.weight;
            kind.hosts.push(h);
        }
        kind_of.push(kind);
    }
    let mut class_weights = vec![0.0; classes.len().max(1)];
    for kind in kinds.iter().filter(|kind| kind.part) {
        if let Some(sum) = class_weights.get_mut(kind.class) {
            *sum += kind.weight;
        }
    }
    LineSlot {
        id: slot.id.clone(),
        label: slot_words(Some(guide), &slot.id),
        lost: slot.lost.unwrap_or(guide.rates.lost()),
        // Where nobody has a part, none can have been exchanged.
        exchange: if kinds.iter().any(|k| k.part) {
            slot.exchange.unwrap_or(guide.rates.exchange())
        } else {
            0.0
        },
        upper: guide.halves.as_ref().is_some_and(|halves| halves.upper.contains(&slot.id)),
        mirror: slot.mirror.as_ref().and_then(|m| guide.slots.iter().position(|s| s.id == *m)),
        features,
        kinds,
        kind_of,
        classes: classes.len().max(1),
        class_weights,
    }
}

fn features(guide: &Guide, slot: &str) -> Vec<LineFeature> {
    let mut out = Vec::new();
    let moulds: Vec<_> = guide.moulds.iter().filter(|m| m.slots.iter().any(|s| s == slot)).collect();
    if !moulds.is_empty() {
        out.push(LineFeature {
            values: moulds.iter().map(|m| m.id.clone()).collect(),
            labels: moulds.iter().map(|m| m.name().to_owned()).collect(),
            hows: moulds.iter().map(|m| m.how.clone()).collect(),
            how: "Compare its shape with the guide's moulds.".into(),
            ..plain("mould", "mould", Sort::Mould, &guide.rates)
        });
    }
    if !guide.shades.is_empty() {
        out.push(LineFeature {
            values: guide.shades.iter().map(|s| s.id.clone()).collect(),
            labels: guide.shades.iter().map(|s| s.name().to_owned()).collect(),
            hows: vec![None; guide.shades.len()],
            error: guide.rates.shade_misread(),
            unsure: guide.rates.unsure().max(guide.rates.shade_misread()),
            how: "Photograph it with the card beside it and read a matt, clean place.".into(),
            ..plain("shade", "shade", Sort::Shade, &guide.rates)
        });
    }
    out.extend(
        guide.features.iter().filter(|f| f.slots.iter().any(|s| s == slot)).map(|f| seen(f, &guide.rates)),
    );
    out
}

fn seen(feature: &Feature, rates: &Rates) -> LineFeature {
    let misread = feature.misread.unwrap_or(rates.misread());
    let (sort, wear, error) = match feature.kind {
        FeatureKind::Paint => (
            Sort::Paint,
            feature.wear.unwrap_or(rates.wear()),
            1.0 - (1.0 - misread) * (1.0 - rates.repaint()),
        ),
        FeatureKind::Joint => (Sort::Joint, 0.0, misread),
        FeatureKind::Mark => (Sort::Mark, 0.0, misread),
    };
    LineFeature {
        values: feature.values.clone(),
        labels: feature.values.clone(),
        hows: vec![None; feature.values.len()],
        bare: feature.bare.as_ref().and_then(|b| feature.values.iter().position(|v| v == b)),
        wear,
        error,
        unsure: rates.unsure().max(error),
        how: feature.how.clone().unwrap_or_else(|| "Look closely, with a loupe where it is small.".into()),
        ..plain(&feature.id, feature.name(), sort, rates)
    }
}

fn plain(id: &str, label: &str, sort: Sort, rates: &Rates) -> LineFeature {
    LineFeature {
        id: id.into(),
        label: label.into(),
        sort,
        values: Vec::new(),
        labels: Vec::new(),
        bare: None,
        wear: 0.0,
        traces: rates.traces(),
        error: rates.misread(),
        unsure: rates.unsure().max(rates.misread()),
        how: String::new(),
        hows: Vec::new(),
    }
}

/// The shares of every value of every feature on a part, and whether the guide speaks of it.
fn shares(features: &[LineFeature], part: Option<&Part>) -> (Vec<Vec<f64>>, Vec<bool>) {
    let of = |feature: &LineFeature| {
        let even = (vec![1.0 / feature.values.len() as f64; feature.values.len()], false);
        let weights: Vec<f64> = match part.and_then(|p| p.get(&feature.id)) {
            Some(Choice::One(value)) => {
                feature.values.iter().map(|v| f64::from(u8::from(v == value))).collect()
            }
            Some(Choice::Mixed(mixed)) => {
                feature.values.iter().map(|v| mixed.get(v).copied().unwrap_or(0.0)).collect()
            }
            Some(Choice::Other(_)) | None => return even,
        };
        let total: f64 = weights.iter().sum();
        if total > 0.0 { (weights.iter().map(|w| w / total).collect(), true) } else { even }
    };
    features.iter().map(of).unzip()
}

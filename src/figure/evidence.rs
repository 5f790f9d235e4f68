//! What was seen and measured on the parts of one figure.

use std::collections::BTreeMap;

use super::line::{Line, LineSlot, Sort};

/// Everything known of one figure. Default: nothing.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Evidence {
    /// Slot id → what is known of its part.
    pub slots: BTreeMap<String, SlotEvidence>,
    /// Shades read in one photo, which share its light.
    pub joint: Option<JointShades>,
}

/// What is known of one part.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct SlotEvidence {
    /// Whether there is a part. A look or a reading says that there is.
    pub presence: Presence,
    /// Feature id → what was seen.
    pub looks: BTreeMap<String, Seen>,
    /// The shade as measured on its own; leave it out for slots of [`Evidence::joint`].
    pub shade: Option<ShadeLikelihood>,
    /// State of the part.
    pub condition: Vec<Condition>,
}

/// Whether there is a part in a slot.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Presence {
    /// Nobody said.
    #[default]
    Unknown,
    /// There is one.
    Present,
    /// There is none.
    Missing,
}

/// What a look showed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Seen {
    /// One of the feature's values.
    Value {
        /// Which.
        value: String,
        /// Whether the person is sure.
        sure: bool,
    },
    /// Traces of paint that is worn off.
    WornOff {
        /// Whether the person is sure.
        sure: bool,
    },
    /// Looked, but could not see it: says nothing.
    CantSee,
}

/// State of a part.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Condition {
    /// Broken or cracked.
    Broken,
    /// Worn.
    Worn,
    /// Yellowed or faded.
    Yellowed,
    /// The joint is loose.
    Loose,
}

impl Condition {
    /// All of them.
    pub const ALL: [Condition; 4] =
        [Condition::Broken, Condition::Worn, Condition::Yellowed, Condition::Loose];

    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Condition::Broken => "broken",
            Condition::Worn => "worn",
            Condition::Yellowed => "yellowed",
            Condition::Loose => "loose joint",
        }
    }
}

/// How well each shade explains a measurement: values of 0 or more, up to a common factor.
#[derive(Debug, Clone, PartialEq)]
pub struct ShadeLikelihood {
    /// Shade id → likelihood.
    pub shades: Vec<(String, f64)>,
    /// Likelihood of "none of these".
    pub none: f64,
}

impl ShadeLikelihood {
    /// Likelihoods out of probabilities that were weighed with a prior: `prior_none` for "none of these", the
    /// rest evenly over the shades. A likelihood is the probability over its prior.
    pub fn from_posterior(posterior: &[(Option<String>, f64)], prior_none: f64) -> Self {
        let shades = posterior.iter().filter(|(s, _)| s.is_some()).count().max(1);
        let prior = (1.0 - prior_none) / shades as f64;
        let none: f64 = posterior.iter().filter(|(s, _)| s.is_none()).map(|(_, p)| p).sum();
        Self {
            shades: posterior.iter().filter_map(|(s, p)| Some((s.clone()?, p / prior))).collect(),
            none: if prior_none > 0.0 { none / prior_none } else { none },
        }
    }

    /// Likelihood of a shade; one that was not compared with counts as "none of these".
    pub fn of(&self, shade: &str) -> f64 {
        self.shades.iter().find(|(id, _)| id == shade).map_or(self.none, |(_, l)| *l)
    }
}

/// Shades read together: P(measurement | shades) = Σ weight · Π likelihood of each slot.
///
/// Each term is one thing that the light of the photo may have done (a draw from its posterior, for one), under
/// which the readings are independent. A single term is full independence; any table can be written so.
#[derive(Debug, Clone, PartialEq)]
pub struct JointShades {
    /// The slots that were read.
    pub slots: Vec<String>,
    /// The terms; weights of 0 or more.
    pub terms: Vec<JointTerm>,
}

/// One term of [`JointShades`].
#[derive(Debug, Clone, PartialEq)]
pub struct JointTerm {
    /// How probable the term is.
    pub weight: f64,
    /// One a slot, in the order of the slots.
    pub slots: Vec<ShadeLikelihood>,
}

impl JointShades {
    /// From a full table over slots × shades, the last slot running fastest; the last shade is "none of these".
    ///
    /// `table.len()` is `(shades.len() + 1)^slots.len()`; any other length is an error.
    pub fn from_table(slots: &[String], shades: &[String], table: &[f64]) -> Result<Self, EvidenceProblem> {
        let width = shades.len() + 1;
        let rows = u32::try_from(slots.len()).ok().and_then(|n| width.checked_pow(n.checked_sub(1)?));
        if rows.and_then(|rows| rows.checked_mul(width)) != Some(table.len()) {
            return Err(EvidenceProblem {
                place: "joint shades".into(),
                text: format!(
                    "A table of {} numbers does not fit {} slots and {} shades with “none”.",
                    table.len(),
                    slots.len(),
                    shades.len()
                ),
                remedy: "Give one number for every combination.".into(),
            });
        }
        let likelihood = |values: &[f64]| ShadeLikelihood {
            shades: shades.iter().cloned().zip(values.iter().copied()).collect(),
            none: values.last().copied().unwrap_or(0.0),
        };
        let only =
            |at: usize| likelihood(&(0..width).map(|i| f64::from(u8::from(i == at))).collect::<Vec<_>>());
        let term = |(row, values): (usize, &[f64])| {
            let mut rest = row;
            let mut terms = vec![likelihood(values)];
            for _ in 1..slots.len() {
                terms.push(only(rest % width));
                rest /= width;
            }
            terms.reverse();
            JointTerm { weight: 1.0, slots: terms }
        };
        let filled = |(_, values): &(usize, &[f64])| values.iter().any(|v| *v > 0.0);
        Ok(Self {
            slots: slots.to_vec(),
            terms: table.chunks(width).enumerate().filter(filled).map(term).collect(),
        })
    }
}

/// Evidence that the guide does not know, or that contradicts itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EvidenceProblem {
    /// Where: "arm-left › mould".
    pub place: String,
    /// What is the matter, a full sentence.
    pub text: String,
    /// What to do about it.
    pub remedy: String,
}

impl std::fmt::Display for EvidenceProblem {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}: {} {}", self.place, self.text, self.remedy)
    }
}

impl std::error::Error for EvidenceProblem {}

impl Evidence {
    /// What is known of a slot, to be added to.
    pub fn at(&mut self, slot: impl Into<String>) -> &mut SlotEvidence {
        self.slots.entry(slot.into()).or_default()
    }

    /// Adds a look; a later one at the same feature replaces the earlier.
    pub fn see(&mut self, slot: &str, feature: &str, value: &str, sure: bool) -> &mut Self {
        let seen = match value {
            "can't see" => Seen::CantSee,
            "worn off" => Seen::WornOff { sure },
            _ => Seen::Value { value: value.into(), sure },
        };
        self.at(slot).looks.insert(feature.into(), seen);
        self
    }

    /// Whether a slot's part is there, as far as the evidence says.
    pub fn presence(&self, slot: &str) -> Presence {
        let read = self.joint.as_ref().is_some_and(|joint| joint.slots.iter().any(|s| s == slot));
        match self.slots.get(slot) {
            None if read => Presence::Present,
            None => Presence::Unknown,
            Some(at) if at.presence != Presence::Unknown => at.presence,
            Some(at)
                if at.shade.is_some() || at.looks.values().any(|seen| *seen != Seen::CantSee) || read =>
            {
                Presence::Present
            }
            Some(at) if !at.condition.is_empty() => Presence::Present,
            Some(_) => Presence::Unknown,
        }
    }

    /// Whether a feature of a slot has been looked at, or tried to.
    pub fn has_looked(&self, slot: &str, feature: &str) -> bool {
        let read = feature == "shade"
            && (self.joint.as_ref().is_some_and(|joint| joint.slots.iter().any(|s| s == slot))
                || self.slots.get(slot).is_some_and(|at| at.shade.is_some()));
        read || self.slots.get(slot).is_some_and(|at| at.looks.contains_key(feature))
    }

    /// Everything in the evidence that the line does not know, or that contradicts itself.
    pub fn check(&self, line: &Line) -> Vec<EvidenceProblem> {
        let mut out = Vec::new();
        for (id, at) in &self.slots {
            let Some(slot) = line.slot(id).and_then(|s| line.slots.get(s)) else {
                out.push(no_slot(line, id));
                continue;
            };
            if at.presence == Presence::Missing
                && (at.shade.is_some() || at.looks.values().any(|s| *s != Seen::CantSee))
            {
                out.push(problem(
                    id,
                    format!("The {} is said to be missing, yet something was seen of it.", slot.label),
                    "Take back one of the two.",
                ));
            }
            for (feature, seen) in &at.looks {
                out.extend(check_look(slot, feature, seen));
            }
            if at.shade.as_ref().is_some_and(|s| !sane(s)) {
                out.push(not_numbers(id));
            }
        }
        if let Some(joint) = &self.joint {
            for id in joint.slots.iter().filter(|id| line.slot(id).is_none()) {
                out.push(no_slot(line, id));
            }
            let fits = |t: &JointTerm| {
                t.slots.len() == joint.slots.len() && t.weight >= 0.0 && t.slots.iter().all(sane)
            };
            let total: f64 = joint.terms.iter().map(|t| t.weight).sum();
            if !(total > 0.0 && total.is_finite() && joint.terms.iter().all(fits)) {
                out.push(not_numbers("joint shades"));
            }
            for id in &joint.slots {
                let missing = self.slots.get(id).is_some_and(|at| at.presence == Presence::Missing);
                let twice = joint.slots.iter().filter(|other| *other == id).count() > 1
                    || self.slots.get(id).is_some_and(|at| at.shade.is_some());
                if missing || twice {
                    let text = if missing {
                        "was read, yet is said to be missing"
                    } else {
                        "has two shade readings"
                    };
                    out.push(problem(id, format!("The slot “{id}” {text}."), "Take back one of the two."));
                }
            }
        }
        out
    }
}

fn check_look(slot: &LineSlot, feature: &str, seen: &Seen) -> Option<EvidenceProblem> {
    let place = format!("{} › {feature}", slot.id);
    let Some(known) = slot.feature(feature).and_then(|f| slot.features.get(f)) else {
        let names: Vec<&str> = slot.features.iter().map(|f| &*f.id).collect();
        return Some(problem(
            &place,
            format!("The guide knows no “{feature}” on the {}.", slot.label),
            &format!("It knows: {}.", names.join(", ")),
        ));
    };
    match seen {
        Seen::Value { value, .. } if !known.values.contains(value) => Some(problem(
            &place,
            format!("The guide knows no {} “{value}” on the {}.", known.label, slot.label),
            &format!("It knows: {}; or say “can't see”.", known.values.join(", ")),
        )),
        Seen::WornOff { .. } if known.sort != Sort::Paint => Some(problem(
            &place,
            format!("{} does not wear off.", known.label),
            "Say what is seen, or “can't see”.",
        )),
        _ => None,
    }
}

fn sane(shade: &ShadeLikelihood) -> bool {
    // Far above any density of a colour, far below where products overflow.
    let good = |l: f64| (0.0..=1e200).contains(&l);
    good(shade.none) && shade.shades.iter().all(|(_, l)| good(*l))
}

fn not_numbers(place: &str) -> EvidenceProblem {
    problem(
        place,
        "The shade likelihoods are not finite numbers of 0 or more.".into(),
        "Read the shade again.",
    )
}

fn no_slot(line: &Line, id: &str) -> EvidenceProblem {
    let names: Vec<&str> = line.slots.iter().map(|s| &*s.id).collect();
    problem(id, format!("The guide knows no slot “{id}”."), &format!("It knows: {}.", names.join(", ")))
}

fn problem(place: &str, text: String, remedy: &str) -> EvidenceProblem {
    EvidenceProblem { place: place.into(), text, remedy: remedy.into() }
}

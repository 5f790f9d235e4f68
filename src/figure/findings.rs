//! The finding as it is shown and as it leaves the program (`sameshot_findings`, version 1).

use serde::{Deserialize, Serialize};

use super::evidence::{Evidence, Presence};
use super::line::Line;
use super::look::{LookOptions, Question, next_looks};
use super::reasons::{Reason, all_pieces, reasons};
use super::signs::Sign;
use super::weigh::{NoFit, Weighed, weigh};

/// The version of the findings format that this program writes.
pub const FINDINGS_VERSION: u32 = 1;

/// Everything found of one figure. Lists after `next_looks` are left out of the file where they are empty.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Findings {
    /// Format version.
    pub sameshot_findings: u32,
    /// Who it may be, the likeliest first. With `composites` the probabilities add up to 1, but for the tail that
    /// [`FindingOptions::least`] cuts off.
    pub ranking: Vec<Ranked>,
    /// Every part of which something was seen or measured.
    pub slots: Vec<SlotFinding>,
    /// What is odd about a part; never a verdict about people.
    pub signs: Vec<Sign>,
    /// What to look at next, the most telling first.
    pub next_looks: Vec<LookFinding>,
    /// Put together from two halves.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub composites: Vec<Composite>,
    /// Slots without a part.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub missing: Vec<Missing>,
    /// State of the parts, with what to be careful about.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub condition: Vec<ConditionFinding>,
    /// What else to know, "no hypothesis fits: …" among it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub notes: Vec<String>,
}

/// A character and run with its probability.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Ranked {
    /// The character's id.
    pub character: String,
    /// The run's id.
    pub run: String,
    /// 0..=1.
    pub probability: f64,
    /// What speaks for it and, with odds below 1, against it.
    pub reasons: Vec<Reason>,
}

/// The part in one slot.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SlotFinding {
    /// The slot's id.
    pub slot: String,
    /// Probability that the part belongs to the figure.
    pub belongs: f64,
    /// Where it could come from, given that it does not belong; empty where it belongs anyway.
    pub donors: Vec<Donor>,
}

/// Where a part could come from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Donor {
    /// The character's id.
    pub character: String,
    /// The run's id.
    pub run: String,
    /// 0..=1.
    pub probability: f64,
}

/// A look worth taking.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LookFinding {
    /// The slot's id.
    pub slot: String,
    /// The feature's id.
    pub feature: String,
    /// Expected fall of entropy, bits.
    pub bits: f64,
    /// How to see it.
    pub how: String,
}

/// Two halves of different hosts.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Composite {
    /// Whose the upper half is.
    pub upper: Who,
    /// Whose the lower half is.
    pub lower: Who,
    /// 0..=1.
    pub probability: f64,
}

/// A character in a run.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Who {
    /// The character's id.
    pub character: String,
    /// The run's id.
    pub run: String,
}

/// A slot without a part.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Missing {
    /// The slot's id.
    pub slot: String,
    /// Probability that the figure had a part here.
    pub expected: f64,
}

/// State of one part.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ConditionFinding {
    /// The slot's id.
    pub slot: String,
    /// "broken", "worn", "yellowed" or "loose joint"; empty for a caution alone.
    pub state: Vec<String>,
    /// What to be careful about.
    pub cautions: Vec<String>,
}

/// How much is written down.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FindingOptions {
    /// Hosts, donors and composites below this probability are left out.
    pub least: f64,
    /// The most hosts listed.
    pub ranking: usize,
    /// The most looks proposed.
    pub looks: usize,
    /// Looks that tell less than this, bits, are not worth taking.
    pub least_bits: f64,
    /// Whether shades can be read.
    pub shades: bool,
    /// Who it is counts as settled above this probability; then looks go for the parts.
    pub settled: f64,
}

impl Default for FindingOptions {
    fn default() -> Self {
        Self { least: 0.001, ranking: 12, looks: 5, least_bits: 0.01, shades: true, settled: 0.95 }
    }
}

/// A part is said to belong above this, and not to belong below 1 less this.
pub(super) const CERTAIN: f64 = 0.95;

/// Weighs the evidence and writes down what follows. Evidence that fits nothing gives a finding without ranking whose
/// notes say why.
pub fn find(line: &Line, evidence: &Evidence, options: &FindingOptions) -> Findings {
    let mut out = Findings {
        sameshot_findings: FINDINGS_VERSION,
        ranking: Vec::new(),
        slots: Vec::new(),
        signs: Vec::new(),
        next_looks: Vec::new(),
        composites: Vec::new(),
        missing: Vec::new(),
        condition: Vec::new(),
        notes: Vec::new(),
    };
    match weigh(line, evidence) {
        Ok(weighed) => fill(&weighed, evidence, options, &mut out),
        Err(NoFit::Problems(problems)) => out.notes.extend(problems.iter().map(ToString::to_string)),
        Err(NoFit::Nothing(text)) => out.notes.push(text),
    }
    out
}

fn fill(weighed: &Weighed, evidence: &Evidence, options: &FindingOptions, out: &mut Findings) {
    let line = weighed.line;
    let host = |h: usize| line.hosts.get(h);
    let pieces = all_pieces(weighed, evidence);
    for (i, (h, probability)) in weighed.ranked().into_iter().take(options.ranking).enumerate() {
        let Some(host) = host(h).filter(|_| i == 0 || probability >= options.least) else { continue };
        out.ranking.push(Ranked {
            character: host.character.clone(),
            run: host.run.clone(),
            probability,
            reasons: reasons(weighed, &pieces, h),
        });
    }
    let who = |h: usize| host(h).map(|x| Who { character: x.character.clone(), run: x.run.clone() });
    for (upper, lower, probability) in weighed.pairs(options.ranking) {
        // Any figure might be put together; only what rises well above the prior is worth a word.
        if probability < options.least.max(0.5 * line.composite) {
            continue;
        }
        if let (Some(upper), Some(lower)) = (who(upper), who(lower)) {
            out.composites.push(Composite { upper, lower, probability });
        }
    }
    for (s, slot) in line.slots.iter().enumerate() {
        let Some(view) = weighed.part(s) else {
            let masses = weighed.masses(s);
            let each = masses.iter().flat_map(|row| row.iter().zip(&slot.kinds));
            let expected = each.filter(|(_, kind)| kind.part).map(|(p, _)| p).sum();
            out.missing.push(Missing { slot: slot.id.clone(), expected });
            continue;
        };
        if evidence.presence(&slot.id) == Presence::Unknown {
            continue;
        }
        let mut donors = Vec::new();
        if view.belongs < CERTAIN {
            for (h, probability) in weighed.donors(s, &view) {
                let Some(host) = host(h).filter(|_| probability >= options.least) else { continue };
                let (character, run) = (host.character.clone(), host.run.clone());
                donors.push(Donor { character, run, probability });
            }
        }
        out.slots.push(SlotFinding { slot: slot.id.clone(), belongs: view.belongs, donors });
    }
    let settled = out.ranking.first().is_some_and(|r| r.probability >= options.settled);
    let question = if settled { Question::Parts } else { Question::Who };
    let looks = next_looks(weighed, evidence, &LookOptions { question, shades: options.shades });
    for look in looks.iter().filter(|l| l.bits >= options.least_bits).take(options.looks) {
        let Some((slot, feature)) =
            line.slots.get(look.slot).and_then(|s| Some((s, s.features.get(look.feature)?)))
        else {
            continue;
        };
        out.next_looks.push(LookFinding {
            slot: slot.id.clone(),
            feature: feature.id.clone(),
            bits: look.bits,
            how: how(weighed, look.slot, look.feature),
        });
    }
}

/// How to see a feature; for moulds the sentences of those that may lie here.
fn how(weighed: &Weighed, s: usize, f: usize) -> String {
    let Some((slot, feature)) = weighed.line.slots.get(s).and_then(|x| Some((x, x.features.get(f)?))) else {
        return String::new();
    };
    let masses = weighed.masses(s);
    let likely = |v: usize| {
        let of = |row: &Vec<f64>| -> f64 {
            let shares =
                slot.kinds.iter().map(|k| k.shares.get(f).and_then(|s| s.get(v)).copied().unwrap_or(0.0));
            row.iter().zip(shares).map(|(p, share)| p * share).sum()
        };
        masses.iter().map(of).sum::<f64>() >= 0.02
    };
    let told = feature.labels.iter().zip(&feature.hows).enumerate().filter(|(v, _)| likely(*v));
    let told: Vec<String> =
        told.filter_map(|(_, (label, how))| Some(format!("{label}: {}", how.as_ref()?))).collect();
    if told.is_empty() { feature.how.clone() } else { format!("{} {}", feature.how, told.join(" ")) }
}

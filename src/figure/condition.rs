//! State of the parts, with what to be careful about.

use super::evidence::{Condition, Evidence};
use super::findings::ConditionFinding;
use super::line::{Line, Sort};
use crate::guide::Guide;

/// What to be careful about with a part in this state. Common practice, no source.
fn caution(condition: Condition) -> &'static str {
    match condition {
        Condition::Broken => "Keep the pieces together; do not glue before the figure is settled.",
        Condition::Worn => "Worn paint rubs off further: do not wash or wipe over it.",
        Condition::Yellowed => {
            "Its shade may read as another: judge it by a sheltered place, and keep it out of daylight."
        }
        Condition::Loose => "Do not force the joint; support both sides when moving it.",
    }
}

/// One entry for each slot that has a state, or whose shade is brittle.
///
/// `expected` is how probable it is that the part is of a shade (slot number, shade's id); a caution on a brittle shade
/// is given from 10 % on: a snapped peg cannot be taken back.
pub(super) fn condition(
    guide: &Guide,
    line: &Line,
    evidence: &Evidence,
    expected: impl Fn(usize, &str) -> f64,
) -> Vec<ConditionFinding> {
    let mut out = Vec::new();
    for (s, slot) in line.slots.iter().enumerate() {
        let Some(at) = evidence.slots.get(&slot.id) else { continue };
        if at.presence == super::Presence::Missing {
            continue;
        }
        let mut states = at.condition.clone();
        states.sort();
        states.dedup();
        let mut cautions: Vec<String> = states.iter().map(|c| caution(*c).to_owned()).collect();
        let has_shade = slot.features.iter().any(|f| f.sort == Sort::Shade);
        for shade in guide.shades.iter().filter(|_| has_shade) {
            if let Some(brittle) = shade.brittle.as_ref().filter(|_| expected(s, &shade.id) >= 0.1) {
                cautions.push(brittle.clone());
            }
        }
        if !states.is_empty() || !cautions.is_empty() {
            let state = states.iter().map(|c| c.word().to_owned()).collect();
            out.push(ConditionFinding { slot: slot.id.clone(), state, cautions });
        }
    }
    out
}

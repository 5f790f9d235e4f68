//! A part that may have yellowed: what else it could be, and the look that settles it.

use super::{ReadingResult, Warning};
use crate::shade::ageing::{Ageing, settling_check};
use crate::shade::{Predictive, References};
use crate::stats::Mixture;

/// The references' direction of ageing, where they teach one; without pairs nothing is said, as every shade could be
/// another one yellowed.
pub(super) fn learned(references: &References) -> Option<Ageing> {
    let ageing = Ageing::of_references(references);
    (ageing.pairs > 0).then_some(ageing)
}

/// Adds a warning where a shade, yellowed, would look like another one. The call stays that of the colour as it is now.
pub(super) fn warn(
    result: &mut ReadingResult,
    reading: &Mixture<3>,
    predictive: &Predictive,
    references: &References,
    ageing: &Ageing,
) {
    let Ok(hypotheses) = ageing.judge(reading, predictive) else { return };
    let name = |id: &str| {
        references.shades.iter().find(|shade| shade.id == id).map_or(id, |shade| shade.name()).to_owned()
    };
    let Some(remedy) = settling_check(&hypotheses, name) else { return };
    let mut likely: Vec<_> =
        hypotheses.iter().filter(|h| h.probability >= 0.05 && h.shade.is_some()).collect();
    likely.sort_by(|p, q| q.probability.total_cmp(&p.probability));
    let said: Vec<String> = likely
        .iter()
        .map(|h| {
            let state = if h.yellowed { "yellowed" } else { "as moulded" };
            let shade = h.shade.as_deref().map(name).unwrap_or_default();
            format!("{shade}, {state}, {:.0} %", 100.0 * h.probability)
        })
        .collect();
    result.warnings.push(Warning {
        code: "maybe-yellowed".into(),
        text: format!(
            "If parts of this line have yellowed as the references show, it may be: {}.",
            said.join("; ")
        ),
        remedy,
    });
}

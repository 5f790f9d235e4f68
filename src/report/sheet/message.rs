//! A short text to paste into a message.

use super::ReportInputs;
use super::plain::{name_of, plain};
use super::tray::{is_loose, pile_lines};
use crate::report::words::{SamePlastic, capital, same_plastic};

/// The figure, a line a part or a pile of loose parts, the pairs that differ, what it rests on, and the caution.
pub(super) fn text(inputs: &ReportInputs) -> String {
    let others = inputs.measurement.light.other_photos;
    let photos = if others > 0 { format!("{} photos", 1 + others) } else { "a photo".into() };
    let mut lines = vec![format!("{}, measured from {photos}:", name_of(&inputs.case.photo))];
    if let Some((_, findings)) = inputs.figure {
        lines.push(format!("- The figure: {}", plain(&findings.headline())));
    }
    let piles = pile_lines(inputs);
    let in_pile = |id: &str| !piles.is_empty() && is_loose(inputs.case, id);
    for reading in inputs.measurement.readings.iter().filter(|reading| !in_pile(&reading.id)) {
        let said = inputs.verdict(reading);
        lines.push(format!(
            "- {}: {}. {}",
            name_of(&reading.id),
            plain(&said.headline),
            plain(&capital(&said.reason))
        ));
    }
    lines.extend(piles.iter().cloned());
    let differ = inputs.measurement.pairs.iter().filter(|pair| !in_pile(&pair.a) && !in_pile(&pair.b));
    let differ = differ.filter(|pair| same_plastic(pair, inputs.confidence) == SamePlastic::Different);
    lines.extend(
        differ.map(|pair| format!("- Of different plastic: {} and {}.", name_of(&pair.a), name_of(&pair.b))),
    );
    lines.extend(inputs.problems.iter().map(|problem| format!("- Not measured: {}", plain(problem))));
    let known = match inputs.measurement.light.zones {
        0 => "no area of known colour, the light guessed".into(),
        1 => "1 area of known colour".into(),
        zones => format!("{zones} areas of known colour"),
    };
    lines.push(format!("Measured against {known}, Sameshot {}.", env!("CARGO_PKG_VERSION")));
    lines.push("An opinion from photos; no authentication and no appraisal.".into());
    lines.push(String::new());
    lines.join("\n")
}

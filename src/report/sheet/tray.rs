//! Loose parts in a report: their piles, and each part with size, shade and what is doubtful.

use super::ReportInputs;
use super::blocks::{Blocks, Sort, words};
use super::plain::name_of;
use crate::case::CaseDocument;
use crate::measure::Call;
use crate::report::sorted::doubt_in_words;
use crate::report::words::{capital, percent, shade_name};
use crate::tray::bodies::Fit;
use crate::tray::overview::{Overview, PartFacts, overview};
use crate::tray::sort::Pile;

/// The number of a reading on the photo and in the tables: that of its loose part, else its place in the case; those of no
/// loose part get a letter where there are loose parts.
pub(super) fn number_of(case: &CaseDocument, index: usize, reading: &str) -> String {
    let part = case.tray.as_ref().and_then(|tray| tray.part_of(reading));
    match (part, case.loose_parts().is_empty()) {
        (Some(part), _) => part.number.to_string(),
        (None, true) => (index + 1).to_string(),
        (None, false) => format!("R{}", index + 1),
    }
}

/// Whether what was read belongs to a loose part.
pub(super) fn is_loose(case: &CaseDocument, reading: &str) -> bool {
    case.tray.as_ref().is_some_and(|tray| tray.part_of(reading).is_some())
}

/// A line of a short text for each pile: its shade and the numbers of its parts.
pub(super) fn pile_lines(inputs: &ReportInputs) -> Vec<String> {
    if inputs.case.loose_parts().is_empty() || inputs.references.is_none() {
        return Vec::new();
    }
    let seen = overview(inputs.case, Some(inputs.measurement), inputs.references);
    let line = |pile: &Pile| {
        let numbers: Vec<String> = pile.numbers.iter().map(ToString::to_string).collect();
        format!("- {}, {}: {}", capital(&pile_name(inputs, &pile.call)), numbers.len(), numbers.join(", "))
    };
    seen.piles.iter().map(line).collect()
}

fn pile_name(inputs: &ReportInputs, call: &Call) -> String {
    match call {
        Call::Shade(id) => name_of(&shade_name(inputs.references, id)),
        Call::Undecided => "undecided".into(),
        Call::None => "none of these".into(),
    }
}

/// The loose parts of the case; nothing where there are none.
pub(super) fn blocks(inputs: &ReportInputs, blocks: &mut Blocks) {
    if inputs.case.loose_parts().is_empty() {
        return;
    }
    let seen = overview(inputs.case, Some(inputs.measurement), inputs.references);
    blocks.heading("The loose parts");
    if inputs.references.is_some() {
        blocks.table(
            "Shade by shade",
            [("shade", Sort::Words, 0.24), ("how many", Sort::Number, 0.12), ("which", Sort::Words, 0.64)],
            seen.piles.iter().map(|pile| {
                let numbers: Vec<String> = pile.numbers.iter().map(ToString::to_string).collect();
                [
                    words(pile_name(inputs, &pile.call)),
                    words(numbers.len().to_string()),
                    words(numbers.join(", ")),
                ]
            }),
        );
    }
    blocks.table(
        "Each part",
        [
            ("part", Sort::Words, 0.08),
            ("size", Sort::Words, 0.15),
            ("shade, and how sure", Sort::Words, 0.42),
            ("to look at", Sort::Words, 0.35),
        ],
        seen.parts.iter().map(|part| {
            let size = part.size.map_or("no card for a scale".to_owned(), |size| {
                format!("{:.0} × {:.0} mm", size.length_mm, size.width_mm)
            });
            [
                words(part.number.to_string()),
                words(size),
                words(shade(inputs, part)),
                words(remarks(inputs, &seen, part)),
            ]
        }),
    );
}

fn shade(inputs: &ReportInputs, part: &PartFacts) -> String {
    let reading = inputs.measurement.readings.iter().find(|r| Some(&r.id) == part.reading.as_ref());
    let Some(reading) = reading else { return "not measured".into() };
    let said = inputs.verdict(reading);
    // The same words forty times over tell nothing.
    let called = reading.shades.iter().find(|entry| match (&reading.call, &entry.shade) {
        (Some(Call::Shade(call)), Some(shade)) => call == shade,
        _ => false,
    });
    if let Some(entry) = called {
        return format!("{}, {}", said.headline, percent(entry.probability));
    }
    format!("{}. {}", said.headline, capital(&said.reason))
}

/// What is doubtful, its likely partner, and the body it fits.
fn remarks(inputs: &ReportInputs, seen: &Overview, part: &PartFacts) -> String {
    let mut lines: Vec<String> = part.doubts.iter().map(|doubt| doubt_in_words(*doubt).to_owned()).collect();
    lines.extend(part.partner.map(|partner| format!("may be the left or right of {partner}")));
    let fits = seen.fits.iter().filter(|fit| Some(&fit.limb) == part.reading.as_ref());
    lines.extend(fits.filter_map(|fit| match &fit.fit {
        Fit::Body { body, .. } => {
            let index = inputs.case.readings.iter().position(|mark| mark.id == *body);
            let number = index.map(|index| number_of(inputs.case, index, body));
            Some(format!("fits the body {}", number.unwrap_or_else(|| name_of(body))))
        }
        _ => None,
    }));
    lines.join("; ")
}

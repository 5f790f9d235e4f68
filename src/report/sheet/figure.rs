//! Who the figure is and what does not belong, as blocks of a report.

use super::blocks::{Blocks, Sort, words};
use super::diagram;
use super::plain::name_of;
use crate::case::CaseDocument;
use crate::figure::{Findings, Reason, name_and_run};
use crate::guide::Guide;
use crate::report::words::{capital, look_worth, percent};

/// Reasons shown for the first and for the others.
const REASONS: [usize; 2] = [8, 3];
/// Hosts with their reasons.
const HOSTS: usize = 4;

/// The finding in short, with the figure as boxes.
pub(super) fn summary(guide: &Guide, findings: &Findings, case: &CaseDocument, blocks: &mut Blocks) {
    blocks.heading(format!("The figure: {}", name_of(&guide.line)));
    blocks.text(findings.headline());
    if findings.ranking.is_empty() {
        return;
    }
    let single = findings.ranking.iter().map(|ranked| {
        [words(name_and_run(&ranked.character, &ranked.run)), words(percent(ranked.probability))]
    });
    let composite = findings.composites.iter().map(|pair| {
        let [upper, lower] = [&pair.upper, &pair.lower].map(|who| name_and_run(&who.character, &who.run));
        let said = format!("put together from two: {upper} above, {lower} below");
        [words(said), words(percent(pair.probability))]
    });
    blocks.table(
        "Who it may be",
        [("character and run", Sort::Words, 0.7), ("probability", Sort::Number, 0.3)],
        single.chain(composite),
    );
    blocks.diagram(diagram::of(guide, findings, case));
}

/// Reasons, parts, signs and the next look.
pub(super) fn details(guide: &Guide, findings: &Findings, blocks: &mut Blocks) {
    let slot = |id: &str| {
        let known = guide.slots.iter().find(|slot| slot.id == id);
        name_of(known.and_then(|slot| slot.label.as_deref()).unwrap_or(id))
    };
    reasons(findings, blocks);
    if !findings.slots.is_empty() {
        blocks.heading("Does each part belong?");
        let rows = findings.slots.iter().map(|found| {
            let donors = found.donors.iter().take(3);
            let donors: Vec<String> = donors
                .map(|d| format!("{} {}", name_and_run(&d.character, &d.run), percent(d.probability)))
                .collect();
            [words(slot(&found.slot)), words(percent(found.belongs)), words(donors.join(" or "))]
        });
        blocks.table(
            "The parts of the figure",
            [
                ("part", Sort::Words, 0.2),
                ("belongs", Sort::Number, 0.16),
                ("if not, it could come from", Sort::Words, 0.64),
            ],
            rows,
        );
    }
    blocks.list_under(
        "Missing",
        findings.missing.iter().map(|missing| {
            format!("{}: {} that the figure had one", slot(&missing.slot), percent(missing.expected))
        }),
    );
    blocks.list_under(
        "State of the parts",
        findings.condition.iter().map(|condition| {
            let state =
                if condition.state.is_empty() { "caution".into() } else { condition.state.join(", ") };
            format!("{}: {state}. {}", slot(&condition.slot), condition.cautions.join(" "))
        }),
    );
    blocks.list_under("Signs", signs(findings, slot));
    blocks.list_under(
        "What to look at next",
        findings.next_looks.iter().map(|look| {
            let worth = format!("{}, {:.2} bit", look_worth(look.bits), look.bits);
            format!("{} of the {} ({worth}): {}", capital(&look.feature), slot(&look.slot), look.how)
        }),
    );
    blocks.list_under("Notes", findings.notes.iter().cloned());
}

fn reasons(findings: &Findings, blocks: &mut Blocks) {
    if !findings.ranking.is_empty() {
        blocks.heading("Why this figure");
    }
    for (index, ranked) in findings.ranking.iter().enumerate().take(HOSTS) {
        let name = name_and_run(&ranked.character, &ranked.run);
        blocks.subheading(format!("{name}: {}", percent(ranked.probability)));
        let most = REASONS[usize::from(index > 0)];
        let (against, speaks): (Vec<&Reason>, Vec<&Reason>) =
            ranked.reasons.iter().partition(|r| r.odds < 1.0);
        let told = |word: &'static str| move |reason: &&Reason| format!("{word}: {}", reason.text);
        let mut lines: Vec<String> = speaks.iter().take(most).map(told("For")).collect();
        lines.extend(against.iter().take(most).map(told("Against")));
        if lines.is_empty() {
            blocks.text("Nothing that was seen speaks for or against it.");
        }
        blocks.list(lines);
    }
}

/// The signs; what explains or checks several of them alike is told once.
fn signs(findings: &Findings, slot: impl Fn(&str) -> String) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for (index, sign) in findings.signs.iter().enumerate() {
        let earlier = findings.signs[..index].iter();
        let said =
            format!("{}: {} ({}). {}", slot(&sign.slot), sign.sign, percent(sign.probability), sign.text);
        if earlier.clone().any(|other| other.innocent == sign.innocent && other.checks == sign.checks) {
            lines.push(said);
            continue;
        }
        let alike =
            findings.signs.iter().filter(|o| o.innocent == sign.innocent && o.checks == sign.checks).count();
        let whom = if alike > 1 { " (so for all signs like it)" } else { "" };
        let checks = match sign.checks.is_empty() {
            true => String::new(),
            false => format!(" To check{whom}: {}", sign.checks.join(" ")),
        };
        lines.push(format!("{said} Innocent{whom} if: {}.{checks}", sign.innocent.join("; ")));
    }
    lines
}

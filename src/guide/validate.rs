//! What makes a guide unusable, each with its place and remedy.

use std::collections::BTreeSet;

use super::problem::list;
use super::{Choice, Guide, NOTE, Part, Problem};

/// The most names of one kind that a guide may have; beyond it something has gone wrong with the file.
const MOST_NAMES: usize = 20_000;

/// Names that mean something of their own in observations.
const RESERVED: [&str; 4] = ["mould", "shade", "condition", "presence"];

/// Everything that makes a guide unusable; empty for a good one.
pub fn validate(guide: &Guide) -> Vec<Problem> {
    let mut out = Vec::new();
    names(guide, &mut out);
    references(guide, &mut out);
    numbers(guide, &mut out);
    for character in &guide.characters {
        let mut runs = BTreeSet::new();
        for issue in &character.issues {
            let place = format!("characters › {} › {}", character.id, issue.run);
            if !guide.runs.iter().any(|r| r.id == issue.run) {
                out.push(unknown(&place, "run", &issue.run, &ids(guide.runs.iter().map(|r| &r.id))));
            }
            if !runs.insert(&issue.run) {
                out.push(Problem::new(
                    &place,
                    format!("{} stands twice in run “{}”.", character.id, issue.run),
                    "Remove one, or name the other run.",
                ));
            }
            if issue.parts.is_empty() {
                out.push(Problem::new(
                    &place,
                    "There are no parts.",
                    "List the part of each slot, or remove the run.",
                ));
            }
            for (slot, part) in &issue.parts {
                check_part(guide, &format!("{place} › {slot}"), slot, part, &mut out);
            }
        }
    }
    out
}

fn check_part(guide: &Guide, place: &str, slot: &str, part: &Part, out: &mut Vec<Problem>) {
    if !guide.slots.iter().any(|s| s.id == slot) {
        out.push(unknown(place, "slot", slot, &ids(guide.slots.iter().map(|s| &s.id))));
        return;
    }
    for (feature, choice) in part {
        if feature == NOTE {
            continue;
        }
        let place = format!("{place} › {feature}");
        let known = guide.values_in(slot, feature);
        if known.is_empty() {
            out.push(Problem::new(
                &place,
                format!("“{slot}” has no feature “{feature}”."),
                format!("Name the slot in the feature's “slots”, or remove “{feature}” here."),
            ));
            continue;
        }
        match choice {
            Choice::One(value) if known.contains(&&**value) => {}
            Choice::One(value) => out.push(unknown(&place, "value", value, &known)),
            Choice::Mixed(values) => {
                for value in values.keys().filter(|v| !known.contains(&&***v)) {
                    out.push(unknown(&place, "value", value, &known));
                }
                let sane = values.values().all(|w| w.is_finite() && *w >= 0.0);
                if !sane || values.values().sum::<f64>() <= 0.0 {
                    out.push(Problem::new(
                        &place,
                        "The weights of the values are not numbers of 0 or more with one above 0.",
                        "Say how common each value is, such as {\"black\": 3, \"brown\": 1}.",
                    ));
                }
            }
            Choice::Other(_) => out.push(Problem::new(
                &place,
                "This is neither a value nor values with weights.",
                "Write a value in quotes, or {\"value\": weight, …}.",
            )),
        }
    }
}

fn names(guide: &Guide, out: &mut Vec<Problem>) {
    unique("runs", guide.runs.iter().map(|r| &r.id), out);
    unique("slots", guide.slots.iter().map(|s| &s.id), out);
    unique("shades", guide.shades.iter().map(|s| &s.id), out);
    unique("moulds", guide.moulds.iter().map(|m| &m.id), out);
    unique("features", guide.features.iter().map(|f| &f.id), out);
    unique("characters", guide.characters.iter().map(|c| &c.id), out);
    for (kind, empty) in [
        ("runs", guide.runs.is_empty()),
        ("slots", guide.slots.is_empty()),
        ("characters", guide.characters.iter().all(|c| c.issues.is_empty())),
    ] {
        if empty {
            out.push(Problem::new(kind, format!("The guide has no {kind}."), "Add at least one."));
        }
    }
    for feature in &guide.features {
        let place = format!("features › {}", feature.id);
        if RESERVED.contains(&&*feature.id) {
            out.push(Problem::new(
                &place,
                format!("“{}” is a name of the program's own.", feature.id),
                "Choose another name for the feature.",
            ));
        }
        unique(&format!("{place} › values"), feature.values.iter(), out);
        if feature.values.len() < 2 {
            out.push(Problem::new(
                &place,
                "A feature with fewer than two values tells nothing.",
                "Add the other value, or remove the feature.",
            ));
        }
        if feature.values.iter().any(|v| v == "worn off" || v == "can't see") {
            out.push(Problem::new(
                format!("{place} › values"),
                "“worn off” and “can't see” are answers that every feature has.",
                "Remove them from the values.",
            ));
        }
    }
}

fn references(guide: &Guide, out: &mut Vec<Problem>) {
    let slots = ids(guide.slots.iter().map(|s| &s.id));
    let mut check = |place: String, named: &[String]| {
        for slot in named.iter().filter(|n| !slots.contains(&&***n)) {
            out.push(unknown(&place, "slot", slot, &slots));
        }
    };
    for mould in &guide.moulds {
        check(format!("moulds › {} › slots", mould.id), &mould.slots);
    }
    for feature in &guide.features {
        check(format!("features › {} › slots", feature.id), &feature.slots);
    }
    for slot in &guide.slots {
        check(format!("slots › {} › mirror", slot.id), slot.mirror.as_slice());
    }
    if let Some(halves) = &guide.halves {
        check("halves › upper".into(), &halves.upper);
    }
    for feature in &guide.features {
        if let Some(bare) = feature.bare.as_ref().filter(|bare| !feature.values.contains(bare)) {
            let values: Vec<&str> = feature.values.iter().map(|v| &**v).collect();
            out.push(unknown(&format!("features › {} › bare", feature.id), "value", bare, &values));
        }
    }
}

fn numbers(guide: &Guide, out: &mut Vec<Problem>) {
    let mut share = |place: String, value: Option<f64>| {
        if value.is_some_and(|v| !(0.0..=1.0).contains(&v)) {
            out.push(Problem::new(place, "This is not a share of 0 to 1.", "Write 5 % as 0.05."));
        }
    };
    for (name, rate) in guide.rates.stated() {
        share(format!("rates › {name}"), rate);
    }
    for slot in &guide.slots {
        share(format!("slots › {} › lost", slot.id), slot.lost);
        share(format!("slots › {} › exchange", slot.id), slot.exchange);
    }
    for feature in &guide.features {
        share(format!("features › {} › wear", feature.id), feature.wear);
        share(format!("features › {} › misread", feature.id), feature.misread);
    }
    share("halves › rate".into(), guide.halves.as_ref().and_then(|h| h.rate));

    let mut weight = |place: String, value: Option<f64>| {
        if value.is_some_and(|v| !(v.is_finite() && v > 0.0)) {
            out.push(Problem::new(place, "A weight must be a number above 0.", "Write 1, or leave it out."));
        }
    };
    for run in &guide.runs {
        weight(format!("runs › {} › weight", run.id), run.weight);
    }
    for character in &guide.characters {
        for issue in &character.issues {
            weight(format!("characters › {} › {} › weight", character.id, issue.run), issue.weight);
        }
    }
}

fn unique<'a>(place: &str, names: impl Iterator<Item = &'a String>, out: &mut Vec<Problem>) {
    let mut seen = BTreeSet::new();
    for name in names {
        if name.trim().is_empty() {
            out.push(Problem::new(place, "A name is empty.", "Give each its own name."));
        } else if !seen.insert(name) {
            out.push(Problem::new(
                format!("{place} › {name}"),
                format!("“{name}” stands twice."),
                "Rename or remove one of them.",
            ));
        }
    }
    if seen.len() > MOST_NAMES {
        out.push(Problem::new(
            place,
            format!("There are {} names; at most {MOST_NAMES} are taken.", seen.len()),
            "Split the guide into one a line of figures.",
        ));
    }
}

fn unknown(place: &str, what: &str, name: &str, known: &[&str]) -> Problem {
    let shown = &known[..known.len().min(12)];
    let more = if known.len() > shown.len() { " and more" } else { "" };
    Problem::new(
        place,
        format!("The guide knows no {what} “{name}”."),
        format!("It knows {}{more}: choose one of them, or add it.", list(shown)),
    )
}

fn ids<'a>(names: impl Iterator<Item = &'a String>) -> Vec<&'a str> {
    names.map(|n| &**n).collect()
}

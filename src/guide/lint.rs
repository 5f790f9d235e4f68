//! What a guide that can be used might still be wrong about.

use std::collections::{BTreeMap, BTreeSet};

use super::problem::list;
use super::{Choice, FeatureKind, Guide, Issue, NOTE, Part, Problem};

/// A remark on a guide.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lint {
    /// What kind of remark.
    pub code: LintCode,
    /// Place, text and remedy.
    pub problem: Problem,
}

/// Kinds of remarks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum LintCode {
    /// No observation can tell two apart.
    Alike,
    /// Only paint, which wears, tells two apart.
    OnlyPaint,
    /// Every part is shared with others: only the combination tells.
    NoOwnPart,
    /// No character has it.
    Unused,
    /// Two statements do not go together.
    Contradiction,
    /// The guide is silent where it could speak.
    Silent,
}

/// Remarks on a guide, the gravest first. The guide should have passed [`super::validate`].
pub fn lint(guide: &Guide) -> Vec<Lint> {
    let mut out = Vec::new();
    contradictions(guide, &mut out);
    alike(guide, &mut out);
    unused(guide, &mut out);
    no_own_part(guide, &mut out);
    silent(guide, &mut out);
    out
}

/// Everything that can be seen of a part, in a form that can be compared: feature → value → share.
type Look = Vec<(String, Vec<(String, String)>)>;

fn look(part: &Part, skip: impl Fn(&str) -> bool) -> Look {
    part.iter().filter(|(feature, _)| *feature != NOTE && !skip(feature)).map(shares).collect()
}

fn shares((feature, choice): (&String, &Choice)) -> (String, Vec<(String, String)>) {
    let values = match choice {
        Choice::One(value) => vec![(value.clone(), "1.000000".into())],
        Choice::Mixed(weights) => {
            let total: f64 = weights.values().sum();
            let positive = weights.iter().filter(|(_, w)| **w > 0.0);
            positive.map(|(v, w)| (v.clone(), format!("{:.6}", w / total))).collect()
        }
        Choice::Other(value) => vec![(value.to_string(), String::new())],
    };
    (feature.clone(), values)
}

fn issues(guide: &Guide) -> impl Iterator<Item = (String, &Issue)> {
    guide
        .characters
        .iter()
        .flat_map(|c| c.issues.iter().map(move |i| (format!("{}, {} run", c.id, i.run), i)))
}

fn alike(guide: &Guide, out: &mut Vec<Lint>) {
    let paint: BTreeSet<&str> =
        guide.features.iter().filter(|f| f.kind == FeatureKind::Paint).map(|f| &*f.id).collect();
    let groups = |skip: &dyn Fn(&str) -> bool| {
        let mut groups: BTreeMap<Vec<(&String, Look)>, Vec<String>> = BTreeMap::new();
        for (name, issue) in issues(guide) {
            let key = issue.parts.iter().map(|(slot, part)| (slot, look(part, skip))).collect();
            groups.entry(key).or_default().push(name);
        }
        groups.into_values().filter(|names| names.len() > 1).collect::<Vec<_>>()
    };
    let same = groups(&|_| false);
    for names in &same {
        out.push(remark(
            LintCode::Alike,
            "characters",
            format!("No observation can tell {} apart.", list(names)),
            "Add what differs between them, or join them into one.",
        ));
    }
    for names in groups(&|feature| paint.contains(feature)) {
        if !same.contains(&names) {
            out.push(remark(
                LintCode::OnlyPaint,
                "characters",
                format!("Only paint tells {} apart, and paint wears.", list(&names)),
                "Look for a mould, joint or mark that differs, and add it.",
            ));
        }
    }
}

fn no_own_part(guide: &Guide, out: &mut Vec<Lint>) {
    let mut owners: BTreeMap<(&String, Look), BTreeSet<&str>> = BTreeMap::new();
    for character in &guide.characters {
        for issue in &character.issues {
            for (slot, part) in &issue.parts {
                owners.entry((slot, look(part, |_| false))).or_default().insert(&character.id);
            }
        }
    }
    for character in &guide.characters {
        let own = owners.values().any(|who| who.len() == 1 && who.contains(&*character.id));
        if !own {
            out.push(remark(
                LintCode::NoOwnPart,
                format!("characters › {}", character.id),
                format!("{} has no part of its own: only the combination tells.", character.id),
                "Nothing is wrong if that is so; else add the detail that only this character has.",
            ));
        }
    }
}

fn unused(guide: &Guide, out: &mut Vec<Lint>) {
    let mut seen: BTreeSet<(&str, &str)> = BTreeSet::new();
    let mut slots: BTreeSet<&str> = BTreeSet::new();
    let mut runs: BTreeSet<&str> = BTreeSet::new();
    for (_, issue) in issues(guide) {
        runs.insert(&issue.run);
        for (slot, part) in &issue.parts {
            slots.insert(slot);
            for (feature, choice) in part {
                match choice {
                    Choice::One(value) => drop(seen.insert((feature, value))),
                    Choice::Mixed(values) => seen.extend(values.keys().map(|v| (&**feature, &**v))),
                    Choice::Other(_) => {}
                }
            }
        }
    }
    let mut tell = |kind: &str, name: &str, used: bool| {
        if !used {
            out.push(remark(
                LintCode::Unused,
                format!("{kind} › {name}"),
                format!("No character has “{name}” yet."),
                "Give it to whom it belongs, or remove it.",
            ));
        }
    };
    guide.moulds.iter().for_each(|m| tell("moulds", &m.id, seen.contains(&("mould", &*m.id))));
    guide.shades.iter().for_each(|s| tell("shades", &s.id, seen.contains(&("shade", &*s.id))));
    guide.slots.iter().for_each(|s| tell("slots", &s.id, slots.contains(&*s.id)));
    guide.runs.iter().for_each(|r| tell("runs", &r.id, runs.contains(&*r.id)));
    for feature in &guide.features {
        for value in feature.values.iter().filter(|v| feature.bare.as_ref() != Some(*v)) {
            tell(&format!("features › {}", feature.id), value, seen.contains(&(&*feature.id, &**value)));
        }
    }
}

fn contradictions(guide: &Guide, out: &mut Vec<Lint>) {
    let mut tell = |place: String, text: String, remedy: &str| {
        out.push(remark(LintCode::Contradiction, place, text, remedy))
    };
    for slot in &guide.slots {
        let Some(mirror) = slot.mirror.as_ref() else { continue };
        let back = guide.slots.iter().find(|s| s.id == *mirror).and_then(|s| s.mirror.as_ref());
        if back != Some(&slot.id) || *mirror == slot.id {
            tell(
                format!("slots › {} › mirror", slot.id),
                format!("“{}” names “{mirror}” as its other side, but not the other way round.", slot.id),
                "Let each of the two name the other.",
            );
        }
    }
    for feature in guide.features.iter().filter(|f| f.kind != FeatureKind::Paint) {
        if feature.bare.is_some() || feature.wear.is_some() {
            tell(
                format!("features › {}", feature.id),
                "Only paint wears off or is bare.".into(),
                "Make it a paint, or remove “bare” and “wear”.",
            );
        }
    }
    if let Some(halves) = &guide.halves {
        let upper = guide.slots.iter().filter(|s| halves.upper.contains(&s.id)).count();
        if upper == 0 || upper == guide.slots.len() {
            tell("halves".into(), "One half has no slots.".into(), "Name the slots of the upper half only.");
        }
    }
    one_shape(guide, &mut tell);
}

/// Parts of one mould have one shape: within a run a mould has one kind of joint and one mark in a slot.
fn one_shape(guide: &Guide, tell: &mut impl FnMut(String, String, &str)) {
    let mut makes: BTreeMap<[&str; 4], BTreeSet<&str>> = BTreeMap::new();
    let shape: Vec<&str> =
        guide.features.iter().filter(|f| f.kind != FeatureKind::Paint).map(|f| &*f.id).collect();
    for (_, issue) in issues(guide) {
        for (slot, part) in &issue.parts {
            let Some(Choice::One(mould)) = part.get("mould") else { continue };
            for feature in &shape {
                if let Some(Choice::One(value)) = part.get(*feature) {
                    makes.entry([mould, &issue.run, slot, feature]).or_default().insert(value);
                }
            }
        }
    }
    for ([mould, run, slot, feature], values) in makes {
        if values.len() > 1 {
            let values: Vec<&str> = values.into_iter().collect();
            tell(
                format!("moulds › {mould}"),
                format!(
                    "In the {run} run its {slot} has {feature} {}: one mould makes one shape.",
                    list(&values)
                ),
                "Make it two moulds, or correct one of the parts.",
            );
        }
    }
}

fn silent(guide: &Guide, out: &mut Vec<Lint>) {
    let each = guide.characters.iter().flat_map(|c| c.issues.iter().map(move |i| (&c.id, i)));
    for (character, issue) in each {
        for (slot, part) in &issue.parts {
            let declared = ["mould", "shade"]
                .into_iter()
                .chain(guide.features.iter().map(|f| &*f.id))
                .filter(|feature| guide.values_in(slot, feature).len() > 1 && !part.contains_key(*feature));
            let missing: Vec<&str> = declared.collect();
            if !missing.is_empty() {
                out.push(remark(
                    LintCode::Silent,
                    format!("characters › {character} › {} › {slot}", issue.run),
                    format!("Nothing is said of {}: every value is taken as equally likely.", list(&missing)),
                    "Fill it in when you know.",
                ));
            }
        }
    }
}

fn remark(code: LintCode, place: impl Into<String>, text: impl Into<String>, remedy: &str) -> Lint {
    Lint { code, problem: Problem::new(place, text, remedy) }
}

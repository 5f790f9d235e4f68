//! What is known of each slot of a figure. No widget here; `figure_drawing` paints it.

use crate::case::CaseDocument;
use crate::figure::{Findings, Line, LineSlot, Sort};
use crate::measure::Measurement;

pub(super) use crate::report::{Place, places};

use crate::app::results;
use crate::app::words;

/// What is said of the part in a slot; each has a word and a pattern of its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Verdict {
    /// Nothing was seen or measured here.
    NotSeen,
    /// No part here.
    Missing,
    /// It belongs.
    Belongs,
    /// It may belong.
    Doubtful,
    /// It does not.
    Foreign,
}

/// One slot as it is shown.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Known {
    /// The slot's name.
    pub name: String,
    /// What is said of its part.
    pub verdict: Verdict,
    /// The same in a word or two.
    pub word: &'static str,
    /// And with the probability.
    pub words: String,
    /// What was seen and measured, the plainest first.
    pub seen: Vec<String>,
    /// The nearest shade as measured; the last of what was seen and measured.
    pub measured: Option<String>,
    /// The measured colour for the screen, approximately.
    pub colour: Option<[u8; 3]>,
    /// Whether any sign was found on it.
    pub sign: bool,
}

/// What is known of each slot, in the guide's order.
pub(super) fn known(
    line: &Line,
    case: &CaseDocument,
    measurement: Option<&Measurement>,
    findings: Option<&Findings>,
) -> Vec<Known> {
    let one = |slot: &LineSlot| {
        let reading = case.readings.iter().find(|mark| mark.slot.as_deref() == Some(&*slot.id));
        let reading = reading.and_then(|mark| measurement?.readings.iter().find(|r| r.id == mark.id));
        let unseen = (Verdict::NotSeen, "not seen", "not seen".into());
        let (verdict, word, words) = findings.map_or(unseen, |f| verdict(slot, f));
        let mut seen = seen(slot, case);
        let measured = reading.and_then(|r| nearest(slot, r));
        seen.extend(measured.clone());
        Known {
            name: slot.label.clone(),
            verdict,
            word,
            words,
            seen,
            measured,
            colour: reading.map(|r| results::axis::screen_colour(r.lab)),
            sign: findings.is_some_and(|f| f.signs.iter().any(|sign| sign.slot == slot.id)),
        }
    };
    line.slots.iter().map(one).collect()
}

/// What is said of the parts, in a line: those that ask for a look by name, the others together.
pub(super) fn parts_in_a_line(known: &[Known]) -> String {
    let of = |verdict: Verdict| known.iter().filter(move |k| k.verdict == verdict);
    let mut said: Vec<String> = Vec::new();
    for (verdict, words) in [
        (Verdict::Foreign, "Does not belong"),
        (Verdict::Doubtful, "Doubtful"),
        (Verdict::Missing, "Missing"),
    ] {
        let names: Vec<&str> = of(verdict).map(|k| k.name.as_str()).collect();
        if !names.is_empty() {
            said.push(format!("{words}: {}.", names.join(", ")));
        }
    }
    match (of(Verdict::Belongs).count(), said.is_empty()) {
        (0, true) => "Nothing was seen of its parts yet.".into(),
        (0, false) => said.join(" "),
        (1, true) => "The one part that was seen belongs.".into(),
        (_, true) => "All parts that were seen belong.".into(),
        (_, false) => format!("{} All others that were seen belong.", said.join(" ")),
    }
}

fn verdict(slot: &LineSlot, findings: &Findings) -> (Verdict, &'static str, String) {
    if findings.missing.iter().any(|missing| missing.slot == slot.id) {
        return (Verdict::Missing, "missing", "missing".into());
    }
    let Some(found) = findings.slots.iter().find(|found| found.slot == slot.id) else {
        return (Verdict::NotSeen, "not seen", "not seen".into());
    };
    let verdict = match found.word() {
        "belongs" => Verdict::Belongs,
        "doubtful" => Verdict::Doubtful,
        _ => Verdict::Foreign,
    };
    let words = format!("{} ({} that it belongs)", found.word(), words::percent(found.belongs));
    (verdict, found.word(), words)
}

fn seen(slot: &LineSlot, case: &CaseDocument) -> Vec<String> {
    let here = case.observations.iter().filter(|seen| seen.slot == slot.id);
    let mut out: Vec<(usize, String)> = here
        .filter(|seen| seen.feature != "presence")
        .map(|seen| {
            let unsure = if seen.sure { "" } else { "?" };
            let Some(f) = slot.feature(&seen.feature) else {
                return (usize::MAX, format!("{}{unsure}", seen.value));
            };
            let feature = slot.features.get(f);
            let value = feature.and_then(|x| Some((x, x.values.iter().position(|v| *v == seen.value)?)));
            let value = value.and_then(|(x, v)| x.labels.get(v)).unwrap_or(&seen.value);
            // A mould's name says that it is one.
            let named = feature.filter(|x| x.sort != Sort::Mould || *value == "can't see");
            let name = named.map(|x| format!("{}: ", x.label)).unwrap_or_default();
            (f, format!("{name}{value}{unsure}"))
        })
        .collect();
    out.sort_by_key(|(f, _)| *f);
    out.into_iter().map(|(_, text)| text).collect()
}

/// The likeliest shade of a reading; a call needs more, and the column of parts has it.
fn nearest(slot: &LineSlot, reading: &crate::measure::ReadingResult) -> Option<String> {
    let best = reading.shades.iter().max_by(|a, b| a.probability.total_cmp(&b.probability))?;
    let Some(id) = &best.shade else { return Some("none of the shades".into()) };
    let feature = slot.features.iter().find(|f| f.values.contains(id));
    let label = feature.and_then(|f| f.labels.get(f.values.iter().position(|v| v == id)?));
    Some(format!("{} {}", label.unwrap_or(id), words::percent(best.probability)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line() -> Line {
        let text = include_str!("../../../assets/demo/skerry-rescue.guide.json");
        Line::new(&crate::guide::read_guide(text).unwrap())
    }

    #[test]
    fn what_was_seen_is_told_in_the_guides_words() {
        let case = serde_json::from_value(
            serde_json::json!({"sameshot_case": 1, "photo": "a.jpg", "observations": [
            {"slot": "torso", "feature": "badge", "value": "red disc", "sure": false},
            {"slot": "torso", "feature": "mould", "value": "T2"},
            {"slot": "pack", "feature": "presence", "value": "missing"}]}),
        );
        let known = known(&line(), &case.unwrap(), None, None);
        let torso = known.iter().find(|k| k.name == "torso").unwrap();
        assert_eq!(torso.seen, ["life jacket", "badge: red disc?"]);
        assert!(known.iter().find(|k| k.name == "back pack").unwrap().seen.is_empty());
    }

    #[test]
    fn what_asks_for_a_look_is_told_by_name() {
        let case = serde_json::from_value(serde_json::json!({"sameshot_case": 1, "photo": "a.jpg"})).unwrap();
        let mut known = known(&line(), &case, None, None);
        assert_eq!(parts_in_a_line(&known), "Nothing was seen of its parts yet.");
        known[0].verdict = Verdict::Belongs;
        assert_eq!(parts_in_a_line(&known), "The one part that was seen belongs.");
        known[1].verdict = Verdict::Foreign;
        known[2].verdict = Verdict::Missing;
        let [no, missing] = [&known[1].name, &known[2].name];
        let said = format!("Does not belong: {no}. Missing: {missing}. All others that were seen belong.");
        assert_eq!(parts_in_a_line(&known), said);
    }
}

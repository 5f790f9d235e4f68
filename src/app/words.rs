//! The sentences of the window: what a result says, and what to do next. One voice, plain words.

use crate::case::CaseDocument;
use crate::measure::{Call, LightSummary, Measurement, PairResult, ReadingResult, Warning};
use crate::report;
use crate::shade::References;

use super::command::Command;
pub(super) use crate::report::{SamePlastic, Verdict, capital, shade_name};

/// A call needs this probability.
const CONFIDENCE: f64 = 0.95;

/// A probability in words that never promise certainty.
pub(super) fn percent(probability: f64) -> String {
    unbroken(&report::percent(probability))
}

/// What is said of a part.
pub(super) fn verdict(
    reading: &ReadingResult,
    light: &LightSummary,
    references: Option<&References>,
) -> Verdict {
    let said = report::verdict(reading, light, references, CONFIDENCE);
    Verdict { reason: unbroken(&said.reason), ..said }
}

/// Whether two parts are of one plastic.
pub(super) fn same_plastic(pair: &PairResult) -> SamePlastic {
    report::same_plastic(pair, CONFIDENCE)
}

/// Text whose lines do not break between a number and its unit.
pub(super) fn unbroken(text: &str) -> String {
    text.replace(" %", "\u{a0}%").replace("± ", "±\u{a0}")
}

/// So many of something.
pub(super) fn count(n: usize, one: &str, many: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { many })
}

/// The probability that the plastic of two parts differs, rounded so that it never reads as enough where it is not.
pub(super) fn percent_they_differ(pair: &PairResult, said: SamePlastic) -> String {
    match said {
        SamePlastic::Unknown => unbroken(&report::percent_short_of(pair.different_plastic, CONFIDENCE)),
        _ => percent(pair.different_plastic),
    }
}

/// What is said of two parts, with the probability that their plastic differs.
pub(super) fn said_of_pair(pair: &PairResult, said: SamePlastic) -> String {
    let (said_of, probability) = (capital(said.phrase()), percent_they_differ(pair, said));
    match said {
        SamePlastic::Different => format!("{said_of}, with a probability of {probability}"),
        _ => format!("{said_of}: different with a probability of {probability}"),
    }
}

/// All parts by what they were called, in a sentence, where there are several.
pub(super) fn calls_told(measurement: &Measurement, references: Option<&References>) -> Option<String> {
    let readings = &measurement.readings;
    let shades = readings.first()?.differences.iter().map(|difference| Call::Shade(difference.shade.clone()));
    let told = shades.chain([Call::None, Call::Undecided]).filter_map(|call| {
        let name = match &call {
            Call::Shade(id) => shade_name(references, id),
            Call::None => "of none of the shades".into(),
            Call::Undecided => "undecided".into(),
        };
        let n = readings.iter().filter(|reading| reading.call.as_ref() == Some(&call)).count();
        (n > 0).then_some((n, name))
    });
    let told: Vec<(usize, String)> = told.collect();
    if let ([(n, name)], 2..) = (told.as_slice(), readings.len())
        && *n == readings.len()
    {
        return Some(format!("All {n} parts: {name}."));
    }
    let told: Vec<String> = told.into_iter().map(|(n, name)| format!("{n} {name}")).collect();
    (readings.len() > 1 && !told.is_empty())
        .then(|| format!("{} parts: {}.", readings.len(), told.join(", ")))
}

/// The advice of a list of warnings without repeats, first things first.
pub(super) fn remedies<'a>(warnings: impl Iterator<Item = &'a Warning>) -> Vec<&'a Warning> {
    let mut kept: Vec<&Warning> = Vec::new();
    for warning in warnings {
        if !kept.iter().any(|other| other.code == warning.code && other.text == warning.text) {
            kept.push(warning);
        }
    }
    kept
}

/// The advice that would help most of the parts that are not called yet.
fn best_advice(measurement: &Measurement) -> Option<(&ReadingResult, &Warning)> {
    let of_part = |reading| move |warning| (reading, warning);
    let all: Vec<_> = undecided(measurement).flat_map(|r| r.warnings.iter().map(of_part(r))).collect();
    let count = |warning: &Warning| all.iter().filter(|(_, other)| other.code == warning.code).count();
    // Of equals the first: warnings come with the weightiest first.
    all.iter().rev().max_by_key(|(_, warning)| count(warning)).copied()
}

fn undecided(measurement: &Measurement) -> impl Iterator<Item = &ReadingResult> {
    measurement.readings.iter().filter(|r| r.call == Some(Call::Undecided))
}

/// How many parts are not called yet, and the advice that would help most of them.
pub(super) fn best_advice_told(measurement: &Measurement) -> Option<String> {
    let (reading, advice) = best_advice(measurement)?;
    let who = match (undecided(measurement).count(), measurement.readings.len()) {
        (1, _) => format!("{} is undecided.", capital(&reading.id)),
        (n, all) if n == all => format!("All {n} parts are undecided. Take {}:", reading.id),
        (n, all) => format!("{n} of {all} parts are undecided. Take {}:", reading.id),
    };
    let text = if who.ends_with(':') { uncapital(&advice.text) } else { advice.text.clone() };
    Some(unbroken(&format!("{who} {text} {}", advice.remedy)))
}

fn uncapital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_lowercase().chain(letters).collect())
}

/// One step on the way to a call.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct WayStep {
    /// What is to be marked or chosen.
    pub name: &'static str,
    /// What it is good for.
    pub about: &'static str,
    /// Whether that has happened.
    pub done: bool,
}

/// The way from a photo to a call.
pub(super) fn way(case: &CaseDocument, has_references: bool) -> [WayStep; 3] {
    let step = |name, about, done| WayStep { name, about, done };
    [
        step(
            "The card",
            "Its greys tell the light of the photo. The more steps, the shorter the bars.",
            !case.zones.is_empty(),
        ),
        step(
            "The parts",
            "Matt plastic, away from glare, paint and edges. Two parts or more can be compared with each other.",
            !case.readings.is_empty(),
        ),
        step(
            "The shades",
            "The references that parts are compared with. Without them you get colours, but no call.",
            has_references,
        ),
    ]
}

/// The next step for a case, and the command that does it.
pub(super) fn next_step(case: &CaseDocument, has_references: bool) -> (&'static str, Option<Command>) {
    match (case.zones.len(), case.readings.len(), has_references) {
        (0, _, _) => (
            "Mark the grey card first. Where there is none, a part whose shade is certain serves as well: draw it \
             as a known colour.",
            Some(Command::MarkCard),
        ),
        (_, 0, _) => (
            "Now mark the parts: draw on matt plastic, away from glare, paint and edges.",
            Some(Command::ToolCircle),
        ),
        (_, _, false) => {
            ("Choose the reference shades to compare the parts with.", Some(Command::ChooseReferences))
        }
        _ => ("Select a mark to name it or to change it, or draw another one.", None),
    }
}

/// How long ago something was.
pub(super) fn ago(time: std::time::Duration) -> String {
    let (number, unit) = match time.as_secs() {
        0..60 => return "a moment ago".into(),
        s @ 60..3600 => (s / 60, "minute"),
        s @ 3600..86_400 => (s / 3600, "hour"),
        s => (s / 86_400, "day"),
    };
    format!("{number} {unit}{} ago", if number == 1 { "" } else { "s" })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_of_call_has_words_and_an_undecided_one_says_why() {
        let (measurement, references) = crate::app::sample::measurement_and_references();
        let say = |i: usize| verdict(&measurement.readings[i], &measurement.light, Some(&references));
        assert_eq!(say(0).headline, "Medium sea green");
        assert_eq!(say(1).headline, "Undecided");
        let reason = say(1).reason.replace('\u{a0}', " ");
        assert_eq!(reason, "Light sea green 58 %, medium sea green 39 %; a call needs 95 %.");
        assert_eq!(say(2).headline, "None of these shades");
        let mut silent = measurement.readings[0].clone();
        (silent.call, silent.shades) = (None, Vec::new());
        assert!(verdict(&silent, &measurement.light, None).reason.contains("Choose"));
    }

    #[test]
    fn parts_are_counted_by_their_calls() {
        let (mut measurement, references) = crate::app::sample::measurement_and_references();
        let told = calls_told(&measurement, Some(&references));
        assert_eq!(
            told.as_deref(),
            Some("3 parts: 1 medium sea green, 1 of none of the shades, 1 undecided.")
        );
        measurement.readings.iter_mut().for_each(|reading| reading.call = Some(Call::Undecided));
        let told = calls_told(&measurement, Some(&references));
        assert_eq!(told.as_deref(), Some("All 3 parts: undecided."));
        measurement.readings.truncate(1);
        assert_eq!(calls_told(&measurement, Some(&references)), None);
    }

    #[test]
    fn the_advice_is_that_of_the_parts_not_called() {
        let (mut measurement, _) = crate::app::sample::measurement_and_references();
        assert_eq!(best_advice(&measurement).map(|(_, w)| w.code.as_str()), Some("card-far"));
        let told = best_advice_told(&measurement).unwrap();
        assert!(told.starts_with("Right arm is undecided. The card lies far from this part. "), "{told}");
        measurement.readings[0].call = Some(Call::Undecided);
        let told = best_advice_told(&measurement).unwrap();
        assert!(told.starts_with("2 of 3 parts are undecided. Take left arm: the card lies far "), "{told}");
        measurement.readings[2].call = Some(Call::Undecided);
        assert!(
            best_advice_told(&measurement)
                .unwrap()
                .starts_with("All 3 parts are undecided. Take left arm: the card lies far ")
        );
        measurement.readings.retain(|reading| reading.call != Some(Call::Undecided));
        assert_eq!(best_advice(&measurement), None);
    }

    #[test]
    fn no_probability_reads_as_certain() {
        assert_eq!(percent(1.0), "over 99\u{a0}%");
        assert_eq!(percent(0.0), "under 1\u{a0}%");
        assert_eq!(percent(0.954), "95\u{a0}%");
        assert_eq!(percent(f64::NAN), "unknown");
    }

    #[test]
    fn the_next_step_leads_from_the_card_to_the_parts_to_the_shades() {
        let mut case = CaseDocument::new("bench.jpg");
        assert_eq!(next_step(&case, false).1, Some(Command::MarkCard));
        let (full, _) = crate::app::sample::case_and_photo();
        case.zones = full.zones;
        assert_eq!(next_step(&case, false).1, Some(Command::ToolCircle));
        case.readings = full.readings;
        assert_eq!(next_step(&case, false).1, Some(Command::ChooseReferences));
        assert_eq!(next_step(&case, true).1, None);
    }
}

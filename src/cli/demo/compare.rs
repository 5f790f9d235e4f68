//! What was found beside what is true.

use std::fmt::Write;

use nalgebra::{Matrix3, Vector3};

use crate::color::{Lab, ciede2000};
use crate::measure::{Call, LightSummary, Measurement, Options, ReadingResult};
use crate::report::{percent, shade_name, verdict};
use crate::scene::demo::Truth;
use crate::scene::demo::truth::TruePart;
use crate::shade::References;

/// The 95 % quantile of chi-squared with 3 degrees of freedom (any statistical table).
const CHI2_95_OF_3: f64 = 7.815;

/// Findings counted against the truth.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct Score {
    /// Parts called by their true shade.
    pub right: usize,
    /// Parts called by another one.
    pub wrong: usize,
    /// Parts left undecided.
    pub undecided: usize,
    /// Parts whose true colour lies inside the 95 % region.
    pub inside: usize,
    /// Pairs told apart that are of different shades.
    pub pairs_right: usize,
    /// Pairs told apart that are of one shade.
    pub pairs_wrong: usize,
}

impl Score {
    /// Adds the counts of another photo.
    pub(super) fn add(&mut self, other: &Self) {
        self.right += other.right;
        self.wrong += other.wrong;
        self.undecided += other.undecided;
        self.inside += other.inside;
        self.pairs_right += other.pairs_right;
        self.pairs_wrong += other.pairs_wrong;
    }
}

/// Counts the findings of one photo.
pub(super) fn score(measurement: &Measurement, truth: &Truth) -> Score {
    let mut score = Score::default();
    for (reading, part) in known_parts(measurement, truth) {
        match agreement(reading, part) {
            Agreement::Right => score.right += 1,
            Agreement::Wrong => score.wrong += 1,
            Agreement::Undecided => score.undecided += 1,
        }
        score.inside += usize::from(is_inside(reading, part));
    }
    for pair in &measurement.pairs {
        let (Some(a), Some(b)) = (part_of(truth, &pair.a), part_of(truth, &pair.b)) else { continue };
        let told_apart = pair.different_plastic >= Options::default().confidence;
        score.pairs_right += usize::from(told_apart && a.shade != b.shade);
        score.pairs_wrong += usize::from(told_apart && a.shade == b.shade);
    }
    score
}

/// The findings of one photo as a table.
pub(super) fn findings(
    measurement: &Measurement,
    references: Option<&References>,
    truth: &Truth,
    options: &Options,
) -> String {
    let mut text = format!("\n{}: {}\n", truth.photo, truth.light);
    let known: Vec<&str> =
        truth.parts.iter().filter(|part| part.known).map(|part| part.id.as_str()).collect();
    let card = match truth.steps.len() {
        0 => "no card".to_string(),
        steps => format!("a card of {steps} greys"),
    };
    let aids = if known.is_empty() { card } else { format!("{card}, known part: {}", known.join(", ")) };
    let _ = writeln!(text, "  in the photo: {aids}");
    let names = known_parts(measurement, truth).map(|(reading, _)| reading.id.chars().count());
    let width = names.max().unwrap_or(0).max(4);
    let _ = writeln!(text, "  {:<width$}  {:<36}{:<20}{:>13}", "part", "found", "truth", "off by (DE00)");
    for (reading, part) in known_parts(measurement, truth) {
        let _ = writeln!(
            text,
            "  {:<width$}  {:<36}{:<20}{:>13.1}  {}",
            reading.id,
            found(reading, &measurement.light, references, options),
            shade_name(references, &part.shade),
            ciede2000(lab(reading.lab), lab(part.lab)),
            match agreement(reading, part) {
                Agreement::Right => "agrees",
                Agreement::Wrong => "DISAGREES",
                Agreement::Undecided => "left open",
            }
        );
    }
    pairs(&mut text, measurement, truth, options);
    for warning in &measurement.light.warnings {
        let _ = writeln!(text, "  ! {} {}", warning.text, warning.remedy);
    }
    text
}

/// Pairs that were told apart, and how many of two shades were not.
fn pairs(text: &mut String, measurement: &Measurement, truth: &Truth, options: &Options) {
    let mut open = 0;
    for pair in &measurement.pairs {
        let (Some(a), Some(b)) = (part_of(truth, &pair.a), part_of(truth, &pair.b)) else { continue };
        let is_one_shade = a.shade == b.shade;
        if pair.different_plastic < options.confidence {
            open += usize::from(!is_one_shade);
            continue;
        }
        let probability = percent(pair.different_plastic);
        let truth = if is_one_shade { "one shade: DISAGREES" } else { "two shades: agrees" };
        let _ =
            writeln!(text, "  {} and {}: different plastic, {probability}; in truth {truth}", pair.a, pair.b);
    }
    match open {
        0 => {}
        1 => text.push_str("  1 pair of two shades was not told apart.\n"),
        _ => {
            let _ = writeln!(text, "  {open} pairs of two shades were not told apart.");
        }
    }
}

/// The count over all photos.
pub(super) fn summary(score: &Score) -> String {
    let Score { right, wrong, undecided, inside, pairs_right, pairs_wrong } = *score;
    let parts = right + wrong + undecided;
    format!(
        "\n{parts} parts: {right} called as they are, {wrong} called wrong, {undecided} left open.\n\
         True colour inside the 95 % region: {inside} of {parts}. \
         Pairs told apart: {pairs_right} rightly, {pairs_wrong} wrongly.\n"
    )
}

enum Agreement {
    Right,
    Wrong,
    Undecided,
}

fn agreement(reading: &ReadingResult, part: &TruePart) -> Agreement {
    match &reading.call {
        Some(Call::Shade(shade)) if *shade == part.shade => Agreement::Right,
        Some(Call::Shade(_) | Call::None) => Agreement::Wrong,
        Some(Call::Undecided) | None => Agreement::Undecided,
    }
}

fn found(
    reading: &ReadingResult,
    light: &LightSummary,
    references: Option<&References>,
    options: &Options,
) -> String {
    let headline = verdict(reading, light, references, options.confidence).headline;
    let likeliest = reading.shades.iter().max_by(|a, b| a.probability.total_cmp(&b.probability));
    let Some(likeliest) = likeliest else { return headline };
    let probability = percent(likeliest.probability);
    match (&reading.call, &likeliest.shade) {
        (Some(Call::Undecided), Some(shade)) => {
            let short = shade_name(references, shade);
            format!("undecided, {short} {probability}")
        }
        _ => format!("{headline}, {probability}"),
    }
}

/// Whether the true colour lies inside the 95 % region of the measured one.
fn is_inside(reading: &ReadingResult, part: &TruePart) -> bool {
    let off = Vector3::from(reading.lab) - Vector3::from(part.lab);
    let cov = Matrix3::from_fn(|row, column| reading.cov[row][column]);
    cov.cholesky().is_some_and(|root| off.dot(&root.solve(&off)) <= CHI2_95_OF_3)
}

fn known_parts<'a>(
    measurement: &'a Measurement,
    truth: &'a Truth,
) -> impl Iterator<Item = (&'a ReadingResult, &'a TruePart)> {
    measurement.readings.iter().filter_map(|reading| Some((reading, part_of(truth, &reading.id)?)))
}

fn part_of<'a>(truth: &'a Truth, id: &str) -> Option<&'a TruePart> {
    truth.parts.iter().find(|part| part.id == id)
}

fn lab([l, a, b]: [f64; 3]) -> Lab {
    Lab::new(l, a, b)
}

//! `sameshot measure`: cases in, one line of JSON or one table each out.

use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};

use serde::Serialize;

use super::Ending;
use super::args::MeasureOptions;
use super::output::{line_width, print, tell};
use crate::case::card_values;
pub(super) use crate::keeping::{Loaded, load, measure_loaded};
use crate::measure::{Options, Outcome};
use crate::problem::Problem;
use crate::report::{TextOptions, listing_advice, measurement_text};
use crate::storage::open_card;

/// What stands on the line of a case that failed.
#[derive(Serialize)]
struct Failure<'a> {
    sameshot_error: u32,
    case: &'a str,
    text: String,
}

/// Measures every case in the order given; a case that fails does not stop the others.
pub(super) fn run(options: &MeasureOptions) -> Ending {
    each_case(&options.cases, options.json, |path| measured(path, options))
}

/// Does one thing to every case in the order given and prints what it gives: a text, and what of it failed. A case that
/// fails does not stop the others.
pub(super) fn each_case(
    named: &[PathBuf],
    json: bool,
    of: impl Fn(&Path) -> Result<(String, Option<Problem>), Problem>,
) -> Ending {
    let cases = match all_cases(named) {
        Ok(cases) => cases,
        Err(problem) => {
            tell(&problem);
            return Ending::WrongCall;
        }
    };
    let mut ending = Ending::Done;
    for (index, path) in cases.iter().enumerate() {
        let result = catch_unwind(AssertUnwindSafe(|| of(path))).unwrap_or_else(|_| {
            Err(Problem::new(
                format!("{}: the measurement broke down inside the program.", path.display()),
                "The case and its photo are untouched; please report this with both files.",
            ))
        });
        let problem = match result {
            Ok((text, problem)) => {
                print(if json || index == 0 { "" } else { "\n" });
                print(&text);
                problem
            }
            Err(problem) => {
                if json {
                    print(&failure_line(path, &problem));
                }
                Some(problem)
            }
        };
        if let Some(problem) = problem {
            ending = Ending::SomeFailed;
            tell(&problem);
        }
    }
    ending
}

/// Gives the marked steps of the card the values of a card file.
pub(super) fn with_card(mut loaded: Loaded, card: Option<&Path>) -> Result<Loaded, Problem> {
    let Some(path) = card else { return Ok(loaded) };
    let steps = open_card(path)?.steps;
    let edits = card_values(&loaded.case, &steps);
    let marked = loaded.case.zones.iter().any(|zone| zone.id.starts_with("step "));
    if edits.is_empty() && !marked {
        return Err(Problem::new(
            format!("No zone is a step of a card, so the values of {} mean nothing here.", path.display()),
            "Name the marks on the card \"step 1\" (the lightest), \"step 2\" and so on.",
        ));
    }
    edits.iter().try_for_each(|edit| edit.apply(&mut loaded.case))?;
    Ok(loaded)
}

/// What to print for a case, and what of it failed. A line of JSON is either a result or an error; the table
/// shows what was measured in spite of a mark that could not be.
fn measured(path: &Path, options: &MeasureOptions) -> Result<(String, Option<Problem>), Problem> {
    let loaded =
        with_card(load(path)?, options.card.as_deref()).map_err(|problem| problem.in_file(path.display()))?;
    let choice = Options { confidence: options.confidence, seed: options.seed, ..Options::default() };
    let (Outcome { measurement, .. }, problem) = measure_loaded(&loaded, &choice);
    let problem = problem.map(|problem| problem.in_file(path.display()));
    if options.json {
        return problem.map_or_else(|| Ok((line(&measurement), None)), Err);
    }
    let layout = TextOptions { width: line_width(), confidence: options.confidence };
    let table = measurement_text(&measurement, loaded.references.as_ref(), &layout);
    let advice = listing_advice(&measurement, loaded.references.as_ref(), options.confidence);
    let advice = advice.map_or(String::new(), |advice| format!("\n{}", advice.text()));
    Ok((format!("{}\n\n{table}{advice}", path.display()), problem))
}

/// The cases that were named: files as they are, folders as their cases in the order of their names.
pub(super) fn all_cases(named: &[PathBuf]) -> Result<Vec<PathBuf>, Problem> {
    let mut cases = Vec::new();
    for path in named {
        if path.is_dir() {
            cases.extend(cases_in(path)?);
        } else {
            cases.push(path.clone());
        }
    }
    Ok(cases)
}

fn cases_in(folder: &Path) -> Result<Vec<PathBuf>, Problem> {
    let entries = fs::read_dir(folder).map_err(|error| {
        Problem::new(
            format!("The folder {} cannot be read: {error}.", folder.display()),
            "Name the case files themselves.",
        )
    })?;
    let paths = entries.flatten().map(|entry| entry.path());
    let mut cases: Vec<PathBuf> = paths
        .filter(|path| path.file_name().is_some_and(|name| name.to_string_lossy().ends_with(".case.json")))
        .collect();
    if cases.is_empty() {
        return Err(Problem::new(
            format!("There is no *.case.json in the folder {}.", folder.display()),
            "Name another folder, or mark a photo in the window and save the case.",
        ));
    }
    cases.sort();
    Ok(cases)
}

fn failure_line(path: &Path, problem: &Problem) -> String {
    line(&Failure { sameshot_error: 1, case: &path.to_string_lossy(), text: problem.to_string() })
}

pub(super) fn line(value: &impl Serialize) -> String {
    // These plain structures cannot fail to become JSON.
    let mut text = serde_json::to_string(value).unwrap_or_default();
    text.push('\n');
    text
}

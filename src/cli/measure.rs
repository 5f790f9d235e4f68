//! `sameshot measure`: cases in, one line of JSON or one table each out.

use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};

use serde::Serialize;

use super::Ending;
use super::args::MeasureOptions;
use super::output::{line_width, print, tell};
use crate::case::{CaseDocument, PathRule};
use crate::measure::{AreaCache, Inputs, Options, Outcome, measure};
use crate::photo::{self, Limits, Photo};
use crate::problem::Problem;
use crate::report::{TextOptions, listing_advice, measurement_text};
use crate::shade::References;
use crate::storage::{open_case, open_references, resolve_inside};

/// What stands on the line of a case that failed.
#[derive(Serialize)]
struct Failure<'a> {
    sameshot_error: u32,
    case: &'a str,
    text: String,
}

/// A case and the files it names.
pub(super) struct Loaded {
    /// The marks.
    pub case: CaseDocument,
    /// The photo.
    pub photo: Photo,
    /// The shades, where the case names some.
    pub references: Option<References>,
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

/// Reads a case, its photo and its references. Paths in the case may not leave its folder.
pub(super) fn load(path: &Path) -> Result<Loaded, Problem> {
    let case = open_case(path, PathRule::InsideFolder)?;
    let folder = path.parent().unwrap_or(Path::new(""));
    let file = |inside: &str| {
        resolve_inside(folder, inside, PathRule::InsideFolder)
            .map_err(|problem| problem.in_file(path.display()))
    };
    let photo = read_photo(&file(&case.photo)?, case.photo_sha256.as_deref())
        .map_err(|problem| problem.in_file(path.display()))?;
    let references = match &case.references {
        Some(inside) => {
            Some(open_references(&file(inside)?).map_err(|problem| problem.in_file(path.display()))?)
        }
        None => None,
    };
    Ok(Loaded { case, photo, references })
}

/// Measures a loaded case. The problem names all marks that had to be left out.
pub(super) fn measure_loaded(loaded: &Loaded, options: &Options) -> (Outcome, Option<Problem>) {
    let inputs = Inputs {
        raster: &loaded.photo.raster,
        facts: &loaded.photo.facts,
        case: &loaded.case,
        references: loaded.references.as_ref(),
    };
    let outcome = measure(&inputs, options, &mut AreaCache::default());
    if outcome.problems.is_empty() {
        return (outcome, None);
    }
    let texts: Vec<&str> = outcome.problems.iter().map(|problem| problem.text.as_str()).collect();
    let mut remedies: Vec<&str> = outcome.problems.iter().map(|problem| problem.remedy.as_str()).collect();
    remedies.dedup();
    let problem = Problem::new(texts.join(" "), remedies.join(" "));
    (outcome, Some(problem))
}

/// What to print for a case, and what of it failed. A line of JSON is either a result or an error; the table
/// shows what was measured in spite of a mark that could not be.
fn measured(path: &Path, options: &MeasureOptions) -> Result<(String, Option<Problem>), Problem> {
    let loaded = load(path)?;
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

fn read_photo(path: &Path, expected_sha256: Option<&str>) -> Result<Photo, Problem> {
    let limits = Limits::default();
    let as_problem = |error: photo::PhotoError| Problem::new(format!("{error}."), error.remedy());
    let bytes = photo::read_bytes(path, &limits).map_err(as_problem)?;
    if let Some(expected) = expected_sha256
        && !photo::sha256_hex(&bytes).eq_ignore_ascii_case(expected)
    {
        return Err(Problem::new(
            format!("{} is not the photo that was marked: its SHA-256 is another one.", path.display()),
            "Put the right photo there, or open the case in the window, check the marks and save it again.",
        ));
    }
    photo::decode(&bytes, &limits).map_err(|error| as_problem(error.in_file(path)))
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

//! `sameshot report`: one case as a file to keep or to send.

use std::path::{Path, PathBuf};

use clap::Args;

use super::Ending;
use super::args::confidence;
use super::identify::{guide_of, weighed};
use super::measure::{load, measure_loaded};
use super::output::{print, tell};
use crate::case::PathRule;
use crate::collection::{index, name_slots, totals};
use crate::keeping::{CaseReport, ReportKind, collection_report, write_case_report};
use crate::measure::Options;
use crate::problem::Problem;
use crate::storage::{collection_guides, open_collection, resolve_inside, today};

/// The options of `sameshot report`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  sameshot report bench.case.json --out bench.html\n  sameshot report bench.case.json --guide skerry.guide.json --out bench.pdf\n  sameshot report figures/ --out collection.pdf\n\nThe numbers are those of sameshot measure with the same confidence and seed.\n\nExit status: 0 all measured, 1 something failed (a mark that cannot be measured is named in the report too), 2 the call itself was wrong."
)]
pub(super) struct ReportOptions {
    /// The case file (*.case.json), or the folder of a collection.
    #[arg(value_name = "CASE")]
    pub case: PathBuf,
    /// The file to write: .html one page with everything in it, .pdf the same on A4, .csv the readings for a
    /// spreadsheet, .txt a short text for a message.
    #[arg(long, value_name = "FILE")]
    pub out: PathBuf,
    /// The guide to weigh the figure with, in place of the one that the case names.
    #[arg(long, value_name = "FILE")]
    pub guide: Option<PathBuf>,
    /// A shade is called only when it is at least so probable.
    #[arg(long, default_value_t = 0.95, value_name = "PROBABILITY", value_parser = confidence)]
    pub confidence: f64,
    /// Seed of the random draws; the same seed gives the same result.
    #[arg(long, default_value_t = 1, value_name = "NUMBER")]
    pub seed: u64,
}

/// Writes the report.
pub(super) fn run(options: &ReportOptions) -> Ending {
    if ReportKind::of(&options.out).is_none() {
        tell(&Problem::new(
            format!("{}: the ending does not say what kind of report to write.", options.out.display()),
            "Name a file that ends with .html, .pdf, .csv or .txt.",
        ));
        return Ending::WrongCall;
    }
    match written(options) {
        Ok(None) => Ending::Done,
        Ok(Some(problem)) | Err(problem) => {
            tell(&problem);
            Ending::SomeFailed
        }
    }
}

/// Measures, weighs and writes. The problem names what could not be measured; the report is written without it.
fn written(options: &ReportOptions) -> Result<Option<Problem>, Problem> {
    let path = &options.case;
    if path.is_dir() {
        return of_collection(options);
    }
    let loaded = load(path)?;
    let choice = Options { confidence: options.confidence, seed: options.seed, ..Options::default() };
    let (outcome, problem) = measure_loaded(&loaded, &choice);
    let guide = match (&options.guide, &loaded.case.guide) {
        (None, None) => None,
        _ => Some(guide_of(path, &loaded.case, options.guide.as_deref())?),
    };
    let findings = guide.as_ref().map(|guide| weighed(&loaded, &outcome, guide));
    let folder = path.parent().unwrap_or(Path::new(""));
    let inside = |name: &String| resolve_inside(folder, name, PathRule::InsideFolder);
    let guide_file = match &options.guide {
        Some(guide) => Some(guide.clone()),
        None => loaded.case.guide.as_ref().map(inside).transpose()?,
    };
    let report = CaseReport {
        name: path.file_name().unwrap_or(path.as_os_str()).to_string_lossy().into_owned(),
        date: today(),
        photo: inside(&loaded.case.photo)?,
        references_file: loaded.case.references.as_ref().map(inside).transpose()?,
        guide_file,
        raster: loaded.photo.raster.into(),
        facts: loaded.photo.facts.into(),
        case: loaded.case,
        references: loaded.references.map(Into::into),
        figure: guide.map(Into::into).zip(findings),
        problems: outcome.problems.iter().map(|p| format!("{} {}", p.text, p.remedy)).collect(),
        measurement: outcome.measurement,
        confidence: options.confidence,
        seed: options.seed,
    };
    write_case_report(&options.out, &report)?;
    print(&format!("{}\n", options.out.display()));
    Ok(problem.map(|problem| problem.in_file(path.display())))
}

fn of_collection(options: &ReportOptions) -> Result<Option<Problem>, Problem> {
    let folder = &options.case;
    let opened = open_collection(folder)?;
    let records = || opened.records.iter().map(|(file, record)| (file.as_str(), record));
    let mut rows = index(records());
    let (guides, unread) = collection_guides(folder, &rows, PathRule::InsideFolder);
    name_slots(&mut rows, &guides);
    collection_report(&options.out, folder, (&rows, &totals(records(), &guides)), &today())?;
    print(&format!("{}\n", options.out.display()));
    Ok(opened.problems.into_iter().chain(unread).next())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_ending_says_the_kind() {
        for (name, kind) in [
            ("a.html", Some(ReportKind::Html)),
            ("a.PDF", Some(ReportKind::Pdf)),
            ("x.case.csv", Some(ReportKind::Csv)),
            ("a.txt", Some(ReportKind::Text)),
            ("a.json", None),
            ("pdf", None),
            ("", None),
        ] {
            assert_eq!(ReportKind::of(Path::new(name)), kind, "{name}");
        }
    }
}

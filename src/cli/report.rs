//! `sameshot report`: one case as a file to keep or to send.

use std::path::{Path, PathBuf};

use clap::Args;

use super::Ending;
use super::args::confidence;
use super::identify::{guide_of, weighed};
use super::measure::{Loaded, load, measure_loaded};
use super::output::{print, tell};
use crate::case::PathRule;
use crate::guide::GUIDE_LIMIT_BYTES;
use crate::measure::Options;
use crate::photo::{self, Limits};
use crate::problem::Problem;
use crate::report::{FileUsed, ReportInputs, report_csv, report_html, report_message, report_pdf};
use crate::shade::SHADES_LIMIT_BYTES;
use crate::storage::{read_limited, resolve_inside, save_atomically};

/// The options of `sameshot report`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  sameshot report bench.case.json --out bench.html\n  sameshot report bench.case.json --guide skerry-rescue.guide.json --out bench.pdf\n\nThe numbers are those of sameshot measure with the same confidence and seed.\n\nExit status: 0 all measured, 1 something failed (a mark that cannot be measured is named in the report too), 2 the call itself was wrong."
)]
pub(super) struct ReportOptions {
    /// The case file (*.case.json).
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

/// What kind of file, by the ending of its name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Html,
    Pdf,
    Csv,
    Text,
}

/// Writes the report.
pub(super) fn run(options: &ReportOptions) -> Ending {
    let Some(kind) = kind_of(&options.out) else {
        tell(&Problem::new(
            format!("{}: the ending does not say what kind of report to write.", options.out.display()),
            "Name a file that ends with .html, .pdf, .csv or .txt.",
        ));
        return Ending::WrongCall;
    };
    match written(options, kind) {
        Ok(None) => Ending::Done,
        Ok(Some(problem)) | Err(problem) => {
            tell(&problem);
            Ending::SomeFailed
        }
    }
}

fn kind_of(path: &Path) -> Option<Kind> {
    match path.extension()?.to_str()?.to_ascii_lowercase().as_str() {
        "html" | "htm" => Some(Kind::Html),
        "pdf" => Some(Kind::Pdf),
        "csv" => Some(Kind::Csv),
        "txt" => Some(Kind::Text),
        _ => None,
    }
}

/// Measures, weighs and writes. The problem names what could not be measured; the report is written without it.
fn written(options: &ReportOptions, kind: Kind) -> Result<Option<Problem>, Problem> {
    let path = &options.case;
    let loaded = load(path)?;
    let choice = Options { confidence: options.confidence, seed: options.seed, ..Options::default() };
    let (outcome, problem) = measure_loaded(&loaded, &choice);
    let guide = match (&options.guide, &loaded.case.guide) {
        (None, None) => None,
        _ => Some(guide_of(path, &loaded.case, options.guide.as_deref())?),
    };
    let findings = guide.as_ref().map(|guide| weighed(&loaded, &outcome, guide));
    let problems: Vec<String> = outcome.problems.iter().map(|p| format!("{} {}", p.text, p.remedy)).collect();
    let inputs = ReportInputs {
        name: &file_name(path),
        raster: &loaded.photo.raster,
        facts: &loaded.photo.facts,
        case: &loaded.case,
        measurement: &outcome.measurement,
        references: loaded.references.as_ref(),
        figure: guide.as_ref().zip(findings.as_ref()),
        files: &files_used(options, &loaded)?,
        problems: &problems,
        confidence: options.confidence,
        seed: options.seed,
    };
    let bytes = match kind {
        Kind::Html => report_html(&inputs)?.into_bytes(),
        Kind::Pdf => report_pdf(&inputs)?,
        Kind::Csv => report_csv(&inputs)?.into_bytes(),
        Kind::Text => report_message(&inputs).into_bytes(),
    };
    save_atomically(&options.out, &bytes)?;
    print(&format!("{}\n", options.out.display()));
    Ok(problem.map(|problem| problem.in_file(path.display())))
}

/// The files with their SHA-256.
fn files_used(options: &ReportOptions, loaded: &Loaded) -> Result<Vec<FileUsed>, Problem> {
    let folder = options.case.parent().unwrap_or(Path::new(""));
    let inside = |name: &str| resolve_inside(folder, name, PathRule::InsideFolder);
    let used = |role, path: &Path, limit| {
        let bytes = read_limited(path, limit)?;
        Ok(FileUsed { role, name: file_name(path), sha256: photo::sha256_hex(&bytes) })
    };
    let mut files = vec![used("photo", &inside(&loaded.case.photo)?, Limits::default().file_bytes)?];
    if let Some(references) = &loaded.case.references {
        files.push(used("references", &inside(references)?, SHADES_LIMIT_BYTES)?);
    }
    if let Some(guide) = &options.guide {
        files.push(used("guide", guide, GUIDE_LIMIT_BYTES)?);
    } else if let Some(guide) = &loaded.case.guide {
        files.push(used("guide", &inside(guide)?, GUIDE_LIMIT_BYTES)?);
    }
    Ok(files)
}

fn file_name(path: &Path) -> String {
    path.file_name().unwrap_or(path.as_os_str()).to_string_lossy().into_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_ending_says_the_kind() {
        for (name, kind) in [
            ("a.html", Some(Kind::Html)),
            ("a.PDF", Some(Kind::Pdf)),
            ("x.case.csv", Some(Kind::Csv)),
            ("a.txt", Some(Kind::Text)),
            ("a.json", None),
            ("pdf", None),
            ("", None),
        ] {
            assert_eq!(kind_of(Path::new(name)), kind, "{name}");
        }
    }
}

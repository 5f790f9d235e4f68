//! Reports written: of one case, of a whole collection.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::case::CaseDocument;
use crate::collection::{Row, Totals};
use crate::figure::Findings;
use crate::guide::{GUIDE_LIMIT_BYTES, Guide};
use crate::measure::Measurement;
use crate::photo::{Limits, sha256_hex};
use crate::problem::Problem;
use crate::raster::{PhotoFacts, Raster};
use crate::report::{
    CollectionInputs, FileUsed, ReportInputs, collection_csv, collection_html, collection_message,
    collection_pdf, report_csv, report_html, report_message, report_pdf,
};
use crate::shade::{References, SHADES_LIMIT_BYTES};
use crate::storage::{read_limited, save_atomically};

/// What kind of file a report is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ReportKind {
    /// One page with everything in it.
    Html,
    /// The same on A4.
    Pdf,
    /// A table for a spreadsheet.
    Csv,
    /// A short text for a message.
    Text,
}

impl ReportKind {
    /// The kind that the ending of a file's name says.
    pub fn of(path: &Path) -> Option<Self> {
        match path.extension()?.to_str()?.to_ascii_lowercase().as_str() {
            "html" | "htm" => Some(ReportKind::Html),
            "pdf" => Some(ReportKind::Pdf),
            "csv" => Some(ReportKind::Csv),
            "txt" => Some(ReportKind::Text),
            _ => None,
        }
    }

    fn or_refuse(path: &Path) -> Result<Self, Problem> {
        Self::of(path).ok_or_else(|| {
            Problem::new(
                format!("{}: the ending does not say what kind of report to write.", path.display()),
                "Name a file that ends with .html, .pdf, .csv or .txt.",
            )
        })
    }
}

/// All that the report of a case needs.
#[derive(Debug, Clone)]
pub struct CaseReport {
    /// The name of the case's file.
    pub name: String,
    /// The day, year-month-day.
    pub date: String,
    /// The upright photo.
    pub raster: Arc<Raster>,
    /// What its file says of itself.
    pub facts: Arc<PhotoFacts>,
    /// The marks.
    pub case: CaseDocument,
    /// What was measured.
    pub measurement: Measurement,
    /// The shades compared with.
    pub references: Option<Arc<References>>,
    /// The guide and what was found with it.
    pub figure: Option<(Arc<Guide>, Findings)>,
    /// What could not be measured.
    pub problems: Vec<String>,
    /// The photo's file.
    pub photo: PathBuf,
    /// The references' file.
    pub references_file: Option<PathBuf>,
    /// The guide's file.
    pub guide_file: Option<PathBuf>,
    /// The probability that a call needed.
    pub confidence: f64,
    /// Seed of the draws.
    pub seed: u64,
}

/// Writes the report of a case; the ending of the path says its kind.
pub fn write_case_report(path: &Path, report: &CaseReport) -> Result<(), Problem> {
    let kind = ReportKind::or_refuse(path)?;
    let inputs = ReportInputs {
        name: &report.name,
        date: &report.date,
        raster: &report.raster,
        facts: &report.facts,
        case: &report.case,
        measurement: &report.measurement,
        references: report.references.as_deref(),
        figure: report.figure.as_ref().map(|(guide, findings)| (&**guide, findings)),
        files: &files_used(report)?,
        problems: &report.problems,
        confidence: report.confidence,
        seed: report.seed,
    };
    let bytes = match kind {
        ReportKind::Html => report_html(&inputs)?.into_bytes(),
        ReportKind::Pdf => report_pdf(&inputs)?,
        ReportKind::Csv => report_csv(&inputs)?.into_bytes(),
        ReportKind::Text => report_message(&inputs).into_bytes(),
    };
    save_atomically(path, &bytes)
}

/// The files with their SHA-256.
fn files_used(report: &CaseReport) -> Result<Vec<FileUsed>, Problem> {
    let named = [
        ("photo", Some(&report.photo), Limits::default().file_bytes),
        ("references", report.references_file.as_ref(), SHADES_LIMIT_BYTES),
        ("guide", report.guide_file.as_ref(), GUIDE_LIMIT_BYTES),
    ];
    let mut used = Vec::new();
    for (role, file, limit) in named {
        let Some(file) = file else { continue };
        let name = file.file_name().unwrap_or(file.as_os_str()).to_string_lossy().into_owned();
        used.push(FileUsed { role, name, sha256: sha256_hex(&read_limited(file, limit)?) });
    }
    Ok(used)
}

/// Writes the report of a collection.
pub fn collection_report(
    path: &Path,
    folder: &Path,
    (rows, totals): (&[Row], &Totals),
    date: &str,
) -> Result<(), Problem> {
    let kind = ReportKind::or_refuse(path)?;
    let name = folder.file_name().unwrap_or(folder.as_os_str()).to_string_lossy();
    let inputs = CollectionInputs { name: &name, date, rows, totals };
    let bytes = match kind {
        ReportKind::Html => collection_html(&inputs).into_bytes(),
        ReportKind::Pdf => collection_pdf(&inputs)?,
        ReportKind::Csv => collection_csv(&inputs)?.into_bytes(),
        ReportKind::Text => collection_message(&inputs).into_bytes(),
    };
    save_atomically(path, &bytes)
}

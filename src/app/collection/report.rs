//! Reports from the window: of the case in front, or of the collection where that is in front.

use std::path::{Path, PathBuf};

use crate::jobs::Task;
use crate::keeping::{CaseReport, ReportKind, collection_report, write_case_report};
use crate::problem::Problem;
use crate::storage;

use crate::app::action::Sheet;
use crate::app::files;
use crate::app::session::Session;
use crate::app::state::State;

impl State {
    /// The file that is proposed.
    pub(in crate::app) fn report_path(&self) -> PathBuf {
        if let (true, Some(folder)) = (self.collection.shown, &self.collection.folder) {
            return folder.join("collection.pdf");
        }
        let Some(session) = &self.session else { return PathBuf::new() };
        let case =
            session.case_path.clone().unwrap_or_else(|| files::open::case_path_beside(&session.photo_path));
        let name = crate::app::files::start::short_name(&case);
        case.parent().unwrap_or(Path::new("")).join(format!("{name}.pdf"))
    }

    /// Writes the report, on a thread.
    pub(in crate::app) fn write_report(&mut self, path: PathBuf, replace: bool) {
        self.sheet = None;
        if ReportKind::of(&path).is_none() {
            let typed = path.display().to_string();
            self.tell(
                format!("{typed}: the ending does not say what kind of report to write."),
                "Name a file that ends with .pdf, .html, .csv or .txt.",
            );
            self.sheet = Some(Sheet::ReportPath(typed));
            return;
        }
        if !replace && path.exists() {
            self.sheet = Some(Sheet::ReplaceReport(path));
            return;
        }
        let label = "Writing the report".to_owned();
        if self.collection.shown {
            let Some(seen) = self.collection.seen.clone() else { return };
            let work = move |_: &_| {
                let date = storage::today();
                collection_report(&path, &seen.folder, (&seen.rows, &seen.totals), &date).map(|()| path)
            };
            self.reporting = Some(Task::start(label, self.wake.clone(), work));
            return;
        }
        match self.session.as_ref().map(case_report) {
            Some(Ok(report)) => {
                let work = move |_: &_| write_case_report(&path, &report).map(|()| path);
                self.reporting = Some(Task::start(label, self.wake.clone(), work));
            }
            Some(Err(problem)) => self.message = Some(problem.into()),
            None => {}
        }
    }

    /// Tells what has become of the report.
    pub(in crate::app) fn poll_report(&mut self) {
        let Some(result) = self.reporting.as_ref().and_then(Task::poll) else { return };
        self.reporting = None;
        match result {
            Ok(Ok(path)) => self.tell(format!("The report is in {}.", path.display()), ""),
            Ok(Err(problem)) => self.message = Some(problem.into()),
            Err(text) => self.tell(text, "Try another kind of report."),
        }
    }
}

fn case_report(session: &Session) -> Result<CaseReport, Problem> {
    let Some(measurement) = session.measurement().filter(|_| !session.is_measuring()) else {
        return Err(Problem::new("The photo is still being measured.", "Wait a moment, then try again."));
    };
    let path = session.case_path.as_ref().unwrap_or(&session.photo_path);
    let findings = session.weighing.findings().and_then(Result::ok).cloned();
    let guide = session.weighing.guide.as_ref().map(|guide| guide.guide.clone());
    let problems = session.mark_problems().map(|p| format!("{} {}", p.text, p.remedy)).collect();
    Ok(CaseReport {
        name: path.file_name().unwrap_or_default().to_string_lossy().into_owned(),
        date: storage::today(),
        raster: session.raster.clone(),
        facts: session.facts.clone(),
        case: session.case().clone(),
        measurement: measurement.clone(),
        references: session.references.clone(),
        figure: guide.zip(findings),
        problems,
        photo: session.photo_path.clone(),
        references_file: session.references_file.clone(),
        guide_file: session.weighing.file.clone(),
        confidence: crate::measure::Options::default().confidence,
        seed: crate::measure::Options::default().seed,
    })
}

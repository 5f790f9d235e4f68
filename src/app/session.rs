//! An open case: its photo, marks with their past, and the newest result.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, Instant};

use crate::case::{CaseDocument, Edit, History, MarkKey};
use crate::guide::{Guide, slot_words};
use crate::jobs::{SHOW_AFTER, Wake, Worker};
use crate::light::Light;
use crate::measure::{self, AreaCache, FlatField, Inputs, MarkProblem, Measurement, Outcome};
use crate::problem::Problem;
use crate::raster::{PhotoFacts, Raster};
use crate::shade::References;

use super::board::EmptyBoards;
use super::figure::weighing::{Now, OpenGuide, Weighing};
use super::files::keeper::Draft;
use super::files::open::Opened;
use super::files::save::Save;
use super::marks;

/// An open case.
#[derive(Debug)]
pub(super) struct Session {
    /// Where the case is saved; `None` so long as it never was.
    pub case_path: Option<PathBuf>,
    /// Where the photo is.
    pub photo_path: PathBuf,
    /// What the photo's file holds.
    pub photo_sha256: String,
    /// The upright photo.
    pub raster: Arc<Raster>,
    /// What its file says of itself.
    pub facts: Arc<PhotoFacts>,
    /// The shades to compare with.
    pub references: Option<Arc<References>>,
    /// Where they are. Choosing others is no step of undo: the marks stay as they are.
    pub references_file: Option<PathBuf>,
    references_saved: bool,
    /// The photos of the empty board.
    pub empty_boards: EmptyBoards,
    /// The guide, and who the figure is.
    pub weighing: Weighing,
    history: History,
    group: Option<GroupKey>,
    selected: Option<MarkKey>,
    generation: u64,
    outcome: Option<Measured>,
    changed_at: Instant,
    measuring: Worker<Job, Measured>,
}

/// Edits with the same key in a row become one step of undo.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum GroupKey {
    /// One drag of the mouse.
    Drag,
    /// Arrow keys on one mark.
    Nudge(MarkKey),
    /// Typing into one field of the strip.
    Field(&'static str),
}

/// What was measured of one state of the marks.
#[derive(Debug, Clone)]
struct Measured {
    generation: u64,
    outcome: Result<Arc<Outcome>, String>,
}

/// The marks to be measured. Two jobs are the same when they are of one generation.
#[derive(Debug, Clone)]
struct Job {
    generation: u64,
    raster: Arc<Raster>,
    facts: Arc<PhotoFacts>,
    case: Arc<CaseDocument>,
    references: Option<Arc<References>>,
    flat_field: Option<Arc<FlatField>>,
}

impl PartialEq for Job {
    fn eq(&self, other: &Self) -> bool {
        self.generation == other.generation
    }
}

impl Session {
    /// Shows a case that was opened, and starts to measure it.
    pub(super) fn new(opened: Opened, wake: Wake) -> Self {
        let mut cache = AreaCache::default();
        let weighing =
            Weighing::new(opened.case.guide.as_deref(), opened.guide, opened.guide_file, wake.clone());
        let empty_boards =
            EmptyBoards::opened(opened.case.flat_field.as_deref(), opened.flat_field_file, opened.flat_field);
        let history = match opened.saved {
            true => History::opened(opened.case),
            false => History::unsaved(opened.case),
        };
        let measuring = Worker::start("measuring", wake, move |job: &Job, _| Some(run(job, &mut cache)));
        let mut session = Self {
            case_path: opened.case_path,
            photo_path: opened.photo_path,
            photo_sha256: opened.photo_sha256,
            raster: opened.raster,
            facts: opened.facts,
            references: opened.references,
            references_file: opened.references_file,
            references_saved: true,
            empty_boards,
            weighing,
            history,
            group: None,
            selected: None,
            generation: 0,
            outcome: None,
            changed_at: Instant::now(),
            measuring,
        };
        session.changed();
        session
    }

    /// The file to open for all this: the case, or the photo so long as there is none.
    pub(super) fn opened_from(&self) -> PathBuf {
        let file = self.case_path.as_ref().unwrap_or(&self.photo_path);
        std::path::absolute(file).unwrap_or(file.clone())
    }

    /// The photo's size in pixels.
    pub(super) fn photo_px(&self) -> [f64; 2] {
        [f64::from(self.raster.width()), f64::from(self.raster.height())]
    }

    /// The marks as they are now.
    pub(super) fn case(&self) -> &CaseDocument {
        self.history.current()
    }

    /// The same, for a worker.
    pub(super) fn shared_case(&self) -> Arc<CaseDocument> {
        self.history.current().clone()
    }

    /// The light of the photo as fitted last.
    pub(super) fn light(&self) -> Option<&Light> {
        self.outcome.as_ref()?.outcome.as_ref().ok()?.light.as_ref()
    }

    /// A slot's name for people.
    pub(super) fn slot_words(&self, id: &str) -> String {
        slot_words(self.guide(), id)
    }

    /// The guide of the case, if one could be read.
    pub(super) fn guide(&self) -> Option<&Guide> {
        self.weighing.guide.as_ref().map(|open| &*open.guide)
    }

    /// The newest result with the number of the marks it is of.
    pub(super) fn outcome(&self) -> Option<(u64, Arc<Outcome>)> {
        let measured = self.outcome.as_ref()?;
        Some((measured.generation, measured.outcome.as_ref().ok()?.clone()))
    }

    /// The selected mark, if it is still there.
    pub(super) fn selected(&self) -> Option<&MarkKey> {
        self.selected.as_ref().filter(|mark| marks::shape(self.case(), mark).is_some())
    }

    /// Selects a mark or none.
    pub(super) fn select(&mut self, mark: Option<MarkKey>) {
        if self.selected != mark {
            self.close_group();
            self.selected = mark;
        }
    }

    /// Makes one change, a step of its own.
    pub(super) fn edit(&mut self, edit: Edit) -> Result<(), Problem> {
        self.close_group();
        self.apply(edit)
    }

    /// Makes several changes that are one step. What is selected stays so.
    pub(super) fn edit_together(&mut self, label: &str, edits: Vec<Edit>) -> Result<(), Problem> {
        self.close_group();
        let selected = self.selected.clone();
        self.history.begin(label);
        for edit in edits {
            if let Err(problem) = self.apply(edit) {
                self.history.cancel();
                self.changed();
                return Err(problem);
            }
        }
        self.history.commit();
        self.selected = selected;
        Ok(())
    }

    /// Makes a change that continues those before it with the same key.
    pub(super) fn edit_in(&mut self, key: GroupKey, edit: Edit) -> Result<(), Problem> {
        if self.group.as_ref() != Some(&key) {
            self.history.begin(edit.label());
            self.group = Some(key);
        }
        self.apply(edit)
    }

    /// What was changed under one key so far becomes a step.
    pub(super) fn close_group(&mut self) {
        self.group = None;
        self.history.commit();
    }

    /// What was changed under the open key is taken back.
    pub(super) fn cancel_group(&mut self) {
        self.group = None;
        self.history.cancel();
        self.changed();
    }

    /// Takes the last step back; answers with its name.
    pub(super) fn undo(&mut self) -> Option<String> {
        self.group = None;
        let label = self.history.undo()?;
        self.changed();
        Some(label)
    }

    /// Makes the step again; answers with its name.
    pub(super) fn redo(&mut self) -> Option<String> {
        self.group = None;
        let label = self.history.redo()?;
        self.changed();
        Some(label)
    }

    /// The steps for the tooltips of undo and redo.
    pub(super) fn undo_and_redo_labels(&self) -> (Option<&str>, Option<&str>) {
        (self.history.undo_label(), self.history.redo_label())
    }

    /// What a copy for the case of a crash is made of.
    pub(super) fn draft(&self) -> Draft {
        let save = Box::new(self.to_save(self.case_path.clone().unwrap_or_default()));
        Draft::Case(save, self.case_path.clone(), self.folder())
    }

    /// What a writer on another thread needs.
    pub(super) fn to_save(&self, path: PathBuf) -> Save {
        Save {
            path,
            case: self.history.current().clone(),
            photo: self.photo_path.clone(),
            photo_sha256: self.photo_sha256.clone(),
            references: self.references_file.clone(),
            guide: self.weighing.file.clone(),
            flat_field: self.empty_boards.file(self.case().flat_field.as_deref()),
        }
    }

    /// These marks are in that file now.
    pub(super) fn saved_as(&mut self, path: PathBuf, case: Arc<CaseDocument>) {
        self.case_path = Some(path);
        self.history.mark_saved(case);
        self.references_saved = true;
    }

    /// The folder that the paths in the case are relative to.
    pub(super) fn folder(&self) -> PathBuf {
        let file = self.case_path.as_ref().unwrap_or(&self.photo_path);
        file.parent().map(Path::to_owned).unwrap_or_default()
    }

    /// Whether anything would be lost. A photo without any mark loses nothing.
    pub(super) fn is_unsaved(&self) -> bool {
        let untouched = self.case_path.is_none()
            && marks::all(self.case()).is_empty()
            && self.case().observations.is_empty()
            && self.case().board.is_none()
            && self.case().flat_field.is_none();
        !untouched && (self.history.is_unsaved() || !self.references_saved)
    }

    /// Compares with other shades from now on.
    pub(super) fn use_references(&mut self, file: PathBuf, references: Arc<References>) {
        // The same file read again changes nothing about what the case says.
        self.references_saved &= self.references_file.as_ref() == Some(&file);
        self.references_file = Some(file);
        self.references = Some(references);
        self.changed();
    }

    /// What it was compared with, and where that is.
    pub(super) fn into_references(self) -> Option<(Arc<References>, PathBuf)> {
        self.references.zip(self.references_file)
    }

    /// Weighs the figure with another guide from now on, or with that of the case as it was read again.
    pub(super) fn use_guide(&mut self, file: PathBuf, guide: OpenGuide) -> Result<(), Problem> {
        let file = std::path::absolute(&file).unwrap_or(file);
        let own = self.weighing.file.as_ref().and_then(|own| std::path::absolute(own).ok());
        let name = match self.case().guide.as_ref().filter(|_| own.as_ref() == Some(&file)) {
            Some(name) => name.clone(),
            None => file.display().to_string(),
        };
        self.weighing.learn(&name, file, guide);
        if self.case().guide.as_ref() == Some(&name) {
            self.weigh();
            return Ok(());
        }
        self.edit(Edit::SetGuide(Some(name)))
    }

    /// Takes in what the measuring and the weighing thread have finished.
    pub(super) fn poll(&mut self) {
        while let Some(arrived) = self.measuring.poll() {
            let arrived =
                arrived.unwrap_or_else(|text| Measured { generation: self.generation, outcome: Err(text) });
            if self.outcome.as_ref().is_none_or(|old| old.generation <= arrived.generation) {
                self.outcome = Some(arrived);
            }
        }
        self.weighing.poll();
        self.weigh();
    }

    /// The newest result; it may lag behind the marks while [`Session::is_measuring`].
    pub(super) fn measurement(&self) -> Option<&Measurement> {
        self.outcome.as_ref()?.outcome.as_ref().ok().map(|outcome| &outcome.measurement)
    }

    /// The newest result as a reference set keeps it.
    pub(super) fn specimen_readings(&self) -> Vec<measure::SpecimenReading> {
        let Some(Measured { outcome: Ok(outcome), .. }) = &self.outcome else { return Vec::new() };
        let inputs = Inputs {
            raster: &self.raster,
            facts: &self.facts,
            case: self.case(),
            references: self.references.as_deref(),
            flat_field: None,
        };
        measure::specimen_readings(&inputs, outcome)
    }

    /// What could not be measured or used.
    pub(super) fn mark_problems(&self) -> impl Iterator<Item = &MarkProblem> {
        let outcome = self.outcome.as_ref().and_then(|measured| measured.outcome.as_ref().ok());
        outcome.into_iter().flat_map(|outcome| outcome.problems.iter().chain(&outcome.left_out))
    }

    /// A number that grows with every change of the marks.
    pub(super) fn generation(&self) -> u64 {
        self.generation
    }

    /// Why there is no result at all.
    pub(super) fn failure(&self) -> Option<&str> {
        self.outcome.as_ref()?.outcome.as_ref().err().map(String::as_str)
    }

    /// Whether the result is not that of the marks as they are now.
    pub(super) fn is_measuring(&self) -> bool {
        self.outcome.as_ref().is_none_or(|outcome| outcome.generation != self.generation)
    }

    /// The same, once a person would wonder; before that, the time until then.
    pub(super) fn is_measuring_slowly(&self) -> Result<bool, Duration> {
        match (self.is_measuring(), SHOW_AFTER.saturating_sub(self.changed_at.elapsed())) {
            (true, wait) if !wait.is_zero() => Err(wait),
            (measuring, _) => Ok(measuring),
        }
    }

    fn apply(&mut self, edit: Edit) -> Result<(), Problem> {
        self.history.apply(&edit)?;
        match &edit {
            Edit::Rename(mark, id) if self.selected.as_ref() == Some(mark) => {
                self.selected = Some(MarkKey { kind: mark.kind, id: id.clone() });
            }
            Edit::AddReading(_) | Edit::AddZone(_) => self.selected = marks::added_key(&edit),
            _ => {}
        }
        self.changed();
        Ok(())
    }

    fn changed(&mut self) {
        // The clock runs from the first change that was not measured yet.
        if !self.is_measuring() {
            self.changed_at = Instant::now();
        }
        self.generation += 1;
        self.weighing.name(self.history.current().guide.as_deref());
        self.measuring.want(vec![Job {
            generation: self.generation,
            raster: self.raster.clone(),
            facts: self.facts.clone(),
            case: self.history.current().clone(),
            references: self.references.clone(),
            flat_field: self.empty_boards.field(self.case().flat_field.as_deref()),
        }]);
        self.weigh();
    }

    /// Where the result lags behind the marks, its readings are those of the marks before: it is weighed again with
    /// the next result.
    fn weigh(&mut self) {
        let measured = self.outcome.as_ref();
        let measured = measured.and_then(|m| m.outcome.as_ref().ok().map(|outcome| (m.generation, outcome)));
        self.weighing.follow(&Now {
            marks: (self.generation, self.history.current()),
            measured,
            references: self.references.as_ref(),
        });
    }
}

fn run(job: &Job, cache: &mut AreaCache) -> Measured {
    let inputs = Inputs {
        raster: &job.raster,
        facts: &job.facts,
        case: &job.case,
        references: job.references.as_deref(),
        flat_field: job.flat_field.as_deref(),
    };
    let outcome = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| {
        let marked = crate::tray::sort::marked_in(&job.case);
        measure::measure(&inputs, &measure::Options { marked, ..measure::Options::default() }, cache)
    }));
    let outcome = outcome.map_err(|_| {
        // What was half-way into it cannot be trusted.
        *cache = AreaCache::default();
        "The measurement failed inside the program. Undo the last change, and save your marks.".to_owned()
    });
    Measured { generation: job.generation, outcome: outcome.map(Arc::new) }
}

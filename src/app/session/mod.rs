//! An open case: its photo, marks with their past, and the newest result.

mod edits;
mod measured;
mod named_files;
mod saving;

use std::path::PathBuf;
use std::sync::Arc;
use std::time::Instant;

use crate::case::{CaseDocument, Edit, History, MarkKey};
use crate::guide::{Guide, slot_words};
use crate::jobs::{Wake, Worker};
use crate::measure::{AreaCache, FlatField, OtherPhoto};
use crate::problem::Problem;
use crate::raster::{PhotoFacts, Raster};
use crate::shade::References;

use super::figure::weighing::{Now, OpenGuide, Weighing};
use super::files::open::Opened;
pub(super) use edits::GroupKey;
use measured::{Job, Measured, run};
pub(super) use named_files::{NamedFile, NamedFiles};

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
    pub empty_boards: NamedFiles<FlatField>,
    /// The other photos of the same parts.
    pub other_photos: NamedFiles<OtherPhoto>,
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

impl Session {
    /// Shows a case that was opened, and starts to measure it.
    pub(super) fn new(opened: Opened, wake: Wake) -> Self {
        let mut cache = AreaCache::default();
        let weighing =
            Weighing::new(opened.case.guide.as_deref(), opened.guide, opened.guide_file, wake.clone());
        let empty_boards = NamedFiles::opened(opened.flat_field);
        let other_photos = NamedFiles::opened(opened.other_photos);
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
            other_photos,
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

    /// The photo wherever the program was started from.
    pub(super) fn photo_file(&self) -> PathBuf {
        std::path::absolute(&self.photo_path).unwrap_or_else(|_| self.photo_path.clone())
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

    /// A slot's name for people.
    pub(super) fn slot_words(&self, id: &str) -> String {
        slot_words(self.guide(), id)
    }

    /// The guide of the case, if one could be read.
    pub(super) fn guide(&self) -> Option<&Guide> {
        self.weighing.guide.as_ref().map(|open| &*open.guide)
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

//! Keeps a copy of unsaved marks, of an unsaved guide or of unsaved shades, so that a crash loses a second of work at most.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, Instant};

use crate::jobs::{Wake, Worker};
use crate::problem::Problem;
use crate::storage::{Journal, TypedShade};

use super::save::Save;
use crate::guide::Guide;
use crate::shade::References;
use crate::storage::Unsaved;

/// No copy is made sooner after the last one.
const PAUSE: Duration = Duration::from_secs(1);

/// Copies on a thread of its own.
pub(in crate::app) struct Keeper {
    worker: Worker<Job, Problem>,
    kept: Option<u64>,
    last: Option<Instant>,
    serial: u64,
}

#[derive(Debug, Clone)]
struct Job {
    serial: u64,
    work: Work,
}

#[derive(Debug, Clone)]
enum Work {
    Keep(Draft),
    Clear,
}

/// What is to be copied.
#[derive(Debug, Clone)]
pub(in crate::app) enum Draft {
    /// Marks, the case's file if it has one, and the folder its paths start from.
    Case(Box<Save>, Option<PathBuf>, PathBuf),
    /// A guide and its file if it has one.
    Guide(Arc<Guide>, Option<PathBuf>),
    /// Shades being built.
    Shades {
        /// As they are, if they are unsaved.
        references: Option<Arc<References>>,
        /// What was typed and is not in them.
        typed: Vec<TypedShade>,
        /// Their file if they have one.
        file: Option<PathBuf>,
        /// The path typed for them.
        path: PathBuf,
        /// What is open beside them.
        beside: Option<PathBuf>,
    },
}

impl Draft {
    fn keep(&self, journal: &Journal) -> Result<(), Problem> {
        match self {
            Draft::Case(save, file, folder) => {
                journal.keep(&Unsaved::Case(Box::new(save.as_written(folder))), file.as_deref(), folder)
            }
            Draft::Guide(guide, file) => {
                let folder = file.as_deref().and_then(Path::parent).unwrap_or(Path::new(""));
                journal.keep(&Unsaved::Guide(Box::new(Guide::clone(guide))), file.as_deref(), folder)
            }
            Draft::Shades { references, typed, file, path, beside } => {
                let references = references.as_deref().cloned().map(Box::new);
                let folder = path.parent().unwrap_or(Path::new(""));
                let work = Unsaved::Shades { references, typed: typed.clone(), beside: beside.clone() };
                journal.keep(&work, file.as_deref(), folder)
            }
        }
    }
}

impl PartialEq for Job {
    fn eq(&self, other: &Self) -> bool {
        self.serial == other.serial
    }
}

impl Keeper {
    /// Keeps copies in the data folder, or goes on in a journal that was taken over. Without a folder
    /// nothing is kept.
    pub(in crate::app) fn start(data_folder: Option<&Path>, journal: Option<Journal>, wake: Wake) -> Self {
        let folder = data_folder.map(Path::to_owned);
        let mut journal = journal.map(Ok);
        let worker = Worker::start("autosave", wake, move |job: &Job, _| {
            let folder = folder.as_deref()?;
            // Opened with the first copy, so that a window that only looks leaves nothing behind.
            if journal.is_none() && matches!(job.work, Work::Clear) {
                return None;
            }
            let journal = journal.get_or_insert_with(|| Journal::open(folder)).as_ref();
            let done = match (journal, &job.work) {
                (Err(problem), _) => Err(problem.clone()),
                (Ok(journal), Work::Keep(draft)) => draft.keep(journal),
                (Ok(journal), Work::Clear) => journal.clear(),
            };
            done.err()
        });
        Self { worker, kept: None, last: None, serial: 0 }
    }

    /// Copies a document where it has changed since the last look: `now` numbers its states, `None` where nothing is
    /// unsaved. Answers when to look again, where that is to be soon.
    pub(in crate::app) fn look(
        &mut self,
        now: Option<u64>,
        draft: impl FnOnce() -> Option<Draft>,
    ) -> Option<Duration> {
        if now == self.kept {
            return None;
        }
        let wait = self.last.map_or(Duration::ZERO, |last| PAUSE.saturating_sub(last.elapsed()));
        // What was saved needs no copy any more, at once.
        if !wait.is_zero() && now.is_some() {
            return Some(wait);
        }
        self.kept = now;
        self.last = Some(Instant::now());
        self.send(now.and_then(|_| draft()).map_or(Work::Clear, Work::Keep));
        None
    }

    /// The person does not want what is unsaved.
    pub(super) fn forget(&mut self) {
        self.kept = None;
        self.send(Work::Clear);
    }

    /// Why no copy could be made.
    pub(in crate::app) fn trouble(&self) -> Option<Problem> {
        self.worker.poll()?.ok()
    }

    /// Waits until everything is written, at the end.
    pub(super) fn finish(&self) {
        let end = Instant::now() + Duration::from_secs(3);
        while self.worker.busy() && Instant::now() < end {
            std::thread::sleep(Duration::from_millis(2));
        }
    }

    fn send(&mut self, work: Work) {
        self.serial += 1;
        self.worker.want(vec![Job { serial: self.serial, work }]);
    }
}

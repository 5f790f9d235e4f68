//! A folder of photos sorted from the window: on a thread of its own, with progress, to be stopped and gone on with.

use std::path::PathBuf;
use std::sync::{Arc, Mutex, PoisonError};

use crate::folder::{How, Order, Wanted, sort_all};
use crate::jobs::{Progress, Task};
use crate::problem::Problem;

use crate::app::state::State;

/// A folder being sorted.
pub(in crate::app) struct FolderWork {
    task: Task<Result<(How, PathBuf), Problem>>,
    told: Arc<Mutex<String>>,
    /// The person has asked it to stop after the photos in hand.
    stopping: Arc<std::sync::atomic::AtomicBool>,
}

impl FolderWork {
    /// How far it is, in words.
    pub(in crate::app) fn told(&self) -> String {
        let told = self.told.lock().unwrap_or_else(PoisonError::into_inner).clone();
        if self.stopping.load(std::sync::atomic::Ordering::Relaxed) {
            format!("{told} Stopping after the photos in hand…")
        } else {
            told
        }
    }

    /// Ends it after the photos in hand.
    pub(super) fn stop(&self) {
        self.stopping.store(true, std::sync::atomic::Ordering::Relaxed);
    }
}

impl State {
    /// Sorts all photos of a folder; `known` are the shades in the boxes of the card, with commas.
    pub(super) fn sort_folder(&mut self, folder: PathBuf, known: &str) {
        let known = known.split(',').map(str::trim).filter(|shade| !shade.is_empty()).map(str::to_owned);
        let wanted = Wanted {
            folder,
            out: None,
            references: self.session.as_ref().and_then(|session| session.references_file.clone()),
            card: None,
            known: known.collect(),
            confidence: crate::measure::Options::default().confidence,
            threads: None,
        };
        let told = Arc::new(Mutex::new("Sorting the folder…".to_owned()));
        let stopping = Arc::new(std::sync::atomic::AtomicBool::new(false));
        let (say, stop, wake) = (told.clone(), stopping.clone(), self.wake.clone());
        let work = move |progress: &Progress| {
            let order = Order::of(&wanted)?;
            let is_over = || progress.cancelled() || stop.load(std::sync::atomic::Ordering::Relaxed);
            let how = sort_all(&order, &is_over, &|now| {
                let left = now.left.map(|left| format!(", about {} s left", left.as_secs().max(1)));
                let text =
                    format!("Sorting photos: {} of {} done{}.", now.done, now.all, left.unwrap_or_default());
                *say.lock().unwrap_or_else(PoisonError::into_inner) = text;
                wake();
            })?;
            Ok((how, order.out))
        };
        let task = Task::start("Sorting the folder".into(), self.wake.clone(), work);
        self.tray.folder = Some(FolderWork { task, told, stopping });
    }

    /// Tells how it ended.
    pub(super) fn poll_folder(&mut self) {
        let Some(result) = self.tray.folder.as_ref().and_then(|work| work.task.poll()) else { return };
        self.tray.folder = None;
        match result {
            Ok(Ok((how, out))) => {
                let failed = match how.failed {
                    0 => String::new(),
                    n => format!(" {n} of them could not be sorted; the table says why."),
                };
                let on = if how.stopped { " Sort the folder again to go on." } else { "" };
                let what = if how.stopped { "Stopped. Photos done: " } else { "Photos sorted: " };
                self.tell(
                    format!("{what}{}.{failed}", how.done),
                    format!("Tables, numbered pictures and a contact sheet are in {}.{on}", out.display()),
                );
            }
            Ok(Err(problem)) => self.message = Some(problem.into()),
            Err(text) => self.tell(text, "Try it on the command line: sameshot sort FOLDER."),
        }
    }
}

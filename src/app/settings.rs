//! What the person chose for the window, kept between two starts.

use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use crate::jobs::{Wake, Worker};
use crate::problem::Problem;
use crate::storage::{Settings, ThemeChoice, save_settings, settings};

/// The settings, and the thread that writes them.
pub(super) struct KeptSettings {
    now: Settings,
    worker: Option<Worker<Settings, Problem>>,
    trouble: Option<Problem>,
}

impl KeptSettings {
    /// Reads the settings before the window shows, so that it begins with the right greys: a small file. Without a
    /// folder nothing is kept.
    pub(super) fn read(folder: Option<&Path>, wake: Wake) -> Self {
        let (now, trouble) = folder.map(settings).unwrap_or_default();
        let keep = |folder: PathBuf| {
            Worker::start("settings", wake, move |now: &Settings, _| save_settings(&folder, now).err())
        };
        Self { now, worker: folder.map(Path::to_owned).map(keep), trouble }
    }

    /// The greys chosen.
    pub(super) fn theme(&self) -> Option<ThemeChoice> {
        self.now.theme
    }

    /// Other greys.
    pub(super) fn choose_theme(&mut self, theme: ThemeChoice) {
        self.now.theme = Some(theme);
        if let Some(worker) = &self.worker {
            worker.want(vec![self.now.clone()]);
        }
    }

    /// What went wrong in reading or writing them.
    pub(super) fn trouble(&mut self) -> Option<Problem> {
        self.trouble.take().or_else(|| self.worker.as_ref()?.poll()?.ok())
    }

    /// Waits until they are written, at the end.
    pub(super) fn finish(&self) {
        let end = Instant::now() + Duration::from_secs(3);
        while self.worker.as_ref().is_some_and(Worker::busy) && Instant::now() < end {
            std::thread::sleep(Duration::from_millis(2));
        }
    }
}

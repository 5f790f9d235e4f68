//! Opening, saving and leaving: what becomes of files and of unsaved marks.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::case::{CaseDocument, PathRule};
use crate::jobs::Task;
use crate::shade::References;
use crate::storage::{self, Journal, Unsaved};

use super::keeper::Keeper;
use super::open::{self, Opened};
use super::save::Saved;
use super::start::{self, short_name};
use crate::app::action::{Action, Ask, Next, Sheet, Tab, Tool, Work};
use crate::app::family::act::NEW_SHADES;
use crate::app::session::Session;
use crate::app::state::State;

impl State {
    /// Shows a case that was opened.
    pub(in crate::app) fn show(&mut self, mut opened: Opened) {
        self.message = None;
        if !opened.problems.is_empty() {
            self.message = Some(opened.problems.remove(0).into());
        }
        self.remember(opened.case_path.as_ref().unwrap_or(&opened.photo_path).clone());
        self.keeper.forget();
        if let Some(journal) = self.taken_over.take() {
            self.keeper = Keeper::start(self.data_folder.as_deref(), Some(journal), self.wake.clone());
        }
        if let Some(case) = &opened.case_beside {
            self.sheet = Some(Sheet::HasCase(case.clone()));
        }
        if let Some(card) = crate::app::card_file::card_of(&opened.case) {
            self.card = card;
        }
        let before = self.session.take();
        let had_one = before.is_some();
        let unmarked =
            opened.case_path.is_none() && opened.case.zones.is_empty() && opened.case.readings.is_empty();
        let mut session = Session::new(opened, self.wake.clone());
        // Of an evening's photos one after the other: the shades stay until others are chosen.
        if let Some((references, file)) = before.filter(|_| unmarked).and_then(Session::into_references) {
            session.use_references(file, references);
        }
        self.session = Some(session);
        self.collection.shown = false;
        self.beside = None;
        self.opening_beside = None;
        self.view = None;
        self.corners.clear();
        self.tool = Tool::Choose;
        // A first photo may have been opened for what is shown beside it.
        if had_one {
            self.tab = Tab::Parts;
        }
        self.figure_slot = None;
        self.tray.forget();
        self.shade_layer.forget();
    }

    /// Leaves the case for something else, asking first where marks are unsaved.
    pub(in crate::app) fn leave_for(&mut self, next: Next) {
        if self.session.as_ref().is_some_and(Session::is_unsaved) {
            self.sheet = Some(Sheet::Unsaved(next));
        } else {
            self.go(next);
        }
    }

    /// Saves where the case was, or asks where.
    pub(in crate::app) fn save(&mut self) {
        let Some(session) = &self.session else { return };
        match &session.case_path {
            Some(path) if !start::is_demo(path) => self.save_to(path.clone()),
            Some(_) => self.ask = Some(Ask::Save),
            None if start::is_demo(&session.photo_path) => self.ask = Some(Ask::Save),
            None => {
                let path = open::case_path_beside(&session.photo_path);
                self.act(Action::SaveTo { path, replace: false });
            }
        }
    }

    /// Saves, then goes on with what was asked for before.
    pub(in crate::app) fn save_then(&mut self, next: Next) {
        self.sheet = None;
        self.after_save = Some(next);
        self.save();
    }

    pub(in crate::app) fn go(&mut self, next: Next) {
        match next {
            Next::Quit if self.guide_is_unsaved() => self.sheet = Some(Sheet::UnsavedWork(Work::Guide)),
            Next::Quit if self.gathering.unsaved_state().is_some() => {
                self.sheet = Some(Sheet::UnsavedWork(Work::Shades))
            }
            Next::Quit => {
                for keeper in [&mut self.keeper, &mut self.guide_keeper, &mut self.shades_keeper] {
                    keeper.forget();
                    keeper.finish();
                }
                self.settings.finish();
                self.quit = true;
            }
            Next::Open(path) => {
                // The demo is the program's own; its shades lie beside its folder.
                let trusted = start::is_demo(&path);
                let rule = if trusted { PathRule::ChosenByHand } else { PathRule::InsideFolder };
                self.load(path, rule);
            }
        }
    }

    pub(in crate::app) fn load(&mut self, path: PathBuf, rule: PathRule) {
        let label = format!("Reading {}", short_name(&path));
        self.message = None;
        self.taken_over = None;
        let work = move |progress: &_| open::open(&path, rule, progress);
        self.loading = Some(Task::start(label, self.wake.clone(), work));
    }

    /// Why unsaved work cannot be gone on with now: the window holds one of each kind, and it may be unsaved, too.
    pub(in crate::app) fn why_not_recover(&self, work: &Unsaved) -> Option<&'static str> {
        let marks = self.taken_over.is_some() || self.session.as_ref().is_some_and(Session::is_unsaved);
        match work {
            Unsaved::Case(_) if marks => Some("Save the marks in hand first."),
            Unsaved::Guide(_) if self.guide_is_unsaved() => Some("Save the guide in hand first."),
            Unsaved::Shades { .. } if self.gathering.unsaved_state().is_some() => {
                Some("Add and save the shades in hand first.")
            }
            _ => None,
        }
    }

    /// Goes on with unsaved work. What else there is stays on offer, so far as it fits beside.
    pub(in crate::app) fn recover(&mut self, number: usize) {
        let work = self.found.recoverable.get(number);
        if work.is_none_or(|work| self.why_not_recover(&work.work).is_some()) {
            return;
        }
        let work = self.found.recoverable.remove(number);
        let (file, folder) = (work.file.clone(), work.folder.clone());
        match work.take_over() {
            (Unsaved::Case(case), journal) => self.go_on_with_case(*case, file, &folder, journal),
            (Unsaved::Guide(guide), journal) => self.go_on_with_guide(*guide, file, journal),
            (Unsaved::Shades { references, typed, beside }, journal) => {
                if let Some(references) = references {
                    let path = file.clone().unwrap_or_else(|| folder.join(NEW_SHADES));
                    self.gathering.go_on_with(*references, file, &path);
                }
                self.gathering.go_on_typing(typed);
                self.shades_keeper =
                    Keeper::start(self.data_folder.as_deref(), Some(journal), self.wake.clone());
                self.tab = Tab::Family;
                if let (None, None, Some(path)) = (&self.session, &self.loading, beside) {
                    self.leave_for(Next::Open(path));
                }
            }
        }
        let more = self.found.recoverable.iter().any(|work| self.why_not_recover(&work.work).is_none());
        self.sheet = more.then_some(Sheet::Recover);
    }

    fn go_on_with_case(
        &mut self,
        case: CaseDocument,
        file: Option<PathBuf>,
        folder: &Path,
        journal: Journal,
    ) {
        self.taken_over = Some(journal);
        let folder = folder.to_owned();
        let label = format!("Reading {}", case.photo);
        let work = move |progress: &_| open::reopen(case, file, &folder, progress);
        self.loading = Some(Task::start(label, self.wake.clone(), work));
    }

    pub(in crate::app) fn forget_recoverable(&mut self, number: usize) {
        if number < self.found.recoverable.len()
            && let Err(problem) = self.found.recoverable.remove(number).discard()
        {
            self.message = Some(problem.into());
        }
        if self.found.recoverable.is_empty() {
            self.sheet = None;
        }
    }

    /// Puts a file first in the list of those opened last, on a thread: the disk may be slow.
    fn remember(&mut self, path: PathBuf) {
        let Some(folder) = self.data_folder.clone().filter(|_| !start::is_demo(&path)) else { return };
        self.errands.add(move || {
            // The list is a convenience; the file is open all the same.
            let _ = storage::add_recent(&folder, &path);
        });
    }

    pub(in crate::app) fn save_to(&mut self, path: PathBuf) {
        let Some(session) = &mut self.session else { return };
        session.close_group();
        let save = session.to_save(path);
        let work = move |_: &_| save.write();
        self.saving = Some(Task::start("Saving".into(), self.wake.clone(), work));
    }

    pub(in crate::app) fn saved(&mut self, saved: Saved) {
        match saved.result {
            Ok(()) => {
                self.remember(saved.path.clone());
                self.with_session(|session| session.saved_as(saved.path, saved.case));
                if let Some(next) = self.after_save.take() {
                    self.go(next);
                }
            }
            Err(problem) => {
                self.after_save = None;
                self.message = Some(problem.into());
            }
        }
    }

    pub(in crate::app) fn read_references(&mut self, path: PathBuf) {
        let work = move |_: &_| {
            let references = storage::open_references(&path);
            (path, references)
        };
        self.reading_references = Some(Task::start("Reading the shades".into(), self.wake.clone(), work));
    }

    pub(in crate::app) fn use_references(&mut self, path: &Path, references: References) {
        let Some(session) = &mut self.session else { return };
        session.use_references(path.to_owned(), Arc::new(references));
    }
}

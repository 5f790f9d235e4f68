//! Two photos side by side: what the page and keys ask for, done.

use std::path::PathBuf;

use crate::case::PathRule;
use crate::jobs::Task;
use crate::tray::shade_gains::gains;

use super::beside::{Beside, CompareAction, Side};
use crate::app::action::Tool;
use crate::app::bench::view::{Bench, View};
use crate::app::files::open::{self, Refusal};
use crate::app::files::start::{is_demo, short_name};
use crate::app::state::State;

impl State {
    /// Does what the page asked for.
    pub(in crate::app) fn act_on_compare(&mut self, action: CompareAction) {
        if let CompareAction::Open(path) = action {
            return self.open_beside(path);
        }
        let first = self.current_view().zip(self.photo_px());
        let Some((beside, (first, first_px))) = self.beside.as_mut().zip(first) else { return };
        match action {
            CompareAction::Look(Side::First, view) => {
                if beside.together {
                    let photo_px = beside.session.photo_px();
                    let now = beside.current_view();
                    beside.view = Some(now.moved_like(photo_px, &beside.bench, &first, &view));
                }
                self.view = Some(view);
            }
            CompareAction::Look(Side::Second, view) => {
                if beside.together {
                    let before = beside.current_view();
                    self.view = Some(first.moved_like(first_px, &self.bench, &before, &view));
                }
                beside.view = Some(view);
            }
            CompareAction::Together(together) => beside.together = together,
            CompareAction::Levelled(levelled) => beside.levelled = levelled,
            CompareAction::Focus(side) => beside.keys = side,
            CompareAction::Open(_) => {}
            CompareAction::Close => self.beside = None,
        }
    }

    fn open_beside(&mut self, path: PathBuf) {
        let Some(session) = &self.session else { return };
        let (raster, case) = (session.raster.clone(), session.shared_case());
        // As when it is opened by itself.
        let rule = if is_demo(&path) { PathRule::ChosenByHand } else { PathRule::InsideFolder };
        let label = format!("Reading {}", short_name(&path));
        let work = move |progress: &_| {
            let case_of_photo = Some(open::case_path_beside(&path)).filter(|case| case.exists());
            let path = case_of_photo.filter(|_| !open::is_case(&path)).unwrap_or(path);
            let opened = open::open(&path, rule, progress)?;
            Some(opened.map(|opened| {
                let levels = [gains(&raster, &case, None), gains(&opened.raster, &opened.case, None)];
                (Box::new(opened), levels)
            }))
        };
        self.opening_beside = Some(Task::start(label, self.wake.clone(), work));
    }

    /// Takes in the second photo and what was measured of it.
    pub(in crate::app) fn poll_beside(&mut self) {
        if let Some(beside) = &mut self.beside {
            beside.session.poll();
        }
        let Some(result) = self.opening_beside.as_ref().and_then(Task::poll) else { return };
        self.opening_beside = None;
        match result {
            Ok(Some(Ok((opened, levels)))) => {
                self.collection.shown = false;
                self.tool = Tool::Choose;
                self.with_session(|session| session.select(None));
                self.corners.clear();
                self.beside = Some(Beside::new(*opened, levels, self.wake.clone()));
            }
            Ok(Some(Err(Refusal::Problem(problem)))) => self.message = Some(problem.into()),
            Ok(Some(Err(Refusal::Outside(_, problem)))) => {
                self.tell(
                    problem.message,
                    "Open that case by itself first, if it is yours, and save it anew.",
                );
            }
            Ok(None) => {}
            Err(text) => self.tell(text, "Try another file."),
        }
    }

    /// Changes how a photo is seen; of two side by side the one with the keys, or both where they move together.
    pub(in crate::app) fn look_with(&mut self, change: impl Fn(&View, [f64; 2], &Bench) -> View) {
        let keys = self.beside.as_ref().map_or((true, false), |beside| {
            let second = beside.keys == Side::Second;
            (!second || beside.together, second || beside.together)
        });
        if let (true, Some(view), Some(photo_px)) = (keys.0, self.current_view(), self.photo_px()) {
            self.view = Some(change(&view, photo_px, &self.bench));
        }
        if let (true, Some(beside)) = (keys.1, &mut self.beside) {
            let view = change(&beside.current_view(), beside.session.photo_px(), &beside.bench);
            beside.view = Some(view);
        }
    }
}

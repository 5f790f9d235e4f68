//! What the window does about what its panels ask for, and with what other threads have finished.

use super::action::{Action, CardSheet, Next, Sheet, Work};
use super::card;
use super::command::Command;
use super::files::keeper::Keeper;
use super::files::open::Refusal;
use super::guide::action::GuideAction;
use super::session::Session;
use super::state::State;
use crate::case::PathRule;
use crate::jobs::Task;
use crate::raster::Shape;

impl State {
    /// Does what a panel asked for.
    pub(super) fn act(&mut self, action: Action) {
        match action {
            Action::Run(command) => super::command::run(self, command),
            Action::Open(path) => self.leave_for(Next::Open(path)),
            Action::OpenOutside(path) => self.load(path, PathRule::ChosenByHand),
            Action::Recover(number) => self.recover(number),
            Action::ForgetRecoverable(number) => self.forget_recoverable(number),
            Action::SaveTo { path, replace } => {
                self.sheet = None;
                if !replace && path.exists() {
                    self.sheet = Some(Sheet::Replace(path));
                } else {
                    self.save_to(path);
                }
            }
            Action::UseReferences(path) => self.read_references(path),
            Action::UseGuide(path) => self.read_guide(path),
            Action::UseEmptyBoard(path) => self.read_empty_board(path),
            Action::UseOtherPhoto(path) => self.read_other_photo(path),
            Action::Family(action) => self.act_on_family(action),
            Action::Guide(action) => self.act_on_guide(action),
            Action::Figure(action) => self.act_on_figure(action),
            Action::Tray(action) => self.act_on_tray(action),
            Action::Collection(action) => self.act_on_collection(action),
            Action::Compare(action) => self.act_on_compare(action),
            Action::WriteCardPage(page) => self.write_card_page(&page),
            Action::Report { path, replace } => self.write_report(path, replace),
            Action::CancelTask => {
                self.reporting = None;
                self.reading_guide = None;
                self.reading_empty_board = None;
                self.reading_other_photo = None;
                self.opening_beside = None;
                self.tray.looking = None;
                self.tray.growing = None;
                self.tray.bodies = None;
                self.reading_to_edit = None;
                self.loading = None;
                self.reading_references = None;
                self.taken_over = None;
            }
            Action::Draw(shape) => self.draw(shape),
            Action::Edit(edit) => self.try_edit(|session| session.edit(edit)),
            Action::EditIn(key, edit) => self.try_edit(|session| session.edit_in(key, edit)),
            Action::EndGroup => {
                self.with_session(Session::close_group);
            }
            Action::CancelGroup => {
                self.with_session(Session::cancel_group);
            }
            Action::Convert(mark) => self.convert(&mark),
            Action::Take(mark) => {
                self.focus_mark = mark.is_some();
                self.with_session(|session| session.select(mark));
            }
            Action::Reveal(mark) => {
                self.focus_mark = true;
                self.reveal_mark = true;
                self.with_session(|session| session.select(Some(mark)));
            }
            Action::Corner(point, reach_px) => self.add_corner(point, reach_px),
            Action::EndPolygon { keep } => {
                let corners = std::mem::take(&mut self.corners);
                let shape = Shape::Polygon(corners);
                let whole = matches!(&shape, Shape::Polygon(corners) if corners.len() >= 3);
                if keep && whole && !self.redrawn(&shape) {
                    self.draw(shape);
                }
            }
            Action::Look(view) => self.view = Some(view),
            Action::SetCard(sheet) => match card::read_list(&sheet.list) {
                Ok(steps) => {
                    self.sheet = None;
                    self.use_card(steps);
                }
                Err(error) => self.sheet = Some(Sheet::CardList(CardSheet { error: Some(error), ..sheet })),
            },
            Action::ReadCard(path) => self.read_card(path),
            Action::WriteCard(path, list) => self.write_card(path, &list),
            Action::Show(sheet) => {
                self.sheet = sheet;
                self.after_save = None;
            }
            Action::Discard => {
                if let Some(Sheet::Unsaved(next)) = self.sheet.take() {
                    self.go(next);
                }
            }
            Action::LeaveWork(work) => {
                self.sheet = None;
                match work {
                    Work::Guide => self.editor = None,
                    Work::Shades => self.gathering.forget(),
                }
                self.go(Next::Quit);
            }
            Action::ShowWork(Work::Guide) => self.act_on_guide(GuideAction::Show),
            Action::ShowWork(Work::Shades) => super::command::run(self, Command::ShowFamily),
            Action::SaveFirst(next) => self.save_then(next),
            Action::DismissMessage => self.message = None,
        }
    }

    /// Takes in what other threads have finished.
    pub(super) fn poll(&mut self) {
        if let Some(session) = &mut self.session {
            session.poll();
        }
        self.poll_family();
        self.poll_guide();
        self.poll_empty_board();
        self.poll_other_photo();
        self.poll_tray();
        self.poll_shade_map();
        self.follow_light();
        self.poll_beside();
        self.poll_collection();
        self.poll_report();
        self.poll_editor();
        self.poll_card();
        if let Some(result) = self.loading.as_ref().and_then(Task::poll) {
            self.loading = None;
            match result {
                Ok(Some(Ok(opened))) => self.show(opened),
                Ok(Some(Err(Refusal::Problem(problem)))) => self.message = Some(problem.into()),
                Ok(Some(Err(Refusal::Outside(path, problem)))) => {
                    self.sheet = Some(Sheet::Outside(path, problem.message));
                }
                Ok(None) => {}
                Err(text) => self.tell(text, "Try another file."),
            }
        }
        if let Some(found) = self.starting.as_ref().and_then(Task::poll) {
            self.starting = None;
            self.found = found.unwrap_or_default();
            self.collection.folder = self.collection.folder.take().or_else(|| self.found.collection.take());
            if !self.found.recoverable.is_empty() && self.sheet.is_none() {
                self.sheet = Some(Sheet::Recover);
            }
        }
        let keepers = [&self.keeper, &self.guide_keeper, &self.shades_keeper];
        if let Some(problem) = keepers.into_iter().find_map(Keeper::trouble) {
            self.message = Some(problem.into());
        }
        // What is told of a photo would take its place.
        if self.message.is_none() && self.loading.is_none() {
            self.message = self.settings.trouble().map(Into::into);
        }
        if let Some(result) = self.saving.as_ref().and_then(Task::poll) {
            self.saving = None;
            match result {
                Ok(saved) => self.saved(saved),
                Err(text) => self.tell(text, "Save again, under another name if need be."),
            }
        }
        if let Some(result) = self.reading_references.as_ref().and_then(Task::poll) {
            self.reading_references = None;
            match result {
                Ok((path, Ok(references))) => self.use_references(&path, references),
                Ok((_, Err(problem))) => self.message = Some(problem.into()),
                Err(text) => self.tell(text, "Try another file."),
            }
        }
    }

    /// Keeps a copy of unsaved marks, of an unsaved guide and of unsaved shades. Answers when to be asked again, where that is to be soon.
    pub(super) fn keep(&mut self) -> Option<std::time::Duration> {
        // Who has left without saving does not want a copy.
        if self.quit {
            return None;
        }
        let marks = self.session.as_ref().and_then(|session| {
            let unsaved = session.is_unsaved().then(|| session.generation());
            self.keeper.look(unsaved, || Some(session.draft()))
        });
        let guide = self
            .editor
            .as_ref()
            .and_then(|editor| self.guide_keeper.look(editor.unsaved_state(), || Some(editor.draft())));
        let beside = || self.session.as_ref().map(Session::opened_from);
        let shades =
            self.shades_keeper.look(self.gathering.unsaved_state(), || Some(self.gathering.draft(beside())));
        [marks, guide, shades].into_iter().flatten().min()
    }
}

//! What the window knows and what it does about it. Nothing here knows a widget: panels read the state and
//! hand back actions.

use std::path::PathBuf;
use std::sync::Arc;

use crate::case::{self, Edit, Known, MarkKey, MarkKind, PathRule};
use crate::problem::Problem;
use crate::raster::Shape;
use crate::shade::References;
use crate::storage::{self, Journal};

use super::card::{self, CardStep};
use super::grip;
use super::keeper::Keeper;
use super::marks;
use super::open::{self, Opened, Refusal};
use super::save::{Save, Saved};
use super::session::{GroupKey, Session};
use super::start::{self, Found, short_name};
use super::view::{Bench, View};
use super::worker::{Task, Wake};

/// What the mouse does on the photo.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Tool {
    /// Takes and moves marks.
    Choose,
    /// Draws circles.
    Circle,
    /// Draws boxes.
    Box,
    /// Draws polygons.
    Polygon,
    /// Draws the first and the last step of the card.
    Card,
}

/// What the column beside the photo shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Tab {
    /// Which shade each part is.
    Parts,
    /// Parts compared with each other.
    Pairs,
    /// What the photo says of itself.
    Photo,
}

/// A question or a sheet in front of the window.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Sheet {
    /// Where is the file?
    OpenPath(String),
    /// Where shall the case go?
    SavePath(String),
    /// Where are the shades?
    ReferencesPath(String),
    /// The card's list, and what is wrong with it.
    CardList(String, Option<String>),
    /// Every command with its keys.
    Keys,
    /// The case names files outside its folder: open it anyway?
    Outside(PathBuf, String),
    /// Work of windows that are gone.
    Recover,
    /// Unsaved marks: what shall become of them before this is done?
    Unsaved(Next),
}

/// What was asked for while marks were unsaved.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Next {
    /// Leave.
    Quit,
    /// Open another file.
    Open(PathBuf),
}

/// What panels ask for.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Action {
    /// A command of the table.
    Run(super::command::Command),
    /// Open a photo or a case.
    Open(PathBuf),
    /// Open a case that names files outside its folder.
    OpenOutside(PathBuf),
    /// Go on with the unsaved work of that number.
    Recover(usize),
    /// Throw the unsaved work of that number away.
    ForgetRecoverable(usize),
    /// Save the case there.
    SaveTo(PathBuf),
    /// Compare with the shades of that file.
    UseReferences(PathBuf),
    /// Give up what is being loaded or asked for.
    CancelTask,
    /// A new mark of the kind that is drawn now.
    Draw(Shape),
    /// A change that is a step of its own.
    Edit(Edit),
    /// A change that continues those before it.
    EditIn(GroupKey, Edit),
    /// The changes that belonged together are done.
    EndGroup,
    /// They are taken back.
    CancelGroup,
    /// A part becomes a known colour or the other way round.
    Convert(MarkKey),
    /// Select a mark or none, and let it take the keys.
    Take(Option<MarkKey>),
    /// The next corner of a polygon; one within so many pixels of the first or the last one closes it.
    Corner([f64; 2], f64),
    /// Close the polygon that is being drawn, or give it up.
    EndPolygon {
        /// Whether it becomes a mark.
        keep: bool,
    },
    /// Show the photo this way.
    Look(View),
    /// Other values of the card.
    SetCard(String),
    /// Put a sheet in front, or take it away.
    Show(Option<Sheet>),
    /// The answer to unsaved marks: leave them.
    Discard,
    /// Or: save them, then go on.
    SaveFirst(Next),
    /// The message was read.
    DismissMessage,
}

/// Something to tell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Message {
    /// What happened.
    pub text: String,
    /// What to do, empty where nothing is to be done.
    pub remedy: String,
}

impl From<Problem> for Message {
    fn from(problem: Problem) -> Self {
        Self { text: problem.message, remedy: problem.remedy }
    }
}

/// What the system's file dialog was asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Ask {
    /// A photo or a case.
    Open,
    /// Where to save the case.
    Save,
    /// A file of shades.
    References,
}

/// A case being read; nothing where it was cancelled.
pub(super) type Loading = Task<Option<Result<Opened, Refusal>>>;

/// All that the window knows.
pub(super) struct State {
    /// The open case.
    pub session: Option<Session>,
    /// What is being read.
    pub loading: Option<Loading>,
    /// What is being written.
    pub saving: Option<Task<Saved>>,
    /// Shades being read, with the path they come from.
    pub reading_references: Option<Task<(PathBuf, Result<References, Problem>)>>,
    /// What the mouse does on the photo.
    pub tool: Tool,
    /// What a new mark says of its area.
    pub draws: MarkKind,
    /// The card's steps.
    pub card: Vec<CardStep>,
    /// What the column shows.
    pub tab: Tab,
    /// Which part of the photo is seen.
    pub view: Option<View>,
    /// Where the photo is shown.
    pub bench: Bench,
    /// What stands in front of the window.
    pub sheet: Option<Sheet>,
    /// What there is to tell.
    pub message: Option<Message>,
    /// The system's dialog that is to be opened.
    pub ask: Option<Ask>,
    /// Corners of the polygon that is being drawn.
    pub corners: Vec<[f64; 2]>,
    /// The cursor shall go into the name of the selected mark.
    pub focus_name: bool,
    /// The selected mark shall take the keys.
    pub focus_mark: bool,
    /// The person has left.
    pub quit: bool,
    /// Light or dark was asked for.
    pub toggle_theme: bool,
    /// What was found when the window opened.
    pub found: Found,
    data_folder: Option<PathBuf>,
    starting: Option<Task<Found>>,
    keeper: Keeper,
    taken_over: Option<Journal>,
    after_save: Option<Next>,
    wake: Wake,
}

impl State {
    /// An empty window. Recent files and unsaved work are kept in the data folder, if there is one.
    pub(super) fn new(data_folder: Option<PathBuf>, wake: Wake) -> Self {
        let folder = data_folder.clone();
        let look = move |_: &_| start::look(folder.as_deref());
        Self {
            found: Found::default(),
            starting: Some(Task::start("Looking for unsaved work".into(), wake.clone(), look)),
            keeper: Keeper::start(data_folder.as_deref(), None, wake.clone()),
            data_folder,
            taken_over: None,
            session: None,
            loading: None,
            saving: None,
            reading_references: None,
            tool: Tool::Choose,
            draws: MarkKind::Reading,
            card: card::printed_card(),
            tab: Tab::Parts,
            view: None,
            bench: Bench { min: [0.0; 2], size: [1.0; 2], pixels_per_point: 1.0 },
            sheet: None,
            message: None,
            ask: None,
            corners: Vec::new(),
            focus_name: false,
            focus_mark: false,
            quit: false,
            toggle_theme: false,
            after_save: None,
            wake,
        }
    }

    /// Does what a panel asked for.
    pub(super) fn act(&mut self, action: Action) {
        match action {
            Action::Run(command) => super::run_command::run(self, command),
            Action::Open(path) => self.leave_for(Next::Open(path)),
            Action::OpenOutside(path) => self.load(path, PathRule::ChosenByHand),
            Action::Recover(number) => self.recover(number),
            Action::ForgetRecoverable(number) => self.forget_recoverable(number),
            Action::SaveTo(path) => self.save_to(path),
            Action::UseReferences(path) => self.read_references(path),
            Action::CancelTask => {
                self.loading = None;
                self.reading_references = None;
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
            Action::Corner(point, reach_px) => self.add_corner(point, reach_px),
            Action::EndPolygon { keep } => {
                let corners = std::mem::take(&mut self.corners);
                if keep && corners.len() >= 3 {
                    self.draw(Shape::Polygon(corners));
                }
            }
            Action::Look(view) => self.view = Some(view),
            Action::SetCard(text) => match card::read_list(&text) {
                Ok(steps) => {
                    self.card = steps;
                    self.sheet = None;
                }
                Err(error) => self.sheet = Some(Sheet::CardList(text, Some(error))),
            },
            Action::Show(sheet) => {
                self.sheet = sheet;
                self.after_save = None;
            }
            Action::Discard => {
                if let Some(Sheet::Unsaved(next)) = self.sheet.take() {
                    self.go(next);
                }
            }
            Action::SaveFirst(next) => self.save_then(next),
            Action::DismissMessage => self.message = None,
        }
    }

    /// Takes in what other threads have finished.
    pub(super) fn poll(&mut self) {
        if let Some(session) = &mut self.session {
            session.poll();
        }
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
            if !self.found.recoverable.is_empty() && self.sheet.is_none() {
                self.sheet = Some(Sheet::Recover);
            }
        }
        if let Some(problem) = self.keeper.trouble() {
            self.message = Some(problem.into());
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

    /// Keeps a copy of unsaved marks. Answers when to be asked again, where that is to be soon.
    pub(super) fn keep(&mut self) -> Option<std::time::Duration> {
        self.keeper.look(self.session.as_ref()?)
    }

    /// The photo's size in pixels.
    pub(super) fn photo_px(&self) -> Option<[f64; 2]> {
        let raster = &self.session.as_ref()?.raster;
        Some([f64::from(raster.width()), f64::from(raster.height())])
    }

    /// The view, fitted where nothing else was chosen.
    pub(super) fn current_view(&self) -> Option<View> {
        let photo_px = self.photo_px()?;
        let chosen = self.view.filter(|view| !view.fitted);
        Some(chosen.unwrap_or_else(|| View::fit(photo_px, &self.bench)))
    }

    /// Shows a case that was opened.
    pub(super) fn show(&mut self, mut opened: Opened) {
        self.message = None;
        if !opened.problems.is_empty() {
            self.message = Some(opened.problems.remove(0).into());
        }
        self.remember(opened.case_path.as_ref().unwrap_or(&opened.photo_path).clone());
        self.keeper.forget();
        if let Some(journal) = self.taken_over.take() {
            self.keeper = Keeper::start(self.data_folder.as_deref(), Some(journal), self.wake.clone());
        }
        self.session = Some(Session::new(opened, self.wake.clone()));
        self.view = None;
        self.corners.clear();
        self.tool = Tool::Choose;
        self.tab = Tab::Parts;
    }

    /// Something to tell.
    pub(super) fn tell(&mut self, text: impl Into<String>, remedy: impl Into<String>) {
        self.message = Some(Message { text: text.into(), remedy: remedy.into() });
    }

    /// Does something with the open case, if there is one.
    pub(super) fn with_session<T>(&mut self, work: impl FnOnce(&mut Session) -> T) -> Option<T> {
        self.session.as_mut().map(work)
    }

    /// Does something with the open case and tells what went wrong.
    pub(super) fn try_edit(&mut self, work: impl FnOnce(&mut Session) -> Result<(), Problem>) {
        if let Some(Err(problem)) = self.with_session(work) {
            self.message = Some(problem.into());
        }
    }

    /// Leaves the case for something else, asking first where marks are unsaved.
    pub(super) fn leave_for(&mut self, next: Next) {
        if self.session.as_ref().is_some_and(Session::is_unsaved) {
            self.sheet = Some(Sheet::Unsaved(next));
        } else {
            self.go(next);
        }
    }

    /// Saves where the case was, or asks where.
    pub(super) fn save(&mut self) {
        let Some(session) = &self.session else { return };
        match &session.case_path {
            Some(path) if !start::is_demo(path) => self.save_to(path.clone()),
            Some(_) => self.ask = Some(Ask::Save),
            None if start::is_demo(&session.photo_path) => self.ask = Some(Ask::Save),
            None => self.save_to(open::case_path_beside(&session.photo_path)),
        }
    }

    /// Saves, then goes on with what was asked for before.
    pub(super) fn save_then(&mut self, next: Next) {
        self.sheet = None;
        self.after_save = Some(next);
        self.save();
    }

    /// A new mark of the kind that is drawn now, or the next step of the card.
    pub(super) fn draw(&mut self, shape: Shape) {
        let Some(session) = &self.session else { return };
        let case = session.case();
        let edit = match (self.tool, self.draws) {
            (Tool::Card, _) => return self.draw_card_end(shape),
            (_, MarkKind::Reading) => Edit::AddReading(marks::new_part(case, shape)),
            (_, MarkKind::Zone) => {
                let (id, known) = match card::next_unmarked(case, &self.card) {
                    Some((number, step)) => (card::step_id(number), step.known()),
                    None => ("known colour".to_owned(), self.default_known()),
                };
                Edit::AddZone(marks::new_zone(case, &id, shape, known))
            }
        };
        self.focus_mark = true;
        self.try_edit(|session| session.edit(edit));
    }

    /// Puts the card's steps between its first and last one.
    pub(super) fn spread_steps(&mut self) {
        let Some(session) = &self.session else { return };
        let edits = card::spread(session.case(), &self.card);
        if edits.is_empty() {
            self.tell(
                "The card's first and last step are not both marked.",
                "Choose “Mark the card”, then draw a circle on the lightest and on the darkest step.",
            );
        } else {
            self.try_edit(|session| session.edit_together("space the card's steps", edits));
        }
    }

    /// The number of the card's step that is marked next, 1 or the last.
    pub(super) fn card_end(&self) -> usize {
        let first_is_there = self
            .session
            .as_ref()
            .is_some_and(|session| marks::zone(session.case(), &MarkKey::zone(card::step_id(1))).is_some());
        if first_is_there { self.card.len() } else { 1 }
    }

    /// A shape in the middle of the view, as large as looks right there.
    pub(super) fn shape_in_view(&self) -> Option<Shape> {
        let (view, photo_px) = (self.current_view()?, self.photo_px()?);
        let size = (self.bench.size[0].min(self.bench.size[1]) * 0.05 / view.points_per_px).max(4.0);
        let centre = [0, 1].map(|axis| view.centre_px[axis].clamp(0.0, photo_px[axis]));
        let circle = Shape::Circle { centre, radius: size };
        Some(match self.tool {
            Tool::Box => grip::bounding_box(&circle),
            Tool::Polygon => grip::hexagon(centre, size),
            _ => circle,
        })
    }

    fn add_corner(&mut self, point: [f64; 2], reach_px: f64) {
        let near = |other: &[f64; 2]| libm::hypot(other[0] - point[0], other[1] - point[1]) <= reach_px;
        let closes = self.corners.first().is_some_and(near) || self.corners.last().is_some_and(near);
        if !closes {
            self.corners.push(point);
        } else if self.corners.len() >= 3 {
            self.act(Action::EndPolygon { keep: true });
        }
    }

    fn default_known(&self) -> Known {
        let middle = self.card.get(self.card.len() / 2);
        middle.map_or(Known::Lab { lab: [50.0, 0.0, 0.0], sd: card::UNCALIBRATED_SD }, CardStep::known)
    }

    fn draw_card_end(&mut self, shape: Shape) {
        let number = self.card_end();
        let Some(step) = self.card.get(number - 1).copied() else { return };
        let last = number == self.card.len();
        let id = card::step_id(number);
        let Some(session) = &mut self.session else { return };
        let key = MarkKey::zone(&id);
        let edit = match marks::zone(session.case(), &key) {
            Some(_) => Edit::Reshape(key.clone(), shape),
            None => Edit::AddZone(marks::new_zone(session.case(), &id, shape, step.known())),
        };
        let mut edits = vec![edit];
        if last {
            let mut planned = session.case().clone();
            if edits.iter().all(|edit| edit.apply(&mut planned).is_ok()) {
                edits.extend(card::spread(&planned, &self.card));
            }
            self.tool = Tool::Choose;
        }
        self.focus_mark = true;
        self.try_edit(|session| {
            session.edit_together("mark the card", edits)?;
            session.select(Some(key));
            Ok(())
        });
    }

    fn convert(&mut self, mark: &MarkKey) {
        let known = self.default_known();
        let Some(session) = &mut self.session else { return };
        if let Some((edits, key)) = marks::convert(session.case(), mark, known) {
            let done = session.edit_together(&format!("change the kind of {}", mark.id), edits);
            session.select(Some(key));
            self.try_edit(|_| done);
        }
    }

    fn go(&mut self, next: Next) {
        match next {
            Next::Quit => {
                self.keeper.forget();
                self.keeper.finish();
                self.quit = true;
            }
            Next::Open(path) => self.load(path, PathRule::InsideFolder),
        }
    }

    fn load(&mut self, path: PathBuf, rule: PathRule) {
        let label = format!("Reading {}", short_name(&path));
        self.message = None;
        self.taken_over = None;
        let work = move |progress: &_| open::open(&path, rule, progress);
        self.loading = Some(Task::start(label, self.wake.clone(), work));
    }

    fn recover(&mut self, number: usize) {
        if number >= self.found.recoverable.len() {
            return;
        }
        let work = self.found.recoverable.remove(number);
        let (file, folder) = (work.file.clone(), work.folder.clone());
        let (case, journal) = work.take_over();
        self.taken_over = Some(journal);
        let label = format!("Reading {}", case.photo);
        let work = move |progress: &_| open::reopen(case, file, &folder, progress);
        self.loading = Some(Task::start(label, self.wake.clone(), work));
    }

    fn forget_recoverable(&mut self, number: usize) {
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
        let spawned = std::thread::Builder::new().name("recent".into()).spawn(move || {
            // The list is a convenience; the file is open all the same.
            let _ = storage::add_recent(&folder, &path);
        });
        drop(spawned);
    }

    fn save_to(&mut self, path: PathBuf) {
        let Some(session) = &mut self.session else { return };
        session.close_group();
        let save = Save {
            path,
            case: session.snapshot(),
            photo: session.photo_path.clone(),
            photo_sha256: session.photo_sha256.clone(),
            references: session.references_path(),
        };
        let work = move |_: &_| save.write();
        self.saving = Some(Task::start("Saving".into(), self.wake.clone(), work));
    }

    fn saved(&mut self, saved: Saved) {
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

    fn read_references(&mut self, path: PathBuf) {
        let work = move |_: &_| {
            let references = storage::open_references(&path);
            (path, references)
        };
        self.reading_references = Some(Task::start("Reading the shades".into(), self.wake.clone(), work));
    }

    fn use_references(&mut self, path: &std::path::Path, references: References) {
        let Some(session) = &mut self.session else { return };
        let name = case::relative_to(&session.folder(), path);
        session.use_references(Some(name), Some(Arc::new(references)));
    }
}

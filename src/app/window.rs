//! The window as a whole: takes in what has arrived, lays out the panels, does what they ask for.

use std::path::PathBuf;
use std::sync::{Arc, OnceLock};

use egui::{CentralPanel, Frame, Margin, Panel, Ui};

use crate::jobs::Wake;

use super::action::{Action, Next, Tab};
use super::areas::Areas;
use super::bench;
use super::bench::photo::Gesture;
use super::bench::tiles::Tiles;
use super::collection;
use super::command::{self, Command, Front};
use super::compare;
use super::dialog::Dialogs;
use super::guide;
use super::results;
use super::sheets;
use super::state::State;
use super::status;
use super::strip;
use super::theme;
use super::thumbs::Thumbs;
use super::toolbar;
use super::welcome;

/// The window. It needs no system window of its own: a test can show it too.
pub struct Window {
    state: State,
    tiles: Option<Tiles>,
    tiles_beside: Option<Tiles>,
    gesture: Option<Gesture>,
    thumbs: Thumbs,
    areas: Areas,
    focus_before: Option<egui::Id>,
    dialogs: Dialogs,
    wake: Wake,
}

/// How the window begins.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Start {
    /// A photo or a case to open.
    pub path: Option<PathBuf>,
    /// Where recent files and unsaved work are kept; `None` keeps nothing.
    pub data_folder: Option<PathBuf>,
    /// Where settings are kept; `None` keeps none.
    pub config_folder: Option<PathBuf>,
}

/// What needs no window yet: the photo is read while the system makes one.
pub(super) struct Begun {
    state: State,
    wake: Wake,
    woken: Arc<OnceLock<egui::Context>>,
}

impl Begun {
    /// Starts to read what there is to open.
    pub(super) fn new(start: &Start) -> Self {
        let woken = Arc::new(OnceLock::<egui::Context>::new());
        let waking = woken.clone();
        let wake: Wake = Arc::new(move || {
            if let Some(ctx) = waking.get() {
                ctx.request_repaint();
            }
        });
        let mut state = State::new(start.data_folder.clone(), start.config_folder.as_deref(), wake.clone());
        if let Some(path) = &start.path {
            state.act(Action::Open(path.clone()));
        }
        Self { state, wake, woken }
    }
}

impl Window {
    /// An empty window, or one that opens a photo or a case.
    pub fn new(ctx: &egui::Context, start: &Start) -> Self {
        Self::show(ctx, Begun::new(start))
    }

    /// Shows what has begun.
    pub(super) fn show(ctx: &egui::Context, begun: Begun) -> Self {
        theme::install(ctx);
        if let Some(choice) = begun.state.settings.theme() {
            theme::choose(ctx, choice);
        }
        // Zoom keys are for the photo.
        ctx.options_mut(|options| options.zoom_with_keyboard = false);
        let Begun { state, wake, woken } = begun;
        // It is empty until now.
        let _ = woken.set(ctx.clone());
        Self {
            state,
            tiles: None,
            tiles_beside: None,
            gesture: None,
            thumbs: Thumbs::new(wake.clone()),
            areas: Areas::default(),
            focus_before: None,
            dialogs: Dialogs::new(wake.clone()),
            wake,
        }
    }

    /// Whether the person has left.
    pub fn has_quit(&self) -> bool {
        self.state.quit
    }

    /// Whether something of a photo is on the screen.
    pub(super) fn shows_photo(&self) -> bool {
        self.tiles.as_ref().is_some_and(Tiles::are_seen)
    }

    /// The title of the system's window.
    pub fn title(&self) -> String {
        if let Some(editor) = self.state.open_editor() {
            let unsaved = if editor.is_unsaved() { " (unsaved)" } else { "" };
            return format!("Guide{unsaved} – Sameshot");
        }
        let Some(session) = &self.state.session else { return "Sameshot".into() };
        let path = session.case_path.as_ref().unwrap_or(&session.photo_path);
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        let unsaved = if session.is_unsaved() { " (unsaved)" } else { "" };
        format!("{name}{unsaved} – Sameshot")
    }

    /// The system asks to close the window. Answers whether it may.
    pub fn may_close(&mut self) -> bool {
        if !self.state.quit {
            self.state.leave_for(Next::Quit);
        }
        self.state.quit
    }

    /// Draws the window and does what was asked for.
    pub fn ui(&mut self, ui: &mut Ui) {
        self.state.poll();
        let mut actions = Vec::new();
        self.dialogs.poll(&mut self.state, &mut actions);
        // While a menu or a list is open, keys are for it.
        if self.state.sheet.is_none() && !egui::Popup::is_any_open(ui.ctx()) {
            let state = &self.state;
            let can_run = |command| state.why_not(command).is_none();
            let mut commands = command::pressed(ui.ctx(), state.keys_on_bench, can_run);
            // Escape takes the focus away; whoever puts a message away goes on where they were.
            if let (true, Some(_), Some(id)) =
                (commands.contains(&Command::LetGo), &state.message, self.focus_before)
            {
                ui.memory_mut(|memory| memory.request_focus(id));
            }
            if commands.contains(&Command::LetGo)
                && let Some(gesture) = self.gesture.take()
            {
                actions.extend(gesture.taken_back());
                commands.retain(|command| *command != Command::LetGo);
            }
            actions.extend(commands.into_iter().map(Action::Run));
        }
        actions.extend(dropped_file(ui));
        self.areas.begin(ui, self.state.next_area.take());
        self.panels(ui, &mut actions);
        self.focus_before = ui.memory(egui::Memory::focused);
        sheets::show(ui, &mut self.state, &mut actions);
        // The photo and its marks show it by their outlines.
        if !(self.state.front() == Front::Photo && self.state.keys_on_bench) {
            theme::ring_round_focused(ui);
        }
        // One frame has passed in which the widget could take the focus.
        self.state.focus_mark = false;
        self.state.tray.focus_part = false;
        for action in actions {
            self.state.act(action);
        }
        self.dialogs.open(&mut self.state);
        if std::mem::take(&mut self.state.toggle_theme) {
            let choice = theme::next(ui);
            theme::choose(ui.ctx(), choice);
            self.state.settings.choose_theme(choice);
        }
        if std::mem::take(&mut self.state.reveal_mark) {
            command::show_selected(&mut self.state);
        }
        if self.state.focus_mark || self.state.focus_name || self.state.tray.focus_part {
            ui.ctx().request_repaint();
        }
        let soon = self.state.keep();
        status::repaint_when_due(ui.ctx(), &self.state, soon);
    }

    fn panels(&mut self, ui: &mut Ui, actions: &mut Vec<Action>) {
        let Self { state, tiles, tiles_beside, gesture, thumbs, areas, wake, .. } = self;
        let grey = theme::palette(ui);
        let bar = Frame::new()
            .fill(grey.panel)
            .inner_margin(Margin::symmetric(theme::SPACE_M as i8, theme::SPACE_S as i8 + 1));
        areas.draw(ui, |ui| {
            let shown = Panel::top("toolbar").frame(bar).show(ui, |ui| toolbar::show(ui, state, actions));
            (shown.response.rect, ())
        });
        Panel::bottom("status").frame(bar).show(ui, |ui| status::show(ui, state, actions));
        if state.open_editor().is_some() {
            let page = Frame::new().fill(grey.panel).inner_margin(Margin::same(theme::SPACE_M as i8));
            areas.draw(ui, |ui| {
                let page = CentralPanel::default().frame(page);
                (page.show(ui, |ui| guide::page::show(ui, state, actions)).response.rect, ())
            });
            if let Some(editor) = &mut state.editor {
                editor.focus_draft = false;
            }
            return;
        }
        if state.collection.shown {
            let rect = ui.available_rect_before_wrap();
            return areas.draw(ui, |ui| (rect, collection::page::show(ui, state, thumbs, actions)));
        }
        let Some(session) = &state.session else {
            *tiles = None;
            let ground = Frame::new().fill(grey.panel);
            areas.draw(ui, |ui| {
                let page = CentralPanel::default().frame(ground);
                (page.show(ui, |ui| welcome::show(ui, state, actions)).response.rect, ())
            });
            return;
        };
        if state.beside.is_some() {
            let rect = ui.available_rect_before_wrap();
            let tiles = [tiles, tiles_beside];
            return areas.draw(ui, |ui| (rect, compare::page::show(ui, state, tiles, wake, actions)));
        }
        *tiles_beside = None;
        let raster = session.raster.clone();
        let side = Frame::new().fill(grey.panel).inner_margin(Margin::same(theme::SPACE_M as i8));
        // The figure needs more room than numbers do; each width is remembered on its own.
        let (id, width, most) = match state.tab {
            Tab::Figure => ("figure", theme::FIGURE_COLUMN_WIDTH, 900.0),
            _ => ("results", theme::COLUMN_WIDTH, 620.0),
        };
        areas.draw(ui, |ui| {
            let column = Panel::right(id)
                .frame(side)
                .default_size(width)
                .size_range(theme::COLUMN_LEAST..=most)
                .show(ui, |ui| results::column::show(ui, state, thumbs, actions));
            (column.response.rect, ())
        });
        let [high, narrow] = theme::STRIP_HEIGHT_NARROW;
        areas.draw(ui, |ui| {
            let strip = Panel::bottom("strip")
                .frame(side)
                .exact_size(if ui.available_width() < narrow { high } else { theme::STRIP_HEIGHT })
                .resizable(false)
                .show(ui, |ui| strip::show(ui, state, actions));
            (strip.response.rect, ())
        });
        if state.shade_layer.shown {
            // As high while it is mapped as after, and whatever it was before.
            Panel::bottom("legend")
                .frame(side)
                .exact_size(theme::LEGEND_HEIGHT + 2.0 * theme::SPACE_M)
                .resizable(false)
                .show(ui, |ui| bench::shade_drawing::legend(ui, state, actions));
        }
        if state.light_layer.shown {
            Panel::bottom("light legend")
                .frame(side)
                .resizable(false)
                .show(ui, |ui| bench::light_lines::legend(ui, state, actions));
        }
        let ground = Frame::new().fill(theme::SURROUND);
        areas.draw(ui, |ui| {
            let photo = CentralPanel::default().frame(ground).show(ui, |ui| {
                let tiles = Tiles::of(tiles, &raster, [1.0; 3], wake);
                bench::photo::show(ui, state, tiles, gesture, actions);
            });
            (photo.response.rect, ())
        });
    }
}

fn dropped_file(ui: &Ui) -> Option<Action> {
    let path = ui.input(|input| input.raw.dropped_files.first().map(|file| file.path().to_owned()))?;
    let name = path.to_string_lossy();
    Some(match () {
        () if path.is_dir() => {
            Action::Collection(super::collection::records::CollectionAction::OpenFolder(path))
        }
        () if name.ends_with(".shades.json") => Action::UseReferences(path),
        () if name.ends_with(".card.json") => Action::ReadCard(path),
        () if name.ends_with(".guide.json") => Action::UseGuide(path),
        () => Action::Open(path),
    })
}

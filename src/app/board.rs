//! The plain board under everything and the photo of it with nothing on it: choosing, outlining, forgetting.

use std::path::PathBuf;

use egui::{Label, RichText, Ui};

use crate::case::{BoardMark, Edit};
use crate::jobs::Task;
use crate::keeping::open_flat_field;
use crate::measure::FlatField;
use crate::problem::Problem;

use super::action::Action;
use super::command::Command;
use super::marks;
use super::session::Session;
use super::state::State;
use super::theme;
use super::toolbar;

/// A photo of the empty board being read.
pub(super) type ReadingEmptyBoard = Task<(PathBuf, Result<FlatField, Problem>)>;

impl Session {
    /// Takes the fall of the light from a photo of the empty board from now on.
    fn use_empty_board(&mut self, file: PathBuf, field: FlatField) -> Result<(), Problem> {
        let file = std::path::absolute(&file).unwrap_or(file);
        let name = file.display().to_string();
        self.empty_boards.learn(name.clone(), file, field);
        self.edit(Edit::SetFlatField(Some(name)))
    }
}

impl State {
    /// Reads a photo of the empty board on a thread.
    pub(super) fn read_empty_board(&mut self, path: PathBuf) {
        let work = move |_: &_| {
            let field = open_flat_field(&path);
            (path, field)
        };
        let label = "Reading the empty board".into();
        self.reading_empty_board = Some(Task::start(label, self.wake.clone(), work));
    }

    /// Takes in a photo that was read.
    pub(super) fn poll_empty_board(&mut self) {
        let Some(result) = self.reading_empty_board.as_ref().and_then(Task::poll) else { return };
        self.reading_empty_board = None;
        match result {
            Ok((path, Ok(field))) => self.try_edit(|session| session.use_empty_board(path, field)),
            Ok((_, Err(problem))) => self.message = Some(problem.into()),
            Err(text) => self.tell(text, "Try another photo."),
        }
    }

    /// The board of the photo teaches its light, or no longer does. A selected mark becomes its outline.
    pub(super) fn toggle_board(&mut self) {
        self.try_edit(|session| {
            let selected = session.selected().cloned();
            let shape = selected.as_ref().and_then(|mark| marks::shape(session.case(), mark)).cloned();
            match (selected.zip(shape), &session.case().board) {
                (Some((mark, shape)), _) => {
                    let board = BoardMark { shape: Some(shape), ..BoardMark::default() };
                    let edit = Edit::SetBoard(Some(board));
                    session.edit_together(&edit.label(), vec![Edit::Delete(mark), edit])
                }
                (None, None) => session.edit(Edit::SetBoard(Some(BoardMark::default()))),
                (None, Some(_)) => session.edit(Edit::SetBoard(None)),
            }
        });
    }
}

/// Says what teaches how the light falls, and lets it be chosen.
pub(super) fn show(ui: &mut Ui, session: &Session, actions: &mut Vec<Action>) {
    ui.heading("How the light falls");
    let (case, light) = (session.case(), session.measurement().map(|measurement| &measurement.light));
    let places = |count: Option<usize>| match count {
        Some(count) if count > 0 && !session.is_measuring() => format!(", {count} places"),
        _ => String::new(),
    };
    let board = match &case.board {
        None => "Board: not used.".to_owned(),
        Some(BoardMark { shape: None, .. }) => {
            format!("Board: the whole photo but what lies on it{}.", places(light.map(|light| light.board)))
        }
        Some(_) => format!("Board: as outlined{}.", places(light.map(|light| light.board))),
    };
    let about = "Light falls off across a photo, and parts far from the card look darker or paler for it. A board of one \
                 colour under everything shows by how much, seen between the parts or in a second photo, empty.";
    ui.add(Label::new(RichText::new(about).color(theme::palette(ui).weak)).wrap());
    ui.add(Label::new(board).wrap());
    let entry = Command::Board.entry();
    let button = toolbar::choice_button(case.board.is_some(), entry.text);
    if ui.add(button).on_hover_text(entry.tooltip).clicked() {
        actions.push(Action::Run(Command::Board));
    }
    let empty = match &case.flat_field {
        None => "Empty board: no photo chosen.".to_owned(),
        Some(file) => format!("Empty board: {file}{}.", places(light.map(|light| light.flat_field))),
    };
    ui.add(Label::new(empty).wrap());
    ui.horizontal_wrapped(|ui| {
        toolbar::command(ui, Command::ChooseEmptyBoard, true, actions);
        if case.flat_field.is_some() && ui.button("Use no empty board").clicked() {
            actions.push(Action::Edit(Edit::SetFlatField(None)));
        }
    });
}

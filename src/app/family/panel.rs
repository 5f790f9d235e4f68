//! The panel of the shades: the parts of this photo put into them, where they are saved, and what there is to see of them.
//!
//! What is worked out for a moment stands below all that is clicked, so that nothing jumps when it arrives.

use std::path::Path;

use egui::{Grid, Id, Label, RichText, TextEdit, Ui, vec2};

use crate::case::ReadingMark;

use super::action::FamilyAction;
use super::gathering::Gathering;
use super::tables;
use super::{seen, specimens};
use crate::app::action::Action;
use crate::app::command::Command;
use crate::app::scrolling::scrolled;
use crate::app::session::Session;
use crate::app::theme;
use crate::app::toolbar;
use crate::app::words;

/// Least width of the names of parts.
const NAME_WIDTH: f32 = 96.0;

/// More parts than this scroll by themselves, so that what is below stays near.
const MOST_ROWS: usize = 12;

/// Shows the panel.
pub(in crate::app) fn show(ui: &mut Ui, session: &Session, gathering: &Gathering, actions: &mut Vec<Action>) {
    let mut asked = Vec::new();
    scrolled(ui, "shades", |ui| {
        head(ui, gathering, actions);
        gather(ui, session, gathering, &mut asked);
        save(ui, gathering, &mut asked);
        ui.add_space(theme::SPACE_M);
        tables::show(ui, gathering, &mut asked);
        if let Some(references) = &gathering.references {
            specimens::show(ui, references, gathering, &mut asked);
        }
        ui.add_space(theme::SPACE_M);
        let looking = if gathering.is_looking() { "Looking at the shades…" } else { " " };
        ui.label(looking);
        match (&gathering.references, &gathering.seen) {
            (Some(references), Some(Ok(seen))) => seen::show(ui, references, seen),
            (_, Some(Err(problem))) => wrapped(ui, &format!("! {problem}.")),
            _ => {}
        }
    });
    actions.extend(asked.into_iter().map(Action::Family));
}

pub(super) fn wrapped(ui: &mut Ui, text: &str) {
    ui.add(Label::new(text).wrap());
}

/// Which shades these are; as high with shades as without.
fn head(ui: &mut Ui, gathering: &Gathering, actions: &mut Vec<Action>) {
    let (title, about) = match &gathering.references {
        None => ("No shades yet".to_owned(), "Choose a file of shades, or build your own below.".to_owned()),
        Some(references) => {
            let shades = references.shades.len();
            let specimens = references.shades.iter().map(|shade| shade.specimens.len()).sum();
            let counted =
                [words::count(shades, "shade", "shades"), words::count(specimens, "specimen", "specimens")];
            (format!("Family {}", references.family), format!("{}.", counted.join(", ")))
        }
    };
    ui.heading(title);
    ui.add(Label::new(RichText::new(about).color(theme::palette(ui).weak)).truncate());
    toolbar::command(ui, Command::ChooseReferences, true, actions);
}

/// The parts of this photo, each with the shade and the specimen that it is.
fn gather(ui: &mut Ui, session: &Session, gathering: &Gathering, asked: &mut Vec<FamilyAction>) {
    ui.add_space(theme::SPACE_M);
    ui.heading("Add parts of this photo");
    // Those that are marked, measured or not yet: what stands below must not jump when the results arrive.
    let readings = &session.case().readings;
    if readings.is_empty() {
        wrapped(ui, "Mark parts whose shade is certain; they are listed here.");
        return;
    }
    wrapped(
        ui,
        "Name the shade of each part that you are certain of, such as green/medium. The same specimen in several photos \
         counts once: give it the same name each time, another one another name.",
    );
    let photo = session.photo_file();
    if readings.len() <= MOST_ROWS {
        rows(ui, &photo, readings, gathering, asked);
    } else {
        let size = vec2(ui.available_width(), MOST_ROWS as f32 * (theme::TOUCH + theme::SPACE_S));
        ui.allocate_ui(size, |ui| {
            scrolled(ui, "parts to add", |ui| rows(ui, &photo, readings, gathering, asked));
        });
    }
    if ui
        .add_enabled(
            gathering.typed.any(&photo) && !session.is_measuring(),
            egui::Button::new("Add to the shades"),
        )
        .clicked()
    {
        asked.push(FamilyAction::Add);
    }
}

/// A row for each part.
fn rows(
    ui: &mut Ui,
    photo: &Path,
    readings: &[ReadingMark],
    gathering: &Gathering,
    asked: &mut Vec<FamilyAction>,
) {
    // Both fields together fill what the names of the parts leave.
    let width = ((ui.available_width() - NAME_WIDTH) / 2.0 - 2.0 * theme::SPACE_M).clamp(90.0, 240.0);
    Grid::new("parts to add").num_columns(3).min_col_width(NAME_WIDTH).show(ui, |ui| {
        for title in ["Part", "Shade", "Specimen"] {
            ui.label(RichText::new(title).color(theme::palette(ui).weak));
        }
        ui.end_row();
        for reading in readings {
            let mut typed = gathering.typed.of(photo, &reading.id);
            ui.label(&reading.id);
            let mut changed = false;
            for (what, text) in [("Shade", &mut typed.shade), ("Specimen", &mut typed.specimen)] {
                // An id of its own keeps the focus while parts come and go.
                let field = TextEdit::singleline(text).id(Id::unique((what, &reading.id)));
                // What a specimen is called unless the person says otherwise.
                let hint = if what == "Specimen" { &reading.id } else { "family/shade" };
                // Slanted: in high contrast it is as bright as what is typed.
                let field = field.hint_text(RichText::new(hint).italics());
                let field = ui
                    .add_sized([width, theme::TOUCH], field)
                    .accessible_name(format!("{what} of {}", reading.id));
                changed |= field.changed();
            }
            if changed {
                asked.push(FamilyAction::Type(typed));
            }
            ui.end_row();
        }
    });
}

/// Where the shades are written; it keeps its place whether there is something to save or not.
fn save(ui: &mut Ui, gathering: &Gathering, asked: &mut Vec<FamilyAction>) {
    ui.add_space(theme::SPACE_M);
    let label = ui.label("Path of the shades file to write");
    let mut path = gathering.path.clone();
    let field = TextEdit::singleline(&mut path).desired_width(f32::INFINITY);
    if ui.add_enabled(gathering.references.is_some(), field).labelled_by(label.id).changed() {
        asked.push(FamilyAction::Path(path));
    }
    ui.horizontal(|ui| {
        let can = gathering.unsaved && !gathering.path.trim().is_empty();
        if ui.add_enabled(can, egui::Button::new("Save the shades")).clicked() {
            asked.push(FamilyAction::Save);
        }
        ui.label(match (&gathering.references, gathering.unsaved) {
            (None, _) => "No shades to save yet.",
            (Some(_), true) => "The shades are not saved yet.",
            (Some(_), false) => "The shades are saved.",
        });
    });
}

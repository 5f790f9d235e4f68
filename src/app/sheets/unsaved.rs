//! What is not saved: asked about before it is left, and offered after a crash.

use egui::{RichText, Ui};

use crate::app::action::{Action, Next, Work};
use crate::app::files::start::{Found, short_name};
use crate::app::state::State;
use crate::app::theme;
use crate::app::words;
use crate::storage::Unsaved;

pub(super) fn unsaved(ui: &mut Ui, next: &Next) -> Option<Action> {
    ui.heading("Your marks are not saved");
    ui.label(match next {
        Next::Quit => "Save them before you leave?",
        Next::Open(_) => "Save them before you open another file?",
    });
    ui.add_space(theme::SPACE_M);
    ui.horizontal(|ui| {
        let save = ui.button("Save, then go on").clicked();
        let discard = ui.button("Leave without saving").clicked();
        if ui.button("Stay here").clicked() {
            ui.close();
        }
        match (save, discard) {
            (true, _) => Some(Action::SaveFirst(next.clone())),
            (_, true) => Some(Action::Discard),
            _ => None,
        }
    })
    .inner
}

pub(super) fn unsaved_work(ui: &mut Ui, work: Work) -> Option<Action> {
    let (title, lost, back) = match work {
        Work::Guide => (
            "The guide is not saved",
            "What you changed in it since it was saved would be lost.",
            "Back to the guide",
        ),
        Work::Shades => (
            "The shades are not saved",
            "What you added to them, set aside or typed since they were saved would be lost.",
            "Back to the shades",
        ),
    };
    ui.heading(title);
    ui.label(lost);
    ui.add_space(theme::SPACE_M);
    ui.horizontal(|ui| {
        let stay = ui.button(back).clicked();
        let leave = ui.button("Leave without saving").clicked();
        match (stay, leave) {
            (true, _) => Some(Action::ShowWork(work)),
            (_, true) => Some(Action::LeaveWork(work)),
            _ => None,
        }
    })
    .inner
}

pub(super) fn recover(ui: &mut Ui, state: &State, found: &Found) -> Option<Action> {
    ui.heading("There is unsaved work");
    ui.label("The program ended before this was saved.");
    ui.add_space(theme::SPACE_S);
    let mut action = None;
    for (number, work) in found.recoverable.iter().enumerate() {
        let (unnamed, what) = match &work.work {
            Unsaved::Case(case) => {
                let marks = case.zones.len() + case.readings.len();
                (case.photo.clone(), words::count(marks, "mark", "marks"))
            }
            Unsaved::Guide(guide) => {
                let line = if guide.line.is_empty() { "a line without a name" } else { &guide.line };
                let characters = guide.characters.len();
                (format!("the guide to {line}"), words::count(characters, "character", "characters"))
            }
            Unsaved::Shades { references: Some(references), .. } => {
                let specimens = references.shades.iter().map(|shade| shade.specimens.len()).sum();
                let counted = words::count(specimens, "specimen", "specimens");
                (format!("the shades of {}", references.family), counted)
            }
            Unsaved::Shades { references: None, typed, .. } => {
                let photo = typed.first().map_or("a photo".into(), |typed| short_name(&typed.photo));
                (format!("the shades typed for {photo}"), words::count(typed.len(), "part", "parts"))
            }
        };
        let name = work.file.as_deref().map_or(unnamed, short_name);
        ui.label(RichText::new(&name).strong());
        ui.label(format!("{what}, {}", words::ago(work.saved_at.elapsed().unwrap_or_default())));
        ui.horizontal(|ui| {
            let why_not = state.why_not_recover(&work.work);
            let button = ui.add_enabled(why_not.is_none(), egui::Button::new("Go on with it"));
            let button = button.on_disabled_hover_text(why_not.unwrap_or_default());
            if button.accessible_name(format!("Go on with {name}")).clicked() {
                action = Some(Action::Recover(number));
            }
            if ui.button("Throw it away").accessible_name(format!("Throw {name} away")).clicked() {
                action = Some(Action::ForgetRecoverable(number));
            }
        });
        ui.add_space(theme::SPACE_S);
    }
    if ui.button("Decide later").clicked() {
        ui.close();
    }
    action
}

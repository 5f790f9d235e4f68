//! What stands in front of the window: paths to type, the card's list, the keys, the question about
//! unsaved marks; and messages.

mod card_list;
mod files;
mod keys;
mod paths;
mod unsaved;

use egui::{Id, Modal, RichText, Ui};

use super::action::{Action, Message, Sheet};
use super::card_page;
use super::collection::records::CollectionAction;
use super::command::Front;
use super::compare::beside::CompareAction;
use super::dialog::with_ending;
use super::state::State;
use super::theme;
use super::tray::act::TrayAction;
use card_list::card_list;
use files::{has_case, outside, replace};
use keys::key_sheet;
pub(super) use paths::{expanded, path_field};
use paths::{path, path_there, report, sort_folder};
use unsaved::{recover, unsaved, unsaved_work};

/// Shows the sheet in front, if there is one, and the message.
pub(super) fn show(ui: &mut Ui, state: &mut State, actions: &mut Vec<Action>) {
    // What went wrong with a sheet stands in it, not behind it.
    let in_sheet = |message: &&Message| state.sheet.is_some() && !message.remedy.is_empty();
    let problem = state.message.as_ref().filter(in_sheet).cloned();
    if problem.is_none() {
        message(ui, state, actions);
    }
    let shown_frames = Id::unique("frames of the sheet");
    let Some(mut sheet) = state.sheet.take() else {
        ui.data_mut(|data| data.remove::<u8>(shown_frames));
        return;
    };
    // A sheet finds its size and then its place: it needs a few frames though nothing else moves.
    let frames = ui.data_mut(|data| {
        let frames: &mut u8 = data.get_temp_mut_or_default(shown_frames);
        *frames = frames.saturating_add(1);
        *frames
    });
    if frames < 4 {
        ui.ctx().request_repaint();
    }
    let found = std::mem::take(&mut state.found);
    let frame = egui::Frame::popup(ui.style()).inner_margin(theme::SPACE_L);
    // Each kind has a place of its own, or it would begin where a larger one was.
    let id = Id::unique(("sheet", std::mem::discriminant(&sheet)));
    let response = Modal::new(id).frame(frame).show(ui.ctx(), |ui| {
        ui.set_max_width(560.0_f32.min(ui.ctx().content_rect().width() - 2.0 * theme::SPACE_XL));
        let action = match &mut sheet {
            Sheet::OpenPath(text) => {
                path_there(ui, ["Open a photo or a case", "Path of the file", "Open"], text).map(Action::Open)
            }
            Sheet::ComparePath(text) => {
                path_there(ui, ["Compare with a photo or a case", "Path of the file", "Compare"], text)
                    .map(|path| Action::Compare(CompareAction::Open(path)))
            }
            Sheet::SavePath(text) => path(ui, ["Save the case", "Path of the case file", "Save"], text)
                .map(|path| Action::SaveTo { path: with_ending(path), replace: false }),
            Sheet::ReferencesPath(text) => {
                path_there(ui, ["Reference shades", "Path of the shades file", "Use"], text)
                    .map(Action::UseReferences)
            }
            Sheet::GuidePath(text) => {
                path_there(ui, ["Guide", "Path of the guide file", "Use"], text).map(Action::UseGuide)
            }
            Sheet::EmptyBoardPath(text) => {
                path_there(ui, ["Empty board", "Path of the photo of the empty board", "Use"], text)
                    .map(Action::UseEmptyBoard)
            }
            Sheet::OtherPhotoPath(text) => {
                path_there(ui, ["Another photo of these parts", "Path of its case file", "Use"], text)
                    .map(Action::UseOtherPhoto)
            }
            Sheet::SortFolder(text, known) => sort_folder(ui, text, known),
            Sheet::BodiesPath(text) => {
                path_there(ui, ["Bodies of another case", "Path of the case file", "Use"], text)
                    .map(|path| Action::Tray(TrayAction::ReadBodies(path)))
            }
            Sheet::CollectionPath(text) => {
                path(ui, ["Collection", "Path of the folder with your records", "Use"], text)
                    .map(|path| Action::Collection(CollectionAction::OpenFolder(path)))
            }
            Sheet::ReportPath(text) => report(ui, text).map(|path| Action::Report { path, replace: false }),
            Sheet::ReplaceReport(path) => replace(ui, path, "What is in it is lost when you replace it.")
                .then(|| Action::Report { path: path.to_owned(), replace: true }),
            Sheet::CardList(sheet) => card_list(ui, sheet),
            Sheet::CardPage(page) => card_page::show(ui, page),
            Sheet::Keys => {
                key_sheet(ui);
                None
            }
            Sheet::Outside(path, problem) => outside(ui, path, problem),
            Sheet::Recover => recover(ui, state, &found),
            Sheet::Replace(path) => replace(ui, path, "Its marks are lost when you replace it.")
                .then(|| Action::SaveTo { path: path.to_owned(), replace: true }),
            Sheet::HasCase(path) => has_case(ui, path),
            Sheet::Unsaved(next) => unsaved(ui, next),
            Sheet::UnsavedWork(work) => unsaved_work(ui, *work),
        };
        if let Some(problem) = &problem {
            ui.separator();
            told(ui, problem);
        }
        action
    });
    state.found = found;
    let asked_to_close = response.should_close();
    match response.inner {
        Some(action) => {
            // These need the sheet still, or put another one in its place.
            let closes = !matches!(
                action,
                Action::Discard
                    | Action::SaveFirst(_)
                    | Action::SetCard(_)
                    | Action::ReadCard(_)
                    | Action::WriteCard(..)
                    | Action::WriteCardPage(_)
                    | Action::ForgetRecoverable(_)
                    | Action::Recover(_)
            );
            if !closes {
                state.sheet = Some(sheet);
            }
            actions.push(action);
        }
        None if asked_to_close => {
            // What went wrong in the sheet goes with it.
            actions.extend(problem.map(|_| Action::DismissMessage));
            actions.push(Action::Show(None));
        }
        None => state.sheet = Some(sheet),
    }
}

/// What does it, and what closes the sheet and leaves everything as it is. Answers whether it shall be done.
pub(super) fn buttons(ui: &mut Ui, yes: &str, enabled: bool) -> bool {
    ui.add_space(theme::SPACE_M);
    let button = |ui: &mut Ui| {
        (ui.add_enabled(enabled, egui::Button::new(yes)).clicked(), ui.button("Cancel").clicked())
    };
    let (clicked, cancelled) = ui.horizontal(button).inner;
    if cancelled {
        ui.close();
    }
    clicked
}

/// What there is to tell, so that nothing jumps: over the photo's upper edge, else low on the page, away from what is
/// pressed and from the line of the last change.
fn message(ui: &mut Ui, state: &State, actions: &mut Vec<Action>) {
    let Some(message) = &state.message else { return };
    let (corner, from_corner) = match state.front() {
        Front::Photo => (egui::Align2::LEFT_TOP, egui::vec2(theme::SPACE_XL, 56.0)),
        _ => (egui::Align2::LEFT_BOTTOM, egui::vec2(theme::SPACE_XL, -96.0)),
    };
    let width = (ui.ctx().content_rect().width() * 0.5).clamp(300.0, 560.0);
    egui::Area::new(Id::unique("message")).anchor(corner, from_corner).order(egui::Order::Foreground).show(
        ui.ctx(),
        |ui| {
            egui::Frame::popup(ui.style()).show(ui, |ui| {
                ui.set_max_width(width);
                told(ui, message);
                if ui.button("Close").on_hover_text("Close this message (Escape).").clicked() {
                    actions.push(Action::DismissMessage);
                }
            });
        },
    );
}

fn told(ui: &mut Ui, message: &Message) {
    // What went well asks for nothing.
    let mark = if message.remedy.is_empty() { "" } else { "! " };
    ui.label(RichText::new(format!("{mark}{}", message.text)).strong());
    if !message.remedy.is_empty() {
        ui.label(&message.remedy);
    }
}

//! What stands in front of the window: paths to type, the card's list, the keys, the question about
//! unsaved marks; and messages.

use egui::{Id, Key, Modal, RichText, ScrollArea, TextEdit, Ui};

use crate::storage::Unsaved;

use super::action::{Action, CardSheet, Next, Sheet, Work};
use super::card;
use super::card_page;
use super::collection::records::CollectionAction;
use super::command::{Front, Group};
use super::compare::beside::CompareAction;
use super::dialog::with_ending;
use super::files::start::{Found, short_name};
use super::scrolling::by_keys;
use super::state::State;
use super::theme;
use super::tray::act::TrayAction;
use super::words;

/// Shows the sheet in front, if there is one, and the message.
pub(super) fn show(ui: &mut Ui, state: &mut State, actions: &mut Vec<Action>) {
    message(ui, state, actions);
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
        match &mut sheet {
            Sheet::OpenPath(text) => {
                path(ui, "Open a photo or a case", "Path of the file", "Open", text).map(Action::Open)
            }
            Sheet::ComparePath(text) => {
                path(ui, "Compare with a photo or a case", "Path of the file", "Compare", text)
                    .map(|path| Action::Compare(CompareAction::Open(path)))
            }
            Sheet::SavePath(text) => path(ui, "Save the case", "Path of the case file", "Save", text)
                .map(|path| Action::SaveTo { path: with_ending(path), replace: false }),
            Sheet::ReferencesPath(text) => {
                path(ui, "Reference shades", "Path of the shades file", "Use", text)
                    .map(Action::UseReferences)
            }
            Sheet::GuidePath(text) => {
                path(ui, "Guide", "Path of the guide file", "Use", text).map(Action::UseGuide)
            }
            Sheet::EmptyBoardPath(text) => {
                path(ui, "Empty board", "Path of the photo of the empty board", "Use", text)
                    .map(Action::UseEmptyBoard)
            }
            Sheet::SortFolder(text, known) => sort_folder(ui, text, known),
            Sheet::BodiesPath(text) => {
                path(ui, "Bodies of another case", "Path of the case file", "Use", text)
                    .map(|path| Action::Tray(TrayAction::ReadBodies(path)))
            }
            Sheet::CollectionPath(text) => {
                path(ui, "Collection", "Path of the folder with your records", "Use", text)
                    .map(|path| Action::Collection(CollectionAction::OpenFolder(path)))
            }
            Sheet::ReportPath(text) => {
                let label = "Path of the report; it ends with .pdf, .html, .csv or .txt";
                path(ui, "Write a report", label, "Write", text)
                    .map(|path| Action::Report { path, replace: false })
            }
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
        }
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
        None if asked_to_close => actions.push(Action::Show(None)),
        None => state.sheet = Some(sheet),
    }
}

/// What does it, and what leaves everything as it is.
pub(super) fn buttons(ui: &mut Ui, yes: &str, enabled: bool) -> (bool, bool) {
    ui.add_space(theme::SPACE_M);
    ui.horizontal(|ui| {
        let yes = ui.add_enabled(enabled, egui::Button::new(yes)).clicked();
        (yes, ui.button("Cancel").clicked())
    })
    .inner
}

fn path(ui: &mut Ui, title: &str, label: &str, yes: &str, text: &mut String) -> Option<std::path::PathBuf> {
    ui.heading(title);
    let label = ui.label(label);
    let field = ui.add(TextEdit::singleline(text).desired_width(520.0)).labelled_by(label.id);
    let entered = field.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
    if ui.memory(|memory| memory.focused().is_none()) && !entered {
        field.request_focus();
    }
    let typed = text.trim();
    let (clicked, cancelled) = buttons(ui, yes, !typed.is_empty());
    if cancelled {
        ui.close();
    }
    ((clicked || entered) && !typed.is_empty()).then(|| expanded(typed))
}

fn sort_folder(ui: &mut Ui, folder: &mut String, known: &mut String) -> Option<Action> {
    ui.heading("Sort a folder of photos");
    ui.label(
        "The loose parts in each photo are found and sorted by the shades of the open case, else by the only shades \
         file of the folder. Results go into a folder “sorted” inside it.",
    );
    ui.add_space(theme::SPACE_S);
    let label = ui.label("Path of the folder");
    let field = ui.add(TextEdit::singleline(folder).desired_width(520.0)).labelled_by(label.id);
    if ui.memory(|memory| memory.focused().is_none()) {
        field.request_focus();
    }
    let label = ui.label("Shades in the card’s boxes, from the left, with commas (a dash for an empty box)");
    ui.add(TextEdit::singleline(known).hint_text("none").desired_width(520.0)).labelled_by(label.id);
    let typed = folder.trim();
    let (yes, cancelled) = buttons(ui, "Sort", !typed.is_empty());
    if cancelled {
        ui.close();
    }
    (yes && !typed.is_empty()).then(|| Action::Tray(TrayAction::SortFolder(expanded(typed), known.clone())))
}

/// A path as a person types it: quotes around it and a `~` in front are understood.
pub(super) fn expanded(typed: &str) -> std::path::PathBuf {
    let bare = typed.trim_matches(['"', '\'']);
    match (bare.strip_prefix("~/"), directories::BaseDirs::new()) {
        (Some(rest), Some(base)) => base.home_dir().join(rest),
        _ => bare.into(),
    }
}

fn card_list(ui: &mut Ui, sheet: &mut CardSheet) -> Option<Action> {
    ui.heading("Values of the card");
    ui.label(
        "One step a line, from the lightest to the darkest: L*, a*, b* under D50, then the standard deviation \
         of each. A new list is that of a usual ladder of six greys; if you had your card measured, write its \
         values. Find the card reads one that this program printed.",
    );
    ui.add_space(theme::SPACE_S);
    let label = ui.horizontal(|ui| {
        // The inner margin of the field below.
        ui.add_space(theme::SPACE_S);
        ui.label(RichText::new(card::LIST_HEAD).font(theme::figures()))
    });
    let label = label.inner;
    ScrollArea::vertical().max_height(220.0).show(ui, |ui| {
        let edit = TextEdit::multiline(&mut sheet.list).font(theme::figures()).desired_width(f32::INFINITY);
        ui.add(edit.desired_rows(7)).labelled_by(label.id);
    });
    if let Some(error) = &sheet.error {
        ui.label(format!("! {error}"));
    }
    let file = card_file(ui, sheet);
    let (yes, cancelled) = buttons(ui, "Use these values", true);
    if cancelled {
        ui.close();
    }
    file.or(yes.then(|| Action::SetCard(sheet.clone())))
}

/// Cards are kept by name in files of their own.
fn card_file(ui: &mut Ui, sheet: &mut CardSheet) -> Option<Action> {
    ui.add_space(theme::SPACE_S);
    let label = ui.label("Card file (NAME.card.json), to read the values from or to keep them in");
    ui.add(TextEdit::singleline(&mut sheet.path).desired_width(f32::INFINITY)).labelled_by(label.id);
    let some = !sheet.path.trim().is_empty();
    ui.horizontal(|ui| {
        let read = ui.add_enabled(some, egui::Button::new("Read the card file")).clicked();
        let write = ui.add_enabled(some, egui::Button::new("Keep in the card file")).clicked();
        let path = || expanded(sheet.path.trim());
        match (read, write) {
            (true, _) => Some(Action::ReadCard(path())),
            (_, true) => Some(Action::WriteCard(path(), sheet.list.clone())),
            _ => None,
        }
    })
    .inner
}

fn unsaved(ui: &mut Ui, next: &Next) -> Option<Action> {
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

fn unsaved_work(ui: &mut Ui, work: Work) -> Option<Action> {
    let (title, lost, back) = match work {
        Work::Guide => (
            "The guide is not saved",
            "What you changed in it since it was saved would be lost.",
            "Back to the guide",
        ),
        Work::Shades => (
            "The shades are not saved",
            "What you added to them or set aside since they were saved would be lost.",
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

fn outside(ui: &mut Ui, path: &std::path::Path, problem: &str) -> Option<Action> {
    ui.heading("This case names files outside its folder");
    ui.label(problem);
    ui.label("Open it only if it is yours, or if you trust who made it.");
    let (yes, cancelled) = buttons(ui, "Open it", true);
    if cancelled {
        ui.close();
    }
    yes.then(|| Action::OpenOutside(path.to_owned()))
}

fn replace(ui: &mut Ui, path: &std::path::Path, lost: &str) -> bool {
    ui.heading("There is a file already");
    ui.label(path.display().to_string());
    ui.label(lost);
    let (yes, cancelled) = buttons(ui, "Replace it", true);
    if cancelled {
        ui.close();
    }
    yes
}

fn has_case(ui: &mut Ui, path: &std::path::Path) -> Option<Action> {
    ui.heading("This photo has marks already");
    ui.label(format!("They are in {}.", path.display()));
    ui.add_space(theme::SPACE_M);
    ui.horizontal(|ui| {
        let open = ui.button("Go on with them").clicked();
        if ui.button("Begin anew").clicked() {
            ui.close();
        }
        open.then(|| Action::Open(path.to_owned()))
    })
    .inner
}

fn recover(ui: &mut Ui, state: &State, found: &Found) -> Option<Action> {
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
            Unsaved::Shades { references, .. } => {
                let specimens = references.shades.iter().map(|shade| shade.specimens.len()).sum();
                let counted = words::count(specimens, "specimen", "specimens");
                (format!("the shades of {}", references.family), counted)
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

fn key_sheet(ui: &mut Ui) {
    ui.heading("Keys");
    // A sheet that scrolls would else begin as low as it may.
    let height = (ui.ctx().content_rect().height() - 160.0).max(160.0);
    ScrollArea::vertical().max_height(height).min_scrolled_height(height).show(ui, |ui| {
        by_keys(ui);
        for group in Group::ALL {
            ui.add_space(theme::SPACE_S);
            ui.strong(group.name());
            for entry in group.entries() {
                let keys: Vec<String> =
                    entry.keys.iter().map(|keys| ui.ctx().format_shortcut(keys)).collect();
                key_row(ui, &keys.join(" or "), entry.text, entry.tooltip);
            }
            let besides: &[(&str, &str)] = match group {
                Group::Files => &[],
                Group::Marks => &[
                    ("Tab", "Go on to the next control; all marks count as one"),
                    ("Arrows", "Move the mark; with Ctrl ten times as far"),
                    ("Shift+Arrows", "Change its size"),
                ],
                Group::Views => &[
                    ("Arrows, wheel, Space and drag", "Move the photo"),
                    ("Arrows", "Go among a tray’s parts or a collection’s records, which Tab counts as one"),
                    ("PageUp, PageDown", "Scroll what stands beside it"),
                ],
            };
            for (keys, text) in besides {
                key_row(ui, keys, text, "");
            }
        }
    });
    ui.add_space(theme::SPACE_M);
    if ui.button("Close").clicked() {
        ui.close();
    }
}

/// Keys at the left, what they do at the right.
fn key_row(ui: &mut Ui, keys: &str, text: &str, about: &str) {
    ui.horizontal_top(|ui| {
        ui.scope(|ui| {
            ui.set_width(150.0);
            ui.add(egui::Label::new(keys).wrap());
        });
        ui.vertical(|ui| {
            ui.label(text);
            if !about.is_empty() {
                let about = RichText::new(about).small().color(theme::palette(ui).weak);
                ui.add(egui::Label::new(about).wrap());
            }
        });
    });
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
                // What went well asks for nothing.
                let mark = if message.remedy.is_empty() { "" } else { "! " };
                ui.label(RichText::new(format!("{mark}{}", message.text)).strong());
                if !message.remedy.is_empty() {
                    ui.label(&message.remedy);
                }
                if ui.button("Close").on_hover_text("Close this message (Escape).").clicked() {
                    actions.push(Action::DismissMessage);
                }
            });
        },
    );
}

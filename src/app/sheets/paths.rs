//! Paths to type.

use std::path::PathBuf;

use egui::{Id, Key, TextEdit, Ui};

use super::buttons;
use crate::app::action::Action;
use crate::app::theme;
use crate::app::toolbar;
use crate::app::tray::act::TrayAction;

/// A sheet that asks for a path. Its words: its title, what the field is, what does it.
pub(super) fn path(ui: &mut Ui, [title, label, yes]: [&str; 3], text: &mut String) -> Option<PathBuf> {
    ui.heading(title);
    let entered = path_field(ui, label, text);
    let typed = text.trim();
    let clicked = buttons(ui, yes, !typed.is_empty());
    ((clicked || entered) && !typed.is_empty()).then(|| expanded(typed))
}

/// The same for a file that must be there: else the sheet stays, with what was typed.
pub(super) fn path_there(ui: &mut Ui, words: [&str; 3], text: &mut String) -> Option<PathBuf> {
    let missing = Id::unique("path that is not there");
    let typed = path(ui, words, text);
    if let Some(typed) = typed {
        if typed.exists() {
            ui.data_mut(|data| data.remove::<String>(missing));
            return Some(typed);
        }
        ui.data_mut(|data| data.insert_temp(missing, text.clone()));
    }
    if ui.data(|data| data.get_temp::<String>(missing)).is_some_and(|missing| missing == *text) {
        ui.separator();
        ui.strong(format!("! {} does not exist.", expanded(text.trim()).display()));
        ui.label("Check the name and the folder; a file may have been moved or renamed.");
    }
    None
}

/// The field in which a sheet's path is typed; it takes the keys at once. Answers whether Enter was pressed in it, which
/// does what the sheet is for.
pub(in crate::app) fn path_field(ui: &mut Ui, label: &str, text: &mut String) -> bool {
    let label = ui.label(label);
    let field = ui.add(TextEdit::singleline(text).desired_width(520.0)).labelled_by(label.id);
    let entered = field.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
    if ui.memory(|memory| memory.focused().is_none()) && !entered {
        field.request_focus();
    }
    entered
}

/// Where a report shall go. Its kind is that of the path's ending, which the buttons write.
pub(super) fn report(ui: &mut Ui, text: &mut String) -> Option<PathBuf> {
    ui.heading("Write a report");
    ui.horizontal_wrapped(|ui| {
        for (name, ending, about) in [
            ("PDF", "pdf", "Pages with pictures, to print or to send."),
            ("Web page", "html", "One file with pictures, for any browser (HTML)."),
            ("Table", "csv", "A row a part or a record, for a spreadsheet (CSV)."),
            ("Short text", "txt", "Plain words, to paste into a message."),
        ] {
            let path = std::path::Path::new(text.trim());
            let chosen = path.extension().is_some_and(|now| now.eq_ignore_ascii_case(ending));
            let named = path.file_name().is_some();
            let button = toolbar::choice_button(chosen, name);
            if ui.add_enabled(named, button).on_hover_text(about).clicked() {
                *text = path.with_extension(ending).display().to_string();
            }
        }
    });
    ui.add_space(theme::SPACE_S);
    let entered = path_field(ui, "Path of the report", text);
    let typed = text.trim();
    let clicked = buttons(ui, "Write", !typed.is_empty());
    ((clicked || entered) && !typed.is_empty()).then(|| expanded(typed))
}

pub(super) fn sort_folder(ui: &mut Ui, folder: &mut String, known: &mut String) -> Option<Action> {
    ui.heading("Sort a folder of photos");
    ui.label(
        "The loose parts in each photo are found and sorted by the shades of the open case, else by the only shades \
         file of the folder. Results go into a folder “sorted” inside it.",
    );
    ui.add_space(theme::SPACE_S);
    let entered = path_field(ui, "Path of the folder", folder);
    let label = ui.label("Shades in the card’s boxes, from the left, with commas (a dash for an empty box)");
    ui.add(TextEdit::singleline(known).hint_text("none").desired_width(520.0)).labelled_by(label.id);
    let typed = folder.trim();
    let clicked = buttons(ui, "Sort", !typed.is_empty());
    ((clicked || entered) && !typed.is_empty())
        .then(|| Action::Tray(TrayAction::SortFolder(expanded(typed), known.clone())))
}

/// A path as a person types it: quotes around it and a `~` in front are understood.
pub(in crate::app) fn expanded(typed: &str) -> PathBuf {
    let bare = typed.trim_matches(['"', '\'']);
    match (bare.strip_prefix("~/"), directories::BaseDirs::new()) {
        (Some(rest), Some(base)) => base.home_dir().join(rest),
        _ => bare.into(),
    }
}

//! Paths to type.

use egui::{Key, TextEdit, Ui};

use super::buttons;
use crate::app::action::Action;
use crate::app::theme;
use crate::app::tray::act::TrayAction;

pub(super) fn path(
    ui: &mut Ui,
    title: &str,
    label: &str,
    yes: &str,
    text: &mut String,
) -> Option<std::path::PathBuf> {
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

pub(super) fn sort_folder(ui: &mut Ui, folder: &mut String, known: &mut String) -> Option<Action> {
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
pub(in crate::app) fn expanded(typed: &str) -> std::path::PathBuf {
    let bare = typed.trim_matches(['"', '\'']);
    match (bare.strip_prefix("~/"), directories::BaseDirs::new()) {
        (Some(rest), Some(base)) => base.home_dir().join(rest),
        _ => bare.into(),
    }
}

//! The bar of words at the top.

use egui::{Button, Response, Ui};

use crate::case::MarkKind;

use super::action::{Action, Tool};
use super::command::{Command, Front, Group};
use super::state::State;
use super::theme;

/// Shows the bar.
pub(super) fn show(ui: &mut Ui, state: &State, actions: &mut Vec<Action>) {
    if ui.available_width() < theme::WHOLE_BAR {
        theme::tighten(ui);
    }
    ui.horizontal_wrapped(|ui| {
        ui.menu_button("Menu", |ui| menu(ui, state, actions))
            .response
            .on_hover_text("Everything that can be done, with its keys.");
        command(ui, Command::Open, true, actions);
        command(ui, Command::Save, state.why_not(Command::Save).is_none(), actions);
        let front = state.front();
        if matches!(front, Front::Photo | Front::Guide) {
            ui.separator();
            let (undo, redo) = state.undo_and_redo_labels();
            step(ui, Command::Undo, undo, actions);
            step(ui, Command::Redo, redo, actions);
        }
        // What stands in front of the photo has no use for its tools.
        if front != Front::Photo {
            return;
        }
        ui.separator();
        for (command, tool) in [
            (Command::ToolChoose, Tool::Choose),
            (Command::ToolCircle, Tool::Circle),
            (Command::ToolBox, Tool::Box),
            (Command::ToolPolygon, Tool::Polygon),
            (Command::ToolGrow, Tool::Grow),
        ] {
            choice(ui, command, state.tool == tool, actions);
        }
        ui.separator();
        ui.label("Draw as");
        choice(ui, Command::DrawParts, state.draws == MarkKind::Reading, actions);
        choice(ui, Command::DrawKnown, state.draws == MarkKind::Zone, actions);
        ui.separator();
        choice(ui, Command::MarkCard, state.tool == Tool::Card, actions);
        command(ui, Command::FindCard, state.tray.looking.is_none(), actions);
    });
}

/// A button for a command.
pub(super) fn command(ui: &mut Ui, command: Command, enabled: bool, actions: &mut Vec<Action>) -> Response {
    let entry = command.entry();
    let response = ui
        .add_enabled(enabled, Button::new(entry.text))
        .on_hover_text(tooltip(ui, command))
        .on_disabled_hover_text(entry.tooltip);
    if response.clicked() {
        actions.push(Action::Run(command));
    }
    response
}

/// Undo or redo, with the step in its tooltip.
fn step(ui: &mut Ui, command: Command, label: Option<&str>, actions: &mut Vec<Action>) {
    let entry = command.entry();
    let text = match label {
        Some(label) => format!("{}: {label} ({})", entry.text, keys(ui, command)),
        None => format!("{}: nothing to do", entry.text),
    };
    let response = ui
        .add_enabled(label.is_some(), Button::new(entry.text))
        .on_hover_text(&text)
        .on_disabled_hover_text(&text);
    if response.clicked() {
        actions.push(Action::Run(command));
    }
}

/// A button that stays pressed.
fn choice(ui: &mut Ui, command: Command, chosen: bool, actions: &mut Vec<Action>) {
    let response = ui.add(choice_button(chosen, command.entry().text)).on_hover_text(tooltip(ui, command));
    if response.clicked() {
        actions.push(Action::Run(command));
    }
}

/// A button that stays pressed; it has a frame always, so that it is seen to be one.
pub(super) fn choice_button(chosen: bool, text: &str) -> Button<'_> {
    Button::selectable(chosen, text).frame_when_inactive(true)
}

fn menu(ui: &mut Ui, state: &State, actions: &mut Vec<Action>) {
    ui.set_min_width(230.0);
    for group in Group::ALL {
        ui.menu_button(group.name(), |ui| {
            ui.set_min_width(250.0);
            // A low window holds the longest of them.
            ui.spacing_mut().item_spacing.y = 1.0;
            for entry in group.entries() {
                if entry.command.begins() {
                    ui.separator();
                }
                let button = Button::new(entry.text).shortcut_text(keys(ui, entry.command));
                let why_not = state.why_not(entry.command);
                let item = ui
                    .add_enabled(why_not.is_none(), button)
                    .on_hover_text(entry.tooltip)
                    .on_disabled_hover_text(format!("{} {}", entry.tooltip, why_not.unwrap_or_default()));
                if item.clicked() {
                    actions.push(Action::Run(entry.command));
                    ui.close();
                }
            }
        });
    }
}

fn tooltip(ui: &Ui, command: Command) -> String {
    format!("{} ({})", command.entry().tooltip, keys(ui, command))
}

/// The first keys of a command in words.
pub(super) fn keys(ui: &Ui, command: Command) -> String {
    command.entry().keys.first().map(|keys| ui.ctx().format_shortcut(keys)).unwrap_or_default()
}

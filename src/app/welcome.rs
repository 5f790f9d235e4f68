//! The first page: what to do when nothing is open.

use std::path::{Path, PathBuf};

use egui::{Button, Label, RichText, Ui, vec2};

use super::action::Action;
use super::command::Command;
use super::files::start::{demo_shows, short_name};
use super::scrolling::scrolled;
use super::state::State;
use super::steps::{Stage, name_drop, step};
use super::theme;
use super::toolbar;

/// Width of the way from a photo to a shade; the files stand beside it where there is room for both, else below.
const WAY: f32 = 440.0;
/// Width of the files.
const FILES: f32 = 400.0;
/// Widest button with a file's name.
const NAME: f32 = 200.0;

/// Shows the first page.
pub(super) fn show(ui: &mut Ui, state: &State, actions: &mut Vec<Action>) {
    let both = WAY + 2.0 * theme::SPACE_XL + FILES;
    let room = ui.available_width() - 2.0 * theme::SPACE_XL;
    let (columns, width) = if room < both { (1, room.min(WAY)) } else { (2, both) };
    let margin = (ui.available_width() - width) / 2.0;
    let above = ui.available_height() * 0.1;
    scrolled(ui, "first page", |ui| {
        ui.add_space(above.max(theme::SPACE_XL));
        ui.horizontal_top(|ui| {
            ui.spacing_mut().item_spacing.x = 0.0;
            ui.add_space(margin);
            column(ui, width.min(WAY), |ui| {
                way(ui, state, actions);
                if columns == 1 {
                    ui.add_space(theme::SPACE_XL);
                    all_files(ui, state, actions);
                }
            });
            if columns == 2 {
                ui.add_space(2.0 * theme::SPACE_XL);
                column(ui, FILES, |ui| {
                    // In line with the first step.
                    ui.add_space(HEAD + name_drop(ui));
                    all_files(ui, state, actions);
                });
            }
        });
        ui.add_space(theme::SPACE_XL);
    });
}

/// Height of the title and what stands below it.
const HEAD: f32 = 78.0;

fn column(ui: &mut Ui, width: f32, content: impl FnOnce(&mut Ui)) {
    ui.vertical(|ui| {
        ui.set_width(width);
        ui.spacing_mut().item_spacing.x = theme::SPACE_M;
        content(ui);
    });
}

/// What stands alone on a page, in a column in its upper middle.
pub(super) fn alone(ui: &mut Ui, content: impl FnOnce(&mut Ui)) {
    let width = ui.available_width().min(620.0);
    let margin = (ui.available_width() - width) / 2.0;
    scrolled(ui, "alone", |ui| {
        ui.add_space((ui.available_height() * 0.16).max(theme::SPACE_XL));
        ui.horizontal(|ui| {
            ui.add_space(margin.max(theme::SPACE_XL));
            ui.vertical(|ui| {
                ui.set_width(width - 2.0 * theme::SPACE_XL);
                content(ui);
            });
        });
    });
}

/// What this is, and the way from a photo to a shade.
fn way(ui: &mut Ui, state: &State, actions: &mut Vec<Action>) {
    ui.allocate_ui(vec2(ui.available_width(), HEAD), |ui| {
        ui.set_min_height(HEAD - ui.spacing().item_spacing.y);
        ui.label(RichText::new("Sameshot").size(theme::TYPE_TITLE));
        ui.label(RichText::new("Which shade is this plastic, and how sure is that?").heading());
    });
    if state.loading.is_some() {
        ui.label("Reading the photo…");
        return;
    }
    let print = ("Print the grey card", "Once. Its greys tell the light of each photo.");
    step(ui, (1, Stage::Plain), print, |ui| {
        toolbar::command(ui, Command::CardPage, true, actions);
    });
    let light = "The card lies flat beside the parts. Light from a window at the side, no flash.";
    step(ui, (2, Stage::Plain), ("Photograph the parts with the card", light), |_| ());
    let open = "Choose it, or drop it on this window. Below it you are then told each next step: the card, the parts, \
                the shades.";
    step(ui, (3, Stage::Plain), ("Open the photo", open), |ui| {
        ui.horizontal(|ui| {
            toolbar::command(ui, Command::Open, true, actions);
            toolbar::command(ui, Command::OpenPath, true, actions);
        });
    });
    ui.add_space(theme::SPACE_M);
    ui.separator();
    ui.add_space(theme::SPACE_M);
    let others = [
        (Command::ShowCollection, "the figures that you keep, and what they lack"),
        (Command::NewGuide, "who there is in a line, and how to tell them apart"),
    ];
    let names: Vec<&str> = others.iter().map(|(command, _)| command.entry().text).collect();
    let width = width_of(ui, &names);
    for (command, about) in others {
        ui.horizontal(|ui| {
            let entry = command.entry();
            let button = Button::new(entry.text).min_size(vec2(width, theme::TOUCH));
            if ui.add(button).on_hover_text(entry.tooltip).clicked() {
                actions.push(Action::Run(command));
            }
            weak(ui, about);
        });
    }
}

fn all_files(ui: &mut Ui, state: &State, actions: &mut Vec<Action>) {
    let folder = |path: &Path| path.parent().map(|folder| folder.display().to_string());
    files(ui, "Opened last", &state.found.recent, folder, actions);
    let demos = if state.found.recent.is_empty() { "Or try it with a demo photo" } else { "Demo photos" };
    files(ui, demos, &state.found.demos, |path| demo_shows(path).map(str::to_owned), actions);
}

/// Files by name, each a button with a few words beside it.
fn files(
    ui: &mut Ui,
    title: &str,
    paths: &[PathBuf],
    beside: impl Fn(&Path) -> Option<String>,
    actions: &mut Vec<Action>,
) {
    if paths.is_empty() {
        return;
    }
    ui.heading(title);
    let names: Vec<String> = paths.iter().map(|path| short_name(path)).collect();
    let width = width_of(ui, &names.iter().map(String::as_str).collect::<Vec<_>>()).min(NAME);
    for (path, name) in paths.iter().zip(&names) {
        ui.horizontal(|ui| {
            let button = Button::new(name).truncate();
            let button =
                ui.add_sized([width, theme::TOUCH], button).on_hover_text(path.display().to_string());
            if button.clicked() {
                actions.push(Action::Open(path.clone()));
            }
            if let Some(words) = beside(path) {
                weak(ui, &words);
            }
        });
    }
    ui.add_space(theme::SPACE_L);
}

/// The width of buttons that stand below one another: that of the longest name.
fn width_of(ui: &Ui, names: &[&str]) -> f32 {
    let text = |name: &str| {
        ui.painter().layout_no_wrap(name.to_owned(), theme::body(), theme::palette(ui).text).size().x
    };
    let widest = names.iter().map(|name| text(name)).fold(0.0, f32::max);
    (widest + 2.0 * ui.spacing().button_padding.x).ceil() + 2.0
}

fn weak(ui: &mut Ui, words: &str) {
    ui.add(Label::new(RichText::new(words).small().color(theme::palette(ui).weak)).truncate());
}

//! The first page: what to do when nothing is open.

use std::path::{Path, PathBuf};

use egui::{Label, RichText, Ui};

use super::action::Action;
use super::command::Command;
use super::files::start::{demo_shows, short_name};
use super::scrolling::scrolled;
use super::state::State;
use super::theme;
use super::toolbar;

/// Shows the first page.
pub(super) fn show(ui: &mut Ui, state: &State, actions: &mut Vec<Action>) {
    alone(ui, |ui| page(ui, state, actions));
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

fn page(ui: &mut Ui, state: &State, actions: &mut Vec<Action>) {
    ui.label(RichText::new("Sameshot").size(theme::TYPE_TITLE));
    ui.label(
        "Which shade is this plastic, and how sure is that? Photograph the part with a printed grey card \
         beside it, open the photo, mark the card and the part.",
    );
    ui.add_space(theme::SPACE_L);
    if state.loading.is_some() {
        ui.label("Reading the photo…");
        return;
    }
    ui.horizontal(|ui| {
        toolbar::command(ui, Command::Open, true, actions);
        toolbar::command(ui, Command::OpenPath, true, actions);
        toolbar::command(ui, Command::ShowCollection, true, actions);
        toolbar::command(ui, Command::NewGuide, true, actions);
        toolbar::command(ui, Command::CardPage, true, actions);
    });
    ui.label(RichText::new("Or drop a photo or a case file here.").color(theme::palette(ui).weak));
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
    ui.add_space(theme::SPACE_L);
    ui.heading(title);
    for path in paths {
        ui.horizontal(|ui| {
            let button = ui.button(short_name(path)).on_hover_text(path.display().to_string());
            if button.clicked() {
                actions.push(Action::Open(path.clone()));
            }
            if let Some(words) = beside(path) {
                let words = RichText::new(words).small();
                ui.add(Label::new(words.color(theme::palette(ui).weak)).truncate());
            }
        });
    }
}

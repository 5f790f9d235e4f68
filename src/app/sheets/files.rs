//! Questions about a file: whether to trust it, replace it, go on with it.

use std::path::Path;

use egui::Ui;

use super::buttons;
use crate::app::action::Action;
use crate::app::theme;

pub(super) fn outside(ui: &mut Ui, path: &Path, problem: &str) -> Option<Action> {
    ui.heading("This case names files outside its folder");
    ui.label(problem);
    ui.label("Open it only if it is yours, or if you trust who made it.");
    buttons(ui, "Open it", true).then(|| Action::OpenOutside(path.to_owned()))
}

pub(super) fn replace(ui: &mut Ui, path: &Path, lost: &str) -> bool {
    ui.heading("There is a file already");
    ui.label(path.display().to_string());
    ui.label(lost);
    buttons(ui, "Replace it", true)
}

pub(super) fn has_case(ui: &mut Ui, path: &Path) -> Option<Action> {
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

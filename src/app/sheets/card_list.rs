//! The values of a card, as a list and in a file.

use egui::{RichText, ScrollArea, TextEdit, Ui};

use super::buttons;
use super::paths::expanded;
use crate::app::action::{Action, CardSheet};
use crate::app::card;
use crate::app::theme;

pub(super) fn card_list(ui: &mut Ui, sheet: &mut CardSheet) -> Option<Action> {
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
    let yes = buttons(ui, "Use these values", true);
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

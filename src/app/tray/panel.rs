//! Loose parts in the column: finding them, and what lies there in its order.

use egui::{Label, RichText, Ui};

use super::boxes::card;
use super::matches::{limbs, pairs};
use super::part;
use super::piles::piles;
use crate::app::action::Action;
use crate::app::bench;
use crate::app::command::Command;
use crate::app::scrolling::scrolled;
use crate::app::session::Session;
use crate::app::state::State;
use crate::app::theme;
use crate::app::toolbar;

/// The list's share of the height while a part is looked at.
const LIST_SHARE: f32 = 0.52;

/// Shows the panel.
pub(in crate::app) fn show(ui: &mut Ui, state: &State, session: &Session, actions: &mut Vec<Action>) {
    ui.horizontal_wrapped(|ui| {
        let idle = state.tray.looking.is_none();
        toolbar::command(ui, Command::FindParts, idle, actions);
        toolbar::command(ui, Command::FindCard, idle, actions);
        bench::shade_drawing::toggle(ui, state, actions);
    });
    // One line that is always there: what lies below must not jump, nor lose the focus, when results arrive.
    let sorting = session.case().tray.is_some() && (!state.tray.is_current() || session.is_measuring());
    ui.label(match (&state.tray.looking, sorting) {
        (Some(_), _) => "Looking…",
        (None, true) => "Sorting…",
        (None, false) => " ",
    });
    // The part that is looked at has the lower half: the list above it stays where it is.
    let chosen = state.chosen_part();
    let share = if chosen.is_some() { LIST_SHARE } else { 1.0 };
    let size = egui::vec2(ui.available_width(), ui.available_height() * share);
    ui.allocate_ui(size, |ui| scrolled(ui, "tray", |ui| list(ui, state, session, actions)));
    if let Some(part) = chosen {
        ui.separator();
        scrolled(ui, "chosen part", |ui| part::show(ui, state, session, part, actions));
    }
}

/// The card, and all parts in their piles.
fn list(ui: &mut Ui, state: &State, session: &Session, actions: &mut Vec<Action>) {
    let overview = state.tray.overview();
    ui.push_id("card", |ui| card(ui, session, actions));
    if session.case().loose_parts().is_empty() {
        return empty(ui);
    }
    let doubt = if session.case().loose_parts().iter().any(|part| !part.doubts.is_empty()) {
        " A ? behind a number: the outline is doubtful; choose it to see why."
    } else {
        ""
    };
    let choose = "Choose a part by its number, here or on the photo, to split, merge, redraw or drop it.";
    weak(ui, &format!("{choose}{doubt}"));
    ui.push_id("piles", |ui| piles(ui, state, session, overview, actions));
    ui.push_id("pairs", |ui| pairs(ui, overview, actions));
    ui.push_id("limbs", |ui| limbs(ui, session, overview, actions));
}

fn empty(ui: &mut Ui) {
    ui.add_space(theme::SPACE_M);
    ui.heading("No loose parts yet");
    for text in [
        "Lay the parts on a board or sheet of one neutral tone, a printed card among them, and nothing on top of \
         anything else. “Find the parts” outlines and numbers them and sorts them by shade.",
        "On any other photo “Grow” makes an area from one click on a part.",
    ] {
        ui.add(Label::new(text).wrap());
        ui.add_space(theme::SPACE_S);
    }
}

pub(super) fn weak(ui: &mut Ui, text: &str) {
    ui.add(Label::new(RichText::new(text).color(theme::palette(ui).weak)).wrap());
}

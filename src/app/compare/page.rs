//! Two photos side by side, each with its name above; below them how they are seen.

use egui::{CentralPanel, Frame, Label, Margin, Panel, RichText, Ui};

use super::beside::{Beside, CompareAction, Side};
use crate::app::action::Action;
use crate::app::bench::looking::{Seen, look_only};
use crate::app::bench::tiles::Tiles;
use crate::app::bench::view::Bench;
use crate::app::state::State;
use crate::app::theme;
use crate::app::toolbar::choice_button;
use crate::jobs::Wake;

/// Shows both. `tiles` are those of the first and of the second.
pub(in crate::app) fn show(
    ui: &mut Ui,
    state: &mut State,
    tiles: [&mut Option<Tiles>; 2],
    wake: &Wake,
    actions: &mut Vec<Action>,
) {
    let Some((session, beside)) = state.session.as_ref().zip(state.beside.as_ref()) else { return };
    let grey = theme::palette(ui);
    let bar = Frame::new().fill(grey.panel).inner_margin(Margin::same(theme::SPACE_M as i8));
    let mut asked = Vec::new();
    Panel::bottom("compare").frame(bar).resizable(false).show(ui, |ui| below(ui, beside, &mut asked));
    let half = (ui.available_width() / 2.0).floor();
    let ground = Frame::new().fill(grey.panel);
    let [first_tiles, second_tiles] = tiles;
    let first_view = state.current_view();
    let second =
        Panel::right("second photo").frame(ground).exact_size(half).resizable(false).show(ui, |ui| {
            let seen = Seen { session: &beside.session, view: beside.view, magnifier: state.magnifier };
            pane(ui, Side::Second, &seen, beside, (second_tiles, wake), &mut asked)
        });
    let first = CentralPanel::default().frame(ground).show(ui, |ui| {
        let seen = Seen { session, view: first_view, magnifier: state.magnifier };
        pane(ui, Side::First, &seen, beside, (first_tiles, wake), &mut asked)
    });
    state.bench = first.inner;
    if let Some(beside) = &mut state.beside {
        beside.bench = second.inner;
    }
    actions.extend(asked.into_iter().map(Action::Compare));
}

/// One photo with its name above. Answers where it is shown.
fn pane(
    ui: &mut Ui,
    side: Side,
    seen: &Seen,
    beside: &Beside,
    (tiles, wake): (&mut Option<Tiles>, &Wake),
    asked: &mut Vec<CompareAction>,
) -> Bench {
    let path = seen.session.case_path.as_ref().unwrap_or(&seen.session.photo_path);
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let margin = Margin::symmetric(theme::SPACE_M as i8, theme::SPACE_M as i8);
    Frame::new().inner_margin(margin).show(ui, |ui| {
        let which = if side == Side::First { "Left" } else { "Right" };
        ui.add(Label::new(RichText::new(format!("{which}: {name}")).strong()).truncate())
            .on_hover_text(path.display().to_string());
    });
    let tiles = Tiles::of(tiles, &seen.session.raster, beside.gains(side), wake);
    let looked = look_only(ui, seen, tiles);
    asked.extend(looked.view.map(|view| CompareAction::Look(side, view)));
    if looked.has_focus && beside.keys != side {
        asked.push(CompareAction::Focus(side));
    }
    looked.bench
}

fn below(ui: &mut Ui, beside: &Beside, asked: &mut Vec<CompareAction>) {
    ui.horizontal_wrapped(|ui| {
        let together = ui.add(choice_button(beside.together, "Move both together"));
        if together.on_hover_text("Panning and zooming one moves the other as far.").clicked() {
            asked.push(CompareAction::Together(!beside.together));
        }
        let can = beside.can_be_levelled();
        let levelled = ui
            .add_enabled(can, choice_button(beside.levelled && can, "As the cards’ greys ask"))
            .on_hover_text("Red, green and blue of each photo are multiplied until the greys of its card look grey.")
            .on_disabled_hover_text("Mark the greys of the card in both photos first.");
        if levelled.clicked() {
            asked.push(CompareAction::Levelled(!beside.levelled));
        }
        if ui.button("Close the comparison").on_hover_text("Back to the first photo alone (Escape).").clicked() {
            asked.push(CompareAction::Close);
        }
        let shown = match (beside.levelled && can, can) {
            (true, _) => "The greys of each card are shown grey.",
            (false, true) => "Colours are shown as the files hold them.",
            (false, false) => {
                "Colours are shown as the files hold them; for a common light mark the card’s greys in both photos."
            }
        };
        let text = format!("{shown} The screen is not calibrated, and nothing is measured from it.");
        ui.add(Label::new(RichText::new(text).color(theme::palette(ui).weak)).wrap());
    });
}

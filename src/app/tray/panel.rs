//! Loose parts in the column: finding them, piles by shade, every part with its bar, pairs, limbs and bodies.

use egui::{Align, Label, Layout, Response, RichText, Ui};

use crate::measure::{Call, Interval, Measurement};
use crate::tray::bodies::{Fit, LimbFit};
use crate::tray::found::box_id;
use crate::tray::overview::{Overview, PartFacts};
use crate::tray::sort::Pile;

use super::act::TrayAction;
use super::part;
use crate::app::action::{Action, Sheet};
use crate::app::bench;
use crate::app::choosing::{Choosing, choose};
use crate::app::command::Command;
use crate::app::one_stop::{Arrows, Members, one_stop};
use crate::app::results;
use crate::app::results::axis::Axis;
use crate::app::scrolling::scrolled;
use crate::app::session::Session;
use crate::app::state::State;
use crate::app::theme;
use crate::app::toolbar;
use crate::app::words;

/// Width of a part's number as a button.
const NUMBER_WIDTH: f32 = 38.0;
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
    weak(ui, "Choose a part by its number, here or on the photo, to split, merge, redraw or drop it.");
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

/// The card and the parts in its boxes.
fn card(ui: &mut Ui, session: &Session, actions: &mut Vec<Action>) {
    let Some(card) = &session.case().card_found else { return };
    let text = format!("Card {}: {} of 4 corner marks, quality {:.2}.", card.card, card.marks, card.quality);
    ui.add(Label::new(text).wrap());
    let taken: Vec<usize> =
        (1..).zip(&card.boxes).filter(|(_, place)| place.is_some()).map(|(n, _)| n).collect();
    let Some(references) = session.references.as_deref().filter(|_| !taken.is_empty()) else {
        if !taken.is_empty() {
            weak(ui, "Choose the shades, then say which shade the parts in the card’s boxes are.");
        }
        return;
    };
    ui.horizontal_wrapped(|ui| {
        ui.label("In its boxes, from the left:");
        let unused = |number: &usize| session.case().zones.iter().all(|zone| zone.id != box_id(*number));
        if taken.iter().all(unused) && taken.len() <= references.shades.len() {
            let listed = ui
                .button("As the shades are listed")
                .on_hover_text("The first shade of the list lies in the first box, and so on.");
            if listed.clicked() {
                actions.push(Action::Tray(TrayAction::BoxesAsListed));
            }
        }
        for number in taken {
            let id = box_id(number);
            let zone = session.case().zones.iter().find(|zone| zone.id == id);
            let now = zone.and_then(|zone| match &zone.known {
                crate::case::Known::Shade { shade, .. } => Some(shade.as_str()),
                crate::case::Known::Lab { .. } => None,
            });
            let name = |id: &str| words::shade_name(Some(references), id);
            let shown = now.map_or("not used".into(), name);
            let shades = references.shades.iter().map(|shade| (Some(shade.id.as_str()), shade.name()));
            let choices: Vec<(Option<&str>, &str)> =
                std::iter::once((None, "not used")).chain(shades).collect();
            let values = choices.iter().map(|(shade, text)| (*shade == now, (*text).to_owned())).collect();
            let list = Choosing { width: 112.0, grows: true, now: &shown, values, spoken: None };
            let (taken, response) = choose(ui, ("box", number), list);
            if let Some((shade, _)) = taken.and_then(|at| choices.get(at)) {
                actions.push(Action::Tray(TrayAction::Box(number, shade.map(str::to_owned))));
            }
            response
                .accessible_name(format!("Shade of the part in box {number}"))
                .on_hover_text("A part of certain shade in a box of the card is the best card there is.");
        }
    });
}

fn piles(ui: &mut Ui, state: &State, session: &Session, overview: &Overview, actions: &mut Vec<Action>) {
    let measurement = session.measurement();
    let axis = measurement.map(Axis::of_nearest);
    let compared = measurement.is_some_and(|m| m.readings.iter().any(|r| !r.differences.is_empty()));
    if !compared {
        weak(ui, "Choose the shades, and the parts are sorted by them.");
        toolbar::command(ui, Command::ChooseReferences, true, actions);
    } else if let Some(axis) = &axis {
        // In line with the bars, which have the numbers at their left.
        ui.horizontal(|ui| {
            ui.add_space(NUMBER_WIDTH - 1.0);
            results::bars::head(ui, axis, "Difference to the likeliest shade", "probability");
        });
    }
    let chosen = state.chosen_part().map(|part| part.number);
    let is_new = is_new(ui, chosen);
    one_stop(ui, "parts", Arrows::Rows(1), |ui, members| {
        for pile in &overview.piles {
            ui.add_space(theme::SPACE_S);
            ui.heading(format!("{}: {}", pile_name(session, pile), pile.numbers.len()));
            for number in &pile.numbers {
                let part = overview.parts.iter().find(|part| part.number as usize == *number);
                let (Some(part), Some(axis)) = (part, &axis) else { continue };
                // Named by the number: a part keeps the focus when it changes its pile.
                let shown = ui.push_id(part.number, |ui| {
                    row(ui, session, part, chosen, (axis, measurement), members, actions)
                });
                if is_new && chosen == Some(part.number) {
                    shown.response.scroll_to_me(None);
                }
            }
        }
    });
}

/// Whether another part is looked at than a moment ago, by a click on the photo perhaps.
fn is_new(ui: &Ui, chosen: Option<u32>) -> bool {
    let id = ui.scope_id().with("chosen");
    ui.data_mut(|data| {
        let before: Option<u32> = data.get_temp(id).flatten();
        data.insert_temp(id, chosen);
        before != chosen
    })
}

fn pile_name(session: &Session, pile: &Pile) -> String {
    match &pile.call {
        Call::Shade(id) => words::capital(&words::shade_name(session.references.as_deref(), id)),
        Call::Undecided => "Undecided".into(),
        Call::None => "None of these shades".into(),
    }
}

/// A part in its pile: its number as a button, its size, its bar.
fn row(
    ui: &mut Ui,
    session: &Session,
    part: &PartFacts,
    chosen: Option<u32>,
    (axis, measurement): (&Axis, Option<&Measurement>),
    members: &mut Members,
    actions: &mut Vec<Action>,
) {
    let is_chosen = chosen == Some(part.number);
    let size = egui::vec2(ui.available_width() - theme::SPACE_M - 1.0, results::bars::TWO_LINES);
    ui.allocate_ui_with_layout(size, Layout::left_to_right(Align::Center), |ui| {
        ui.set_min_size(size);
        members.add(&number_button(ui, part, is_chosen, actions), is_chosen);
        let result = measurement
            .and_then(|m| m.readings.iter().find(|result| Some(&result.id) == part.reading.as_ref()));
        let likeliest = result.and_then(|result| {
            let shade = result
                .shades
                .iter()
                .filter(|shade| shade.shade.is_some())
                .max_by(|a, b| a.probability.total_cmp(&b.probability))?;
            let difference = result.differences.iter().find(|d| Some(&d.shade) == shade.shade.as_ref())?;
            Some((shade.probability, difference))
        });
        let size = size_words(part).unwrap_or_else(|| "size unknown".into());
        match likeliest {
            Some((probability, difference)) => {
                let name = words::shade_name(session.references.as_deref(), &difference.shade);
                let solid = part.call == Some(Call::Shade(difference.shade.clone()));
                let bar: Interval = difference.de00;
                results::bars::row(ui, axis, [&name, &size], bar, solid, &words::percent(probability));
            }
            None if part.reading.is_none() => weak(ui, &format!("{size}; no matt place to read")),
            None if result.is_none() => weak(ui, &format!("{size}; not measured")),
            None => weak(ui, &size),
        }
    });
}

/// The number of a part as a button that chooses it.
fn number_button(ui: &mut Ui, part: &PartFacts, is_chosen: bool, actions: &mut Vec<Action>) -> Response {
    let doubtful = if part.doubts.is_empty() { "" } else { "?" };
    let text = format!("{}{doubtful}", part.number);
    let response = ui
        .add(toolbar::choice_button(is_chosen, &text).min_size(egui::vec2(NUMBER_WIDTH, theme::TOUCH)))
        .accessible_name(format!("Part {}", part.number))
        .on_hover_text("Show this part on the photo.");
    if response.clicked() {
        actions.push(Action::Tray(TrayAction::Choose(part.number)));
    }
    response
}

/// "42 × 11 mm".
pub(super) fn size_words(part: &PartFacts) -> Option<String> {
    part.size.map(|size| format!("{:.0} × {:.0} mm", size.length_mm, size.width_mm))
}

fn pairs(ui: &mut Ui, overview: &Overview, actions: &mut Vec<Action>) {
    if overview.pairs.is_empty() {
        return;
    }
    ui.add_space(theme::SPACE_M);
    ui.heading("May be left and right");
    weak(
        ui,
        "Alike in size and plastic, one the mirror image of the other; a part turned over looks so, too.",
    );
    let facts = |number: u32| overview.parts.iter().find(|part| part.number == number);
    one_stop(ui, "pairs", Arrows::Rows(2), |ui, members| {
        for (a, b, mirrored) in &overview.pairs {
            let (Some(first), Some(second)) = (facts(*a), facts(*b)) else { continue };
            ui.horizontal(|ui| {
                members.add(&number_button(ui, first, false, actions), false);
                ui.label("with");
                members.add(&number_button(ui, second, false, actions), false);
                ui.label(format!("({:.0}\u{a0}%\u{a0}alike)", 100.0 * mirrored));
            });
        }
    });
}

fn limbs(ui: &mut Ui, session: &Session, overview: &Overview, actions: &mut Vec<Action>) {
    ui.add_space(theme::SPACE_M);
    ui.heading("Limbs and bodies");
    ui.horizontal_wrapped(|ui| {
        let hint =
            "Compare with the torsos of a case saved earlier; two photos are never compared as well as one.";
        if ui.button("Bodies of another case…").on_hover_text(hint).clicked() {
            let folder = session.folder().display().to_string();
            actions.push(Action::Show(Some(Sheet::BodiesPath(folder))));
        }
        let elsewhere = session.case().tray.as_ref().map_or(0, |tray| tray.bodies.len());
        if elsewhere > 0 && ui.button(format!("Forget {elsewhere} of other cases")).clicked() {
            actions.push(Action::Tray(TrayAction::ForgetBodies));
        }
    });
    if overview.fits.is_empty() {
        return weak(
            ui,
            "Say of the parts what they are: a torso is a body, all else a limb. Then each limb is given to the body \
             whose plastic it fits best.",
        );
    }
    one_stop(ui, "limbs", Arrows::Rows(1), |ui, members| {
        overview.fits.iter().for_each(|fit| one_fit(ui, session, overview, fit, members, actions));
    });
    weak(ui, "One plastic does not prove one figure: others were made of it, too.");
}

/// A limb with the body it fits.
fn one_fit(
    ui: &mut Ui,
    session: &Session,
    overview: &Overview,
    fit: &LimbFit,
    members: &mut Members,
    actions: &mut Vec<Action>,
) {
    let part = session.case().tray.as_ref().and_then(|tray| tray.part_of(&fit.limb));
    let facts = part.and_then(|part| overview.parts.iter().find(|facts| facts.number == part.number));
    ui.horizontal_wrapped(|ui| {
            if let Some(facts) = facts {
                members.add(&number_button(ui, facts, false, actions), false);
            }
            let slot = session.slot_words(&fit.slot);
            let text = match &fit.fit {
                Fit::Body { body, place, odds, same_plastic } => format!(
                    "{} ({slot}) fits {body} as {}: same plastic {}, {odds:.0} times as probable as anything else.",
                    fit.limb,
                    session.slot_words(place),
                    words::percent(*same_plastic)
                ),
                Fit::Open { why } => format!("{} ({slot}) is left open: {why}.", fit.limb),
            };
            ui.add(Label::new(text).wrap());
        });
}

pub(super) fn weak(ui: &mut Ui, text: &str) {
    ui.add(Label::new(RichText::new(text).color(theme::palette(ui).weak)).wrap());
}

//! Loose parts in piles by their shade, each with its bar.

use egui::{Align, Layout, Response, Ui};

use super::act::TrayAction;
use super::panel::weak;
use crate::app::action::Action;
use crate::app::command::Command;
use crate::app::one_stop::{Arrows, Members, one_stop};
use crate::app::results;
use crate::app::results::axis::Axis;
use crate::app::session::Session;
use crate::app::state::State;
use crate::app::theme;
use crate::app::toolbar;
use crate::app::words;
use crate::measure::{Call, Interval, Measurement};
use crate::tray::overview::{Overview, PartFacts};
use crate::tray::sort::Pile;

/// Width of a part's number as a button.
const NUMBER_WIDTH: f32 = 38.0;

pub(super) fn piles(
    ui: &mut Ui,
    state: &State,
    session: &Session,
    overview: &Overview,
    actions: &mut Vec<Action>,
) {
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
                let probability = words::percent(probability);
                results::bars::row(ui, axis, [&name, &size], bar, solid, (&probability, &probability));
            }
            None if part.reading.is_none() => weak(ui, &format!("{size}; no matt place to read")),
            None if result.is_none() => weak(ui, &format!("{size}; not measured")),
            None => weak(ui, &size),
        }
    });
}

/// The number of a part as a button that chooses it.
pub(super) fn number_button(
    ui: &mut Ui,
    part: &PartFacts,
    is_chosen: bool,
    actions: &mut Vec<Action>,
) -> Response {
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

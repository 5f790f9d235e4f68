//! One part in the column: the call, its bars, what to do next, and the numbers for who wants them.

use egui::{Button, CollapsingHeader, Frame, Grid, Label, Margin, Response, RichText, Stroke, Ui};

use crate::case::MarkKey;
use crate::measure::{LightSummary, ReadingResult, Warning};
use crate::shade::References;

use super::axis::{self, Axis};
use super::bars;
use super::budget;
use crate::app::action::Action;
use crate::app::theme;
use crate::app::words;

/// What is shown of a part.
pub(in crate::app) struct Part<'a> {
    /// The result.
    pub reading: &'a ReadingResult,
    /// The light that it was read in.
    pub light: &'a LightSummary,
    /// Its place in the figure, in words.
    pub slot: Option<String>,
    /// The axis that all parts share.
    pub axis: &'a Axis,
    /// The shades it is compared with.
    pub references: Option<&'a References>,
    /// Whether its mark is selected.
    pub selected: bool,
}

/// Shows a part.
pub(in crate::app) fn show(ui: &mut Ui, part: &Part, actions: &mut Vec<Action>) -> Response {
    let grey = theme::palette(ui);
    let edge = if part.selected { Stroke::new(2.0, grey.text) } else { Stroke::new(1.0, grey.line) };
    let frame = Frame::new()
        .fill(grey.raised)
        .stroke(edge)
        .corner_radius(4.0)
        .inner_margin(Margin::symmetric(theme::SPACE_M as i8, theme::SPACE_M as i8));
    frame
        .show(ui, |ui| {
            ui.set_width(ui.available_width());
            head(ui, part, actions);
            let rows = axis::rows(part.reading, part.references);
            if !rows.is_empty() {
                bars::rows(ui, part.axis, &rows, axis::none_of_these(part.reading));
            }
            let advice = words::remedies(part.reading.warnings.iter());
            if let Some(first) = advice.first() {
                ui.add(Label::new(RichText::new(format!("Next: {}", words::unbroken(&first.remedy)))).wrap());
            }
            details(ui, part, &advice);
        })
        .response
}

fn head(ui: &mut Ui, part: &Part, actions: &mut Vec<Action>) {
    let verdict = words::verdict(part.reading, part.light, part.references);
    let slot = part.slot.as_ref().filter(|slot| **slot != part.reading.id);
    let slot = slot.map(|slot| format!(" · {slot}")).unwrap_or_default();
    let name = RichText::new(format!("{}{slot}", part.reading.id)).color(theme::palette(ui).weak);
    let name = ui.add(Button::new(name).frame(false).truncate());
    if name.on_hover_text("Show this part on the photo.").clicked() {
        actions.push(Action::Reveal(MarkKey::reading(&part.reading.id)));
    }
    ui.heading(verdict.headline);
    ui.add(Label::new(verdict.reason).wrap());
}

fn details(ui: &mut Ui, part: &Part, advice: &[&Warning]) {
    let name = RichText::new("Error budget and numbers").color(theme::palette(ui).weak);
    CollapsingHeader::new(name).id_salt(("details", &part.reading.id)).show_unindented(ui, |ui| {
        ui.label("What makes the bars as long as they are:");
        budget::show(ui, &part.reading.budget);
        advice_rest(ui, advice);
        ui.add_space(theme::SPACE_S);
        numbers(ui, part);
    });
}

fn advice_rest(ui: &mut Ui, warnings: &[&Warning]) {
    if !warnings.is_empty() {
        ui.add_space(theme::SPACE_S);
        advice(ui, warnings);
    }
}

/// Warnings with what to do about each.
pub(super) fn advice(ui: &mut Ui, warnings: &[&Warning]) {
    for warning in warnings {
        ui.add(Label::new(format!("! {}", warning.text)).wrap());
        ui.indent(&warning.code, |ui| {
            ui.add(Label::new(words::unbroken(&warning.remedy)).wrap());
        });
    }
}

fn numbers(ui: &mut Ui, part: &Part) {
    let reading = part.reading;
    Grid::new(("lab", &reading.id)).num_columns(3).show(ui, |ui| {
        for (i, name) in ["L*", "a*", "b*"].into_iter().enumerate() {
            ui.label(name);
            ui.monospace(format!("{:7.2}", reading.lab[i]));
            ui.monospace(format!("± {:.2}", 1.96 * reading.cov[i][i].max(0.0).sqrt()));
            ui.end_row();
        }
    });
    ui.label(RichText::new("CIE 1976 L*a*b*, D50, 2° observer; ± is half of the 95 % interval.").small());
    ui.add_space(theme::SPACE_S);
    let text = crate::report::pixels_text(&reading.pixels);
    ui.add(Label::new(RichText::new(text).small()).wrap());
}

//! Every two parts compared: same plastic?

use egui::{Label, RichText, Ui};

use super::alike::Alike;
use super::alike_grid;
use super::axis::Axis;
use super::bars;
use crate::app::scrolling::scrolled;
use crate::app::session::Session;
use crate::app::theme;
use crate::app::words::{self, SamePlastic};
use crate::measure::PairResult;

/// Of each kind no more pairs are listed; a tray of forty parts has 780.
const MOST: usize = 100;

/// Shows all parts together, and then two by two.
pub(super) fn show(ui: &mut Ui, session: &Session) {
    let Some(measurement) = session.measurement().filter(|measurement| !measurement.pairs.is_empty()) else {
        return nothing_yet(ui);
    };
    let pairs = &measurement.pairs;
    let farthest = pairs.iter().map(|pair| pair.de00.high).filter(|v| v.is_finite()).fold(0.0, f64::max);
    let axis = Axis::up_to(farthest);
    let alike = Alike::of(measurement);
    scrolled(ui, "pairs", |ui| {
        ui.add(Label::new(RichText::new(alike.sentence()).heading()).wrap());
        ui.add_space(theme::SPACE_S);
        // In line with the rows inside the frames of parts.
        let margin = egui::Margin::symmetric(theme::SPACE_M as i8 + 1, 0);
        egui::Frame::new().inner_margin(margin).show(ui, |ui| alike_grid::show(ui, &alike));
        ui.add_space(theme::SPACE_M);
        for said in [SamePlastic::Different, SamePlastic::Unknown, SamePlastic::Agree] {
            let pairs = alike.said(said);
            if !pairs.is_empty() {
                let count = words::count(pairs.len(), "pair", "pairs");
                ui.label(RichText::new(format!("{}: {count}", words::capital(said.phrase()))).strong());
                bars::head(ui, &axis, "Colour difference, CIEDE2000", "probability they differ");
                egui::Frame::new().inner_margin(margin).show(ui, |ui| group(ui, &axis, said, &pairs));
                ui.add_space(theme::SPACE_M);
            }
        }
        let caution = "Worn, yellowed or painted parts differ though they belong together; and some figures rightly \
                       have a limb of another shade.";
        ui.add(Label::new(RichText::new(caution).small()).wrap());
    });
}

/// The pairs of which one thing is said.
fn group(ui: &mut Ui, axis: &Axis, said: SamePlastic, pairs: &[&PairResult]) {
    ui.spacing_mut().item_spacing.y = 1.0;
    for pair in pairs.iter().take(MOST) {
        let solid = said == SamePlastic::Different;
        let at_right = words::percent_they_differ(pair, said);
        let spoken = words::said_of_pair(pair, said);
        bars::row(ui, axis, [&pair.a, &pair.b], pair.de00, solid, (&at_right, &spoken));
    }
    if let Some(more) = pairs.len().checked_sub(MOST).filter(|more| *more > 0) {
        let text = format!("And {more} more, each less likely different than these.");
        ui.add(Label::new(RichText::new(text).small()).wrap());
    }
}

fn nothing_yet(ui: &mut Ui) {
    ui.add_space(theme::SPACE_M);
    ui.heading("Nothing to compare yet");
    let text = "Mark at least two parts. Parts in one photo are compared better than a part with a shade.";
    ui.add(Label::new(text).wrap());
}

//! Every two parts compared: same plastic?

use egui::{Id, Label, RichText, Ui};

use super::alike::Alike;
use super::alike_grid;
use super::axis::Axis;
use super::bars;
use crate::app::scrolling::scrolled;
use crate::app::session::Session;
use crate::app::theme;
use crate::app::words::{self, SamePlastic};
use crate::case::MarkKind;
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
        let only = if alike.names.len() > alike_grid::MOST { only_those_of(ui, session) } else { None };
        for said in [SamePlastic::Different, SamePlastic::Unknown, SamePlastic::Agree] {
            let mut pairs = alike.said(said);
            pairs.retain(|pair| only.is_none_or(|part| pair.a == part || pair.b == part));
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

/// Of many parts, the selected one whose pairs alone are listed, unless all shall be.
fn only_those_of<'a>(ui: &mut Ui, session: &'a Session) -> Option<&'a str> {
    let selected = session.selected().filter(|mark| mark.kind == MarkKind::Reading);
    let Some(part) = selected.map(|mark| mark.id.as_str()) else {
        ui.add(Label::new("Select a part on the photo to see its pairs alone.").wrap());
        ui.add_space(theme::SPACE_M);
        return None;
    };
    let key = Id::unique("pairs of the selected part alone");
    let mut alone = ui.data(|data| data.get_temp(key)).unwrap_or(true);
    if ui.checkbox(&mut alone, format!("Only the pairs of {part}")).changed() {
        ui.data_mut(|data| data.insert_temp(key, alone));
    }
    ui.add_space(theme::SPACE_M);
    alone.then_some(part)
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

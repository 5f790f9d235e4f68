//! Every two parts compared: same plastic?

use egui::{Grid, Label, RichText, ScrollArea, Ui};

use super::session::Session;
use super::words;

/// Shows the table.
pub(super) fn show(ui: &mut Ui, session: &Session) {
    let pairs = session.measurement().map(|measurement| measurement.pairs.as_slice()).unwrap_or_default();
    if pairs.is_empty() {
        ui.strong("Nothing to compare yet");
        ui.label(
            "Mark at least two parts; parts in one photo are compared better than any part with a shade.",
        );
        return;
    }
    ui.add(
        Label::new(
            "Difference between two parts (CIEDE2000, median and 95 % interval) and the probability that they \
             are of different plastic. Worn, yellowed or painted parts differ though they belong together.",
        )
        .wrap(),
    );
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        Grid::new("pairs").num_columns(3).striped(true).min_col_width(60.0).show(ui, |ui| {
            for heading in ["Parts", "Difference", "Same plastic?"] {
                ui.strong(heading);
            }
            ui.end_row();
            for pair in pairs {
                ui.add(Label::new(format!("{} – {}", pair.a, pair.b)).wrap());
                let bar = pair.de00;
                ui.label(format!("{:.1}  ({:.1}–{:.1})", bar.median, bar.low, bar.high));
                ui.vertical(|ui| {
                    ui.label(words::capital(words::same_plastic(pair)));
                    let text = format!("{} different", words::percent(pair.different_plastic));
                    ui.label(RichText::new(text).small());
                });
                ui.end_row();
            }
        });
    });
}

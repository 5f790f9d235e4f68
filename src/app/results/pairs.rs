//! Every two parts compared: same plastic?

use egui::{Label, RichText, Ui};

use super::axis::Axis;
use super::bars;
use crate::app::scrolling::scrolled;
use crate::app::session::Session;
use crate::app::theme;
use crate::app::words;

/// Shows the table.
pub(super) fn show(ui: &mut Ui, session: &Session) {
    let pairs = session.measurement().map(|measurement| measurement.pairs.as_slice()).unwrap_or_default();
    if pairs.is_empty() {
        ui.add_space(theme::SPACE_M);
        ui.heading("Nothing to compare yet");
        ui.add(
            Label::new(
                "Mark at least two parts. Parts in one photo are compared better than a part with a shade.",
            )
            .wrap(),
        );
        return;
    }
    let farthest = pairs.iter().map(|pair| pair.de00.high).filter(|v| v.is_finite()).fold(0.0, f64::max);
    let axis = Axis::up_to(farthest);
    bars::head(ui, &axis, "Colour difference of two parts, CIEDE2000", "");
    scrolled(ui, "pairs", |ui| {
        ui.spacing_mut().item_spacing.y = theme::SPACE_S;
        for pair in pairs {
            // In line with the rows inside the frames of parts.
            egui::Frame::new().inner_margin(egui::Margin::symmetric(theme::SPACE_M as i8 + 1, 0)).show(
                ui,
                |ui| {
                    let verdict = words::same_plastic(pair);
                    let solid = verdict == words::SamePlastic::Different;
                    bars::row(ui, &axis, [&pair.a, &pair.b], pair.de00, solid, verdict.word());
                    let text = words::said_of_pair(pair, verdict);
                    ui.add(Label::new(RichText::new(text).small().color(theme::palette(ui).weak)).wrap());
                },
            );
            ui.separator();
        }
        ui.add(
            Label::new(
                RichText::new(
                    "Worn, yellowed or painted parts differ though they belong together; and some figures rightly \
                     have a limb of another shade.",
                )
                .small(),
            )
            .wrap(),
        );
    });
}

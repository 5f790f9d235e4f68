//! The list of keys.

use egui::{RichText, ScrollArea, Ui};

use crate::app::command::Group;
use crate::app::scrolling::by_keys;
use crate::app::theme;

pub(super) fn key_sheet(ui: &mut Ui) {
    ui.heading("Keys");
    // A sheet that scrolls would else begin as low as it may.
    let height = (ui.ctx().content_rect().height() - 160.0).max(160.0);
    ScrollArea::vertical().max_height(height).min_scrolled_height(height).show(ui, |ui| {
        by_keys(ui);
        for group in Group::ALL {
            ui.add_space(theme::SPACE_S);
            ui.strong(group.name());
            for entry in group.entries() {
                let keys: Vec<String> =
                    entry.keys.iter().map(|keys| ui.ctx().format_shortcut(keys)).collect();
                key_row(ui, &keys.join(" or "), entry.text, entry.tooltip);
            }
            let besides: &[(&str, &str)] = match group {
                Group::Files | Group::Card => &[],
                Group::Marks => &[
                    ("Tab", "Go on to the next control; all marks count as one"),
                    ("Arrows", "Move the mark; with Ctrl ten times as far"),
                    ("Shift+Arrows", "Change its size"),
                ],
                Group::Views => &[
                    ("Arrows, wheel, Space and drag", "Move the photo"),
                    ("Arrows", "Go among a tray’s parts or a collection’s records, which Tab counts as one"),
                    ("PageUp, PageDown", "Scroll what stands beside it"),
                ],
            };
            for (keys, text) in besides {
                key_row(ui, keys, text, "");
            }
        }
    });
    ui.add_space(theme::SPACE_M);
    if ui.button("Close").clicked() {
        ui.close();
    }
}

/// Keys at the left, what they do at the right.
fn key_row(ui: &mut Ui, keys: &str, text: &str, about: &str) {
    ui.horizontal_top(|ui| {
        ui.scope(|ui| {
            ui.set_width(150.0);
            ui.add(egui::Label::new(keys).wrap());
        });
        ui.vertical(|ui| {
            ui.label(text);
            if !about.is_empty() {
                let about = RichText::new(about).small().color(theme::palette(ui).weak);
                ui.add(egui::Label::new(about).wrap());
            }
        });
    });
}

//! The shade map painted over the photo, and its legend. Patterns keep their size at any zoom and stay with the photo.

use egui::{
    Color32, ColorImage, Label, Painter, Rect, RichText, ScrollArea, Sense, TextureHandle, TextureOptions,
    Ui, pos2, vec2,
};

use crate::tray::shade_look::{Clarity, PERIOD_PX, ink, pattern_name};
use crate::tray::shade_small::SmallMap;

use super::view::{Bench, View};
use crate::app::action::Action;
use crate::app::command::Command;
use crate::app::state::State;
use crate::app::theme;
use crate::app::toolbar;
use crate::app::words;

/// Sides of a patch in the legend, in points.
const PATCH: [u32; 2] = [4 * PERIOD_PX, 2 * PERIOD_PX];

/// The picture of the map for one view.
#[derive(Clone)]
struct Painted {
    of: (u64, View, Bench),
    texture: TextureHandle,
}

/// Paints the map over the photo.
pub(super) fn paint(ui: &Ui, painter: &Painter, rect: Rect, state: &State, view: &View, bench: &Bench) {
    let Some(map) = state.shade_layer.map() else { return };
    let of = (state.shade_layer.number, *view, *bench);
    let id = ui.scope_id().with("shade map");
    let kept = ui.data(|data| data.get_temp::<Painted>(id)).filter(|kept| kept.of == of);
    let painted = kept.unwrap_or_else(|| {
        let image = picture(map, rect, view, bench);
        let texture = ui.ctx().load_texture("shade map", image, TextureOptions::NEAREST);
        let painted = Painted { of, texture };
        ui.data_mut(|data| data.insert_temp(id, painted.clone()));
        painted
    });
    let whole = Rect::from_min_max(pos2(0.0, 0.0), pos2(1.0, 1.0));
    painter.image(painted.texture.id(), rect, whole, Color32::WHITE);
}

/// The map as seen in the bench, a pixel a point.
fn picture(map: &SmallMap, rect: Rect, view: &View, bench: &Bench) -> ColorImage {
    let size = [rect.width().round().max(1.0) as usize, rect.height().round().max(1.0) as usize];
    let origin = view.to_screen(bench, [0.0, 0.0]);
    // The pattern is bound to the photo's corner.
    let shift = [0, 1].map(|axis| (origin[axis] - bench.min[axis]).round() as i64);
    let pixel = |i: usize| {
        let (x, y) = (i % size[0], i / size[0]);
        let at = [bench.min[0] + x as f64 + 0.5, bench.min[1] + y as f64 + 0.5];
        let Some(judged) = map.at(view.to_photo(bench, at)) else { return Color32::TRANSPARENT };
        let place =
            |v: usize, axis: usize| (v as i64 - shift[axis]).rem_euclid(i64::from(PERIOD_PX) * 4096) as u32;
        of_ink(ink(usize::from(judged.nearest), judged.clarity(), place(x, 0), place(y, 1)))
    };
    ColorImage::new(size, (0..size[0] * size[1]).map(pixel).collect())
}

fn of_ink([r, g, b, opacity]: [u8; 4]) -> Color32 {
    Color32::from_rgba_unmultiplied(r, g, b, opacity)
}

/// What the patterns mean.
pub(in crate::app) fn legend(ui: &mut Ui, state: &State, actions: &mut Vec<Action>) {
    ScrollArea::vertical().auto_shrink([false, true]).max_height(theme::LEGEND_HEIGHT).show(ui, |ui| {
        ui.horizontal_wrapped(|ui| {
            ui.strong("Nearest shade");
            if ui.button("Hide the map").on_hover_text(Command::ShadeMap.entry().tooltip).clicked() {
                actions.push(Action::Run(Command::ShadeMap));
            }
            let Some(map) = state.shade_layer.map() else {
                ui.label("Mapping…");
                return;
            };
            let references = state.session.as_ref().and_then(|session| session.references.as_deref());
            for (n, id) in map.shades.iter().enumerate() {
                let text = format!("{} ({})", words::shade_name(references, id), pattern_name(n));
                entry(ui, n, Clarity::Clear, &text);
            }
            for clarity in Clarity::ALL {
                entry(ui, 0, clarity, clarity.words());
            }
            let text =
                format!("{} For looking only: shade and glare are taken as colour here.", map.from.words());
            ui.add(Label::new(RichText::new(text).small()).wrap());
        });
    });
}

/// A patch with its words, both on one line.
fn entry(ui: &mut Ui, shade: usize, clarity: Clarity, words: &str) {
    let text = ui.painter().layout_no_wrap(words.to_owned(), theme::body(), theme::palette(ui).text);
    let width = PATCH[0] as f32 + ui.spacing().item_spacing.x + text.size().x;
    if ui.available_size_before_wrap().x < width {
        ui.end_row();
    }
    patch(ui, shade, clarity);
    ui.label(words);
}

fn patch(ui: &mut Ui, shade: usize, clarity: Clarity) {
    let id = egui::Id::unique(("pattern", shade, clarity as u8));
    let kept = ui.data(|data| data.get_temp::<TextureHandle>(id));
    let texture = kept.unwrap_or_else(|| {
        let pixel = |i: u32| {
            let [r, g, b, opacity] = ink(shade, clarity, i % PATCH[0], i / PATCH[0]);
            let over = |v: u8| {
                let (v, share) = (u32::from(v), u32::from(opacity));
                ((v * share + 150 * (255 - share)) / 255) as u8
            };
            Color32::from_rgb(over(r), over(g), over(b))
        };
        let image = ColorImage::new(PATCH.map(|v| v as usize), (0..PATCH[0] * PATCH[1]).map(pixel).collect());
        let texture = ui.ctx().load_texture("pattern", image, TextureOptions::NEAREST);
        ui.data_mut(|data| data.insert_temp(id, texture.clone()));
        texture
    });
    let (rect, _) = ui.allocate_exact_size(vec2(PATCH[0] as f32, PATCH[1] as f32), Sense::hover());
    let whole = Rect::from_min_max(pos2(0.0, 0.0), pos2(1.0, 1.0));
    ui.painter().image(texture.id(), rect, whole, Color32::WHITE);
    let edge = egui::Stroke::new(1.0, theme::palette(ui).border);
    ui.painter().rect_stroke(rect, 0.0, edge, egui::StrokeKind::Outside);
}

/// The button that shows or hides the map.
pub(in crate::app) fn toggle(ui: &mut Ui, state: &State, actions: &mut Vec<Action>) {
    let entry = Command::ShadeMap.entry();
    let button =
        ui.add(toolbar::choice_button(state.shade_layer.shown, entry.text)).on_hover_text(entry.tooltip);
    if button.clicked() {
        actions.push(Action::Run(Command::ShadeMap));
    }
}

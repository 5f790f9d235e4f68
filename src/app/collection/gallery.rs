//! Records as pictures, of which only those in sight are read.

use egui::{Rect, ScrollArea, Sense, TextureHandle, Ui, pos2, vec2};

use crate::collection::Row;
use crate::report::who_words;

use super::records::{CollectionAction, CollectionPage, Seen};
use super::table::pressed;
use crate::app::one_stop::{Arrows, one_stop};
use crate::app::results::bars::cut_text;
use crate::app::scrolling::by_keys;
use crate::app::theme;
use crate::app::thumbs::Thumbs;

/// Shows the gallery.
pub(super) fn show(
    ui: &mut Ui,
    page: &CollectionPage,
    seen: &Seen,
    thumbs: &mut Thumbs,
    asked: &mut Vec<CollectionAction>,
) {
    let gap = theme::SPACE_M;
    let across = ((ui.available_width() + gap) / (theme::CARD[0] + gap)).floor().max(1.0) as usize;
    // The cards fill the breadth.
    let width = (ui.available_width() - gap * across.saturating_sub(1) as f32) / across as f32 - 1.0;
    let rows = page.chosen.len().div_ceil(across);
    let in_hand = page.form.as_ref().and_then(|form| form.file.as_deref());
    let mut wanted = Vec::new();
    ui.spacing_mut().item_spacing = vec2(gap, gap);
    ScrollArea::vertical().auto_shrink(false).show_rows(ui, theme::CARD[1], rows, |ui, range| {
        by_keys(ui);
        one_stop(ui, "records", Arrows::Rows(across), |ui, members| {
            for row in range {
                let cards = page.chosen.iter().skip(row * across).take(across);
                ui.horizontal(|ui| {
                    for (row, photo) in cards.filter_map(|i| seen.rows.get(*i).zip(seen.photos.get(*i))) {
                        let (rect, response) =
                            ui.allocate_exact_size(vec2(width, theme::CARD[1]), Sense::click());
                        let image = photo.as_ref().and_then(|path| thumbs.get(path));
                        card(ui, rect, row, image, photo.is_some());
                        wanted.extend(photo.clone());
                        let chosen = in_hand == Some(&*row.file);
                        members.add(&response, chosen);
                        if pressed(ui, &response, row, chosen, rect) {
                            asked.push(CollectionAction::Take(Some(row.file.clone())));
                        }
                    }
                });
            }
        });
    });
    thumbs.follow(ui.ctx(), wanted);
}

fn card(ui: &Ui, rect: Rect, row: &Row, image: Option<&TextureHandle>, has_photo: bool) {
    let grey = theme::palette(ui);
    let painter = ui.painter_at(rect);
    painter.rect_filled(rect, 3.0, grey.raised);
    let inner = rect.shrink(theme::SPACE_S + 2.0);
    let picture = Rect::from_min_size(inner.min, vec2(inner.width(), inner.height() - 58.0));
    painter.rect_filled(picture, 2.0, theme::SURROUND);
    match image {
        Some(image) => {
            let size = image.size_vec2();
            let scale = (picture.width() / size.x).min(picture.height() / size.y);
            let place = Rect::from_center_size(picture.center(), size * scale);
            let whole = Rect::from_min_max(pos2(0.0, 0.0), pos2(1.0, 1.0));
            painter.image(image.id(), place, whole, egui::Color32::WHITE);
        }
        None => {
            let text = if has_photo { "…" } else { "no photo" };
            let ink = egui::Color32::BLACK;
            painter.text(picture.center(), egui::Align2::CENTER_CENTER, text, theme::body(), ink);
        }
    }
    let line = |n: f32, text: &str, ink| {
        let at = pos2(inner.left(), picture.bottom() + 12.0 + n * 18.0);
        cut_text(&painter, at, inner.width(), text, ink);
    };
    line(0.0, &row.name, grey.text);
    line(1.0, &who_words(row), grey.weak);
    let count = |n: usize, word: &str| (n > 0).then(|| format!("{n} {word}"));
    let marks = [count(row.missing.len(), "missing"), count(row.doubtful.len(), "doubtful")];
    line(2.0, &marks.into_iter().flatten().collect::<Vec<_>>().join(", "), grey.text);
}

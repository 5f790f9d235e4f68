//! What makes an error bar as long as it is: one bar in parts, each with its own hatching, and their names.

use egui::{Painter, Rect, Role, Sense, Stroke, Ui, WidgetInfo, pos2, vec2};

use crate::measure::Budget;

use super::bars;
use crate::app::theme::{self, Palette};
use crate::app::words;

/// Parts below this share are shown together.
const LEAST: f64 = 0.03;

/// Shows the budget of a part.
pub(super) fn show(ui: &mut Ui, budget: &[Budget]) {
    let shares = gathered(budget);
    if shares.is_empty() {
        ui.label("Nothing is known of it.");
        return;
    }
    let grey = theme::palette(ui);
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), 18.0), Sense::hover());
    let painter = ui.painter_at(rect);
    let mut x = rect.left();
    for (i, (_, share)) in shares.iter().enumerate() {
        let piece =
            Rect::from_min_size(pos2(x, rect.top()), vec2(rect.width() * *share as f32, rect.height()));
        fill(&painter, piece, i, grey);
        x = piece.right();
    }
    let spoken: Vec<String> =
        shares.iter().map(|(name, share)| format!("{name} {}", words::percent(*share))).collect();
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, format!("Budget: {}", spoken.join(", "))));
    // Nothing here is pressed, so lines stand close.
    ui.spacing_mut().interact_size.y = ui.text_style_height(&egui::TextStyle::Body);
    for (i, (name, share)) in shares.iter().enumerate() {
        ui.horizontal(|ui| {
            let (patch, _) = ui.allocate_exact_size(vec2(18.0, 12.0), Sense::hover());
            fill(&ui.painter_at(patch), patch, i, grey);
            ui.label(format!("{}  {name}", words::percent(*share)));
        });
    }
}

/// The larger shares as they are, the small ones as "everything else".
fn gathered(budget: &[Budget]) -> Vec<(String, f64)> {
    let (large, rest): (Vec<&Budget>, Vec<&Budget>) = budget.iter().partition(|part| part.share >= LEAST);
    let mut shares: Vec<(String, f64)> = large.iter().map(|part| (part.source.clone(), part.share)).collect();
    let rest: f64 = rest.iter().map(|part| part.share.max(0.0)).sum();
    if rest > 0.0 {
        shares.push(("everything else".into(), rest));
    }
    shares
}

/// Six fillings that differ without any hue.
fn fill(painter: &Painter, rect: Rect, index: usize, grey: &Palette) {
    painter.rect_filled(rect, 0.0, grey.field);
    let inside = painter.with_clip_rect(rect.intersect(painter.clip_rect()));
    let ink = Stroke::new(1.0, grey.bar);
    match index % 6 {
        0 => drop(painter.rect_filled(rect, 0.0, grey.bar)),
        1 => bars::hatch(&inside, rect, 5.0, ink),
        2 => drop(painter.rect_filled(rect, 0.0, grey.bar_pale)),
        3 => dots(&inside, rect, grey),
        4 => {
            let mut x = rect.left() + 2.0;
            while x < rect.right() {
                inside.vline(x, rect.y_range(), ink);
                x += 4.0;
            }
        }
        _ => {}
    }
    painter.rect_stroke(rect, 0.0, ink, egui::StrokeKind::Inside);
}

fn dots(painter: &Painter, rect: Rect, grey: &Palette) {
    let mut x = rect.left() + 3.0;
    while x < rect.right() {
        let mut y = rect.top() + 3.0;
        while y < rect.bottom() {
            painter.circle_filled(pos2(x, y), 1.2, grey.bar);
            y += 5.0;
        }
        x += 5.0;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn small_shares_are_gathered_and_nothing_is_lost() {
        let part = |source: &str, share| Budget { source: source.into(), share };
        let shares =
            gathered(&[part("tone", 0.6), part("slope", 0.36), part("noise", 0.02), part("rest", 0.02)]);
        assert_eq!(shares.len(), 3);
        assert_eq!(shares[2].0, "everything else");
        assert!((shares.iter().map(|(_, share)| share).sum::<f64>() - 1.0).abs() < 1e-12);
    }
}

//! The plain figure: a box for each slot with its name, what is known and what is said of it. The pattern at a box's left
//! says the same as its last line.

use std::sync::Arc;

use egui::text::LayoutJob;
use egui::{Color32, Galley, Painter, Rect, Role, Sense, Shape, Stroke, Ui, WidgetInfo, pos2, vec2};

use crate::figure::Line;

use super::act::FigureAction;
use super::body::{Known, Place, Verdict, places};
use crate::app::action::Action;
use crate::app::results::bars::{cut_text, hatch};
use crate::app::theme::{self, Palette};

/// Between boxes.
const GAP: f32 = 8.0;

/// Shows the figure.
pub(super) fn show(
    ui: &mut Ui,
    line: &Line,
    known: &[Known],
    chosen: Option<&str>,
    actions: &mut Vec<Action>,
) {
    let places = places(line);
    let width = ui.available_width().min(theme::FIGURE_WIDTH) - theme::SPACE_S;
    let tops = tops(ui, &places, known, width);
    let size = vec2(width, tops.last().copied().unwrap_or_default());
    let (ground, _) = ui.allocate_exact_size(size, Sense::hover());
    let boxes: Vec<Rect> = places.iter().map(|place| place_on(ground, place, &tops)).collect();
    joints(ui.painter(), ground.center().x, &boxes, Stroke::new(3.0, theme::palette(ui).line));
    for ((slot, known), rect) in line.slots.iter().zip(known).zip(boxes) {
        let response = ui.interact(rect, ui.scope_id().with(("slot", &slot.id)), Sense::click());
        let is_chosen = chosen == Some(&*slot.id);
        response.widget_info(|| WidgetInfo::selected(Role::Button, true, is_chosen, spoken(known)));
        let edge = if is_chosen || response.hovered() { 2.5 } else { 1.0 };
        paint(ui, rect, known, edge);
        if response.has_focus() {
            let ring = Stroke::new(2.0, theme::palette(ui).text);
            ui.painter().rect_stroke(rect.expand(3.0), 5.0, ring, egui::StrokeKind::Middle);
        }
        if response.gained_focus() {
            response.scroll_to_me(None);
        }
        if response.on_hover_text(spoken(known)).clicked() {
            actions.push(Action::Figure(FigureAction::Choose(slot.id.clone())));
        }
    }
}

/// Where each row of boxes begins below the first one's top, and where the last ends: a row is as high as what is known
/// of its slots needs.
fn tops(ui: &Ui, places: &[Place], known: &[Known], width: f32) -> Vec<f32> {
    let rows = places.iter().map(|place| place.row + 1).max().unwrap_or_default();
    let mut lines = vec![1; rows];
    for (place, known) in places.iter().zip(known) {
        let room = inside(across(place, width));
        let seen = seen_text(ui.painter(), known, room, theme::palette(ui).weak).rows.len();
        if let Some(most) = lines.get_mut(place.row) {
            *most = seen.max(*most);
        }
    }
    let mut tops = vec![0.0];
    for lines in lines {
        let above = tops.last().copied().unwrap_or_default();
        let more = (lines - 1) as f32 * ui.ctx().fonts_mut(|fonts| fonts.row_height(&theme::small()));
        tops.push(above + theme::SLOT_HEIGHT + more + GAP);
    }
    tops
}

/// Width of a box.
fn across(place: &Place, width: f32) -> f32 {
    place.across[1] * (width + GAP) / 3.0 - GAP
}

/// Width of the text in a box.
fn inside(across: f32) -> f32 {
    across - theme::SLOT_BAND - 2.0 * theme::SPACE_S - 2.0
}

/// What is known of a slot, in as many lines as it takes and no more than four.
fn seen_text(painter: &Painter, known: &Known, width: f32, ink: Color32) -> Arc<Galley> {
    let mut job = LayoutJob::simple(known.seen.join(", "), theme::small(), ink, width.max(1.0));
    job.wrap.max_rows = 4;
    painter.layout_job(job)
}

fn place_on(ground: Rect, place: &Place, tops: &[f32]) -> Rect {
    let third = (ground.width() + GAP) / 3.0;
    let [top, below] = [place.row, place.row + 1].map(|row| tops.get(row).copied().unwrap_or_default());
    let min = ground.min + vec2(place.across[0] * third, top + GAP / 2.0);
    Rect::from_min_size(min, vec2(across(place, ground.width()), below - top - GAP))
}

/// Short lines where boxes meet, so that they read as one body.
fn joints(painter: &Painter, middle: f32, boxes: &[Rect], line: Stroke) {
    let in_middle = |rect: &Rect| (rect.center().x - middle).abs() < GAP;
    for (i, one) in boxes.iter().enumerate() {
        for other in &boxes[i + 1..] {
            let across = one.x_range().intersection(other.x_range());
            let down = one.y_range().intersection(other.y_range());
            let near = |gap: f32| (0.0..=GAP + 1.0).contains(&gap);
            let upright = near((other.top() - one.bottom()).max(one.top() - other.bottom()));
            let level = near((other.left() - one.right()).max(one.left() - other.right()));
            let (upper, lower) = if one.top() < other.top() { (one, other) } else { (other, one) };
            if across.span() > 4.0 && upright {
                // Legs carry nothing: what is listed after them only stands below.
                if in_middle(lower) && !in_middle(upper) {
                    continue;
                }
                let y = one.bottom().min(other.bottom());
                painter.vline(across.center(), y..=y + GAP, line);
            } else if down.span() > 4.0 && level && (in_middle(one) || in_middle(other)) {
                let x = one.right().min(other.right());
                painter.hline(x..=x + GAP, down.center(), line);
            }
        }
    }
}

fn spoken(known: &Known) -> String {
    let seen =
        if known.seen.is_empty() { String::new() } else { format!(". Known: {}", known.seen.join(", ")) };
    let sign = if known.sign { ". There is a sign on it" } else { "" };
    format!("{}: {}{seen}{sign}", known.name, known.words)
}

fn paint(ui: &Ui, rect: Rect, known: &Known, edge: f32) {
    let grey = theme::palette(ui);
    let painter = ui.painter_at(rect.expand(4.0));
    let there = !matches!(known.verdict, Verdict::Missing | Verdict::NotSeen);
    painter.rect_filled(rect, 3.0, if there { grey.raised } else { grey.panel });
    let outline = Stroke::new(edge, if there || edge > 1.0 { grey.text } else { grey.border });
    if there {
        painter.rect_stroke(rect, 3.0, outline, egui::StrokeKind::Inside);
    } else {
        let corners =
            [rect.left_top(), rect.right_top(), rect.right_bottom(), rect.left_bottom(), rect.left_top()];
        painter.extend(Shape::dashed_line(&corners, outline, 5.0, 4.0));
    }
    band(&painter, rect, known.verdict, grey);
    let left = rect.left() + theme::SLOT_BAND + theme::SPACE_S + 2.0;
    let mut right = rect.right() - theme::SPACE_S;
    if let Some([r, g, b]) = known.colour {
        let patch = Rect::from_min_size(pos2(right - 13.0, rect.top() + 4.0), vec2(12.0, 12.0));
        painter.rect_filled(patch, 1.0, theme::measured(r, g, b));
        painter.rect_stroke(patch, 1.0, Stroke::new(1.0, grey.border), egui::StrokeKind::Outside);
        right = patch.left() - theme::SPACE_S;
    }
    // The name at the top, the word at the bottom, what is known between them.
    let line = (theme::SLOT_HEIGHT - 6.0) / 3.0;
    let name = if known.sign { format!("! {}", known.name) } else { known.name.clone() };
    cut_text(&painter, pos2(left, rect.top() + 3.0 + 0.5 * line), right - left, &name, grey.text);
    let right = rect.right() - theme::SPACE_S;
    let seen = seen_text(&painter, known, right - left, grey.weak);
    painter.galley(pos2(left, rect.top() + 3.0 + line), seen, grey.weak);
    cut_text(&painter, pos2(left, rect.bottom() - 3.0 - 0.5 * line), right - left, known.word, grey.text);
}

/// Solid: belongs; slanting lines: doubtful; crossed lines: does not belong; empty: nothing there or nothing seen.
fn band(painter: &Painter, rect: Rect, verdict: Verdict, grey: &Palette) {
    let band = Rect::from_min_size(rect.min, vec2(theme::SLOT_BAND, rect.height())).shrink(2.0);
    let inside = painter.with_clip_rect(band.intersect(painter.clip_rect()));
    let line = Stroke::new(1.5, grey.bar);
    match verdict {
        Verdict::Belongs => {
            inside.rect_filled(band, 1.0, grey.bar_pale);
        }
        Verdict::Doubtful => hatch(&inside, band, 6.0, line),
        Verdict::Foreign => {
            hatch(&inside, band, 6.0, line);
            let mut y = band.top() - band.width();
            while y < band.bottom() {
                inside.line_segment([pos2(band.left(), y), pos2(band.right(), y + band.width())], line);
                y += 6.0;
            }
        }
        Verdict::Missing | Verdict::NotSeen => {}
    }
}

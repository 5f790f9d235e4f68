//! Loose parts painted on the photo: outlines with numbers, the line of a cut, the cross in the middle that keys click at.
//!
//! An even outline is a part that was called, a dashed one is open, so that no colour is needed; a question mark beside
//! the number says that the outline is doubtful.

use egui::{Align2, Painter, Pos2, Rect, Shape as Paint, Stroke, Ui, pos2, vec2};

use crate::case::LoosePart;
use crate::measure::Call;

use crate::app::action::Tool;
use crate::app::bench::view::{Bench, View};
use crate::app::state::State;
use crate::app::theme;

/// Half the length of the cross's arms, in points.
const CROSS: f32 = 13.0;
/// Corners of an outline nearer than this are painted as one, in points.
const LEAST_STEP: f32 = 3.5;

/// Paints all parts; the one that is looked at last, with a wider outline.
pub(in crate::app) fn paint(painter: &Painter, state: &State, view: &View, bench: &Bench) {
    let Some(session) = &state.session else { return };
    let chosen = state.chosen_part().map(|part| part.number);
    let parts = session.case().loose_parts();
    let (last, first): (Vec<&LoosePart>, Vec<&LoosePart>) =
        parts.iter().partition(|part| Some(part.number) == chosen);
    for part in first.iter().chain(&last) {
        outline(painter, state, part, view, bench, Some(part.number) == chosen);
    }
    let font = theme::body();
    for part in first.into_iter().chain(last) {
        let at = on_screen(view, bench, place(state, part));
        let is_chosen = Some(part.number) == chosen;
        let galley = painter.layout_no_wrap(text(part), font.clone(), theme::MARK_OVER);
        let ground = Rect::from_center_size(at, galley.size() + vec2(8.0, 2.0));
        painter.rect_filled(ground.expand(if is_chosen { 3.0 } else { 1.0 }), 3.0, theme::MARK_OVER);
        painter.rect_filled(ground, 2.0, theme::MARK_UNDER);
        painter.galley(ground.min + vec2(4.0, 1.0), galley, theme::MARK_OVER);
    }
}

/// Its number, with a question mark where the outline is doubtful.
pub(super) fn text(part: &LoosePart) -> String {
    if part.doubts.is_empty() { part.number.to_string() } else { format!("{}?", part.number) }
}

fn place(state: &State, part: &LoosePart) -> [f64; 2] {
    let case = state.session.as_ref().map(|session| session.case());
    let reading = case.and_then(|case| case.readings.iter().find(|r| Some(&r.id) == part.reading.as_ref()));
    reading.map_or_else(|| part.shape().centre(), |reading| reading.shape.centre())
}

fn outline(painter: &Painter, state: &State, part: &LoosePart, view: &View, bench: &Bench, is_chosen: bool) {
    let points = thinned(part.outline.iter().map(|p| on_screen(view, bench, *p)));
    let surplus = if is_chosen { 2.0 } else { 0.0 };
    let under = Stroke::new(theme::MARK_UNDER_WIDTH + surplus, theme::MARK_UNDER);
    let over = Stroke::new(theme::MARK_OVER_WIDTH + surplus, theme::MARK_OVER);
    painter.add(Paint::closed_line(points.clone(), under));
    let facts = state.tray.overview().parts.iter().find(|facts| facts.number == part.number);
    if matches!(facts.and_then(|facts| facts.call.as_ref()), Some(Call::Shade(_))) {
        painter.add(Paint::closed_line(points, over));
    } else {
        let closed: Vec<Pos2> = points.iter().chain(points.first()).copied().collect();
        painter.extend(Paint::dashed_line(&closed, over, theme::MARK_DASH, theme::MARK_DASH));
    }
}

/// Without points closer than a stroke is wide: a thick line would have spikes there.
fn thinned(points: impl Iterator<Item = Pos2>) -> Vec<Pos2> {
    let mut kept: Vec<Pos2> = Vec::new();
    for point in points {
        if kept.last().is_none_or(|last| last.distance(point) >= LEAST_STEP) {
            kept.push(point);
        }
    }
    while kept.len() > 3 && kept.first().zip(kept.last()).is_some_and(|(a, b)| a.distance(*b) < LEAST_STEP) {
        kept.pop();
    }
    kept
}

/// What the tools of the tray are in the middle of, and the cross that N clicks at.
pub(in crate::app) fn paint_tools(
    ui: &Ui,
    painter: &Painter,
    state: &State,
    (view, bench): (&View, &Bench),
    pointer: Option<[f64; 2]>,
    dragged_from: Option<[f64; 2]>,
) {
    if let (Some(from), Some(to)) = (dragged_from.or(state.tray.cut_from), pointer) {
        let line = [from, to].map(|p| on_screen(view, bench, p));
        painter.line_segment(line, Stroke::new(theme::MARK_UNDER_WIDTH, theme::MARK_UNDER));
        painter.line_segment(line, Stroke::new(theme::MARK_OVER_WIDTH, theme::MARK_OVER));
    }
    if let Some(from) = state.tray.cut_from {
        let at = on_screen(view, bench, from);
        painter.circle(at, 4.0, theme::MARK_OVER, Stroke::new(1.5, theme::MARK_UNDER));
    }
    let by_keys = state.keys_on_bench && ui.memory(|memory| memory.focused().is_some());
    let clicks = matches!(state.tool, Tool::Grow | Tool::Cut)
        || (state.tool == Tool::Polygon && state.tray.redraws.is_some());
    if !(clicks && by_keys) {
        return;
    }
    let middle = on_screen(view, bench, view.centre_px);
    for (width, colour) in
        [(theme::MARK_UNDER_WIDTH, theme::MARK_UNDER), (theme::MARK_OVER_WIDTH, theme::MARK_OVER)]
    {
        for arm in [vec2(CROSS, 0.0), vec2(0.0, CROSS)] {
            painter.line_segment([middle - arm, middle - arm * 0.25], Stroke::new(width, colour));
            painter.line_segment([middle + arm * 0.25, middle + arm], Stroke::new(width, colour));
        }
    }
    painter.text(
        middle + vec2(CROSS + 3.0, CROSS),
        Align2::LEFT_CENTER,
        "N",
        theme::small(),
        theme::MARK_OVER,
    );
}

fn on_screen(view: &View, bench: &Bench, point: [f64; 2]) -> Pos2 {
    let [x, y] = view.to_screen(bench, point);
    pos2(x as f32, y as f32)
}

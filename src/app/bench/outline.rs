//! Marks painted on the photo. Known colours have a dashed outline, parts a solid one, the plain board a dotted one; all are
//! a light stroke on a dark one, which shows on any photo and has no hue of its own.

use egui::{Align2, Painter, Pos2, Rect, Shape as Paint, Stroke, pos2, vec2};

use crate::case::{Known, MarkKey, MarkKind};
use crate::measure::Call;
use crate::raster::Shape;

use super::grip;
use super::nametags::{self, Tag};
use super::photo::rect_on_screen;
use super::view::{Bench, View};
use crate::app::marks;
use crate::app::session::Session;
use crate::app::theme;

/// The names of known colours are painted only where they have this much room, in points.
const ROOM_FOR_NAME: f32 = 30.0;
/// And what was found of a part only where it has this much.
const ROOM_FOR_CALL: f32 = 56.0;

/// Paints all marks; the selected one last, with its handles.
pub(super) fn paint_marks(
    painter: &Painter,
    session: &Session,
    view: &View,
    bench: &Bench,
    focused: Option<&MarkKey>,
) {
    paint_board(painter, session, view, bench);
    let selected = session.selected();
    for mark in marks::all(session.case()) {
        if Some(&mark) != selected {
            paint_mark(painter, session, view, bench, &mark, Look::Plain);
        }
    }
    if let Some(mark) = selected {
        let look = if focused == Some(mark) { Look::Focused } else { Look::Selected };
        paint_mark(painter, session, view, bench, mark, look);
    }
    paint_names(painter, session, view, bench);
}

fn paint_names(painter: &Painter, session: &Session, view: &View, bench: &Bench) {
    let placed: Vec<(MarkKey, Rect)> = marks::all(session.case())
        .into_iter()
        .filter_map(|mark| {
            let place = screen_box(view, bench, marks::shape(session.case(), &mark)?);
            Some((mark, place))
        })
        .collect();
    let boxes: Vec<Rect> = placed.iter().map(|(_, place)| *place).collect();
    // Loose parts have their numbers.
    let is_loose =
        |mark: &MarkKey| marks::reading(session.case(), mark).is_some_and(|r| loose(session, &r.id));
    let tags = placed.iter().filter(|(mark, _)| !is_loose(mark)).filter_map(|(mark, place)| {
        let always = session.selected() == Some(mark);
        let wanted = mark.kind == MarkKind::Reading || place.width() >= ROOM_FOR_NAME || always;
        let with_call = place.width() >= ROOM_FOR_CALL || always;
        let mut texts = vec![caption(session, mark, with_call), caption(session, mark, false)];
        texts.dedup();
        wanted.then_some(Tag { mark: *place, texts, always })
    });
    nametags::paint(painter, &tags.collect::<Vec<_>>(), &boxes);
}

/// How much a mark stands out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Look {
    Plain,
    Selected,
    Focused,
}

fn paint_mark(painter: &Painter, session: &Session, view: &View, bench: &Bench, mark: &MarkKey, look: Look) {
    let Some(shape) = marks::shape(session.case(), mark) else { return };
    let points = corners_on_screen(view, bench, shape);
    let surplus = if look == Look::Plain { 0.0 } else { theme::MARK_SELECTED_WIDTH };
    let under = Stroke::new(theme::MARK_UNDER_WIDTH + surplus, theme::MARK_UNDER);
    let over = Stroke::new(theme::MARK_OVER_WIDTH + surplus, theme::MARK_OVER);
    painter.add(Paint::closed_line(points.clone(), under));
    match mark.kind {
        MarkKind::Reading => drop(painter.add(Paint::closed_line(points, over))),
        MarkKind::Zone => paint_dashes(painter, &points, over, theme::MARK_DASH, theme::MARK_DASH),
    }
    if look != Look::Plain {
        paint_handles(painter, view, bench, shape, look == Look::Focused);
    }
}

/// A closed line of whole dashes and gaps of about these lengths, so that it closes without a seam.
fn paint_dashes(painter: &Painter, points: &[Pos2], stroke: Stroke, dash: f32, gap: f32) {
    let closed: Vec<Pos2> = points.iter().chain(points.first()).copied().collect();
    let around: f32 = closed.windows(2).map(|pair| pair[0].distance(pair[1])).sum();
    let stretched = around / ((around / (dash + gap)).round().max(8.0) * (dash + gap));
    painter.extend(Paint::dashed_line(&closed, stroke, dash * stretched, gap * stretched));
}

/// The outline of the plain board; one that fills the whole photo needs none.
fn paint_board(painter: &Painter, session: &Session, view: &View, bench: &Bench) {
    let board = session.case().board.as_ref().and_then(|board| board.shape.as_ref());
    let Some(shape) = board else { return };
    let points = corners_on_screen(view, bench, shape);
    painter.add(Paint::closed_line(points.clone(), Stroke::new(theme::MARK_UNDER_WIDTH, theme::MARK_UNDER)));
    let over = Stroke::new(theme::MARK_OVER_WIDTH, theme::MARK_OVER);
    paint_dashes(painter, &points, over, theme::MARK_DOT, theme::MARK_DASH);
}

fn paint_handles(painter: &Painter, view: &View, bench: &Bench, shape: &Shape, filled: bool) {
    let room = screen_box(view, bench, shape).size().min_elem();
    let half = theme::HANDLE.min(room / 9.0);
    if half < 1.5 {
        return;
    }
    for (_, point) in grip::handles(shape) {
        let square = Rect::from_center_size(on_screen(view, bench, point), vec2(2.0, 2.0) * half);
        let (inside, edge) = if filled {
            (theme::MARK_UNDER, theme::MARK_OVER)
        } else {
            (theme::MARK_OVER, theme::MARK_UNDER)
        };
        painter.rect_filled(square.expand(1.5), 1.0, edge);
        painter.rect_filled(square, 0.0, inside);
    }
}

/// A shape that is being drawn.
pub(super) fn paint_draft(painter: &Painter, view: &View, bench: &Bench, shape: &Shape) {
    let points = corners_on_screen(view, bench, shape);
    painter.add(Paint::closed_line(points.clone(), Stroke::new(theme::MARK_UNDER_WIDTH, theme::MARK_UNDER)));
    painter.add(Paint::closed_line(points, Stroke::new(theme::MARK_OVER_WIDTH, theme::MARK_OVER)));
}

/// The corners of a polygon that is being drawn, with a line to the pointer.
pub(super) fn paint_corners(
    painter: &Painter,
    view: &View,
    bench: &Bench,
    corners: &[[f64; 2]],
    pointer: Option<[f64; 2]>,
) {
    let Some(first) = corners.first() else { return };
    let line: Vec<Pos2> = corners.iter().chain(pointer.iter()).map(|p| on_screen(view, bench, *p)).collect();
    painter.line(line.clone(), Stroke::new(theme::MARK_UNDER_WIDTH, theme::MARK_UNDER));
    painter.line(line, Stroke::new(theme::MARK_OVER_WIDTH, theme::MARK_OVER));
    let start = on_screen(view, bench, *first);
    painter.circle(start, theme::REACH / 2.0, theme::MARK_OVER, Stroke::new(1.5, theme::MARK_UNDER));
    if corners.len() >= 3 {
        let text = "close here";
        painter.text(
            start + vec2(theme::REACH, 0.0),
            Align2::LEFT_CENTER,
            text,
            theme::small(),
            theme::MARK_OVER,
        );
    }
}

/// The box around a shape on the screen.
pub(super) fn screen_box(view: &View, bench: &Bench, shape: &Shape) -> Rect {
    let (low, high) = shape.bounds();
    rect_on_screen(view, bench, low, high)
}

/// A mark for a screen reader: what it is, and what was found.
pub(super) fn spoken(session: &Session, mark: &MarkKey) -> String {
    let kind = match marks::zone(session.case(), mark).map(|zone| &zone.known) {
        None => "part".to_owned(),
        Some(Known::Shade { shade, .. }) => format!("known colour, shade {shade}"),
        Some(Known::Lab { lab, .. }) => {
            format!("known colour, L* {:.1}, a* {:.1}, b* {:.1}", lab[0], lab[1], lab[2])
        }
    };
    match found(session, mark) {
        Some(found) => format!("{}: {kind}, {found}", mark.id),
        None => format!("{}: {kind}", mark.id),
    }
}

fn loose(session: &Session, reading: &str) -> bool {
    session.case().tray.as_ref().is_some_and(|tray| tray.part_of(reading).is_some())
}

fn caption(session: &Session, mark: &MarkKey, with_call: bool) -> String {
    let trouble = session
        .mark_problems()
        .any(|p| p.id == mark.id && (p.kind == "zone") == (mark.kind == MarkKind::Zone));
    match (trouble, found(session, mark).filter(|_| with_call)) {
        (true, _) => format!("! {}", mark.id),
        (false, Some(found)) => format!("{}: {found}", mark.id),
        (false, None) => mark.id.clone(),
    }
}

fn found(session: &Session, mark: &MarkKey) -> Option<String> {
    let reading = marks::reading(session.case(), mark)?;
    let result = session.measurement()?.readings.iter().find(|result| result.id == reading.id)?;
    Some(match result.call.as_ref()? {
        Call::Shade(id) => crate::app::words::shade_name(session.references.as_deref(), id),
        Call::Undecided => "undecided".into(),
        Call::None => "none of the shades".into(),
    })
}

fn on_screen(view: &View, bench: &Bench, point: [f64; 2]) -> Pos2 {
    let [x, y] = view.to_screen(bench, point);
    pos2(x as f32, y as f32)
}

fn corners_on_screen(view: &View, bench: &Bench, shape: &Shape) -> Vec<Pos2> {
    let place = |point: [f64; 2]| on_screen(view, bench, point);
    match shape {
        Shape::Circle { centre, radius } => {
            let around = |i: u32| {
                let angle = std::f64::consts::TAU * f64::from(i) / 72.0;
                place([centre[0] + radius * angle.cos(), centre[1] + radius * angle.sin()])
            };
            (0..72).map(around).collect()
        }
        Shape::Rect { min, max } => [*min, [max[0], min[1]], *max, [min[0], max[1]]].map(place).to_vec(),
        Shape::Polygon(corners) => corners.iter().map(|corner| place(*corner)).collect(),
    }
}

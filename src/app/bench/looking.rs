//! Panning and zooming by wheel, pinch and arrow keys; and a photo that is only looked at.

use egui::{EventFilter, Key, Modifiers, Response, Role, Sense, Ui, WidgetInfo};

use super::magnifier::{self, Target};
use super::outline;
use super::tiles::Tiles;
use super::view::{Bench, View};
use crate::app::marks;
use crate::app::session::Session;
use crate::app::theme;

/// A photo that is only looked at.
pub(in crate::app) struct Seen<'a> {
    /// Its marks and what was found.
    pub session: &'a Session,
    /// Which part of it is seen.
    pub view: Option<View>,
    /// Whether the magnifier is on.
    pub magnifier: bool,
}

/// What mouse and keys did.
pub(in crate::app) struct Looked {
    /// Where the photo is shown.
    pub bench: Bench,
    /// How it is to be seen from now on, where that has changed.
    pub view: Option<View>,
    /// Whether it has the keys.
    pub has_focus: bool,
}

/// Shows a photo with its marks in all the room there is; nothing on it can be changed.
pub(in crate::app) fn look_only(ui: &Ui, seen: &Seen, tiles: &mut Tiles) -> Looked {
    let rect = ui.available_rect_before_wrap();
    let bench = bench_in(ui, rect);
    let photo_px = seen.session.photo_px();
    let view = seen.view.filter(|view| !view.fitted).unwrap_or_else(|| View::fit(photo_px, &bench));
    let response = ui.interact(rect, ui.scope_id().with("looked at"), Sense::click_and_drag());
    describe(&response, seen.session, &view, &bench);
    if response.clicked() || response.drag_started() {
        response.request_focus();
    }
    let painter = ui.painter_at(rect);
    painter.rect_filled(rect, 0.0, theme::SURROUND);
    tiles.paint(&painter, &view, &bench);
    for mark in marks::all(seen.session.case()) {
        let Some(shape) = marks::shape(seen.session.case(), &mark) else { continue };
        let place = outline::screen_box(&view, &bench, shape);
        let spoken = outline::spoken(seen.session, &mark);
        ui.interact(place, response.id.with(&mark), Sense::hover())
            .widget_info(|| WidgetInfo::labeled(Role::Label, true, spoken.as_str()));
    }
    outline::paint_marks(&painter, seen.session, &view, &bench, None);
    let by = response.drag_delta();
    let dragged = (by != egui::Vec2::ZERO).then(|| view.panned(photo_px, [f64::from(by.x), f64::from(by.y)]));
    let by_arrows = response.has_focus().then(|| pan_by_arrows(ui, &response, photo_px, &view)).flatten();
    if response.has_focus() {
        focus_edge(&painter, rect);
    }
    if let Some(pointer) = response.hover_pos() {
        let held = response.dragged();
        ui.set_cursor_icon(if held { egui::CursorIcon::Grabbing } else { egui::CursorIcon::Grab });
        if seen.magnifier {
            let target = Target::pointer(&view, &bench, pointer);
            magnifier::show(ui, rect, &seen.session.raster, &target);
        }
    }
    let view = look_around(ui, &response, photo_px, &view, &bench).or(dragged).or(by_arrows);
    Looked { bench, view, has_focus: response.has_focus() }
}

/// A rectangle of the window as the place for a photo.
pub(super) fn bench_in(ui: &Ui, rect: egui::Rect) -> Bench {
    Bench {
        min: [f64::from(rect.min.x), f64::from(rect.min.y)],
        size: [f64::from(rect.width().max(1.0)), f64::from(rect.height().max(1.0))],
        pixels_per_point: f64::from(ui.pixels_per_point()),
    }
}

/// Names the photo.
pub(super) fn describe(response: &Response, session: &Session, view: &View, bench: &Bench) {
    let name = session.photo_path.file_name().unwrap_or_default().to_string_lossy().into_owned();
    let (width, height) = (session.raster.width(), session.raster.height());
    let percent = view.screen_px_per_px(bench) * 100.0;
    response.widget_info(|| {
        let label = format!("Photo {name}, {width} × {height} pixels, shown at {percent:.0} %");
        WidgetInfo::labeled(Role::Canvas, true, label)
    });
}

/// The photo has the keys.
pub(super) fn focus_edge(painter: &egui::Painter, rect: egui::Rect) {
    let edge = egui::Stroke::new(2.0, theme::MARK_OVER);
    painter.rect_stroke(rect.shrink(1.0), 0.0, edge, egui::StrokeKind::Inside);
}

/// Wheel and pinch.
pub(super) fn look_around(
    ui: &Ui,
    response: &Response,
    photo_px: [f64; 2],
    view: &View,
    bench: &Bench,
) -> Option<View> {
    let pointer = response.hover_pos()?;
    let (zoom, scroll) = ui.input(|input| (input.zoom_delta(), input.smooth_scroll_delta()));
    if (zoom - 1.0).abs() > f32::EPSILON {
        let anchor = [f64::from(pointer.x), f64::from(pointer.y)];
        return Some(view.zoomed(photo_px, bench, f64::from(zoom), anchor));
    }
    let by = [f64::from(scroll.x), f64::from(scroll.y)];
    (by != [0.0; 2]).then(|| view.panned(photo_px, by))
}

/// Arrow keys move the photo, with Shift slower.
pub(super) fn pan_by_arrows(ui: &Ui, response: &Response, photo_px: [f64; 2], view: &View) -> Option<View> {
    let filter = EventFilter { horizontal_arrows: true, vertical_arrows: true, ..Default::default() };
    ui.memory_mut(|memory| memory.set_focus_lock_filter(response.id, filter));
    let (across, down, modifiers) = arrows(ui)?;
    let step = if modifiers.shift { 6.0 } else { 60.0 };
    Some(view.panned(photo_px, [-across * step, -down * step]))
}

/// Which arrow keys were pressed.
pub(super) fn arrows(ui: &Ui) -> Option<(f64, f64, Modifiers)> {
    ui.input(|input| {
        let pressed = |key| f64::from(u8::from(input.key_pressed(key)));
        let across = pressed(Key::ArrowRight) - pressed(Key::ArrowLeft);
        let down = pressed(Key::ArrowDown) - pressed(Key::ArrowUp);
        ((across, down) != (0.0, 0.0)).then_some((across, down, input.modifiers))
    })
}

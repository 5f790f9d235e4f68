//! The photo: tiles and marks painted, mouse and keys turned into actions.

use egui::{EventFilter, Id, Key, PointerButton, Pos2, Rect, Response, Role, Sense, Ui, WidgetInfo};

use crate::case::{Edit, MarkKey};
use crate::raster::Shape;

use super::grip::{self, Grip, Outline};
use super::light_lines;
use super::looking::{arrows, bench_in, describe, focus_edge, look_around, pan_by_arrows};
use super::magnifier::{self, Target};
use super::outline;
use super::shade_drawing;
use super::tiles::Tiles;
use super::view::{Bench, View};
use crate::app::action::{Action, Tool};
use crate::app::marks;
use crate::app::one_stop::{Arrows, one_stop};
use crate::app::session::{GroupKey, Session};
use crate::app::state::State;
use crate::app::theme;
use crate::app::tray;
use crate::app::tray::act::TrayAction;

/// What the mouse is in the middle of.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::app) enum Gesture {
    /// Moves the photo.
    Pan,
    /// Changes a mark.
    Change {
        /// Which.
        mark: MarkKey,
        /// By what it was taken.
        grip: Grip,
        /// Where the button went down, in pixels of the photo.
        from_px: [f64; 2],
        /// The shape it had then.
        shape: Shape,
    },
    /// Draws a new mark from here.
    Draw(Outline, [f64; 2]),
    /// Cuts a loose part along a line from here.
    Cut([f64; 2]),
}

impl Gesture {
    /// What takes it back.
    pub(in crate::app) fn taken_back(self) -> Option<Action> {
        matches!(self, Gesture::Change { .. }).then_some(Action::CancelGroup)
    }
}

/// Shows the open photo in all the room there is.
pub(in crate::app) fn show(
    ui: &mut Ui,
    state: &mut State,
    tiles: &mut Tiles,
    gesture: &mut Option<Gesture>,
    actions: &mut Vec<Action>,
) {
    let rect = ui.available_rect_before_wrap();
    state.bench = bench_in(ui, rect);
    let on_bench = ui.memory(|memory| memory.focused());
    let bench_id = ui.scope_id().with("bench");
    state.keys_on_bench = on_bench.is_none_or(|id| {
        let marks = state.session.iter().flat_map(|session| marks::all(session.case()));
        id == bench_id || marks.into_iter().any(|mark| id == mark_id(bench_id, &mark))
    });
    let take_focus = std::mem::take(&mut state.tray.focus_bench);
    let state = &*state;
    let (Some(session), Some(view)) = (&state.session, state.current_view()) else { return };
    let photo_px = session.photo_px();
    let response = ui.interact(rect, bench_id, Sense::click_and_drag());
    describe(&response, session, &view, &state.bench);
    if take_focus {
        response.request_focus();
    }
    let painter = ui.painter_at(rect);
    painter.rect_filled(rect, 0.0, theme::SURROUND);
    tiles.paint(&painter, &view, &state.bench);
    shade_drawing::paint(ui, &painter, rect, state, &view, &state.bench);
    light_lines::paint(&painter, state, &view, &state.bench);

    let on_photo = |point: Pos2| view.to_photo(&state.bench, [f64::from(point.x), f64::from(point.y)]);
    let pointer = response.hover_pos().or(response.interact_pointer_pos()).map(on_photo);
    actions.extend(look_around(ui, &response, photo_px, &view, &state.bench).map(Action::Look));
    use_mouse(ui, &response, state, &view, gesture, actions);
    let focused = mark_widgets(ui, bench_id, state, &view, actions);
    if response.has_focus() {
        actions.extend(pan_by_arrows(ui, &response, photo_px, &view).map(Action::Look));
    }
    if let (Some(Gesture::Draw(outline, from)), Some(to)) = (&*gesture, pointer)
        && let Some(shape) = grip::drawn(*outline, *from, to)
    {
        outline::paint_draft(&painter, &view, &state.bench, &shape);
    }
    outline::paint_marks(&painter, session, &view, &state.bench, focused.as_ref());
    tray::drawing::paint(&painter, state, &view, &state.bench);
    outline::paint_corners(&painter, &view, &state.bench, &state.corners, pointer);
    let cut_from = if let Some(Gesture::Cut(from)) = gesture { Some(*from) } else { None };
    tray::drawing::paint_tools(ui, &painter, state, (&view, &state.bench), pointer, cut_from);
    if response.has_focus() {
        focus_edge(&painter, rect);
    }
    set_cursor(ui, &response, state, pointer, gesture.as_ref(), &view);
    if let Some(target) = magnified(ui, &response, state, &view, focused.as_ref()) {
        magnifier::show(ui, rect, &session.raster, &target);
    }
}

/// What the magnifier looks at, if it is on: a mark from when keys move it until the mouse moves again, else the
/// pointer; without either the middle of the view, which keys pan.
fn magnified(
    ui: &Ui,
    response: &Response,
    state: &State,
    view: &View,
    focused: Option<&MarkKey>,
) -> Option<Target> {
    if !state.magnifier {
        return None;
    }
    let mark = focused.and_then(|mark| marks::shape(state.session.as_ref()?.case(), mark)).map(|shape| {
        let uncovered = outline::screen_box(view, &state.bench, shape).expand(theme::SPACE_M);
        Target { point_px: shape.centre(), uncovered }
    });
    let mouse_moved = ui.input(|input| input.pointer.delta() != egui::Vec2::ZERO || input.pointer.any_down());
    let keys_moved = arrows(ui).is_some();
    let by_keys = ui.data_mut(|data| {
        let by_keys: &mut bool = data.get_temp_mut_or_default(response.id);
        *by_keys = !mouse_moved && (*by_keys || keys_moved);
        *by_keys
    });
    let pointer = response.hover_pos().or(response.interact_pointer_pos()).filter(|_| !by_keys);
    let middle = || Target::pointer(view, &state.bench, response.rect.center());
    pointer.map(|at| Target::pointer(view, &state.bench, at)).or(mark).or(response.has_focus().then(middle))
}

fn use_mouse(
    ui: &Ui,
    response: &Response,
    state: &State,
    view: &View,
    gesture: &mut Option<Gesture>,
    actions: &mut Vec<Action>,
) {
    let Some(session) = &state.session else { return };
    let on_photo = |point: Pos2| view.to_photo(&state.bench, [f64::from(point.x), f64::from(point.y)]);
    let reach_px = f64::from(theme::REACH) / view.points_per_px;
    if response.drag_started() {
        // The pointer is already past the threshold of a drag; the button went down before.
        let origin = ui.input(|input| input.pointer.press_origin());
        if let Some(from_px) = origin.or(response.interact_pointer_pos()).map(on_photo) {
            *gesture = Some(begin(ui, response, state, session, from_px, reach_px, actions));
        }
    }
    if let (Some(now), Some(pointer)) = (&*gesture, response.interact_pointer_pos()) {
        match now {
            Gesture::Pan => {
                if let Some(photo_px) = state.photo_px() {
                    let by = response.drag_delta();
                    actions.push(Action::Look(view.panned(photo_px, [f64::from(by.x), f64::from(by.y)])));
                }
            }
            Gesture::Change { mark, grip, from_px, shape } => {
                let shape = grip::dragged(shape, *grip, *from_px, on_photo(pointer));
                if marks::shape(session.case(), mark) != Some(&shape) {
                    actions.push(Action::EditIn(GroupKey::Drag, Edit::Reshape(mark.clone(), shape)));
                }
            }
            Gesture::Draw(..) | Gesture::Cut(_) => {}
        }
    }
    if response.drag_stopped() {
        match gesture.take() {
            Some(Gesture::Change { .. }) => actions.push(Action::EndGroup),
            Some(Gesture::Draw(outline, from_px)) => {
                let to = response.interact_pointer_pos().or(response.hover_pos()).map(on_photo);
                let shape = to.and_then(|to_px| grip::drawn(outline, from_px, to_px));
                actions.extend(shape.map(Action::Draw));
            }
            Some(Gesture::Cut(from_px)) => {
                let to = response.interact_pointer_pos().or(response.hover_pos()).map(on_photo);
                actions.extend(to.map(|to_px| Action::Tray(TrayAction::Cut([from_px, to_px]))));
            }
            _ => {}
        }
    }
    if response.clicked() {
        let Some(point) = response.interact_pointer_pos().map(on_photo) else { return };
        match state.tool {
            Tool::Polygon => actions.push(Action::Corner(point, reach_px)),
            Tool::Grow => actions.push(Action::Tray(TrayAction::Grow(point))),
            Tool::Cut => actions.push(Action::Tray(TrayAction::CutAt(point))),
            _ => {
                let mark = marks::at(session.case(), point, reach_px / 2.0);
                let parts = session.case().loose_parts();
                let part = parts.iter().find(|part| mark.is_none() && part.shape().contains(point));
                if mark.is_none() {
                    response.request_focus();
                }
                match part {
                    Some(part) => actions.push(Action::Tray(TrayAction::Choose(part.number))),
                    None => actions.push(Action::Take(mark)),
                }
            }
        }
    }
}

/// What a drag that begins here does.
fn begin(
    ui: &Ui,
    response: &Response,
    state: &State,
    session: &Session,
    from_px: [f64; 2],
    reach_px: f64,
    actions: &mut Vec<Action>,
) -> Gesture {
    let space = ui.input(|input| input.key_down(Key::Space));
    if space || !response.drag_started_by(PointerButton::Primary) {
        return Gesture::Pan;
    }
    let change = |mark: MarkKey, grip| {
        let shape = marks::shape(session.case(), &mark)?.clone();
        Some(Gesture::Change { mark, grip, from_px, shape })
    };
    // A handle of the selected mark can be taken with every tool.
    let selected = session.selected().cloned();
    let handle = selected.and_then(|mark| {
        let grip = grip::handle_at(marks::shape(session.case(), &mark)?, from_px, reach_px)?;
        change(mark, grip)
    });
    if let Some(handle) = handle {
        return handle;
    }
    match state.tool {
        Tool::Circle | Tool::Card => Gesture::Draw(Outline::Circle, from_px),
        Tool::Box => Gesture::Draw(Outline::Rect, from_px),
        Tool::Polygon | Tool::Grow => Gesture::Pan,
        Tool::Cut => Gesture::Cut(from_px),
        Tool::Choose => {
            let mark = marks::at(session.case(), from_px, reach_px / 2.0);
            match mark.and_then(|mark| change(mark, Grip::Body)) {
                Some(Gesture::Change { mark, grip, from_px, shape }) => {
                    actions.push(Action::Take(Some(mark.clone())));
                    Gesture::Change { mark, grip, from_px, shape }
                }
                _ => Gesture::Pan,
            }
        }
    }
}

/// Every mark as something that keys reach and a screen reader names: Tab comes to the selected one, and commands go on
/// from there. Answers with the one in focus.
fn mark_widgets(
    ui: &mut Ui,
    bench_id: Id,
    state: &State,
    view: &View,
    actions: &mut Vec<Action>,
) -> Option<MarkKey> {
    let session = state.session.as_ref()?;
    let shown = one_stop(ui, "marks", Arrows::Theirs, |ui, members| {
        let mut shown = Vec::new();
        for mark in marks::all(session.case()) {
            let Some(shape) = marks::shape(session.case(), &mark) else { continue };
            let rect = outline::screen_box(view, &state.bench, shape);
            let response = ui.interact(rect, mark_id(bench_id, &mark), Sense::focusable_noninteractive());
            let selected = session.selected() == Some(&mark);
            let label = outline::spoken(session, &mark);
            response.widget_info(|| WidgetInfo::selected(Role::ListBoxOption, true, selected, &label));
            if selected && state.focus_mark {
                response.request_focus();
            }
            members.add(&response, selected);
            shown.push((mark, shape, selected, response));
        }
        shown
    });
    let (mark, shape, selected, response) =
        shown.into_iter().find(|(_, _, _, response)| response.has_focus())?;
    let filter = EventFilter { horizontal_arrows: true, vertical_arrows: true, ..Default::default() };
    ui.memory_mut(|memory| memory.set_focus_lock_filter(response.id, filter));
    if response.gained_focus() && !selected {
        actions.push(Action::Reveal(mark.clone()));
    }
    if let Some(edit) = nudged(ui, view, &mark, shape) {
        actions.push(Action::EditIn(GroupKey::Nudge(mark.clone()), edit));
    }
    Some(mark)
}

fn mark_id(bench_id: Id, mark: &MarkKey) -> Id {
    bench_id.with(("mark", mark))
}

/// Arrow keys on a mark: move, with Shift change the size; with Ctrl ten times as far.
fn nudged(ui: &Ui, view: &View, mark: &MarkKey, shape: &Shape) -> Option<Edit> {
    let (across, down, modifiers) = arrows(ui)?;
    let step = (1.0 / view.points_per_px).max(1.0) * if modifiers.command { 10.0 } else { 1.0 };
    let by = [across * step, down * step];
    Some(if modifiers.shift {
        // Up and right are larger.
        Edit::Reshape(mark.clone(), grip::grown(shape, by[0], -by[1]))
    } else {
        Edit::Move(mark.clone(), by)
    })
}

fn set_cursor(
    ui: &Ui,
    response: &Response,
    state: &State,
    pointer: Option<[f64; 2]>,
    gesture: Option<&Gesture>,
    view: &View,
) {
    let (Some(point), Some(session)) = (pointer, &state.session) else { return };
    if !response.hovered() && gesture.is_none() {
        return;
    }
    let reach_px = f64::from(theme::REACH) / view.points_per_px;
    let on_handle = session
        .selected()
        .and_then(|mark| marks::shape(session.case(), mark))
        .is_some_and(|shape| grip::handle_at(shape, point, reach_px).is_some());
    let icon = match (gesture, state.tool) {
        (Some(Gesture::Pan), _) => egui::CursorIcon::Grabbing,
        _ if on_handle => egui::CursorIcon::PointingHand,
        (_, Tool::Choose) if marks::at(session.case(), point, reach_px / 2.0).is_some() => {
            egui::CursorIcon::Move
        }
        (_, Tool::Choose) => egui::CursorIcon::Grab,
        _ => egui::CursorIcon::Crosshair,
    };
    ui.set_cursor_icon(icon);
}

/// Where a box of the photo lies on the screen.
pub(super) fn rect_on_screen(view: &View, bench: &Bench, low: [f64; 2], high: [f64; 2]) -> Rect {
    let corner = |point| {
        let [x, y] = view.to_screen(bench, point);
        egui::pos2(x as f32, y as f32)
    };
    Rect::from_two_pos(corner(low), corner(high))
}

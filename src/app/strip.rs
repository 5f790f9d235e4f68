//! The strip under the photo: the selected mark and what can be said of it, or the next step.

use egui::{Align, Id, Label, Layout, Response, RichText, TextEdit, Ui, vec2};

use crate::case::{Edit, MarkKey, MarkKind, Surface};
use crate::guide::slot_id;

use super::action::{Action, Tab, Tool};
use super::card::{self, CardStep};
use super::choosing::{Choosing, choose};
use super::command::Command;
use super::known_colour;
use super::marks;
use super::scrolling::scrolled;
use super::session::{GroupKey, Session};
use super::state::State;
use super::theme;
use super::toolbar;
use super::words;

/// Slots that most figures have, where no guide says which; any other can be typed.
const SLOTS: [&str; 7] = ["head", "torso", "waist", "arm-left", "arm-right", "leg-left", "leg-right"];

/// Shows the strip.
pub(super) fn show(ui: &mut Ui, state: &mut State, actions: &mut Vec<Action>) {
    let focus_name = std::mem::take(&mut state.focus_name);
    let state = &*state;
    let Some(session) = &state.session else { return };
    if let Some(hint) = drawing_hint(state) {
        ui.strong("Drawing");
        ui.add(Label::new(hint).wrap());
        return;
    }
    scrolled(ui, "strip", |ui| {
        let Some(mark) = session.selected() else { return next_step(ui, state, session, actions) };
        ui.horizontal_wrapped(|ui| {
            name(ui, session, mark, focus_name, actions);
            kind(ui, mark, actions);
            surface(ui, session, mark, actions);
            if ui.button("Delete").on_hover_text(Command::DeleteMark.entry().tooltip).clicked() {
                actions.push(Action::Run(Command::DeleteMark));
            }
        });
        match mark.kind {
            MarkKind::Reading => slot(ui, session, mark, actions),
            MarkKind::Zone => known_colour::show(ui, state, session, mark, actions),
        }
        trouble(ui, session, mark);
    });
}

fn drawing_hint(state: &State) -> Option<String> {
    let corners = state.corners.len();
    match state.tool {
        Tool::Polygon if state.tray.redraws.is_some() => Some(format!(
            "{corners} corners of the part's new outline so far. Click its corners one after another, or move the \
             photo under the cross with the arrow keys and press N; Enter closes the outline, Esc gives it up."
        )),
        Tool::Grow => Some(
            "Click matt, lit plastic: the area grows over the same plastic up to edges and paint. By keys: move the \
             photo under the cross with the arrows (Shift: slower) and press N. Esc ends it."
                .into(),
        ),
        Tool::Cut => Some(
            "Drag a line right across the part, from board to board, or click both ends of it. By keys: move the \
             photo under the cross with the arrows (Shift: slower) and press N for each end. Esc gives it up."
                .into(),
        ),
        Tool::Polygon if corners > 0 => Some(format!(
            "{corners} corners so far. Click the next corner; click the first corner or press Enter to close \
             the polygon, Esc to give it up."
        )),
        Tool::Card => {
            let number = state.card_end();
            let step = state.card.get(number - 1).map(CardStep::name).unwrap_or_default();
            let which = if number == 1 { "lightest" } else { "darkest" };
            Some(format!(
                "Drag a circle inside the {which} step of the card ({step}), from its middle outwards, and stay \
                 off its edges. Or press N for a circle in the middle of the view."
            ))
        }
        _ => None,
    }
}

fn next_step(ui: &mut Ui, state: &State, session: &Session, actions: &mut Vec<Action>) {
    let (text, command) = match state.tab {
        Tab::Tray if session.case().tray.is_none() && session.case().readings.is_empty() => (
            "Find the parts: the printed card and everything that lies loose around it are outlined and numbered.",
            Some(Command::FindParts),
        ),
        _ => words::next_step(session.case(), session.references.is_some()),
    };
    let advice = command.is_none().then(|| session.measurement().and_then(words::best_advice_told)).flatten();
    ui.strong("Next");
    if let Some(advice) = advice {
        ui.add(Label::new(advice).wrap());
    }
    ui.add(Label::new(text).wrap());
    if let Some(command) = command {
        ui.horizontal(|ui| {
            let idle = command != Command::FindParts || state.tray.looking.is_none();
            toolbar::command(ui, command, idle, actions);
            if command == Command::MarkCard {
                toolbar::command(ui, Command::FindCard, state.tray.looking.is_none(), actions);
            }
            if command == Command::MarkCard && state.card == card::common_ladder() {
                toolbar::command(ui, Command::CardList, true, actions);
            }
        });
    }
}

fn name(ui: &mut Ui, session: &Session, mark: &MarkKey, focus: bool, actions: &mut Vec<Action>) {
    let label = field_label(ui, "Name");
    let id = Id::unique("name of the mark");
    let typing = ui.memory(|memory| memory.has_focus(id));
    // While a name is typed it may be empty or taken for a moment; the case keeps the last good one.
    let typed = ui.data(|data| data.get_temp::<String>(id)).filter(|_| typing);
    let mut text = typed.unwrap_or_else(|| mark.id.clone());
    let field = ui.add(TextEdit::singleline(&mut text).id(id).desired_width(130.0)).labelled_by(label.id);
    if focus {
        field.request_focus();
        select_all(ui, id, text.chars().count());
    }
    if field.changed() {
        ui.data_mut(|data| data.insert_temp(id, text.clone()));
        let taken = MarkKey { kind: mark.kind, id: text.clone() };
        if !text.trim().is_empty() && text != mark.id && marks::shape(session.case(), &taken).is_none() {
            actions.push(Action::EditIn(GroupKey::Field("name"), Edit::Rename(mark.clone(), text.clone())));
        }
    }
    if field.lost_focus() {
        ui.data_mut(|data| data.remove::<String>(id));
        actions.push(Action::EndGroup);
        if ui.input(|input| input.key_pressed(egui::Key::Enter)) {
            actions.push(Action::Take(Some(mark.clone())));
        }
    } else if typing && text != mark.id {
        ui.label(if text.trim().is_empty() { "! A mark needs a name" } else { "! That name is taken" });
    }
}

/// The word before a field, so wide that fields below one another begin in line.
pub(super) fn field_label(ui: &mut Ui, word: &str) -> Response {
    let size = vec2(FIELD_LABEL, theme::TOUCH);
    ui.allocate_ui_with_layout(size, Layout::left_to_right(Align::Center), |ui| {
        ui.set_min_width(FIELD_LABEL);
        ui.label(word)
    })
    .inner
}

/// Room for such a word.
const FIELD_LABEL: f32 = 38.0;

fn select_all(ui: &Ui, id: Id, length: usize) {
    use egui::text::{CCursor, CCursorRange};
    let mut state = egui::text_edit::TextEditState::load(ui.ctx(), id).unwrap_or_default();
    let range = CCursorRange::two(CCursor::new(0), CCursor::new(length));
    state.cursor.set_char_range(Some(range));
    state.store(ui.ctx(), id);
}

fn kind(ui: &mut Ui, mark: &MarkKey, actions: &mut Vec<Action>) {
    let is_part = mark.kind == MarkKind::Reading;
    let part = ui.add(toolbar::choice_button(is_part, "Part")).on_hover_text("It is measured.");
    let known = ui
        .add(toolbar::choice_button(!is_part, "Known colour"))
        .on_hover_text("Its colour is known: a step of the card, or a part whose shade is certain.");
    let other = if is_part { known } else { part };
    if other.clicked() {
        actions.push(Action::Convert(mark.clone()));
    }
}

fn surface(ui: &mut Ui, session: &Session, mark: &MarkKey, actions: &mut Vec<Action>) {
    let Some(now) = marks::surface(session.case(), mark) else { return };
    let kinds = [Surface::Flat, Surface::Rounded];
    let values = kinds.map(|surface| (surface == now, surface_name(surface).to_owned())).into();
    let list = Choosing { width: 96.0, grows: true, now: surface_name(now), values, spoken: None };
    let (taken, response) = choose(ui, "surface", list);
    if let Some(surface) = taken.and_then(|at| kinds.get(at)) {
        actions.push(Action::Edit(Edit::SetSurface(mark.clone(), *surface)));
    }
    response.accessible_name("Surface").on_hover_text(
        "Flat: faces the camera, as a card does. Rounded: a moulded part, whose lightness varies with the \
             angle to the light.",
    );
}

fn surface_name(surface: Surface) -> &'static str {
    match surface {
        Surface::Flat => "Flat",
        Surface::Rounded => "Rounded",
    }
}

fn slot(ui: &mut Ui, session: &Session, mark: &MarkKey, actions: &mut Vec<Action>) {
    let now =
        marks::reading(session.case(), mark).and_then(|reading| reading.slot.clone()).unwrap_or_default();
    ui.horizontal_wrapped(|ui| {
        let label = field_label(ui, "Slot").on_hover_text(
            "The place in a figure. Under “Figure” what was measured here counts for that place.",
        );
        // Most figures' slots fit on one line of a small window.
        theme::tighten(ui);
        let guide = session.guide();
        let mut text = session.slot_words(&now);
        let field = ui
            .add(TextEdit::singleline(&mut text).hint_text("any other").desired_width(130.0))
            .labelled_by(label.id);
        let set = |text: &str| {
            let slot = Some(slot_id(guide, text)).filter(|slot| !slot.is_empty());
            Edit::SetSlot(mark.clone(), slot)
        };
        if field.changed() {
            actions.push(Action::EditIn(GroupKey::Field("slot"), set(&text)));
        }
        if field.lost_focus() {
            actions.push(Action::EndGroup);
        }
        let of_guide = guide.map(|guide| guide.slots.iter().map(|slot| slot.id.as_str()).collect());
        let slots: Vec<&str> = of_guide.unwrap_or_else(|| SLOTS.to_vec());
        for slot in slots {
            if ui.add(toolbar::choice_button(now == slot, &session.slot_words(slot))).clicked() {
                actions.push(Action::Edit(set(slot)));
            }
        }
    });
}

fn trouble(ui: &mut Ui, session: &Session, mark: &MarkKey) {
    let is_zone = mark.kind == MarkKind::Zone;
    let mine = session.mark_problems().filter(|p| p.id == mark.id && (p.kind == "zone") == is_zone);
    for problem in mine {
        ui.add(Label::new(RichText::new(format!("! {} {}", problem.text, problem.remedy)).strong()).wrap());
    }
    let result = session.measurement().and_then(|m| m.readings.iter().find(|r| !is_zone && r.id == mark.id));
    if let Some(pixels) = result.map(|result| result.pixels) {
        let grey = theme::palette(ui).weak;
        let text = crate::report::pixels_text(&pixels);
        ui.add(Label::new(RichText::new(text).color(grey).small()).wrap());
    }
}

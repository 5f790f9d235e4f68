//! A guide being written, in place of the photo: its parts at the left, then the members of the chosen list, then all that
//! can be said of one member, each with what there is to remark.

use egui::{Align, Button, Label, Layout, RichText, TextEdit, Ui, vec2};

use crate::guide::{GuideEdit, List, Shift};

use super::action::{GuideAction, Page};
use super::character;
use super::editor::GuideEditor;
use super::fields::Form;
use super::forms;
use crate::app::action::Action;
use crate::app::scrolling::scrolled;
use crate::app::state::State;
use crate::app::theme;
use crate::app::toolbar::choice_button;
use crate::app::words;

/// Width of the list of the guide's parts.
const PARTS_WIDTH: f32 = 148.0;
/// Width of the list of members.
const MEMBERS_WIDTH: f32 = 216.0;

/// Shows the page.
pub(in crate::app) fn show(ui: &mut Ui, state: &State, actions: &mut Vec<Action>) {
    let Some(editor) = state.open_editor() else { return };
    let mut asked = Vec::new();
    head(ui, state, editor, &mut asked);
    ui.separator();
    let room = ui.available_size();
    ui.horizontal_top(|ui| {
        column(ui, "parts", vec2(PARTS_WIDTH, room.y), |ui| parts(ui, editor, &mut asked));
        if let Page::List(list) = editor.page {
            ui.separator();
            column(ui, "members", vec2(MEMBERS_WIDTH, room.y), |ui| members(ui, editor, list, &mut asked));
        }
        ui.separator();
        let size = vec2(ui.available_width(), room.y);
        let id = format!("{:?} {}", editor.page, editor.chosen);
        column(ui, &id, size, |ui| {
            let mut form = Form::new(editor, &mut asked);
            match editor.page {
                Page::Line => forms::line(ui, &mut form),
                Page::Rates => forms::rates(ui, &mut form),
                Page::Remarks => remarks(ui, editor, form.asked),
                Page::List(List::Characters) => character::show(ui, &mut form, editor.chosen),
                Page::List(list) => forms::member(ui, &mut form, list, editor.chosen),
            }
            form.show_remarks(ui);
        });
    });
    actions.extend(asked.into_iter().map(Action::Guide));
}

fn column(ui: &mut Ui, id: &str, size: egui::Vec2, content: impl FnOnce(&mut Ui)) {
    ui.allocate_ui_with_layout(size, Layout::top_down(Align::Min), |ui| {
        ui.set_width(size.x);
        scrolled(ui, id, |ui| {
            // Beside the scroll bar.
            ui.set_max_width(size.x - theme::SPACE_L);
            content(ui);
        });
    });
}

/// Which guide this is, where it is saved, and the ways out.
fn head(ui: &mut Ui, state: &State, editor: &GuideEditor, asked: &mut Vec<GuideAction>) {
    ui.horizontal_wrapped(|ui| {
        let line = editor.guide().line.trim();
        ui.heading(if line.is_empty() {
            "Guide of a line without a name".into()
        } else {
            format!("Guide of {line}")
        });
        if ui.button("New guide").on_hover_text("Begin a guide with nothing in it.").clicked() {
            asked.push(GuideAction::New);
        }
        let copy =
            ui.button("Make it a copy").on_hover_text("Go on in a copy; the file stays as it was saved.");
        if copy.clicked() {
            asked.push(GuideAction::Copy);
        }
        if ui
            .button("Close the guide")
            .on_hover_text("Back; what you wrote stays until you save it.")
            .clicked()
        {
            asked.push(GuideAction::Close);
        }
    });
    ui.horizontal(|ui| {
        let label = ui.label("File of the guide");
        let mut path = editor.path.clone();
        // What stands behind it: one button, or a word or a button more where a case is open.
        let behind = if state.session.is_some() { 300.0 } else { 122.0 };
        let width = (ui.available_width() - behind).max(160.0);
        let field = ui.add(TextEdit::singleline(&mut path).desired_width(width)).labelled_by(label.id);
        if field.changed() {
            asked.push(GuideAction::Path(path));
        }
        let save = ui.add_enabled(!editor.path.trim().is_empty(), Button::new("Save the guide"));
        if save.on_hover_text("Write it to this file, even with faults in it.").clicked() {
            asked.push(GuideAction::Save);
        }
        let Some(session) = &state.session else { return };
        let in_use = session.weighing.file.is_some() && session.weighing.file == editor.file;
        let ready = editor.file.is_some() && !editor.is_unsaved();
        if in_use {
            let usable = session.weighing.guide.is_some();
            ui.label(if usable { "The case uses it." } else { "The case names it." });
        } else if ui
            .add_enabled(ready, Button::new("Use it for the case"))
            .on_hover_text("Weigh the figure of the open photo with this guide.")
            .on_disabled_hover_text("Save it first.")
            .clicked()
        {
            asked.push(GuideAction::Use);
        }
    });
}

/// The parts of the guide, in the order in which one is best written.
fn parts(ui: &mut Ui, editor: &GuideEditor, asked: &mut Vec<GuideAction>) {
    let lists = List::ALL.map(|list| (Page::List(list), words::capital(list.name()), list.name()));
    let first = (Page::Line, "Line".to_owned(), "halves");
    let last = (Page::Rates, "Error rates".to_owned(), "rates");
    for (page, name, place) in [first].into_iter().chain(lists).chain([last]) {
        let count = match page {
            Page::List(list) => format!(" {}", editor.guide().ids(list).len()),
            _ => String::new(),
        };
        let sign = if editor.remarks.under(place).any(|remark| remark.grave) { "! " } else { "" };
        let text = format!("{sign}{name}{count}");
        if ui.add(row(ui, editor.page == page, &text)).accessible_name(&text).clicked() {
            asked.push(GuideAction::Page(page));
        }
    }
    ui.add_space(theme::SPACE_M);
    let grave = editor.remarks.grave();
    let text = match (grave, editor.remarks.all.len()) {
        (0, remarks) => format!("Remarks {remarks}"),
        (grave, _) => format!("! To mend {grave}"),
    };
    if ui.add(row(ui, editor.page == Page::Remarks, &text)).accessible_name(&text).clicked() {
        asked.push(GuideAction::Page(Page::Remarks));
    }
}

/// A button over the whole width, its text at the left.
fn row<'a>(ui: &Ui, chosen: bool, text: &'a str) -> Button<'a> {
    choice_button(chosen, text).right_text("").min_size(vec2(ui.available_width(), 0.0)).truncate()
}

/// The members of a list: choose, add, move and remove.
fn members(ui: &mut Ui, editor: &GuideEditor, list: List, asked: &mut Vec<GuideAction>) {
    let ids = editor.guide().ids(list);
    let label = format!("New {}", list.one());
    let key = format!("{}/new", list.name());
    Form::new(editor, asked).draft(ui, &key, &label, MEMBERS_WIDTH - 84.0, |name| GuideEdit::Add(list, name));
    ui.horizontal(|ui| {
        let at = editor.chosen;
        for (text, enabled, shift) in
            [("Earlier", at > 0, Shift::Earlier), ("Later", at + 1 < ids.len(), Shift::Later)]
        {
            if ui.add_enabled(enabled, Button::new(text)).clicked() {
                asked.push(GuideAction::Edit(GuideEdit::Shift(list, at, shift)));
                asked.push(GuideAction::Choose(if shift == Shift::Earlier { at - 1 } else { at + 1 }));
            }
        }
        let remove = ui.add_enabled(!ids.is_empty(), Button::new("Remove"));
        let remove = remove.accessible_name(format!("Remove the {}", list.one()));
        if remove.on_hover_text("Undo brings it back.").clicked() {
            asked.push(GuideAction::Edit(GuideEdit::Remove(list, at)));
            asked.push(GuideAction::Choose(at.saturating_sub(1)));
        }
    });
    for (at, id) in ids.iter().enumerate() {
        let place = format!("{} › {id}", list.name());
        let sign = match editor.remarks.under(&place).map(|remark| remark.grave).max() {
            Some(true) => "! ",
            Some(false) => "• ",
            None => "",
        };
        let text = format!("{sign}{id}");
        let spoken = format!("{} {id}", words::capital(list.one()));
        if ui.add(row(ui, editor.chosen == at, &text)).accessible_name(spoken).clicked() {
            asked.push(GuideAction::Choose(at));
        }
    }
}

/// Everything there is to remark, each with the way to its place.
fn remarks(ui: &mut Ui, editor: &GuideEditor, asked: &mut Vec<GuideAction>) {
    ui.heading("To mend, and remarks");
    if editor.remarks.all.is_empty() {
        let text = if editor.remarks.are_current() {
            "Nothing to say: the guide is sound."
        } else {
            "Reading it over…"
        };
        ui.label(text);
    }
    let order =
        [(true, "The guide cannot be used before this is mended"), (false, "Remarks; the guide can be used")];
    for (grave, title) in order {
        let mut of = editor.remarks.all.iter().filter(|remark| remark.grave == grave).peekable();
        if of.peek().is_some() {
            ui.add_space(theme::SPACE_M);
            ui.strong(title);
        }
        for remark in of {
            let said = &remark.said;
            ui.add(Label::new(RichText::new(&said.place).color(theme::palette(ui).weak)).wrap());
            ui.add(Label::new(format!("{} {}", said.text, said.remedy)).wrap());
            if ui.small_button("Go there").accessible_name(format!("Go to {}", said.place)).clicked() {
                asked.push(GuideAction::GoTo(said.place.clone()));
            }
            ui.add_space(theme::SPACE_S);
        }
    }
}

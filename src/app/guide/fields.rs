//! The fields of the guide's page: a label, what can be set, and below it what there is to remark of that place.

use egui::{Key, Label, RichText, TextEdit, Ui};

use crate::guide::{GuideEdit, slot_words};
use crate::problem::Problem;

use super::action::GuideAction;
use super::editor::GuideEditor;
use super::remarks::Remark;
use crate::app::choosing::{Choosing, choose};
use crate::app::theme;

/// Width of the labels at the left.
const LABEL_WIDTH: f32 = 148.0;
/// Width of a field for a sentence, of one for a name, and of one for a number.
const SENTENCE_WIDTH: f32 = 620.0;
const NAME_WIDTH: f32 = 240.0;
const NUMBER_WIDTH: f32 = 150.0;

/// A page of fields being shown.
pub(super) struct Form<'a> {
    /// The guide and what is typed.
    pub editor: &'a GuideEditor,
    /// What was asked for.
    pub asked: &'a mut Vec<GuideAction>,
    remarks: Vec<&'a Remark>,
}

/// One field.
#[derive(Debug, Clone)]
pub(super) struct Field<'a> {
    /// Tells it from the others; stays the same while its member is renamed.
    pub key: String,
    /// Its name for people.
    pub label: &'a str,
    /// Its name for a screen reader where the label alone says too little.
    pub spoken: Option<String>,
    /// Its place in the guide, empty where nothing is remarked there.
    pub place: String,
    /// What stands in it while it is empty.
    pub hint: &'a str,
}

impl<'a> Field<'a> {
    /// A field of a place; its key is made from another, steady name of the place.
    pub(super) fn new(key: String, label: &'a str, place: String) -> Self {
        Self { key, label, spoken: None, place, hint: "" }
    }

    /// With a word on what is meant while it is empty.
    pub(super) fn hint(self, hint: &'a str) -> Self {
        Self { hint, ..self }
    }

    /// With a name of its own for a screen reader.
    pub(super) fn spoken(self, spoken: String) -> Self {
        Self { spoken: Some(spoken), ..self }
    }
}

impl<'a> Form<'a> {
    /// Fields of the guide.
    pub(super) fn new(editor: &'a GuideEditor, asked: &'a mut Vec<GuideAction>) -> Self {
        Self { editor, asked, remarks: Vec::new() }
    }

    /// A text, as long as a sentence.
    pub(super) fn text(&mut self, ui: &mut Ui, field: &Field, now: &str, edit: impl Fn(String) -> GuideEdit) {
        self.typed(ui, field, now, SENTENCE_WIDTH, |text| Ok(edit(text.to_owned())), |_| None);
    }

    /// A name.
    pub(super) fn name(&mut self, ui: &mut Ui, field: &Field, now: &str, edit: impl Fn(String) -> GuideEdit) {
        self.typed(ui, field, now, NAME_WIDTH, |text| Ok(edit(text.to_owned())), |_| None);
    }

    /// A name that can be removed.
    pub(super) fn removable(
        &mut self,
        ui: &mut Ui,
        field: &Field,
        now: &str,
        edit: impl Fn(String) -> GuideEdit,
        remove: GuideEdit,
    ) {
        let button = |ui: &mut Ui| {
            let button = ui.button("Remove").accessible_name(format!("Remove {now}"));
            button.on_hover_text("Undo brings it back.").clicked().then(|| GuideAction::Edit(remove.clone()))
        };
        self.typed(ui, field, now, NAME_WIDTH, |text| Ok(edit(text.to_owned())), button);
    }

    /// A number or nothing.
    pub(super) fn number(
        &mut self,
        ui: &mut Ui,
        field: &Field,
        now: Option<f64>,
        edit: impl Fn(Option<f64>) -> GuideEdit,
    ) {
        let now = now.map(|n| n.to_string()).unwrap_or_default();
        self.typed(ui, field, &now, NUMBER_WIDTH, |text| read_number(text).map(&edit), |_| None);
    }

    fn typed(
        &mut self,
        ui: &mut Ui,
        field: &Field,
        now: &str,
        width: f32,
        edit: impl Fn(&str) -> Result<GuideEdit, Problem>,
        beside: impl FnOnce(&mut Ui) -> Option<GuideAction>,
    ) {
        let typed = self.editor.typed.as_ref().filter(|typed| typed.field == field.key);
        let mut text = typed.map_or_else(|| now.to_owned(), |typed| typed.text.clone());
        labelled(ui, field.label, |ui, label| {
            let room = width.min(ui.available_width() - theme::SPACE_S);
            let box_ = TextEdit::singleline(&mut text)
                .id_salt(&field.key)
                .hint_text(field.hint)
                .desired_width(room.max(60.0));
            let mut response = ui.add(box_).labelled_by(label);
            if let Some(spoken) = &field.spoken {
                response = response.accessible_name(spoken);
            }
            if response.changed() {
                let edit = edit(&text);
                self.asked.push(GuideAction::Type(field.key.clone(), text.clone(), edit));
            }
            if response.lost_focus() && typed.is_some() {
                self.asked.push(GuideAction::EndTyping);
            }
            self.asked.extend(beside(ui));
        });
        if let Some(problem) = typed.and_then(|typed| typed.refused.as_ref()) {
            indented(ui, &format!("! {} {}", problem.message, problem.remedy), true);
        }
        self.under(&field.place);
    }

    /// One of several values.
    pub(super) fn choice(
        &mut self,
        ui: &mut Ui,
        field: &Field,
        now: &str,
        choices: Vec<(String, GuideEdit)>,
    ) {
        labelled(ui, field.label, |ui, _| self.combo(ui, field, now, choices));
        self.under(&field.place);
    }

    /// The same without a label beside it and without remarks.
    pub(super) fn combo(&mut self, ui: &mut Ui, field: &Field, now: &str, choices: Vec<(String, GuideEdit)>) {
        let spoken = field.spoken.clone().unwrap_or_else(|| field.label.to_owned());
        let values = choices.iter().map(|(name, _)| (name == now, name.clone())).collect();
        let list = Choosing { width: 136.0, grows: false, now, values, spoken: Some(&spoken) };
        let (taken, response) = choose(ui, &field.key, list);
        self.asked
            .extend(taken.and_then(|at| choices.get(at)).map(|(_, edit)| GuideAction::Edit(edit.clone())));
        response.accessible_name(format!("{spoken}, now {now}"));
    }

    /// Yes or no.
    pub(super) fn tick(&mut self, ui: &mut Ui, label: &str, now: bool, edit: impl FnOnce(bool) -> GuideEdit) {
        let mut ticked = now;
        if ui.checkbox(&mut ticked, label).changed() {
            self.asked.push(GuideAction::Edit(edit(ticked)));
        }
    }

    /// Several of the slots.
    pub(super) fn slots(
        &mut self,
        ui: &mut Ui,
        label: &str,
        place: &str,
        now: &[String],
        edit: impl Fn(String, bool) -> GuideEdit,
    ) {
        let slots = &self.editor.guide().slots;
        labelled(ui, label, |ui, _| {
            if slots.is_empty() {
                ui.label(RichText::new("There are no slots yet.").color(theme::palette(ui).weak));
            }
            ui.horizontal_wrapped(|ui| {
                for slot in slots {
                    let there = now.contains(&slot.id);
                    self.tick(ui, &slot_words(Some(self.editor.guide()), &slot.id), there, |there| {
                        edit(slot.id.clone(), there)
                    });
                }
            });
        });
        self.under(place);
    }

    /// A name typed to become a new member: a field and a button; Enter does what the button does.
    pub(super) fn draft(
        &mut self,
        ui: &mut Ui,
        key: &str,
        label: &str,
        width: f32,
        edit: impl Fn(String) -> GuideEdit,
    ) {
        let (of, text) = &self.editor.draft;
        let mut text = if of == key { text.clone() } else { String::new() };
        ui.horizontal(|ui| {
            let box_ = TextEdit::singleline(&mut text).id_salt(key).hint_text(label).desired_width(width);
            let response = ui.add(box_).accessible_name(label);
            if self.editor.focus_draft && of == key {
                response.request_focus();
            }
            if response.changed() {
                self.asked.push(GuideAction::Draft(key.to_owned(), text.clone()));
            }
            let entered = response.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
            let some = !text.trim().is_empty();
            let button = egui::Button::new("Add");
            let clicked =
                ui.add_enabled(some, button).accessible_name(format!("Add the {}", lower(label))).clicked();
            if some && (clicked || entered) {
                // The key may not have been told yet in the frame in which Enter came.
                self.asked.push(GuideAction::Draft(key.to_owned(), text.clone()));
                self.asked.push(GuideAction::AddDraft(edit(text.clone())));
            }
        });
    }

    /// Remarks on a place itself are to be shown.
    pub(super) fn at(&mut self, place: &str) {
        self.remarks.extend(self.editor.remarks.at(place));
    }

    /// Remarks on a place and all below it are to be shown.
    pub(super) fn under(&mut self, place: &str) {
        if !place.is_empty() {
            self.remarks.extend(self.editor.remarks.under(place));
        }
    }

    /// Shows them, below all fields: they come a moment after what was typed, and nothing may jump.
    pub(super) fn show_remarks(&self, ui: &mut Ui) {
        if !self.remarks.is_empty() {
            ui.add_space(theme::SPACE_L);
        }
        for remark in &self.remarks {
            let sign = if remark.grave { "!" } else { "•" };
            let text = RichText::new(format!("{sign} {} {}", remark.said.text, remark.said.remedy));
            let text = if remark.grave { text.strong() } else { text };
            ui.add(
                Label::new(RichText::new(&remark.said.place).small().color(theme::palette(ui).weak)).wrap(),
            );
            ui.add(Label::new(text).wrap());
            ui.add_space(theme::SPACE_S);
        }
    }
}

fn labelled(ui: &mut Ui, label: &str, content: impl FnOnce(&mut Ui, egui::Id)) {
    ui.horizontal(|ui| {
        let size = egui::vec2(LABEL_WIDTH, theme::TOUCH);
        let layout = egui::Layout::left_to_right(egui::Align::Center);
        let label = ui.allocate_ui_with_layout(size, layout, |ui| {
            ui.set_min_width(LABEL_WIDTH);
            ui.add(Label::new(label).wrap()).id
        });
        content(ui, label.inner);
    });
}

fn indented(ui: &mut Ui, text: &str, strong: bool) {
    let weak = theme::palette(ui).weak;
    ui.horizontal(|ui| {
        ui.add_space(theme::SPACE_L);
        let text = if strong { RichText::new(text).strong() } else { RichText::new(text).color(weak) };
        ui.add(Label::new(text).wrap());
    });
}

/// "0.05" and "5 %" are the same; a comma is understood.
fn read_number(text: &str) -> Result<Option<f64>, Problem> {
    let text = text.trim().replace(',', ".");
    if text.is_empty() {
        return Ok(None);
    }
    let (digits, scale) = match text.strip_suffix('%') {
        Some(digits) => (digits.trim(), 0.01),
        None => (&*text, 1.0),
    };
    match digits.parse::<f64>() {
        Ok(number) if number.is_finite() => Ok(Some(number * scale)),
        _ => Err(Problem::new(
            format!("“{text}” is no number."),
            "Write 0.05 or 5 %, or leave it empty for what is usual.",
        )),
    }
}

fn lower(label: &str) -> String {
    let mut letters = label.chars();
    letters.next().map(|first| first.to_lowercase().chain(letters).collect()).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_read_as_people_write_them() {
        assert_eq!(read_number(" "), Ok(None));
        assert_eq!(read_number("0,05"), Ok(Some(0.05)));
        assert_eq!(read_number("5 %"), Ok(Some(0.05)));
        assert_eq!(read_number("3"), Ok(Some(3.0)));
        for wrong in ["five", "inf", "1.2.3", "%"] {
            assert!(read_number(wrong).is_err(), "{wrong}");
        }
    }
}

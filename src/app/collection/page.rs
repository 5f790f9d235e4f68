//! The page of the collection: what is looked for above, the records below, the one in hand at the side.

use egui::{CentralPanel, Frame, Label, Margin, Panel, RichText, ScrollArea, TextEdit, Ui};

use crate::collection::Filter;

use super::gallery;
use super::record;
use super::records::{Checks, CollectionAction, CollectionPage, Layout, Seen};
use super::{table, taken_back, totals};
use crate::app::action::Action;
use crate::app::command::Command;
use crate::app::scrolling::scrolled;
use crate::app::state::State;
use crate::app::theme;
use crate::app::thumbs::Thumbs;
use crate::app::toolbar::{choice_button, command};
use crate::app::welcome::alone;
use crate::app::words;

/// Shows the page.
pub(in crate::app) fn show(ui: &mut Ui, state: &State, thumbs: &mut Thumbs, actions: &mut Vec<Action>) {
    let grey = theme::palette(ui);
    let frame = Frame::new().fill(grey.panel).inner_margin(Margin::same(theme::SPACE_M as i8));
    let page = &state.collection;
    let mut asked = Vec::new();
    Panel::top("collection head").frame(frame).show(ui, |ui| head(ui, state, actions, &mut asked));
    // Below, so that no record moves when it comes.
    if let Some(change) = page.change.as_ref().filter(|_| page.seen.is_some()) {
        Panel::bottom("collection change")
            .frame(frame)
            .resizable(false)
            .show(ui, |ui| taken_back::line(ui, change, page.can_take_back(), &mut asked));
    }
    if let Some(form) = &page.form {
        Panel::right("record")
            .frame(frame)
            .default_size(theme::COLUMN_LEAST)
            .size_range(260.0..=520.0)
            .show(ui, |ui| record::show(ui, state, form, &mut asked));
    }
    CentralPanel::default().frame(frame).show(ui, |ui| {
        if let Some(checks) = &page.checks {
            return show_checks(ui, checks, &mut asked);
        }
        match (&page.seen, &page.trouble) {
            (_, Some(trouble)) => alone(ui, |ui| told(ui, &trouble.message, &trouble.remedy)),
            (Some(seen), None) => records(ui, page, seen, thumbs, &mut asked),
            (None, None) if page.to_be_made => {
                alone(ui, |ui| new_collection(ui, page, state.session.is_some()))
            }
            (None, None) if page.folder.is_some() => alone(ui, |ui| wrapped(ui, "Reading the collection…")),
            (None, None) => alone(ui, |ui| without_folder(ui, actions)),
        }
    });
    actions.extend(asked.into_iter().map(Action::Collection));
}

fn wrapped(ui: &mut Ui, text: &str) {
    ui.add(Label::new(text).wrap());
}

fn told(ui: &mut Ui, message: &str, remedy: &str) {
    ui.add(Label::new(RichText::new(format!("! {message}")).strong()).wrap());
    wrapped(ui, remedy);
}

fn without_folder(ui: &mut Ui, actions: &mut Vec<Action>) {
    ui.heading("No collection yet");
    wrapped(
        ui,
        "A collection is a folder of your own with one plain file a figure: its photo, what was found and when, where you \
         bought it. Choose an empty folder to begin one.",
    );
    command(ui, Command::ChooseCollection, true, actions);
}

fn new_collection(ui: &mut Ui, page: &CollectionPage, has_photo: bool) {
    ui.heading("A new collection");
    let folder = page.folder.as_ref().map(|folder| folder.display().to_string()).unwrap_or_default();
    wrapped(
        ui,
        &format!("The folder {folder} is not there yet. It is made with the first figure that you add."),
    );
    wrapped(
        ui,
        if has_photo {
            "“Add to collection…” adds the figure of the open photo. If you meant another folder, choose it above."
        } else {
            "Open a photo of a figure, then press “Add to collection…”. If you meant another folder, choose it above."
        },
    );
}

fn head(ui: &mut Ui, state: &State, actions: &mut Vec<Action>, asked: &mut Vec<CollectionAction>) {
    let page = &state.collection;
    ui.horizontal_wrapped(|ui| {
        ui.heading("Collection");
        command(ui, Command::ChooseCollection, true, actions);
        command(ui, Command::AddToCollection, state.session.is_some(), actions);
        let (name, tip) = match state.session.is_some() {
            true => ("Back to the photo", "Hide the collection (Escape)."),
            false => ("Back to the first page", "Hide the collection (Escape)."),
        };
        if ui.button(name).on_hover_text(tip).clicked() {
            asked.push(CollectionAction::Close);
        }
        if let Some(folder) = &page.folder {
            let text = RichText::new(folder.display().to_string()).color(theme::palette(ui).weak);
            ui.add(Label::new(text).truncate());
        }
    });
    if page.seen.is_none() {
        return;
    }
    ui.horizontal_wrapped(|ui| {
        let filter = search(ui, &page.filter);
        if filter != page.filter {
            asked.push(CollectionAction::Find(filter));
        }
        ui.separator();
        for (layout, name) in
            [(Layout::Gallery, "Gallery"), (Layout::Table, "Table"), (Layout::Totals, "Totals")]
        {
            if ui.add(choice_button(page.layout == layout, name)).clicked() {
                asked.push(CollectionAction::Lay(layout));
            }
        }
    });
}

fn search(ui: &mut Ui, now: &Filter) -> Filter {
    let mut filter = now.clone();
    let label = ui.label("Find");
    let field = TextEdit::singleline(&mut filter.text).desired_width(200.0);
    ui.add(field).labelled_by(label.id).on_hover_text("Words from the name, notes, character, run or shade.");
    for (flag, name, about) in [
        (&mut filter.doubtful, "Doubtful", "Only where who it is, or a part, is doubtful."),
        (&mut filter.missing, "Parts missing", "Only where parts are missing."),
        (&mut filter.loose, "Loose parts", "Only loose parts."),
    ] {
        if ui.add(choice_button(*flag, name)).on_hover_text(about).clicked() {
            *flag = !*flag;
        }
    }
    filter
}

fn records(
    ui: &mut Ui,
    page: &CollectionPage,
    seen: &Seen,
    thumbs: &mut Thumbs,
    asked: &mut Vec<CollectionAction>,
) {
    notices(ui, page, seen, asked);
    if seen.rows.is_empty() {
        return alone(ui, |ui| {
            ui.heading("Nothing in it yet");
            wrapped(ui, "Open a photo, mark its parts, then press “Add to collection…”.");
        });
    }
    if page.layout == Layout::Totals {
        return totals::show(ui, &seen.lines);
    }
    ui.label(format!("{} of {}", page.chosen.len(), words::count(seen.rows.len(), "record", "records")));
    if page.chosen.is_empty() {
        wrapped(ui, "No record agrees. Use fewer words, or leave a choice out.");
        return;
    }
    match page.layout {
        Layout::Table => table::show(ui, page, seen, asked),
        _ => gallery::show(ui, page, seen, thumbs, asked),
    }
}

/// What wants a decision or a look.
fn notices(ui: &mut Ui, page: &CollectionPage, seen: &Seen, asked: &mut Vec<CollectionAction>) {
    if let [first, rest @ ..] = seen.problems.as_slice() {
        told(ui, &first.message, &first.remedy);
        if !rest.is_empty() {
            ui.collapsing(format!("And {} more that could not be read", rest.len()), |ui| {
                ScrollArea::vertical().max_height(160.0).show(ui, |ui| {
                    rest.iter().for_each(|problem| told(ui, &problem.message, &problem.remedy));
                });
            });
        }
    }
    if seen.leads_out && !page.outside {
        ui.horizontal_wrapped(|ui| {
            ui.label("Some records name files outside the folder, which are not read.");
            if ui.button("Read them").on_hover_text("Only where the collection is yours.").clicked() {
                asked.push(CollectionAction::Outside(true));
            }
        });
    }
    if !seen.outdated.is_empty() && page.checking.is_none() {
        ui.horizontal_wrapped(|ui| {
            let count = seen.outdated.len();
            ui.label(format!("{count} findings rest on references or a guide that are other ones by now."));
            let button = ui.button("See what they would say today");
            if button.on_hover_text("Measures them again; nothing is written.").clicked() {
                asked.push(CollectionAction::Check);
            }
        });
    }
    if let Some(task) = &page.checking {
        ui.horizontal(|ui| {
            ui.spinner();
            ui.label(&task.label);
        });
    }
}

/// What findings would say today; nothing is written before the person says so.
fn show_checks(ui: &mut Ui, checks: &Checks, asked: &mut Vec<CollectionAction>) {
    ui.heading(format!("{} findings would say something else today", checks.differ.len()));
    wrapped(
        ui,
        &format!(
            "{} would say the same. Nothing is written yet. The findings of before stay in the history in any case.",
            checks.same.len()
        ),
    );
    ui.horizontal_wrapped(|ui| {
        if ui.button("Add today’s findings to the histories").clicked() {
            asked.push(CollectionAction::Decide(true));
        }
        if ui.button("Leave everything as it is").clicked() {
            asked.push(CollectionAction::Decide(false));
        }
    });
    scrolled(ui, "checks", |ui| {
        for checked in &checks.differ {
            ui.add_space(theme::SPACE_S);
            ui.strong(&checked.name);
            for change in &checked.changes {
                ui.indent(change, |ui| wrapped(ui, change));
            }
        }
        checks.problems.iter().for_each(|problem| told(ui, &problem.message, &problem.remedy));
    });
}

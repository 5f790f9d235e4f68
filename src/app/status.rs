//! The line at the bottom: what is going on, and how large the photo is shown.

use egui::{Align, Layout, Ui};

use super::action::Action;
use super::command::{Command, Front};
use super::session::Session;
use super::state::State;
use super::theme;
use super::toolbar;
use super::tray::act::TrayAction;
use super::words::count;

/// Shows the line.
pub(super) fn show(ui: &mut Ui, state: &State, actions: &mut Vec<Action>) {
    ui.horizontal(|ui| {
        ui.set_min_height(theme::TOUCH);
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            let seen = matches!(state.front(), Front::Photo | Front::TwoPhotos);
            if let Some(view) = state.current_view().filter(|_| seen) {
                toolbar::command(ui, Command::ZoomIn, true, actions);
                toolbar::command(ui, Command::ZoomOut, true, actions);
                toolbar::command(ui, Command::ZoomActual, true, actions);
                toolbar::command(ui, Command::ZoomFit, true, actions);
                let percent = view.screen_px_per_px(&state.bench) * 100.0;
                ui.label(format!("{percent:.0} %"))
                    .on_hover_text("Screen pixels for one pixel of the photo.");
            }
            ui.with_layout(Layout::left_to_right(Align::Center), |ui| doing(ui, state, actions));
        });
    });
}

fn doing(ui: &mut Ui, state: &State, actions: &mut Vec<Action>) {
    if let Some(work) = &state.tray.folder {
        ui.spinner();
        ui.label(work.told());
        if ui.button("Stop").on_hover_text("End after the photos in hand; what is done is kept.").clicked() {
            actions.push(Action::Tray(TrayAction::StopFolder));
        }
        return;
    }
    if let Some(label) = slow_task(state) {
        ui.spinner();
        ui.label(label);
        if ui.button("Cancel").on_hover_text("Stop, and leave everything as it is.").clicked() {
            actions.push(Action::CancelTask);
        }
        return;
    }
    ui.add(egui::Label::new(summary(state)).truncate());
}

fn summary(state: &State) -> String {
    if let Some(editor) = state.open_editor() {
        let grave = editor.remarks.grave();
        let saved = if editor.is_unsaved() { "Not saved yet." } else { "" };
        return match (editor.remarks.are_current(), grave) {
            (false, _) => format!("Reading the guide over… {saved}"),
            (true, 0) => format!("The guide can be used. {saved}"),
            (true, n) => format!("To mend before the guide can be used: {n}. {saved}"),
        };
    }
    if state.front() == Front::Collection {
        return match &state.collection.seen {
            Some(seen) => crate::report::counts_words(&seen.totals),
            None if state.collection.to_be_made => "A new collection.".into(),
            None => "No collection open.".into(),
        };
    }
    let Some(session) = &state.session else { return "No photo open.".into() };
    if session.is_measuring_slowly() == Ok(true) {
        return "Measuring…".into();
    }
    let case = session.case();
    format!(
        "{}, {}. {}",
        count(case.zones.len(), "known colour", "known colours"),
        count(case.readings.len(), "part", "parts"),
        saved_words(session)
    )
}

fn saved_words(session: &Session) -> &'static str {
    match (session.is_unsaved(), session.case_path.is_some()) {
        (true, _) => "Not saved yet.",
        (false, true) => "Saved.",
        (false, false) => "",
    }
}

/// What has been going on for long enough to be shown.
fn slow_task(state: &State) -> Option<&str> {
    let loading = state.loading.as_ref().map(|task| (&task.label, task.hidden_for()));
    let beside = state.opening_beside.as_ref().map(|task| (&task.label, task.hidden_for()));
    let references = state.reading_references.as_ref().map(|task| (&task.label, task.hidden_for()));
    let looking = state.tray.looking.as_ref().map(|task| (&task.label, task.hidden_for()));
    let growing = state.tray.growing.as_ref().map(|task| (&task.label, task.hidden_for()));
    let bodies = state.tray.bodies.as_ref().map(|task| (&task.label, task.hidden_for()));
    let (label, hidden_for) = loading.or(beside).or(references).or(looking).or(growing).or(bodies)?;
    hidden_for.is_zero().then_some(label)
}

/// A task that runs on must be shown soon, though nothing else moves.
pub(super) fn repaint_when_due(ctx: &egui::Context, state: &State, soon: Option<std::time::Duration>) {
    let due = [
        state.loading.as_ref().map(|task| task.hidden_for()),
        state.opening_beside.as_ref().map(|task| task.hidden_for()),
        state.reading_references.as_ref().map(|task| task.hidden_for()),
        state.tray.looking.as_ref().map(|task| task.hidden_for()),
        state.tray.growing.as_ref().map(|task| task.hidden_for()),
        state.session.as_ref().and_then(|session| session.is_measuring_slowly().err()),
    ];
    let due = due.into_iter().flatten().chain(soon);
    if let Some(wait) = due.filter(|wait| !wait.is_zero()).min() {
        ctx.request_repaint_after(wait);
    }
}

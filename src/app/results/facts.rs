//! What the photo says of itself, and what that means for the numbers; and the shades in use.

use egui::{Grid, Label, RichText, Ui};

use super::axis;
use crate::app::action::Action;
use crate::app::command::Command;
use crate::app::scrolling::scrolled;
use crate::app::session::Session;
use crate::app::theme;
use crate::app::toolbar;
use crate::app::words;

/// Shows the photo's facts.
pub(super) fn show(ui: &mut Ui, session: &Session, actions: &mut Vec<Action>) {
    scrolled(ui, "facts", |ui| {
        // What to do comes first, where there is something to be done.
        listing(ui, session);
        table(ui, session);
        ui.add_space(theme::SPACE_M);
        for note in &session.facts.notes {
            ui.add(Label::new(words::capital(&note.fact)).wrap());
            if !note.meaning.is_empty() {
                let meaning = RichText::new(&note.meaning).color(theme::palette(ui).weak);
                ui.indent(&note.fact, |ui| ui.add(Label::new(meaning).wrap()));
            }
            ui.add_space(theme::SPACE_S);
        }
        ui.label(
            RichText::new("Colours on this screen are approximate; nothing is measured from the screen.")
                .small(),
        );
        ui.add_space(theme::SPACE_M);
        crate::app::board::show(ui, session, actions);
        ui.add_space(theme::SPACE_M);
        crate::app::other_photos::show(ui, session, actions);
        ui.add_space(theme::SPACE_M);
        shades(ui, session, actions);
    });
}

/// What a picture without a card supports, and the text that asks the seller for a better one.
fn listing(ui: &mut Ui, session: &Session) {
    let Some(measurement) = session.measurement() else { return };
    let confidence = crate::measure::Options::default().confidence;
    let Some(advice) = crate::report::listing_advice(measurement, session.references.as_deref(), confidence)
    else {
        return;
    };
    for (title, lines) in
        [("What this picture supports", &advice.supports), ("What it does not", &advice.open)]
    {
        ui.heading(title);
        if lines.is_empty() {
            ui.add(Label::new("Nothing about the shades.").wrap());
        }
        for line in lines {
            ui.add(Label::new(format!("•  {line}")).wrap());
        }
        ui.add_space(theme::SPACE_S);
    }
    ui.heading("A text for the seller");
    ui.add(Label::new(&advice.request).wrap());
    if ui.button("Copy the text for the seller").clicked() {
        ui.ctx().copy_text(advice.request.clone());
    }
    ui.add_space(theme::SPACE_M);
    ui.heading("The file");
}

fn table(ui: &mut Ui, session: &Session) {
    let facts = &session.facts;
    let size = format!("{} × {} pixels", session.raster.width(), session.raster.height());
    let profile = facts.profile.clone().unwrap_or_else(|| "none; sRGB is assumed".into());
    let rows = [
        ("File", Some(session.photo_path.display().to_string())),
        ("Size", Some(size)),
        ("Format", Some(facts.format.clone()).filter(|text| !text.is_empty())),
        ("Colour profile", Some(profile)),
        ("Camera", facts.camera.clone()),
        ("Exposure", facts.exposure.clone()),
        ("Taken", facts.taken.clone()),
    ];
    // Nothing here is pressed, so lines stand close.
    let height = ui.text_style_height(&egui::TextStyle::Body);
    Grid::new("facts").num_columns(2).min_row_height(height).show(ui, |ui| {
        for (name, value) in rows {
            let Some(value) = value else { continue };
            ui.label(RichText::new(name).color(theme::palette(ui).weak));
            ui.add(Label::new(value).wrap());
            ui.end_row();
        }
    });
}

fn shades(ui: &mut Ui, session: &Session, actions: &mut Vec<Action>) {
    ui.heading("Reference shades");
    match &session.references {
        None => drop(ui.label("None chosen: parts are measured, but not compared with any shade.")),
        Some(references) => {
            for (i, shade) in references.shades.iter().enumerate() {
                let count = shade.specimens.len();
                let specimens = if count == 1 { "specimen" } else { "specimens" };
                ui.label(format!("{}  {} ({count} {specimens})", axis::letter(i), shade.name()));
            }
        }
    }
    toolbar::command(ui, Command::ChooseReferences, true, actions);
}

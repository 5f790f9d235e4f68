//! Every specimen of the shades with its photos; each can be set aside with a reason.

use egui::{RichText, TextEdit, Ui};

use crate::shade::{References, Specimen};

use super::action::{Aside, FamilyAction};
use super::gathering::Gathering;
use super::panel::wrapped;

/// Shows them.
pub(super) fn show(
    ui: &mut Ui,
    references: &References,
    gathering: &Gathering,
    asked: &mut Vec<FamilyAction>,
) {
    ui.collapsing("Specimens", |ui| {
        for shade in &references.shades {
            ui.label(RichText::new(shade.name()).strong());
            for specimen in &shade.specimens {
                one_specimen(ui, &shade.id, specimen, gathering, asked);
            }
        }
    });
}

fn one_specimen(
    ui: &mut Ui,
    shade: &str,
    specimen: &Specimen,
    gathering: &Gathering,
    asked: &mut Vec<FamilyAction>,
) {
    let details = specimen.details();
    let [l, a, b] = specimen.lab;
    let place = Aside { shade: shade.to_owned(), specimen: specimen.id.clone(), ..Aside::default() };
    let said = format!("{}: L* {l:.1}, a* {a:.1}, b* {b:.1} ({})", specimen.id, specimen.method.name());
    row(ui, &said, &specimen.id, details.set_aside.as_deref(), place.clone(), gathering, asked);
    for photo in &details.photos {
        let [l, a, b] = photo.lab;
        ui.indent((shade, &specimen.id, &photo.photo), |ui| {
            let said = format!("{}: {l:.1}, {a:.1}, {b:.1}", photo.photo);
            let name = format!("{} in {}", specimen.id, photo.photo);
            let place = Aside { photo: Some(photo.photo.clone()), ..place.clone() };
            row(ui, &said, &name, photo.set_aside.as_deref(), place, gathering, asked);
        });
    }
}

fn row(
    ui: &mut Ui,
    said: &str,
    name: &str,
    set_aside: Option<&str>,
    place: Aside,
    gathering: &Gathering,
    asked: &mut Vec<FamilyAction>,
) {
    match set_aside {
        Some(reason) => wrapped(ui, &format!("{said}, set aside: {reason}")),
        None => wrapped(ui, said),
    }
    let same = |other: &&Aside| {
        (&other.shade, &other.specimen, &other.photo) == (&place.shade, &place.specimen, &place.photo)
    };
    let Some(mut now) = gathering.aside.as_ref().filter(same).cloned() else {
        if set_aside.is_some() {
            if ui.small_button(format!("Count {name} again")).clicked() {
                asked.push(FamilyAction::SetAside(place));
            }
        } else if ui.small_button(format!("Set {name} aside…")).clicked() {
            asked.push(FamilyAction::Aside(Some(place)));
        }
        return;
    };
    ui.horizontal_wrapped(|ui| {
        let label = ui.label(format!("Why {name} does not count"));
        let field = ui.add(TextEdit::singleline(&mut now.reason).desired_width(190.0)).labelled_by(label.id);
        if field.changed() {
            asked.push(FamilyAction::Aside(Some(now.clone())));
        }
        let has_reason = !now.reason.trim().is_empty();
        if ui.add_enabled(has_reason, egui::Button::new("Set it aside")).clicked() {
            asked.push(FamilyAction::SetAside(now.clone()));
        }
        if ui.button("Let it count").clicked() {
            asked.push(FamilyAction::Aside(None));
        }
    });
}

//! The panel of the shades: the family as a picture and in words, what does not fit, and the parts of this photo put into
//! it.

use egui::{Grid, Id, Label, RichText, TextEdit, Ui};

use crate::shade::{References, Specimen};

use super::gathering::{Aside, FamilyAction, Gathering, Seen};
use super::plot;
use super::tables;
use crate::app::action::Action;
use crate::app::command::Command;
use crate::app::scrolling::scrolled;
use crate::app::session::Session;
use crate::app::theme;
use crate::app::toolbar;
use crate::app::words;

/// Least width of the names of parts.
const NAME_WIDTH: f32 = 96.0;

/// Shows the panel.
pub(in crate::app) fn show(ui: &mut Ui, session: &Session, gathering: &Gathering, actions: &mut Vec<Action>) {
    let mut asked = Vec::new();
    scrolled(ui, "shades", |ui| {
        match (&gathering.references, &gathering.seen) {
            (None, _) => {
                ui.heading("No shades yet");
                wrapped(
                    ui,
                    "Say below which shade each part of this photo certainly is, or choose a file of shades.",
                );
                toolbar::command(ui, Command::ChooseReferences, true, actions);
            }
            (Some(references), Some(Ok(seen))) => family(ui, references, seen),
            (Some(_), Some(Err(problem))) => wrapped(ui, &format!("! {problem}.")),
            (Some(_), None) => wrapped(ui, "Looking at the shades…"),
        }
        if let Some(references) = &gathering.references {
            specimens(ui, references, gathering, &mut asked);
        }
        gather(ui, session, gathering, &mut asked);
        tables::show(ui, gathering, &mut asked);
        save(ui, gathering, &mut asked);
    });
    actions.extend(asked.into_iter().map(Action::Family));
}

fn wrapped(ui: &mut Ui, text: &str) {
    ui.add(Label::new(text).wrap());
}

fn family(ui: &mut Ui, references: &References, seen: &Seen) {
    ui.heading(format!("Family {}", references.family));
    plot::show(ui, &seen.picture);
    for shade in &seen.picture.shades {
        let [l, a, b] = shade.next_part;
        let counted = match shade.counted {
            1 => "one specimen, so its spread is a guess".to_owned(),
            few @ 2..=4 => format!("{few} specimens, which are few"),
            many => format!("{many} specimens"),
        };
        wrapped(
            ui,
            &format!(
                "{} {}: L* {:.1} to {:.1}, a* {:.1} to {:.1}, b* {:.1} to {:.1} ({counted})",
                shade.letter, shade.name, l[0], l[2], a[0], a[2], b[0], b[2]
            ),
        );
    }
    ui.add_space(theme::SPACE_M);
    ui.heading("How often would they be confused?");
    let [l, a, b] = seen.reading_sd;
    wrapped(
        ui,
        &format!("Parts read with an error of {l:.1}, {a:.1}, {b:.1} in L*, a*, b*; a call needs 95 %."),
    );
    let name = |id: &str| {
        references.shades.iter().find(|s| s.id == id).map_or(id.to_owned(), |s| s.name().to_owned())
    };
    for (i, id) in seen.confusion.shades.iter().enumerate() {
        let wrong: Vec<String> = seen
            .confusion
            .shades
            .iter()
            .enumerate()
            .filter(|(j, _)| *j != i && seen.confusion.called[i][*j] >= 0.005)
            .map(|(j, other)| format!("{} {}", name(other), words::percent(seen.confusion.called[i][j])))
            .collect();
        let wrong = if wrong.is_empty() { "another shade hardly ever".to_owned() } else { wrong.join(", ") };
        wrapped(
            ui,
            &format!(
                "{}: rightly {}, undecided {}, {wrong}",
                name(id),
                words::percent(seen.confusion.called[i][i]),
                words::percent(seen.confusion.undecided[i])
            ),
        );
    }
    wrapped(ui, &format!("Called rightly now: {}. What would help:", words::percent(seen.confusion.right())));
    for help in &seen.helps {
        wrapped(ui, &format!("•  {}: {}", help.what, words::percent(help.right)));
    }
    if !seen.outliers.is_empty() {
        ui.add_space(theme::SPACE_M);
        ui.heading("These do not fit the others");
        wrapped(ui, "Nothing was left out. Look at them, and set aside what is wrong.");
        for outlier in &seen.outliers {
            let [l, a, b] = outlier.away;
            let photo = outlier.photo.as_ref().map_or(String::new(), |photo| format!(", photo {photo}"));
            wrapped(
                ui,
                &format!(
                    "! {} of {}{photo}: away by L* {l:+.1}, a* {a:+.1}, b* {b:+.1}",
                    outlier.specimen,
                    name(&outlier.shade)
                ),
            );
        }
    }
}

/// Every specimen with its photos; each can be set aside with a reason.
fn specimens(ui: &mut Ui, references: &References, gathering: &Gathering, asked: &mut Vec<FamilyAction>) {
    ui.add_space(theme::SPACE_M);
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

/// The parts of this photo, each with the shade and the specimen that it is.
fn gather(ui: &mut Ui, session: &Session, gathering: &Gathering, asked: &mut Vec<FamilyAction>) {
    ui.add_space(theme::SPACE_M);
    ui.heading("Add parts of this photo");
    let readings =
        session.measurement().map(|measurement| measurement.readings.as_slice()).unwrap_or_default();
    if readings.is_empty() {
        wrapped(ui, "Mark parts whose shade is certain; they are listed here.");
        return;
    }
    wrapped(
        ui,
        "Name the shade of each part that you are certain of, such as green/medium. The same specimen in several photos \
         counts once: give it the same name each time.",
    );
    // Both fields together fill what the names of the parts leave.
    let width = ((ui.available_width() - NAME_WIDTH) / 2.0 - 2.0 * theme::SPACE_M).clamp(90.0, 240.0);
    Grid::new("parts to add").num_columns(3).min_col_width(NAME_WIDTH).show(ui, |ui| {
        for title in ["Part", "Shade", "Specimen"] {
            ui.label(RichText::new(title).color(theme::palette(ui).weak));
        }
        ui.end_row();
        for reading in readings {
            let typed = gathering.typed_for(&reading.id);
            ui.label(&reading.id);
            for (what, text, specimen) in
                [("Shade", &typed.shade, false), ("Specimen", &typed.specimen, true)]
            {
                let mut text = text.clone();
                // An id of its own keeps the focus while shades arrive above.
                let field = ui
                    .add(
                        TextEdit::singleline(&mut text)
                            .id(Id::unique((what, &reading.id)))
                            .desired_width(width),
                    )
                    .accessible_name(format!("{what} of {}", reading.id));
                if field.changed() {
                    let id = reading.id.clone();
                    asked.push(if specimen {
                        FamilyAction::Specimen(id, text)
                    } else {
                        FamilyAction::Shade(id, text)
                    });
                }
            }
            ui.end_row();
        }
    });
    let any = gathering.typed.iter().any(|typed| !typed.shade.trim().is_empty());
    if ui.add_enabled(any && !session.is_measuring(), egui::Button::new("Add to the shades")).clicked() {
        asked.push(FamilyAction::Add);
    }
}

fn save(ui: &mut Ui, gathering: &Gathering, asked: &mut Vec<FamilyAction>) {
    if !gathering.unsaved {
        return;
    }
    ui.add_space(theme::SPACE_M);
    wrapped(ui, "The shades were changed and are not saved yet.");
    let label = ui.label("Path of the shades file to write");
    let mut path = gathering.path.clone();
    let field = ui.add(TextEdit::singleline(&mut path).desired_width(f32::INFINITY)).labelled_by(label.id);
    if field.changed() {
        asked.push(FamilyAction::Path(path));
    }
    if ui.add_enabled(!gathering.path.trim().is_empty(), egui::Button::new("Save the shades")).clicked() {
        asked.push(FamilyAction::Save);
    }
}

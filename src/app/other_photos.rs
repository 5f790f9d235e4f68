//! Other photos of the same parts, read together with this one: choosing, forgetting.

use std::path::{Path, PathBuf};

use egui::{Label, RichText, Ui};

use crate::case::{Edit, PathRule};
use crate::jobs::Task;
use crate::keeping::open_other_photo;
use crate::measure::{MarkProblem, OTHER_PHOTO, OtherPhoto};
use crate::problem::Problem;

use super::action::Action;
use super::command::Command;
use super::session::Session;
use super::state::State;
use super::theme;
use super::toolbar;

/// The case of another photo being read.
pub(super) type ReadingOtherPhoto = Task<(PathBuf, Result<OtherPhoto, Problem>)>;

impl Session {
    /// Reads another photo of the same parts together with this one from now on.
    fn use_other_photo(&mut self, file: PathBuf, photo: OtherPhoto) -> Result<(), Problem> {
        let name = photo.name().to_owned();
        if self.case_path.as_ref().and_then(|own| std::path::absolute(own).ok()).as_ref() == Some(&file) {
            return Err(Problem::new(
                "This is the case that is open.",
                "Choose the case of another photo of the same parts.",
            ));
        }
        let mut names = self.case().more_photos.clone();
        self.other_photos.learn(name.clone(), file, photo);
        if !names.contains(&name) {
            names.push(name);
        }
        self.edit(Edit::SetMorePhotos(names))
    }
}

impl State {
    /// Reads the case of another photo on a thread.
    pub(super) fn read_other_photo(&mut self, path: PathBuf) {
        let work = move |_: &_| {
            let file = std::path::absolute(&path).unwrap_or(path);
            let photo = open_other_photo(&file.display().to_string(), &file, PathRule::ChosenByHand);
            (file, photo)
        };
        let label = "Reading another photo".into();
        self.reading_other_photo = Some(Task::start(label, self.wake.clone(), work));
    }

    /// Takes in one that was read.
    pub(super) fn poll_other_photo(&mut self) {
        let Some(result) = self.reading_other_photo.as_ref().and_then(Task::poll) else { return };
        self.reading_other_photo = None;
        match result {
            Ok((file, Ok(photo))) => self.try_edit(|session| session.use_other_photo(file, photo)),
            Ok((_, Err(problem))) => self.message = Some(problem.into()),
            Err(text) => self.tell(text, "Try another case."),
        }
    }
}

/// Says which other photos are read with this one, and lets them be chosen.
pub(super) fn show(ui: &mut Ui, session: &Session, actions: &mut Vec<Action>) {
    ui.heading("More photos of these parts");
    let about = "Lay the same parts and the card down anew, turned otherwise, with camera and lamps as they are, photograph \
                 again, mark them under the same names and save: read together, two photos know a shade better than either.";
    ui.add(Label::new(RichText::new(about).color(theme::palette(ui).weak)).wrap());
    let names = &session.case().more_photos;
    if names.is_empty() {
        ui.add(Label::new("No other photo is read with this one.").wrap());
    } else if let (Some(measurement), false) = (session.measurement(), session.is_measuring()) {
        let read = measurement.light.other_photos;
        ui.add(Label::new(format!("{read} of {} read with this one.", names.len())).wrap());
    }
    for name in names {
        let file = Path::new(name).file_name().unwrap_or_default().to_string_lossy();
        if ui.button(format!("Leave out {file}")).on_hover_text(name).clicked() {
            let others = names.iter().filter(|other| *other != name).cloned().collect();
            actions.push(Action::Edit(Edit::SetMorePhotos(others)));
        }
        let of_this = |problem: &&MarkProblem| problem.kind == OTHER_PHOTO && problem.id == *name;
        for problem in session.mark_problems().filter(of_this) {
            ui.indent(&problem.text, |ui| {
                ui.add(Label::new(&problem.text).wrap());
                ui.add(Label::new(RichText::new(&problem.remedy).color(theme::palette(ui).weak)).wrap());
            });
        }
    }
    toolbar::command(ui, Command::ChooseOtherPhoto, true, actions);
}

//! References being built from the open photo: which specimen of which shade each part is, what was set aside, and what
//! the family looks like now. No widget here; the panel is `panel`.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::jobs::{Task, Wake};
use crate::measure::SpecimenReading;
use crate::problem::Problem;
use crate::shade::{
    Belongs, References, add_reading, add_specimens, empty_references, pool, references_to_text, set_aside,
};
use crate::storage::{TypedShade, save_atomically};

use crate::app::files::keeper::Draft;

use super::action::Aside;
use super::looking::{Seen, seen};
use super::tables::{self, TableDone, TableTask};
use super::typed::TypedShades;

/// The references being built or looked at.
pub(in crate::app) struct Gathering {
    /// As they are now; `None` until there are some.
    pub references: Option<Arc<References>>,
    /// Where they came from or were saved.
    pub file: Option<PathBuf>,
    /// Whether they were changed since.
    pub unsaved: bool,
    changes: u64,
    /// What was typed for the parts.
    pub typed: TypedShades,
    /// What is about to be set aside.
    pub aside: Option<Aside>,
    /// The path typed.
    pub path: String,
    /// The path of a table as typed.
    pub table_path: String,
    table: Option<TableTask>,
    /// What there is to see of `references`, or of those before while that is worked out.
    pub seen: Option<Result<Seen, String>>,
    looking: Option<Task<Result<Seen, String>>>,
    saving: Option<Saving>,
    wake: Wake,
}

/// Shades being written, with the file they are in then.
type Saving = Task<(Arc<References>, Result<PathBuf, Problem>)>;

/// What has come of a save.
pub(super) enum Arrived {
    /// The shades are in this file.
    Saved(PathBuf),
    /// A table was read or written: what there is to say.
    Told(String),
    /// They could not be written.
    Failed(Problem),
}

impl Gathering {
    /// Nothing yet.
    pub(in crate::app) fn new(wake: Wake) -> Self {
        Self {
            references: None,
            file: None,
            unsaved: false,
            changes: 0,
            typed: TypedShades::default(),
            aside: None,
            path: String::new(),
            table_path: String::new(),
            table: None,
            seen: None,
            looking: None,
            saving: None,
            wake,
        }
    }

    /// Takes over the references that the case is compared with, unless others are being built.
    pub(super) fn follow(&mut self, references: Option<&Arc<References>>, file: Option<&Path>) {
        let same = match (&self.references, references) {
            (Some(own), Some(other)) => Arc::ptr_eq(own, other),
            (None, None) => true,
            _ => false,
        };
        if self.unsaved || same {
            return;
        }
        self.references = references.cloned();
        self.file = file.map(Path::to_owned);
        self.path = file.map(|file| file.display().to_string()).unwrap_or_default();
        self.look();
    }

    /// Notes what was typed.
    pub(super) fn note(&mut self, typed: TypedShade) {
        self.typed.note(typed);
        self.changes += 1;
    }

    /// Puts the parts of a photo that have a shade into the references and pools.
    pub(super) fn add(&mut self, photo: &Path, readings: Vec<SpecimenReading>) -> Result<(), Problem> {
        let mut references = self.references.as_deref().cloned();
        let mut added = Vec::new();
        for found in readings {
            let (part, typed) = (found.id.clone(), self.typed.of(photo, &found.id));
            let belongs = if typed.shade.trim().is_empty() {
                found.belongs
            } else {
                let specimen = if typed.specimen.trim().is_empty() { found.id } else { typed.specimen };
                Some(Belongs {
                    shade: typed.shade.trim().to_owned(),
                    specimen: specimen.trim().to_owned(),
                    ..found.belongs.unwrap_or_default()
                })
            };
            let Some(belongs) = belongs else { continue };
            let family = belongs.shade.split('/').next().unwrap_or("shades").to_owned();
            add_reading(
                references.get_or_insert_with(|| empty_references(&family)),
                &belongs,
                found.reading,
            )?;
            added.push(part);
        }
        added.iter().for_each(|part| self.typed.added(photo, part));
        if let (Some(references), false) = (references, added.is_empty()) {
            self.changed(references);
        }
        Ok(())
    }

    /// Sets something aside, or lets it count again.
    pub(super) fn set_aside(&mut self, aside: &Aside) -> Result<(), Problem> {
        let Some(mut references) = self.references.as_deref().cloned() else { return Ok(()) };
        set_aside(&mut references, &aside.shade, &aside.specimen, aside.photo.as_deref(), &aside.reason)?;
        self.aside = None;
        self.changed(references);
        Ok(())
    }

    fn changed(&mut self, mut references: References) {
        pool(&mut references);
        self.references = Some(Arc::new(references));
        self.unsaved = true;
        self.changes += 1;
        self.look();
    }

    /// Goes on with shades that a window before left unsaved; they go into `path` unless the person says otherwise.
    pub(in crate::app) fn go_on_with(&mut self, references: References, file: Option<PathBuf>, path: &Path) {
        self.path = path.display().to_string();
        self.file = file;
        self.changed(references);
    }

    /// Goes on with what was typed in a window before.
    pub(in crate::app) fn go_on_typing(&mut self, typed: Vec<TypedShade>) {
        typed.into_iter().for_each(|shade| self.note(shade));
    }

    /// The number of the state that would be lost, if one would: shades that are not saved, or names not added to them.
    pub(in crate::app) fn unsaved_state(&self) -> Option<u64> {
        (self.unsaved || !self.typed.waiting().is_empty()).then_some(self.changes)
    }

    /// The person does not want what is unsaved.
    pub(in crate::app) fn forget(&mut self) {
        self.unsaved = false;
        self.typed.forget();
    }

    /// What a copy for the case of a crash is made of; `beside` is what is open.
    pub(in crate::app) fn draft(&self, beside: Option<PathBuf>) -> Draft {
        Draft::Shades {
            references: self.references.clone().filter(|_| self.unsaved),
            typed: self.typed.waiting(),
            file: self.file.clone().filter(|_| self.unsaved),
            path: PathBuf::from(self.path.trim()),
            beside,
        }
    }

    /// Whether what there is to see is that of the shades before.
    pub(super) fn is_looking(&self) -> bool {
        self.looking.is_some()
    }

    /// Writes the shades to the typed path. A file that is there and is not theirs is left alone.
    pub(super) fn save(&mut self) -> Result<(), Problem> {
        let Some(references) = self.references.clone() else { return Ok(()) };
        let typed = PathBuf::from(self.path.trim());
        let path = if typed.to_string_lossy().ends_with(".shades.json") {
            typed
        } else {
            PathBuf::from(format!("{}.shades.json", typed.display()))
        };
        if path.exists() && self.file.as_deref() != Some(&path) {
            return Err(Problem::new(
                format!("{} is there already and holds other shades.", path.display()),
                "Type another name, or open that file with Shades… first to add to it.",
            ));
        }
        let text = references_to_text(&references)?;
        let work = move |_: &_| (references, save_atomically(&path, text.as_bytes()).map(|()| path));
        self.saving = Some(Task::start("Saving shades".into(), self.wake.clone(), work));
        Ok(())
    }

    /// Takes in what other threads have finished.
    pub(super) fn poll(&mut self) -> Option<Arrived> {
        if let Some(result) = self.looking.as_ref().and_then(Task::poll) {
            self.looking = None;
            self.seen = Some(result.unwrap_or_else(Err));
        }
        if let Some(result) = self.table.as_ref().and_then(Task::poll) {
            self.table = None;
            return Some(match result {
                Ok(Ok(done)) => self.take_table(done),
                Ok(Err(problem)) => Arrived::Failed(problem),
                Err(text) => Arrived::Failed(Problem::new(text, "Try again.")),
            });
        }
        let result = self.saving.as_ref().and_then(Task::poll)?;
        self.saving = None;
        Some(match result {
            Ok((written, Ok(path))) => {
                // What was changed while they were written is not in the file.
                self.unsaved = !self.references.as_ref().is_some_and(|now| Arc::ptr_eq(now, &written));
                self.changes += 1;
                self.file = Some(path.clone());
                self.path = path.display().to_string();
                Arrived::Saved(path)
            }
            Ok((_, Err(problem))) => Arrived::Failed(problem),
            Err(text) => Arrived::Failed(Problem::new(text, "Save again.")),
        })
    }

    /// Reads the typed table, or writes the shades as that table.
    pub(super) fn table(&mut self, read: bool) {
        let path = PathBuf::from(self.table_path.trim());
        let references = self.references.clone();
        let work = move |_: &_| match (read, references) {
            (true, _) => tables::read(&path),
            (false, Some(references)) => tables::write(path, &references),
            (false, None) => Err(Problem::new("There are no shades to write.", "Add some first.")),
        };
        let label = if read { "Reading the table" } else { "Writing the table" };
        self.table = Some(Task::start(label.into(), self.wake.clone(), work));
    }

    fn take_table(&mut self, done: TableDone) -> Arrived {
        match done {
            TableDone::Written(path) => Arrived::Told(format!("Written to {}.", path.display())),
            TableDone::Read(read, notes) => {
                let mut references =
                    self.references.as_deref().cloned().unwrap_or_else(|| empty_references(&read.family));
                let added = add_specimens(&mut references, read);
                self.suggest_file();
                self.changed(references);
                Arrived::Told(format!("{added} specimens added. {}", notes.join(" ")))
            }
        }
    }

    /// Shades of a table go beside it unless the person says otherwise.
    fn suggest_file(&mut self) {
        if self.path.is_empty() {
            let path = PathBuf::from(self.table_path.trim()).with_extension("shades.json");
            self.path = path.display().to_string();
        }
    }

    fn look(&mut self) {
        let Some(references) = self.references.clone() else {
            (self.seen, self.looking) = (None, None);
            return;
        };
        let work = move |_: &_| seen(&references).map_err(|problem| problem.to_string());
        self.looking = Some(Task::start("Looking at the shades".into(), self.wake.clone(), work));
    }
}

//! What the collection's page asks for, done.

use std::path::PathBuf;

use crate::collection::Holds;
use crate::jobs::Task;
use crate::keeping::{Addition, Details, Place, add, edit_details};
use crate::problem::Problem;
use crate::storage::{self, resolve_inside};

use super::records::{CollectionAction, Form, Kept, Written};
use super::taken_back::Change;
use crate::app::action::{Action, Ask};
use crate::app::files::start::short_name;
use crate::app::session::Session;
use crate::app::state::State;

impl State {
    /// Shows the collection, or hides it again.
    pub(in crate::app) fn toggle_collection(&mut self) {
        self.collection.shown = !self.collection.shown || self.open_editor().is_some();
        self.put_guide_behind();
        if self.collection.shown && self.collection.seen.is_none() {
            self.collection.read();
        }
    }

    /// Shows the form for the case at hand.
    pub(in crate::app) fn begin_record(&mut self) {
        let Some(session) = &self.session else { return };
        let path = session.case_path.as_ref().unwrap_or(&session.photo_path);
        let name = short_name(path);
        let name = name.rsplit_once('.').map_or(name.clone(), |(stem, _)| stem.to_owned());
        let holds = if session.case().loose_parts().is_empty() { Holds::Figure } else { Holds::LooseParts };
        let details = Details { name, holds, ..Details::default() };
        self.collection.form = Some(Form { file: None, details, by_reference: false });
        self.collection.shown = true;
        self.put_guide_behind();
        if self.collection.folder.is_none() {
            self.ask = Some(Ask::Collection);
        } else if self.collection.seen.is_none() {
            self.collection.read();
        }
    }

    /// Does what the page asked for.
    pub(in crate::app) fn act_on_collection(&mut self, action: CollectionAction) {
        let page = &mut self.collection;
        match action {
            CollectionAction::OpenFolder(folder) => self.use_collection(folder),
            CollectionAction::Find(filter) => {
                page.filter = filter;
                page.choose();
            }
            CollectionAction::Sort(by) => {
                page.order = (by, page.order == (by, false));
                page.choose();
            }
            CollectionAction::Lay(layout) => page.layout = layout,
            CollectionAction::Take(file) => self.take_in_hand(file.as_deref()),
            CollectionAction::TakeBack => self.take_back(),
            CollectionAction::Form(details) => {
                if let Some(form) = &mut page.form {
                    form.details = *details;
                }
            }
            CollectionAction::ByReference(left) => {
                if let Some(form) = &mut page.form {
                    form.by_reference = left;
                }
            }
            CollectionAction::Keep => self.keep_record(),
            CollectionAction::OpenCase(file) => self.open_case_of(&file),
            CollectionAction::Outside(outside) => {
                page.outside = outside;
                page.read();
            }
            CollectionAction::Check => page.check(),
            CollectionAction::Decide(true) => page.keep_checks(),
            CollectionAction::Decide(false) => page.checks = None,
            CollectionAction::Close => page.shown = false,
        }
    }

    fn use_collection(&mut self, folder: PathBuf) {
        self.put_guide_behind();
        let page = &mut self.collection;
        page.shown = true;
        page.seen = None;
        page.to_be_made = false;
        page.checks = None;
        page.change = None;
        page.outside = false;
        page.form = page.form.take().filter(|form| form.file.is_none());
        page.folder = Some(folder.clone());
        page.read();
        let Some(data) = self.data_folder.clone() else { return };
        self.errands.add(move || {
            // A convenience; the folder can be chosen again.
            let _ = storage::remember_collection(&data, &folder);
        });
    }

    fn keep_record(&mut self) {
        let (Some(form), Some(folder)) = (self.collection.form.clone(), self.collection.folder.clone())
        else {
            return;
        };
        if let Some(file) = form.file {
            return self.collection.write(move || {
                let (path, after) = (folder.join(&file), form.details);
                let before = edit_details(&path, &after)?;
                let change = (before != after).then(|| Box::new(Change::Saved { file, before, after }));
                Ok(Written::Form(change))
            });
        }
        match self.session.as_ref().map(|session| new_record(session, form, folder)) {
            Some(Ok(work)) => self.collection.write(work),
            Some(Err(problem)) => self.message = Some(problem.into()),
            None => {}
        }
    }

    fn open_case_of(&mut self, file: &str) {
        let Some(seen) = &self.collection.seen else { return };
        let case = seen.records.iter().find(|(path, _)| path == file).and_then(|(_, r)| r.cases.first());
        let Some(case) = case else {
            return self.tell("This record has no case.", "Open its photo, mark it, and add it anew.");
        };
        let inside = crate::collection::from_root(file, case);
        match resolve_inside(&seen.folder, &inside, self.collection.rule()) {
            Ok(path) => self.act(Action::Open(path)),
            Err(problem) => self.message = Some(problem.into()),
        }
    }

    /// Takes in what has become of the collection.
    pub(in crate::app) fn poll_collection(&mut self) {
        let page = &mut self.collection;
        if !page.shown {
            page.change = None;
        }
        if let Some(result) = page.reading.as_ref().and_then(Task::poll) {
            page.reading = None;
            match result.unwrap_or_else(|text| Err(Problem::new(text, "Choose the folder again."))) {
                Ok(seen) => {
                    page.to_be_made = seen.is_none();
                    page.seen = seen.map(Into::into);
                    page.trouble = None;
                    page.choose();
                }
                Err(problem) => page.trouble = Some(problem),
            }
        }
        if let Some(result) = page.checking.as_ref().and_then(Task::poll) {
            page.checking = None;
            match result {
                Ok(checks) => page.checks = Some(checks),
                Err(text) => self.tell(text, "Nothing was written; look again."),
            }
        }
        let Some(result) = self.collection.keeping.as_ref().and_then(Task::poll) else { return };
        self.collection.keeping = None;
        match result.unwrap_or_else(|text| Err(Problem::new(text, "Try again."))) {
            Ok(written) => {
                if let Written::Form(change) = written {
                    self.collection.form = None;
                    self.collection.change = change.map(|change| *change);
                }
                self.collection.read();
            }
            // What was typed stays in the form.
            Err(problem) => self.message = Some(problem.into()),
        }
    }
}

/// The work of putting the case at hand into a collection.
fn new_record(
    session: &Session,
    form: Form,
    folder: PathBuf,
) -> Result<impl FnOnce() -> Kept + Send + 'static, Problem> {
    let Some(measurement) = session.measurement().filter(|_| !session.is_measuring()).cloned() else {
        return Err(Problem::new("The photo is still being measured.", "Wait a moment, then add it again."));
    };
    let left = match (form.by_reference, &session.case_path) {
        (false, _) => None,
        (true, Some(path)) if !session.is_unsaved() => Some(path.clone()),
        (true, _) => {
            return Err(Problem::new(
                "The marks are not saved, so a record cannot point to them.",
                "Save the case first, or let the files be copied in.",
            ));
        }
    };
    let findings = session.weighing.findings().and_then(Result::ok).cloned();
    let save = session.to_save(PathBuf::new());
    Ok(move || {
        let date = storage::today();
        add(&Addition {
            folder: &folder,
            details: &form.details,
            place: left.as_deref().map_or(Place::Copied, Place::Left),
            date: &date,
            case: &save.case,
            photo: &save.photo,
            references: save.references.as_deref(),
            guide: save.guide.as_deref(),
            flat_field: save.flat_field.as_deref(),
            more_photos: &save.more_photos,
            measurement: &measurement,
            findings: findings.as_ref(),
        })
        .map(|_| Written::Form(None))
    })
}

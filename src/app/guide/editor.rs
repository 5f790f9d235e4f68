//! A guide being written: the document with its past, what is wrong with it, and what is typed. No widget here; the
//! page is `page`.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::app::files::keeper::Draft;
use crate::case::History;
use crate::guide::{self, Guide, GuideEdit, List};
use crate::jobs::{Task, Wake};
use crate::problem::Problem;
use crate::storage::save_atomically;

use super::action::Page;
use super::remarks::{Remarks, is_under};

/// What is being typed into a field.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::app) struct Typed {
    /// Which field.
    pub field: String,
    /// Its text.
    pub text: String,
    /// Why the text cannot be taken.
    pub refused: Option<Problem>,
}

/// The guide being written.
pub(in crate::app) struct GuideEditor {
    history: History<Guide>,
    /// Where it was read from or saved.
    pub file: Option<PathBuf>,
    /// The path typed.
    pub path: String,
    /// Whether the window shows it.
    pub shown: bool,
    /// The part that is shown.
    pub page: Page,
    /// The member of the list that is shown.
    pub chosen: usize,
    /// The run of the character that is shown.
    pub run: Option<String>,
    /// What is being typed.
    pub typed: Option<Typed>,
    /// A new name being typed: which field, and its text.
    pub draft: (String, String),
    /// The field for new names shall take the keys again.
    pub focus_draft: bool,
    /// What there is to remark of the newest state looked at.
    pub remarks: Remarks,
    saving: Option<Saving>,
    wake: Wake,
}

/// A guide being written, with the file it is in then.
type Saving = Task<(Arc<Guide>, Result<PathBuf, Problem>)>;

impl GuideEditor {
    /// A guide from a file, or one with nothing in it.
    pub(super) fn new(read: Option<(PathBuf, Guide)>, suggested: String, wake: Wake) -> Self {
        let path = read.as_ref().map_or(suggested, |(path, _)| path.display().to_string());
        let (file, history) = match read {
            Some((path, guide)) => (Some(path), History::opened(guide)),
            None => (None, History::opened(Guide::new(""))),
        };
        Self::with(history, file, path, wake)
    }

    /// A guide that was never saved as it is now.
    pub(super) fn recovered(guide: Guide, file: Option<PathBuf>, path: String, wake: Wake) -> Self {
        Self::with(History::unsaved(guide), file, path, wake)
    }

    fn with(history: History<Guide>, file: Option<PathBuf>, path: String, wake: Wake) -> Self {
        let mut editor = Self {
            history,
            file,
            path,
            shown: true,
            page: Page::Line,
            chosen: 0,
            run: None,
            typed: None,
            draft: Default::default(),
            focus_draft: false,
            remarks: Remarks::start(wake.clone()),
            saving: None,
            wake,
        };
        editor.changed();
        editor
    }

    /// The guide as it is now.
    pub(super) fn guide(&self) -> &Guide {
        self.history.current()
    }

    /// Whether anything would be lost.
    pub(in crate::app) fn is_unsaved(&self) -> bool {
        self.history.is_unsaved()
    }

    /// The number of the state that would be lost, if one would.
    pub(in crate::app) fn unsaved_state(&self) -> Option<u64> {
        self.is_unsaved().then_some(self.remarks.state())
    }

    /// What a copy for the case of a crash is made of.
    pub(in crate::app) fn draft(&self) -> Draft {
        Draft::Guide(self.history.current().clone(), self.file.clone())
    }

    /// The steps for the tooltips of undo and redo.
    pub(in crate::app) fn undo_and_redo_labels(&self) -> (Option<&str>, Option<&str>) {
        (self.history.undo_label(), self.history.redo_label())
    }

    /// Makes a change that is a step of its own.
    pub(super) fn edit(&mut self, edit: &GuideEdit) -> Result<(), Problem> {
        self.end_typing();
        let label = edit.label(self.guide());
        self.history.change(label, |guide| edit.apply(guide))?;
        self.changed();
        Ok(())
    }

    /// A key was pressed in a field: what it changes takes the place of what the keys before did.
    pub(super) fn type_into(&mut self, field: String, text: String, edit: Result<GuideEdit, Problem>) {
        if self.typed.as_ref().is_some_and(|typed| typed.field != field) {
            self.end_typing();
        }
        self.history.cancel();
        let done = edit.and_then(|edit| {
            let label = edit.label(self.guide());
            self.history.begin(label.clone());
            self.history.change(label, |guide| edit.apply(guide))
        });
        self.typed = Some(Typed { field, text, refused: done.err() });
        self.changed();
    }

    /// The field was left: what it changed is a step, and what could not be taken is forgotten.
    pub(super) fn end_typing(&mut self) {
        self.typed = None;
        self.history.commit();
    }

    /// Takes the last step back.
    pub(in crate::app) fn undo(&mut self) {
        self.end_typing();
        if self.history.undo().is_some() {
            self.changed();
        }
    }

    /// Makes it again.
    pub(in crate::app) fn redo(&mut self) {
        self.end_typing();
        if self.history.redo().is_some() {
            self.changed();
        }
    }

    /// Shows a part of the guide.
    pub(super) fn show_page(&mut self, page: Page) {
        self.end_typing();
        self.page = page;
        self.chosen = 0;
        self.draft = Default::default();
    }

    /// Shows where a remark belongs.
    pub(super) fn go_to(&mut self, place: &str) {
        let mut steps = place.split(" › ");
        let first = steps.next().unwrap_or_default();
        let Some(list) = List::ALL.into_iter().find(|list| list.name() == first) else {
            return self.show_page(if first == "rates" { Page::Rates } else { Page::Line });
        };
        self.show_page(Page::List(list));
        let ids = self.history.current().ids(list);
        // A name may hold the sign that divides places: the longest name that fits is meant.
        let rest = place.get(first.len() + " › ".len()..).unwrap_or_default();
        let fits = ids.iter().enumerate().filter(|(_, id)| is_under(rest, id));
        self.chosen = fits.max_by_key(|(_, id)| id.len()).map_or(0, |(at, _)| at);
        if list == List::Characters {
            self.run = steps.nth(1).map(str::to_owned);
        }
    }

    /// Goes on in a copy that is in no file.
    pub(super) fn copy(&mut self, suggested: String) {
        self.end_typing();
        let guide = Guide::clone(self.guide());
        self.history = History::unsaved(guide);
        self.file = None;
        self.path = suggested;
        self.changed();
    }

    /// Writes the guide to the typed path, with faults and all. A file that is there and is not its own is left alone.
    pub(super) fn save(&mut self) -> Result<(), Problem> {
        self.end_typing();
        let typed = self.path.trim();
        if typed.is_empty() {
            return Err(Problem::new("The guide needs a file.", "Type the path of the file."));
        }
        let path = if typed.ends_with(".guide.json") {
            PathBuf::from(typed)
        } else {
            PathBuf::from(format!("{}.guide.json", typed.trim_end_matches(".json")))
        };
        if crate::app::files::start::is_demo(&path) {
            return Err(Problem::new("The demo's own guide stays as it is.", "Type another path."));
        }
        if path.exists() && self.file.as_deref() != Some(&path) {
            return Err(Problem::new(
                format!("{} is there already and holds another guide.", path.display()),
                "Type another name, or open that guide first to change it.",
            ));
        }
        let guide = self.history.current().clone();
        let work = move |_: &_| {
            let text = guide::write_guide(&guide);
            let done = save_atomically(&path, text.as_bytes()).map(|()| path);
            (guide, done)
        };
        self.saving = Some(Task::start("Saving the guide".into(), self.wake.clone(), work));
        Ok(())
    }

    /// Takes in what other threads have finished; answers with the file that was just written.
    pub(super) fn poll(&mut self) -> Option<Result<PathBuf, Problem>> {
        self.remarks.poll();
        let result = self.saving.as_ref().and_then(Task::poll)?;
        self.saving = None;
        Some(match result {
            Ok((guide, Ok(path))) => {
                self.history.mark_saved(guide);
                self.file = Some(path.clone());
                self.path = path.display().to_string();
                Ok(path)
            }
            Ok((_, Err(problem))) => Err(problem),
            Err(text) => Err(Problem::new(text, "Save the guide again.")),
        })
    }

    fn changed(&mut self) {
        self.remarks.read_over(self.history.current().clone());
    }
}

/// Where a guide is saved unless the person chooses otherwise.
pub(super) fn suggested_path(folder: &Path, name: &str) -> String {
    folder.join(format!("{name}.guide.json")).display().to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn editor(read: Option<&str>) -> GuideEditor {
        let read = read.map(|text| (PathBuf::from("a.guide.json"), guide::parse_guide(text).unwrap()));
        GuideEditor::new(read, String::new(), Arc::new(|| {}))
    }

    const DEMO: &str = include_str!("../../../assets/demo/skerry-rescue.guide.json");

    #[test]
    fn what_is_typed_into_one_field_is_one_step_and_a_refused_text_changes_nothing() {
        let mut editor = editor(Some(DEMO));
        let before = editor.guide().clone();
        let mut typed = |text: &str| {
            let edit = GuideEdit::Rename(List::Slots, 0, text.into());
            editor.type_into("slots/0/name".into(), text.into(), Ok(edit));
            (editor.guide().slots[0].id.clone(), editor.typed.as_ref().unwrap().refused.is_some())
        };
        assert_eq!(typed("hea"), ("hea".into(), false));
        assert_eq!(typed("torso"), ("head".into(), true), "taken: as before the first key");
        assert_eq!(typed("torso 2"), ("torso 2".into(), false));
        editor.end_typing();
        assert_eq!(editor.undo_and_redo_labels().0, Some("rename slot head"));
        editor.undo();
        assert_eq!(*editor.guide(), before);
        assert!(!editor.is_unsaved());
        editor.redo();
        assert_eq!(editor.guide().slots[0].id, "torso 2");
    }

    #[test]
    fn every_remark_leads_to_its_place() {
        let mut editor = editor(Some(DEMO));
        for (place, page, chosen, run) in [
            ("slots › torso › mirror", Page::List(List::Slots), 1, None),
            ("features", Page::List(List::Features), 0, None),
            ("characters › Diver › second › head › mould", Page::List(List::Characters), 2, Some("second")),
            ("rates › wear", Page::Rates, 0, None),
            ("halves › upper", Page::Line, 0, None),
        ] {
            editor.go_to(place);
            assert_eq!((editor.page, editor.chosen), (page, chosen), "{place}");
            if let Some(run) = run {
                assert_eq!(editor.run.as_deref(), Some(run));
            }
        }
    }
}

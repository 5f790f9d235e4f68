//! What the page of the guide asks for, done; and the way into it.

use std::path::PathBuf;

use crate::guide::{Guide, parse_guide};
use crate::jobs::Task;
use crate::problem::Problem;
use crate::storage::{self, Journal};

use super::action::{GuideAction, Page};
use super::editor::{GuideEditor, suggested_path};
use crate::app::action::Action;
use crate::app::files::keeper::Keeper;
use crate::app::session::Session;
use crate::app::state::State;

/// A guide being read to be changed.
pub(in crate::app) type Reading = Task<(PathBuf, Result<Guide, Problem>)>;

impl State {
    /// The guide being written, while the window shows it.
    pub(in crate::app) fn open_editor(&self) -> Option<&GuideEditor> {
        self.editor.as_ref().filter(|editor| editor.shown)
    }

    /// Whether a guide was changed and not saved.
    pub(in crate::app) fn guide_is_unsaved(&self) -> bool {
        self.editor.as_ref().is_some_and(GuideEditor::is_unsaved)
    }

    /// Shows the guide being written, else that of the case, else a new one.
    pub(in crate::app) fn edit_guide(&mut self) {
        let of_case = self.session.as_ref().and_then(|session| session.weighing.file.clone());
        if let Some(editor) = &mut self.editor {
            let same = of_case.is_none() || editor.file == of_case;
            if same || editor.is_unsaved() {
                editor.shown = true;
                return;
            }
        }
        match of_case {
            Some(path) => self.read_guide_to_edit(path),
            None => self.new_guide(),
        }
    }

    /// Begins a guide with nothing in it, unless another one would be lost.
    pub(in crate::app) fn new_guide(&mut self) {
        if self.refuse_to_lose_the_guide() {
            return;
        }
        let path = self.suggested("my-line");
        self.editor = Some(GuideEditor::new(None, path, self.wake.clone()));
    }

    /// Shows a guide that is not saved yet and says so; answers whether there is one.
    pub(in crate::app) fn refuse_to_lose_the_guide(&mut self) -> bool {
        let Some(editor) = self.editor.as_mut().filter(|editor| editor.is_unsaved()) else { return false };
        editor.shown = true;
        self.tell("The guide before is not saved yet.", "Save it, or undo its changes, then begin another.");
        true
    }

    /// Goes on with a guide that a window before left unsaved.
    pub(in crate::app) fn go_on_with_guide(&mut self, guide: Guide, file: Option<PathBuf>, journal: Journal) {
        let path = file.as_ref().map_or_else(|| self.suggested("my-line"), |file| file.display().to_string());
        self.editor = Some(GuideEditor::recovered(guide, file, path, self.wake.clone()));
        self.guide_keeper = Keeper::start(self.data_folder.as_deref(), Some(journal), self.wake.clone());
    }

    fn suggested(&self, name: &str) -> String {
        let folder = self.session.as_ref().map(Session::folder);
        let home = || directories::UserDirs::new().map(|dirs| dirs.home_dir().to_owned());
        suggested_path(&folder.or_else(home).unwrap_or_default(), name)
    }

    /// A guide with faults can be opened here: this is where they are mended.
    fn read_guide_to_edit(&mut self, path: PathBuf) {
        let work = move |_: &_| {
            let read = storage::read_limited(&path, crate::guide::GUIDE_LIMIT_BYTES).and_then(|bytes| {
                let text = String::from_utf8_lossy(&bytes);
                parse_guide(&text).map_err(|p| {
                    Problem::new(format!("{}: {}: {}", path.display(), p.place, p.text), p.remedy)
                })
            });
            (path, read)
        };
        self.reading_to_edit = Some(Task::start("Reading the guide".into(), self.wake.clone(), work));
    }

    /// Does what the page asked for.
    pub(in crate::app) fn act_on_guide(&mut self, action: GuideAction) {
        match action {
            GuideAction::New => return self.new_guide(),
            GuideAction::Use => return self.use_edited_guide(),
            _ => {}
        }
        let copy_path = self.suggested("copy");
        let Some(editor) = &mut self.editor else { return };
        let done = match action {
            GuideAction::New | GuideAction::Use => Ok(()),
            GuideAction::Copy => {
                editor.copy(copy_path);
                Ok(())
            }
            GuideAction::Page(page) => {
                editor.show_page(page);
                Ok(())
            }
            GuideAction::Choose(at) => {
                editor.end_typing();
                editor.chosen = at;
                Ok(())
            }
            GuideAction::Run(run) => {
                editor.end_typing();
                editor.run = Some(run);
                Ok(())
            }
            GuideAction::Edit(edit) => editor.edit(&edit),
            GuideAction::Type(field, text, edit) => {
                editor.type_into(field, text, edit);
                Ok(())
            }
            GuideAction::EndTyping => {
                editor.end_typing();
                Ok(())
            }
            GuideAction::Draft(field, text) => {
                editor.end_typing();
                editor.draft = (field, text);
                Ok(())
            }
            GuideAction::AddDraft(edit) => editor.edit(&edit).map(|()| {
                editor.draft.1.clear();
                editor.focus_draft = true;
                if let (Page::List(list), crate::guide::GuideEdit::Add(..)) = (editor.page, edit) {
                    editor.chosen = editor.guide().ids(list).len().saturating_sub(1);
                }
            }),
            GuideAction::GoTo(place) => {
                editor.go_to(&place);
                Ok(())
            }
            GuideAction::Path(path) => {
                editor.path = path;
                Ok(())
            }
            GuideAction::Save => editor.save(),
            GuideAction::Show => {
                editor.shown = true;
                Ok(())
            }
            GuideAction::Close => {
                editor.end_typing();
                editor.shown = false;
                Ok(())
            }
        };
        if let Err(problem) = done {
            self.message = Some(problem.into());
        }
    }

    fn use_edited_guide(&mut self) {
        let Some(editor) = &mut self.editor else { return };
        editor.end_typing();
        if let Some(path) = editor.file.clone().filter(|_| !editor.is_unsaved()) {
            self.act(Action::UseGuide(path));
        }
    }

    /// Takes in what has become of the guide being read or written. One that the case names already, or the first
    /// one, is weighed with from now on.
    pub(in crate::app) fn poll_editor(&mut self) {
        if let Some(read) = self.reading_to_edit.as_ref().and_then(Task::poll) {
            self.reading_to_edit = None;
            match read {
                Ok((path, Ok(guide))) => {
                    let read = Some((path, guide));
                    self.editor = Some(GuideEditor::new(read, String::new(), self.wake.clone()));
                }
                Ok((_, Err(problem))) => self.message = Some(problem.into()),
                Err(text) => self.tell(text, "Try again."),
            }
        }
        let Some(editor) = &mut self.editor else { return };
        match editor.poll() {
            Some(Ok(path)) => {
                let usable = crate::guide::validate(editor.guide()).is_empty();
                let of_case = self.session.as_ref().map(|session| session.weighing.file.as_ref());
                match of_case {
                    Some(file) if usable && file.is_none_or(|file| *file == path) => {
                        self.act(Action::UseGuide(path));
                    }
                    Some(_) | None => {}
                }
            }
            Some(Err(problem)) => self.message = Some(problem.into()),
            None => {}
        }
    }
}

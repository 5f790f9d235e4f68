//! The system's file dialogs, on a thread of their own so that they never block the window. Where none
//! can be shown, a field for the path takes its place.

use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use crate::jobs::{Task, Wake};

use super::action::{Action, Ask, Sheet};
use super::collection::records::CollectionAction;
use super::compare::beside::CompareAction;
use super::files;
use super::portal;
use super::session::Session;
use super::state::State;

/// A dialog that "was cancelled" sooner than a person can do it never was on the screen.
const NO_PERSON_IS_SO_QUICK: Duration = Duration::from_millis(400);

/// How the files of photos and cases end.
const ENDINGS: [&str; 11] =
    ["jpg", "jpeg", "JPG", "JPEG", "png", "tif", "tiff", "webp", "heic", "HEIC", "json"];

/// The dialog that is open, if any.
pub(super) struct Dialogs {
    asking: Option<(Ask, Instant, Task<Option<PathBuf>>)>,
    wake: Wake,
}

impl Dialogs {
    /// None open.
    pub(super) fn new(wake: Wake) -> Self {
        Self { asking: None, wake }
    }

    /// Opens what was asked for; one at a time.
    pub(super) fn open(&mut self, state: &mut State) {
        let Some(ask) = state.ask.take() else { return };
        if self.asking.is_some() {
            return;
        }
        if !portal::file_dialogs() {
            state.sheet = Some(typed_instead(ask, state));
            (self.wake)();
            return;
        }
        let dialog = prepared(ask, state);
        let work = move |_: &_| match ask {
            Ask::Save | Ask::Report => dialog.save_file(),
            Ask::Collection => dialog.pick_folder(),
            Ask::Open | Ask::Compare | Ask::References | Ask::Guide | Ask::EmptyBoard | Ask::OtherPhoto => {
                dialog.pick_file()
            }
        };
        let task = Task::start("Choosing a file".into(), self.wake.clone(), work);
        self.asking = Some((ask, Instant::now(), task));
    }

    /// Takes in the answer.
    pub(super) fn poll(&mut self, state: &mut State, actions: &mut Vec<Action>) {
        let Some((ask, since, answer)) =
            self.asking.as_ref().and_then(|(ask, since, task)| task.poll().map(|a| (*ask, *since, a)))
        else {
            return;
        };
        self.asking = None;
        match answer {
            Ok(Some(path)) => actions.push(match ask {
                Ask::Open => Action::Open(path),
                Ask::Compare => Action::Compare(CompareAction::Open(path)),
                // The system's dialog has asked already, unless the name was changed since.
                Ask::Save => {
                    Action::SaveTo { replace: with_ending(path.clone()) == path, path: with_ending(path) }
                }
                Ask::References => Action::UseReferences(path),
                Ask::Guide => Action::UseGuide(path),
                Ask::EmptyBoard => Action::UseEmptyBoard(path),
                Ask::OtherPhoto => Action::UseOtherPhoto(path),
                Ask::Collection => Action::Collection(CollectionAction::OpenFolder(path)),
                Ask::Report => Action::Report { replace: true, path },
            }),
            Ok(None) if since.elapsed() > NO_PERSON_IS_SO_QUICK => {}
            Ok(None) | Err(_) => state.sheet = Some(typed_instead(ask, state)),
        }
    }
}

fn prepared(ask: Ask, state: &State) -> rfd::FileDialog {
    let session = state.session.as_ref();
    let dialog = rfd::FileDialog::new();
    let dialog = match session.map(Session::folder) {
        Some(folder) if folder.is_dir() => dialog.set_directory(folder),
        _ => dialog,
    };
    match ask {
        Ask::Open => dialog.set_title("Open a photo or a case").add_filter("Photos and cases", &ENDINGS),
        Ask::Compare => {
            dialog.set_title("Compare with a photo or a case").add_filter("Photos and cases", &ENDINGS)
        }
        Ask::Save => {
            let name = session.map(save_path).unwrap_or_default();
            let name = name.file_name().unwrap_or_default().to_string_lossy().into_owned();
            dialog.set_title("Save the case").set_file_name(name).add_filter("Cases", &["json"])
        }
        Ask::References => {
            dialog.set_title("Choose reference shades").add_filter("Reference shades", &["json"])
        }
        Ask::Guide => dialog.set_title("Choose a guide").add_filter("Guides", &["json"]),
        // Photos end as photos and cases do, but for the last.
        Ask::EmptyBoard => {
            dialog.set_title("Choose a photo of the empty board").add_filter("Photos", &ENDINGS[..10])
        }
        Ask::OtherPhoto => {
            dialog.set_title("Choose the case of another photo of these parts").add_filter("Cases", &["json"])
        }
        Ask::Collection => dialog.set_title("Choose the folder of your collection"),
        Ask::Report => {
            let path = state.report_path();
            let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
            let dialog = dialog.set_title("Write a report").set_file_name(name);
            [("PDF", "pdf"), ("Page for a browser", "html"), ("Table", "csv"), ("Short text", "txt")]
                .into_iter()
                .fold(dialog, |dialog, (name, ending)| dialog.add_filter(name, &[ending]))
        }
    }
}

fn typed_instead(ask: Ask, state: &State) -> Sheet {
    let session = state.session.as_ref();
    match ask {
        Ask::Open => Sheet::OpenPath(String::new()),
        Ask::Compare => {
            Sheet::ComparePath(session.map(Session::folder).unwrap_or_default().display().to_string())
        }
        Ask::Save => Sheet::SavePath(session.map(save_path).unwrap_or_default().display().to_string()),
        Ask::References => {
            let folder = session.map(Session::folder).unwrap_or_default();
            Sheet::ReferencesPath(folder.display().to_string())
        }
        Ask::EmptyBoard => {
            Sheet::EmptyBoardPath(session.map(Session::folder).unwrap_or_default().display().to_string())
        }
        Ask::OtherPhoto => {
            Sheet::OtherPhotoPath(session.map(Session::folder).unwrap_or_default().display().to_string())
        }
        Ask::Collection => {
            let folder = state.collection.folder.clone().unwrap_or_default();
            Sheet::CollectionPath(folder.display().to_string())
        }
        Ask::Report => Sheet::ReportPath(state.report_path().display().to_string()),
        Ask::Guide => {
            Sheet::GuidePath(session.map(Session::folder).unwrap_or_default().display().to_string())
        }
    }
}

fn save_path(session: &Session) -> PathBuf {
    session.case_path.clone().unwrap_or_else(|| files::open::case_path_beside(&session.photo_path))
}

/// Cases are known by their name, so each gets the ending.
pub(super) fn with_ending(path: PathBuf) -> PathBuf {
    if files::open::is_case(&path) {
        return path;
    }
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let stem = name.strip_suffix(".json").unwrap_or(&name);
    let stem = stem.strip_suffix(".case").unwrap_or(stem);
    path.parent().unwrap_or(Path::new("")).join(format!("{stem}.case.json"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_case_always_gets_its_ending() {
        for (typed, saved) in [
            ("/a/b.case.json", "/a/b.case.json"),
            ("/a/b", "/a/b.case.json"),
            ("/a/b.json", "/a/b.case.json"),
            ("/a/b.case", "/a/b.case.json"),
            ("b.2", "b.2.case.json"),
        ] {
            assert_eq!(with_ending(PathBuf::from(typed)), PathBuf::from(saved));
        }
    }
}

//! What panels ask for, and the plain choices that the window knows.

use std::path::PathBuf;

use crate::case::{Edit, MarkKey};
use crate::problem::Problem;
use crate::raster::Shape;

use super::bench::view::View;
use super::session::GroupKey;

/// What the mouse does on the photo.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Tool {
    /// Takes and moves marks.
    Choose,
    /// Draws circles.
    Circle,
    /// Draws boxes.
    Box,
    /// Draws polygons.
    Polygon,
    /// Draws the first and the last step of the card.
    Card,
    /// Grows an area from a click.
    Grow,
    /// Cuts a loose part in two.
    Cut,
}

/// What the column beside the photo shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Tab {
    /// Which shade each part is.
    Parts,
    /// Parts compared with each other.
    Pairs,
    /// What the photo says of itself.
    Photo,
    /// The shades that parts are compared with.
    Family,
    /// Who the figure is, and what belongs to it.
    Figure,
    /// Loose parts, sorted.
    Tray,
}

/// A question or a sheet in front of the window.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Sheet {
    /// Where is the file?
    OpenPath(String),
    /// Where is the photo or case to compare with?
    ComparePath(String),
    /// Where shall the case go?
    SavePath(String),
    /// Where are the shades?
    ReferencesPath(String),
    /// Where is the guide?
    GuidePath(String),
    /// Where is the photo of the empty board?
    EmptyBoardPath(String),
    /// Where is the case of another photo of the same parts?
    OtherPhotoPath(String),
    /// Which folder shall be sorted, and which shades lie in the boxes of the card?
    SortFolder(String, String),
    /// Where is the case with the bodies?
    BodiesPath(String),
    /// Where is the collection?
    CollectionPath(String),
    /// Where shall the report go?
    ReportPath(String),
    /// There is a file where the report shall go: replace it?
    ReplaceReport(PathBuf),
    /// The card's list.
    CardList(CardSheet),
    /// Where shall the card to print go, and for which paper?
    CardPage(super::card_page::CardPage),
    /// Every command with its keys.
    Keys,
    /// The case names files outside its folder: open it anyway?
    Outside(PathBuf, String),
    /// Work of windows that are gone.
    Recover,
    /// There is a file already: replace it?
    Replace(PathBuf),
    /// The photo has a case already: open that?
    HasCase(PathBuf),
    /// A guide or shades were changed and not saved: leave all the same?
    UnsavedWork(Work),
    /// Unsaved marks: what shall become of them before this is done?
    Unsaved(Next),
}

/// The sheet of the card's values.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct CardSheet {
    /// The list as typed.
    pub list: String,
    /// The path of a card file as typed.
    pub path: String,
    /// What is wrong with the list.
    pub error: Option<String>,
}

/// What is saved in a file of its own, beside the marks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Work {
    /// The guide being written.
    Guide,
    /// The shades being built.
    Shades,
}

/// What was asked for while marks were unsaved.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Next {
    /// Leave.
    Quit,
    /// Open another file.
    Open(PathBuf),
}

/// What panels ask for.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Action {
    /// A command of the table.
    Run(super::command::Command),
    /// Open a photo or a case.
    Open(PathBuf),
    /// Open a case that names files outside its folder.
    OpenOutside(PathBuf),
    /// Go on with the unsaved work of that number.
    Recover(usize),
    /// Throw the unsaved work of that number away.
    ForgetRecoverable(usize),
    /// Save the case there; where a file is already, only if the person says so.
    SaveTo {
        /// The file.
        path: PathBuf,
        /// Whether the person said so.
        replace: bool,
    },
    /// Compare with the shades of that file.
    UseReferences(PathBuf),
    /// Weigh the figure with the guide of that file.
    UseGuide(PathBuf),
    /// Take the fall of the light from that photo of the empty board.
    UseEmptyBoard(PathBuf),
    /// Read the photo of that case together with this one.
    UseOtherPhoto(PathBuf),
    /// What the panel of the shades asks for.
    Family(super::family::action::FamilyAction),
    /// What the page of the guide asks for.
    Guide(super::guide::action::GuideAction),
    /// What the panel of the figure asks for.
    Figure(super::figure::act::FigureAction),
    /// What the panel of loose parts and its tools ask for.
    Tray(super::tray::act::TrayAction),
    /// What the page of the collection asks for.
    Collection(super::collection::records::CollectionAction),
    /// What the page of two photos asks for.
    Compare(super::compare::beside::CompareAction),
    /// Write a report there; where a file is already, only if the person says so.
    Report {
        /// The file; its ending says which kind.
        path: PathBuf,
        /// Whether the person said so.
        replace: bool,
    },
    /// Give up what is being loaded or asked for.
    CancelTask,
    /// A new mark of the kind that is drawn now.
    Draw(Shape),
    /// A change that is a step of its own.
    Edit(Edit),
    /// A change that continues those before it.
    EditIn(GroupKey, Edit),
    /// The changes that belonged together are done.
    EndGroup,
    /// They are taken back.
    CancelGroup,
    /// A part becomes a known colour or the other way round.
    Convert(MarkKey),
    /// Select a mark or none, and let it take the keys.
    Take(Option<MarkKey>),
    /// Select a mark and scroll to it.
    Reveal(MarkKey),
    /// The next corner of a polygon; one within so many pixels of the first or the last one closes it.
    Corner([f64; 2], f64),
    /// Close the polygon that is being drawn, or give it up.
    EndPolygon {
        /// Whether it becomes a mark.
        keep: bool,
    },
    /// Show the photo this way.
    Look(View),
    /// Other values of the card.
    SetCard(CardSheet),
    /// Take the values of that card file.
    ReadCard(PathBuf),
    /// Write the listed values (second) to that card file.
    WriteCard(PathBuf, String),
    /// Write the card to print.
    WriteCardPage(super::card_page::CardPage),
    /// Put a sheet in front, or take it away.
    Show(Option<Sheet>),
    /// The answer to unsaved marks: leave them.
    Discard,
    /// Leave though that is not saved.
    LeaveWork(Work),
    /// Or go back to it.
    ShowWork(Work),
    /// Or: save them, then go on.
    SaveFirst(Next),
    /// The message was read.
    DismissMessage,
}

/// Something to tell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Message {
    /// What happened.
    pub text: String,
    /// What to do, empty where nothing is to be done.
    pub remedy: String,
}

impl From<Problem> for Message {
    fn from(problem: Problem) -> Self {
        Self { text: problem.message, remedy: problem.remedy }
    }
}

/// What the system's file dialog was asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Ask {
    /// A photo or a case.
    Open,
    /// A photo or a case to compare with.
    Compare,
    /// Where to save the case.
    Save,
    /// A file of shades.
    References,
    /// A guide.
    Guide,
    /// A photo of the empty board.
    EmptyBoard,
    /// The case of another photo of the same parts.
    OtherPhoto,
    /// The collection's folder.
    Collection,
    /// Where to write the report.
    Report,
}

//! Commands of files, of the guide and of the collection.

use egui::Key;

use super::front::Reach;
use super::{Command, Entry, ctrl, ctrl_shift, entry, key};

/// Each once, in the order of the menu.
pub(super) const ENTRIES: &[Entry] = &[
    entry(Command::Open, Reach::Anywhere, "Open…", "Choose a photo or a case file.", &[ctrl(Key::O)]),
    entry(
        Command::OpenPath,
        Reach::Anywhere,
        "Open by path…",
        "Type or paste where a photo or a case file is.",
        &[ctrl(Key::L)],
    ),
    entry(Command::Save, Reach::Document, "Save", "Write the marks to the case file.", &[ctrl(Key::S)]),
    entry(
        Command::SaveAs,
        Reach::Case,
        "Save as…",
        "Write the marks to another case file.",
        &[ctrl_shift(Key::S)],
    ),
    entry(
        Command::ChooseReferences,
        Reach::Case,
        "Shades…",
        "Choose the reference shades that parts are compared with.",
        &[ctrl(Key::R)],
    ),
    entry(
        Command::ChooseGuide,
        Reach::Case,
        "Guide…",
        "Choose the guide of the line, to find out who a figure is.",
        &[ctrl(Key::G)],
    ),
    entry(
        Command::ChooseEmptyBoard,
        Reach::Case,
        "Empty board…",
        "Choose a photo of the board with nothing on it, under the same light: it shows how the light falls.",
        &[ctrl(Key::B)],
    ),
    entry(
        Command::ChooseOtherPhoto,
        Reach::Case,
        "Another photo…",
        "Choose the saved case of another photo of the same parts, laid anew: both are read together.",
        &[ctrl_shift(Key::B)],
    ),
    entry(
        Command::CardPage,
        Reach::Anywhere,
        "Grey card to print…",
        "Write the grey card as a PDF, to be printed and laid beside the parts.",
        &[ctrl_shift(Key::P)],
    ),
    entry(
        Command::SortFolder,
        Reach::Anywhere,
        "Sort a folder…",
        "Find and sort the loose parts in all photos of a folder; what was sorted before is not sorted again.",
        &[ctrl_shift(Key::F)],
    ),
    entry(
        Command::Report,
        Reach::Findings,
        "Report…",
        "Write a report to keep or to send: PDF, HTML, CSV or a short text.",
        &[ctrl(Key::P)],
    ),
    entry(
        Command::ShowCollection,
        Reach::Anywhere,
        "Collection",
        "The figures you keep: what is complete, what is wanted, what would fit.",
        &[key(Key::F12)],
    ),
    entry(
        Command::AddToCollection,
        Reach::Case,
        "Add to collection…",
        "Keep what was found here as a record of your collection.",
        &[ctrl(Key::D)],
    ),
    entry(
        Command::ChooseCollection,
        Reach::Anywhere,
        "Collection folder…",
        "Choose the folder that holds your records.",
        &[ctrl_shift(Key::O)],
    ),
    entry(
        Command::EditGuide,
        Reach::Anywhere,
        "Edit the guide…",
        "Change the guide of the case, or write one of your own; the same key leads back.",
        &[ctrl_shift(Key::G)],
    ),
    entry(
        Command::NewGuide,
        Reach::Anywhere,
        "New guide…",
        "Write the guide of a line from nothing.",
        &[ctrl_shift(Key::N)],
    ),
    entry(Command::Quit, Reach::Anywhere, "Quit", "Leave; unsaved marks are asked about.", &[ctrl(Key::Q)]),
];

//! Commands of the card, of the board and of the loose parts between them.

use egui::Key;

use super::front::Reach;
use super::{Command, Entry, ctrl, entry, key};

/// Each once, in the order of the menu.
pub(super) const ENTRIES: &[Entry] = &[
    entry(
        Command::FindCard,
        Reach::Photo,
        "Find the card",
        "Look for the card that “Grey card to print…” makes in the photo and mark its steps.",
        &[key(Key::F)],
    ),
    entry(
        Command::MarkCard,
        Reach::Photo,
        "Mark the card",
        "Mark the lightest and the darkest step; the steps between are placed for you.",
        &[key(Key::M)],
    ),
    entry(
        Command::SpreadSteps,
        Reach::Photo,
        "Space steps evenly",
        "Place the card's steps evenly between the first and the last one again.",
        &[ctrl(Key::E)],
    ),
    entry(
        Command::CardList,
        Reach::PhotoOrNone,
        "Card values…",
        "The list of the card's steps: printed values, or those you had measured.",
        &[ctrl(Key::K)],
    ),
    entry(
        Command::Board,
        Reach::Photo,
        "Plain board",
        "The board under everything is of one colour and shows how the light falls; a selected mark becomes its outline. Once more: it is not.",
        &[ctrl(Key::U)],
    ),
    entry(
        Command::FindParts,
        Reach::Photo,
        "Find the parts",
        "Outline, number and sort the loose parts on a plain board; those found before are replaced.",
        &[ctrl(Key::F)],
    ),
    entry(
        Command::ToolCut,
        Reach::Photo,
        "Split",
        "Drag a line across a loose part that is two, or click both ends of the line.",
        &[key(Key::S)],
    ),
    entry(
        Command::RedrawPart,
        Reach::Photo,
        "Redraw the part",
        "Draw the outline of the selected loose part again, corner by corner.",
        &[key(Key::R)],
    ),
];

//! Commands of marks and of what draws them; those of the card and of loose parts are in `card`.

use egui::Key;

use super::front::Reach;
use super::{Command, Entry, ctrl, ctrl_shift, entry, key};

/// Each once, in the order of the menu.
pub(super) const ENTRIES: &[Entry] = &[
    entry(Command::Undo, Reach::Past, "Undo", "Take the last change back.", &[ctrl(Key::Z)]),
    entry(
        Command::Redo,
        Reach::Past,
        "Redo",
        "Make the change again that was taken back.",
        &[ctrl_shift(Key::Z), ctrl(Key::Y)],
    ),
    entry(
        Command::ToolChoose,
        Reach::Photo,
        "Choose",
        "Click a mark to select it, drag it to move it, drag a handle to change it.",
        &[key(Key::V)],
    ),
    entry(Command::ToolCircle, Reach::Photo, "Circle", "Drag from the middle outwards.", &[key(Key::C)]),
    entry(Command::ToolBox, Reach::Photo, "Box", "Drag from corner to corner.", &[key(Key::B)]),
    entry(
        Command::ToolPolygon,
        Reach::Photo,
        "Polygon",
        "Click each corner; close it by a click on the first corner, a double click or Enter.",
        &[key(Key::G)],
    ),
    entry(
        Command::ToolGrow,
        Reach::Photo,
        "Grow",
        "Click a part: the area grows over the same plastic, up to edges and paint.",
        &[key(Key::A)],
    ),
    entry(
        Command::DrawParts,
        Reach::Photo,
        "Part",
        "What you draw next is a part to be measured.",
        &[key(Key::P)],
    ),
    entry(
        Command::DrawKnown,
        Reach::Photo,
        "Known colour",
        "What you draw next is a step of the card, or a part whose shade is certain.",
        &[key(Key::K)],
    ),
    entry(
        Command::NewMark,
        Reach::Photo,
        "New mark",
        "A mark in the middle of the view; arrows move it, Shift with arrows changes its size.",
        &[key(Key::N)],
    ),
    entry(
        Command::NameMark,
        Reach::Photo,
        "Name the mark",
        "Put the cursor into the name of the selected mark; while a polygon is drawn, close it.",
        &[key(Key::Enter), key(Key::F2)],
    ),
    entry(
        Command::LetGo,
        Reach::WayBack,
        "Let go",
        "Put a message away; else give up what is being drawn or dragged, and go back to choosing.",
        &[key(Key::Escape)],
    ),
    entry(
        Command::DeleteMark,
        Reach::Photo,
        "Delete mark",
        "Remove the selected mark; while a polygon is drawn, its last corner.",
        &[key(Key::Delete), key(Key::Backspace)],
    ),
    entry(Command::NextMark, Reach::Photo, "Next mark", "Select the next mark.", &[key(Key::Period)]),
    entry(Command::PreviousMark, Reach::Photo, "Mark before", "Select the mark before.", &[key(Key::Comma)]),
];

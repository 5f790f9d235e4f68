//! Commands of marks and of what draws them.

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
    entry(
        Command::FindCard,
        Reach::Photo,
        "Find the card",
        "Look for the printed card (sameshot card) in the photo and mark its steps.",
        &[key(Key::F)],
    ),
    entry(
        Command::FindParts,
        Reach::Photo,
        "Find the parts",
        "Outline, number and sort the loose parts on a plain board; those found before are replaced.",
        &[ctrl(Key::F)],
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

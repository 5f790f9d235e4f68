//! The one table of what can be done: text, explanation and keys of each command. Toolbar, menu, keys and
//! the sheet of keys are all made from it.

use egui::{Key, KeyboardShortcut, Modifiers};

/// What can be done from anywhere in the window.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Command {
    /// Ask for a file with the system's dialog.
    Open,
    /// Type a path.
    OpenPath,
    /// Write the case.
    Save,
    /// Write the case under another name.
    SaveAs,
    /// Leave.
    Quit,
    /// Take back.
    Undo,
    /// Do again.
    Redo,
    /// Take and move marks.
    ToolChoose,
    /// Draw circles.
    ToolCircle,
    /// Draw boxes.
    ToolBox,
    /// Draw polygons.
    ToolPolygon,
    /// Grow an area from a click.
    ToolGrow,
    /// Cut a loose part in two.
    ToolCut,
    /// Draw the outline of a loose part again.
    RedrawPart,
    /// Let the program find the card.
    FindCard,
    /// Let the program find loose parts.
    FindParts,
    /// Sort all photos of a folder.
    SortFolder,
    /// New marks are parts to be measured.
    DrawParts,
    /// New marks are known colours.
    DrawKnown,
    /// Mark a card by its first and last step.
    MarkCard,
    /// The list of the card's steps.
    CardList,
    /// Space the steps of the card evenly.
    SpreadSteps,
    /// A mark in the middle of the view.
    NewMark,
    /// Remove the selected mark.
    DeleteMark,
    /// Select the next mark.
    NextMark,
    /// Select the mark before.
    PreviousMark,
    /// Put the cursor into the name of the selected mark, or close the polygon that is drawn.
    NameMark,
    /// Give up what is being drawn or dragged.
    LetGo,
    /// Larger.
    ZoomIn,
    /// Smaller.
    ZoomOut,
    /// The whole photo.
    ZoomFit,
    /// Pixel by pixel.
    ZoomActual,
    /// Choose the shades to compare with.
    ChooseReferences,
    /// Choose the guide that a figure is weighed with.
    ChooseGuide,
    /// Choose the photo of the empty board.
    ChooseEmptyBoard,
    /// The board under everything teaches the light, or no longer.
    Board,
    /// Write or change a guide.
    EditGuide,
    /// Begin a guide with nothing in it.
    NewGuide,
    /// Results part by part.
    ShowParts,
    /// Parts compared with each other.
    ShowPairs,
    /// What the photo says of itself.
    ShowPhoto,
    /// The shades that parts are compared with, and building them.
    ShowFamily,
    /// Who the figure is, and what belongs to it.
    ShowFigure,
    /// Loose parts, sorted.
    ShowTray,
    /// The nearest shade painted over the photo.
    ShadeMap,
    /// The light over the photo as lines.
    LightLines,
    /// The pixels under the pointer, large.
    Magnifier,
    /// The collection of figures.
    ShowCollection,
    /// Choose the collection's folder.
    ChooseCollection,
    /// Put the case at hand into the collection.
    AddToCollection,
    /// Write a report.
    Report,
    /// A second photo beside the first.
    Compare,
    /// Light, dark or high contrast.
    ToggleTheme,
    /// All keys.
    ShowKeys,
}

/// Where a command stands on the sheet of keys and in the menu.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Group {
    /// Files.
    File,
    /// Marks.
    Mark,
    /// How the photo is seen.
    View,
}

/// Everything the window says of a command.
#[derive(Debug, Clone, Copy)]
pub(super) struct Entry {
    /// Which command.
    pub command: Command,
    /// Where it is listed.
    pub group: Group,
    /// Its name on buttons.
    pub text: &'static str,
    /// What it does.
    pub tooltip: &'static str,
    /// Its keys; letters alone do nothing while text is typed.
    pub keys: &'static [KeyboardShortcut],
}

const fn key(key: Key) -> KeyboardShortcut {
    KeyboardShortcut::new(Modifiers::NONE, key)
}

const fn ctrl(key: Key) -> KeyboardShortcut {
    KeyboardShortcut::new(Modifiers::COMMAND, key)
}

const fn ctrl_shift(key: Key) -> KeyboardShortcut {
    KeyboardShortcut::new(Modifiers::COMMAND.plus(Modifiers::SHIFT), key)
}

const fn entry(
    command: Command,
    group: Group,
    text: &'static str,
    tooltip: &'static str,
    keys: &'static [KeyboardShortcut],
) -> Entry {
    Entry { command, group, text, tooltip, keys }
}

/// Every command once.
pub(super) const TABLE: &[Entry] = &[
    entry(Command::Open, Group::File, "Open…", "Choose a photo or a case file.", &[ctrl(Key::O)]),
    entry(
        Command::OpenPath,
        Group::File,
        "Open by path…",
        "Type or paste where a photo or a case file is.",
        &[ctrl(Key::L)],
    ),
    entry(Command::Save, Group::File, "Save", "Write the marks to the case file.", &[ctrl(Key::S)]),
    entry(
        Command::SaveAs,
        Group::File,
        "Save as…",
        "Write the marks to another case file.",
        &[ctrl_shift(Key::S)],
    ),
    entry(
        Command::ChooseReferences,
        Group::File,
        "Shades…",
        "Choose the reference shades that parts are compared with.",
        &[ctrl(Key::R)],
    ),
    entry(
        Command::ChooseGuide,
        Group::File,
        "Guide…",
        "Choose the guide of the line, to find out who a figure is.",
        &[ctrl(Key::G)],
    ),
    entry(
        Command::ChooseEmptyBoard,
        Group::File,
        "Empty board…",
        "Choose a photo of the board with nothing on it, under the same light: it shows how the light falls.",
        &[ctrl(Key::B)],
    ),
    entry(
        Command::SortFolder,
        Group::File,
        "Sort a folder…",
        "Find and sort the loose parts in all photos of a folder; what was sorted before is not sorted again.",
        &[ctrl_shift(Key::F)],
    ),
    entry(
        Command::Report,
        Group::File,
        "Report…",
        "Write a report to keep or to send: PDF, HTML, CSV or a short text.",
        &[ctrl(Key::P)],
    ),
    entry(
        Command::ShowCollection,
        Group::File,
        "Collection",
        "The figures you keep: what is complete, what is wanted, what would fit.",
        &[key(Key::F12)],
    ),
    entry(
        Command::AddToCollection,
        Group::File,
        "Add to collection…",
        "Keep what was found here as a record of your collection.",
        &[ctrl(Key::D)],
    ),
    entry(
        Command::ChooseCollection,
        Group::File,
        "Collection folder…",
        "Choose the folder that holds your records.",
        &[ctrl_shift(Key::O)],
    ),
    entry(
        Command::EditGuide,
        Group::File,
        "Edit the guide…",
        "Change the guide of the case, or write one of your own; the same key leads back.",
        &[ctrl_shift(Key::G)],
    ),
    entry(
        Command::NewGuide,
        Group::File,
        "New guide…",
        "Write the guide of a line from nothing.",
        &[ctrl_shift(Key::N)],
    ),
    entry(Command::Quit, Group::File, "Quit", "Leave; unsaved marks are asked about.", &[ctrl(Key::Q)]),
    entry(Command::Undo, Group::Mark, "Undo", "Take the last change back.", &[ctrl(Key::Z)]),
    entry(
        Command::Redo,
        Group::Mark,
        "Redo",
        "Make the change again that was taken back.",
        &[ctrl_shift(Key::Z), ctrl(Key::Y)],
    ),
    entry(
        Command::ToolChoose,
        Group::Mark,
        "Choose",
        "Click a mark to select it, drag it to move it, drag a handle to change it.",
        &[key(Key::V)],
    ),
    entry(Command::ToolCircle, Group::Mark, "Circle", "Drag from the middle outwards.", &[key(Key::C)]),
    entry(Command::ToolBox, Group::Mark, "Box", "Drag from corner to corner.", &[key(Key::B)]),
    entry(
        Command::ToolPolygon,
        Group::Mark,
        "Polygon",
        "Click each corner; close it by a click on the first corner, a double click or Enter.",
        &[key(Key::G)],
    ),
    entry(
        Command::ToolGrow,
        Group::Mark,
        "Grow",
        "Click a part: the area grows over the same plastic, up to edges and paint.",
        &[key(Key::A)],
    ),
    entry(
        Command::ToolCut,
        Group::Mark,
        "Split",
        "Drag a line across a loose part that is two, or click both ends of the line.",
        &[key(Key::S)],
    ),
    entry(
        Command::RedrawPart,
        Group::Mark,
        "Redraw the part",
        "Draw the outline of the selected loose part again, corner by corner.",
        &[key(Key::R)],
    ),
    entry(
        Command::FindCard,
        Group::Mark,
        "Find the card",
        "Look for the printed card (sameshot card) in the photo and mark its steps.",
        &[key(Key::F)],
    ),
    entry(
        Command::FindParts,
        Group::Mark,
        "Find the parts",
        "Outline, number and sort the loose parts on a plain board; those found before are replaced.",
        &[ctrl(Key::F)],
    ),
    entry(
        Command::DrawParts,
        Group::Mark,
        "Part",
        "What you draw next is a part to be measured.",
        &[key(Key::P)],
    ),
    entry(
        Command::DrawKnown,
        Group::Mark,
        "Known colour",
        "What you draw next is a step of the card, or a part whose shade is certain.",
        &[key(Key::K)],
    ),
    entry(
        Command::MarkCard,
        Group::Mark,
        "Mark the card",
        "Mark the lightest and the darkest step; the steps between are placed for you.",
        &[key(Key::M)],
    ),
    entry(
        Command::SpreadSteps,
        Group::Mark,
        "Space steps evenly",
        "Place the card's steps evenly between the first and the last one again.",
        &[ctrl(Key::E)],
    ),
    entry(
        Command::CardList,
        Group::Mark,
        "Card values…",
        "The list of the card's steps: printed values, or those you had measured.",
        &[ctrl(Key::K)],
    ),
    entry(
        Command::Board,
        Group::Mark,
        "Plain board",
        "The board under everything is of one colour and shows how the light falls; a selected mark becomes its outline. Once more: it is not.",
        &[ctrl(Key::U)],
    ),
    entry(
        Command::NewMark,
        Group::Mark,
        "New mark",
        "A mark in the middle of the view; arrows move it, Shift with arrows changes its size.",
        &[key(Key::N)],
    ),
    entry(
        Command::NameMark,
        Group::Mark,
        "Name the mark",
        "Put the cursor into the name of the selected mark; while a polygon is drawn, close it.",
        &[key(Key::Enter), key(Key::F2)],
    ),
    entry(
        Command::LetGo,
        Group::Mark,
        "Let go",
        "Give up what is being drawn or dragged, and go back to choosing.",
        &[key(Key::Escape)],
    ),
    entry(
        Command::DeleteMark,
        Group::Mark,
        "Delete mark",
        "Remove the selected mark; while a polygon is drawn, its last corner.",
        &[key(Key::Delete), key(Key::Backspace)],
    ),
    entry(Command::NextMark, Group::Mark, "Next mark", "Select the next mark.", &[key(Key::Period)]),
    entry(Command::PreviousMark, Group::Mark, "Mark before", "Select the mark before.", &[key(Key::Comma)]),
    entry(
        Command::ZoomIn,
        Group::View,
        "Larger",
        "Zoom in; also the wheel with Ctrl, or a pinch.",
        &[key(Key::Plus), key(Key::Equals), ctrl(Key::Plus), ctrl(Key::Equals)],
    ),
    entry(
        Command::ZoomOut,
        Group::View,
        "Smaller",
        "Zoom out; also the wheel with Ctrl, or a pinch.",
        &[key(Key::Minus), ctrl(Key::Minus)],
    ),
    entry(
        Command::ZoomFit,
        Group::View,
        "Whole photo",
        "Fit the photo into the window.",
        &[key(Key::Num0), ctrl(Key::Num0)],
    ),
    entry(
        Command::ZoomActual,
        Group::View,
        "1 : 1",
        "One pixel of the photo on one pixel of the screen.",
        &[key(Key::Num1), ctrl(Key::Num1)],
    ),
    entry(Command::ShowParts, Group::View, "Parts", "Which shade each part is.", &[key(Key::F5)]),
    entry(
        Command::ShowPairs,
        Group::View,
        "Same plastic?",
        "Every two parts compared with each other.",
        &[key(Key::F6)],
    ),
    entry(
        Command::ShowPhoto,
        Group::View,
        "Photo",
        "What the photo says of itself, and what it means for the numbers.",
        &[key(Key::F7)],
    ),
    entry(
        Command::ShowFamily,
        Group::View,
        "Shade set",
        "The shades that parts are compared with; add parts of this photo to them.",
        &[key(Key::F8)],
    ),
    entry(
        Command::ShowFigure,
        Group::View,
        "Figure",
        "Who the figure is, what belongs to it, and where to look next.",
        &[key(Key::F4)],
    ),
    entry(
        Command::ShowTray,
        Group::View,
        "Tray",
        "Loose parts: found, sorted into piles by shade, paired and matched with bodies.",
        &[key(Key::F3)],
    ),
    entry(
        Command::ShadeMap,
        Group::View,
        "Shade map",
        "Paint over the photo which shade is nearest and how clearly; once more takes it away.",
        &[key(Key::H)],
    ),
    entry(
        Command::LightLines,
        Group::View,
        "Light across the photo",
        "Draw lines of equal light over the photo; once more takes them away.",
        &[key(Key::U)],
    ),
    entry(
        Command::Compare,
        Group::View,
        "Compare with…",
        "Show a second photo or case beside this one, for looking; Escape leads back.",
        &[ctrl_shift(Key::C)],
    ),
    entry(
        Command::Magnifier,
        Group::View,
        "Magnifier",
        "Show the pixels under the pointer large, or those in the middle of a mark that keys move; once more hides it.",
        &[key(Key::L)],
    ),
    entry(
        Command::ToggleTheme,
        Group::View,
        "Light, dark, high contrast",
        "Change the window's greys.",
        &[key(Key::F9)],
    ),
    entry(Command::ShowKeys, Group::View, "Keys…", "Every command with its keys.", &[key(Key::F1)]),
];

impl Command {
    /// What the window says of the command.
    pub(super) fn entry(self) -> &'static Entry {
        TABLE.iter().find(|entry| entry.command == self).unwrap_or(&TABLE[0])
    }
}

/// Takes the keys of commands out of the input. While text is typed, keys without Ctrl belong to the text;
/// Enter belongs to whatever has the focus, unless that is the photo or a mark on it.
/// On a page of fields only keys with Ctrl and function keys are commands.
pub(super) fn pressed(ctx: &egui::Context, keys_on_bench: bool, on_page: bool) -> Vec<Command> {
    let typing = ctx.text_edit_focused() || on_page;
    let mut found = Vec::new();
    ctx.input_mut(|input| {
        // The longest combination first: Ctrl+Shift+Z must not be taken for Ctrl+Z.
        for shifted in [true, false] {
            for entry in TABLE {
                for keys in entry.keys.iter().filter(|keys| keys.modifiers.shift == shifted) {
                    let function = keys.logical_key >= Key::F1 && keys.logical_key <= Key::F12;
                    let never_typed = keys.modifiers.command || (on_page && function);
                    let for_widget = keys.logical_key == Key::Enter && !keys_on_bench;
                    let for_text = typing && !never_typed;
                    if !for_widget && !for_text && input.consume_shortcut(keys) {
                        found.push(entry.command);
                    }
                }
            }
        }
    });
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_two_commands_share_text_or_keys() {
        for (i, one) in TABLE.iter().enumerate() {
            assert_eq!(one.command.entry().text, one.text);
            assert!(!one.keys.is_empty(), "{} can be reached by keys", one.text);
            assert!(one.tooltip.ends_with('.'));
            for other in &TABLE[i + 1..] {
                assert_ne!(one.text, other.text);
                assert_ne!(one.command, other.command);
                assert!(
                    one.keys.iter().all(|keys| !other.keys.contains(keys)),
                    "{} and {}",
                    one.text,
                    other.text
                );
            }
        }
    }
}

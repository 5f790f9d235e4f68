//! Everything that can be done: text, explanation, keys and reach of each command, once. Toolbar, menu, keys and the
//! sheet of keys are all made from it.

mod card;
mod files;
mod front;
mod marks;
mod past;
mod pressed;
mod run;
mod views;

use egui::{Key, KeyboardShortcut, Modifiers};

pub(super) use front::Front;
use front::Reach;
pub(super) use pressed::pressed;
pub(super) use run::{run, show_selected};

/// What can be done in the window.
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
    /// Write the card to print.
    CardPage,
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
    /// Choose the case of another photo of the same parts.
    ChooseOtherPhoto,
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
    /// On to the next area of the window.
    NextArea,
    /// Back to the area before.
    AreaBefore,
    /// All keys.
    ShowKeys,
}

/// Where a command stands on the sheet of keys and in the menu.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Group {
    /// Files.
    Files,
    /// Marks.
    Marks,
    /// The card and the loose parts around it.
    Card,
    /// What is seen.
    Views,
}

impl Group {
    /// All of them, in the order of the menu.
    pub(super) const ALL: [Self; 4] = [Self::Files, Self::Marks, Self::Card, Self::Views];

    /// Its name.
    pub(super) fn name(self) -> &'static str {
        match self {
            Self::Files => "File",
            Self::Marks => "Marks",
            Self::Card => "Card and tray",
            Self::Views => "View",
        }
    }

    /// Its commands.
    pub(super) fn entries(self) -> &'static [Entry] {
        match self {
            Self::Files => files::ENTRIES,
            Self::Marks => marks::ENTRIES,
            Self::Card => card::ENTRIES,
            Self::Views => views::ENTRIES,
        }
    }
}

/// Commands before which the menu draws a line: something else begins.
const BEGINNINGS: [Command; 12] = [
    Command::ChooseReferences,
    Command::CardPage,
    Command::ShowCollection,
    Command::EditGuide,
    Command::Quit,
    Command::ToolChoose,
    Command::DrawParts,
    Command::NewMark,
    Command::FindParts,
    Command::ShowParts,
    Command::ShadeMap,
    Command::ToggleTheme,
];

/// Everything the window says of a command.
#[derive(Debug, Clone, Copy)]
pub(super) struct Entry {
    /// Which command.
    pub command: Command,
    /// Where it can be used.
    reach: Reach,
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
    reach: Reach,
    text: &'static str,
    tooltip: &'static str,
    keys: &'static [KeyboardShortcut],
) -> Entry {
    Entry { command, reach, text, tooltip, keys }
}

/// Every command once.
fn all() -> impl Iterator<Item = &'static Entry> {
    Group::ALL.into_iter().flat_map(Group::entries)
}

impl Command {
    /// Whether something else begins with it in the menu.
    pub(super) fn begins(self) -> bool {
        BEGINNINGS.contains(&self)
    }

    /// What the window says of the command.
    pub(super) fn entry(self) -> &'static Entry {
        all().find(|entry| entry.command == self).unwrap_or(&files::ENTRIES[0])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_two_commands_share_text_or_keys() {
        for (i, one) in all().enumerate() {
            assert_eq!(one.command.entry().text, one.text);
            assert!(!one.keys.is_empty(), "{} can be reached by keys", one.text);
            assert!(one.tooltip.ends_with('.'));
            for other in all().skip(i + 1) {
                assert_ne!(one.text, other.text);
                assert_ne!(one.command, other.command);
                let shared = one.keys.iter().any(|keys| other.keys.contains(keys));
                assert!(!shared, "{} and {}", one.text, other.text);
            }
        }
    }
}

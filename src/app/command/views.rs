//! Commands of what is seen.

use egui::Key;

use super::front::Reach;
use super::{Command, Entry, ctrl, ctrl_shift, entry, key};

/// Each once, in the order of the menu.
pub(super) const ENTRIES: &[Entry] = &[
    entry(
        Command::ZoomIn,
        Reach::Photos,
        "Larger",
        "Zoom in; also the wheel with Ctrl, or a pinch.",
        &[key(Key::Plus), key(Key::Equals), ctrl(Key::Plus), ctrl(Key::Equals)],
    ),
    entry(
        Command::ZoomOut,
        Reach::Photos,
        "Smaller",
        "Zoom out; also the wheel with Ctrl, or a pinch.",
        &[key(Key::Minus), ctrl(Key::Minus)],
    ),
    entry(
        Command::ZoomFit,
        Reach::Photos,
        "Whole photo",
        "Fit the photo into the window.",
        &[key(Key::Num0), ctrl(Key::Num0)],
    ),
    entry(
        Command::ZoomActual,
        Reach::Photos,
        "1 : 1",
        "One pixel of the photo on one pixel of the screen.",
        &[key(Key::Num1), ctrl(Key::Num1)],
    ),
    entry(Command::ShowParts, Reach::ToPhoto, "Parts", "Which shade each part is.", &[key(Key::F5)]),
    entry(
        Command::ShowPairs,
        Reach::ToPhoto,
        "Same plastic?",
        "Every two parts compared with each other.",
        &[key(Key::F6)],
    ),
    entry(
        Command::ShowPhoto,
        Reach::ToPhoto,
        "Photo",
        "What the photo says of itself, and what it means for the numbers.",
        &[key(Key::F7)],
    ),
    entry(
        Command::ShowFamily,
        Reach::ToPhoto,
        "Shade set",
        "The shades that parts are compared with; add parts of this photo to them.",
        &[key(Key::F8)],
    ),
    entry(
        Command::ShowFigure,
        Reach::ToPhoto,
        "Figure",
        "Who the figure is, what belongs to it, and where to look next.",
        &[key(Key::F4)],
    ),
    entry(
        Command::ShowTray,
        Reach::ToPhoto,
        "Tray",
        "Loose parts: found, sorted into piles by shade, paired and matched with bodies.",
        &[key(Key::F3)],
    ),
    entry(
        Command::ShadeMap,
        Reach::ToPhoto,
        "Shade map",
        "Paint over the photo which shade is nearest and how clearly; once more takes it away.",
        &[key(Key::H)],
    ),
    entry(
        Command::LightLines,
        Reach::ToPhoto,
        "Light across the photo",
        "Draw lines of equal light over the photo; once more takes them away.",
        &[key(Key::U)],
    ),
    entry(
        Command::Compare,
        Reach::Case,
        "Compare with…",
        "Show a second photo or case beside this one, for looking; Escape leads back.",
        &[ctrl_shift(Key::C)],
    ),
    entry(
        Command::Magnifier,
        Reach::Photos,
        "Magnifier",
        "Show the pixels under the pointer large, or those in the middle of a mark that keys move; once more hides it.",
        &[key(Key::L)],
    ),
    entry(
        Command::ToggleTheme,
        Reach::Anywhere,
        "Light, dark, high contrast",
        "Change the window's greys.",
        &[key(Key::F9)],
    ),
    entry(
        Command::NextArea,
        Reach::Anywhere,
        "Next area",
        "Let the keys go on to the next area: the bar, what was measured, the mark, the photo.",
        &[ctrl(Key::Tab)],
    ),
    entry(
        Command::AreaBefore,
        Reach::Anywhere,
        "Area before",
        "Let the keys go back to the area before.",
        &[ctrl_shift(Key::Tab)],
    ),
    entry(Command::ShowKeys, Reach::Anywhere, "Keys…", "Every command with its keys.", &[key(Key::F1)]),
];

//! Keys alone: many controls of one kind are one stop of Tab, areas are jumped between, a message is put away.

use egui::{Key, Modifiers};

use crate::greens::case_in;
use crate::walker::{USUAL, Walk};

const SHIFT: Modifiers = Modifiers::SHIFT;

/// The name of what has the focus.
fn now(walk: &Walk) -> String {
    walk.focused().map(|(_, name)| name).unwrap_or_default()
}

#[test]
fn all_marks_are_one_stop_and_tab_comes_to_the_selected_one() {
    let folder = tempfile::tempdir().unwrap();
    let mut walk = Walk::open(Some(case_in(folder.path())), USUAL);
    walk.wait_for("part 4: part");
    walk.go_by_keys("Photo bench.png");
    walk.press(Key::Tab);
    assert!(now(&walk).starts_with("step 1:"), "{}", now(&walk));
    for _ in 0..7 {
        walk.press(Key::Period);
    }
    let selected = now(&walk);
    assert!(selected.starts_with("part 2:"), "{selected}");
    // The mark's own fields have come between; what follows the marks is the bar at the top.
    walk.press(Key::Tab);
    assert!(now(&walk).starts_with("Menu"), "{}", now(&walk));
    walk.press_with(SHIFT, Key::Tab);
    assert_eq!(now(&walk), selected, "back to the selected one, not to the last");
    walk.press_with(SHIFT, Key::Tab);
    assert!(now(&walk).starts_with("Photo bench.png"), "{}", now(&walk));
    walk.press(Key::Tab);
    assert_eq!(now(&walk), selected);
}

#[test]
fn areas_are_jumped_between_and_escape_puts_a_message_away() {
    let folder = tempfile::tempdir().unwrap();
    let mut walk = Walk::open(Some(case_in(folder.path())), USUAL);
    walk.wait_for("part 4: part");
    walk.go_by_keys("Photo bench.png");
    for first in ["Menu", "Parts", "Shades…", "Photo bench.png"] {
        walk.press_with(Modifiers::COMMAND, Key::Tab);
        assert!(now(&walk).starts_with(first), "{first}: {}", now(&walk));
    }
    walk.press_with(Modifiers::COMMAND.plus(SHIFT), Key::Tab);
    assert!(now(&walk).starts_with("Shades…"), "and back: {}", now(&walk));

    walk.open_by_path(&folder.path().join("nothing.jpg"));
    walk.wait_for("nothing.jpg");
    walk.press(Key::Escape);
    assert!(!walk.shows("nothing.jpg"), "the message is put away");
}

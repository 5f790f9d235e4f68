//! The plain board and the photo of it empty, chosen in the window by names and keys, undone, saved and opened again.

use std::path::Path;

use egui::{Key, Modifiers};
use sameshot::case::{self, CaseDocument, PathRule};

use crate::walker::{USUAL, Walk};

/// A grey board under light that falls from left to right, with a dark box on it or with nothing.
fn photo(folder: &Path, name: &str, empty: bool) {
    let picture = image::RgbImage::from_fn(800, 600, |x, y| {
        let on_box = !empty && (200..360).contains(&x) && (220..380).contains(&y);
        let noise = (x * 7 + y * 13) % 5;
        let grey = if on_box { 60 } else { 170 - x / 20 } + noise;
        image::Rgb([grey as u8; 3])
    });
    picture.save(folder.join(name)).unwrap();
}

fn saved(path: &Path) -> CaseDocument {
    case::parse(&std::fs::read(path).unwrap(), PathRule::InsideFolder).unwrap()
}

const EMPTY_BOARD: (Modifiers, Key) = (Modifiers::COMMAND, Key::B);

#[test]
fn a_board_is_chosen_undone_saved_and_found_again() {
    let folder = tempfile::tempdir().unwrap();
    photo(folder.path(), "bench.png", false);
    photo(folder.path(), "empty.png", true);
    let mut walk = Walk::open(Some(folder.path().join("bench.png")), USUAL);
    walk.wait_for("Photo bench.png");
    walk.press(Key::F7);
    walk.wait_for("Board: not used.");

    walk.press_with(Modifiers::COMMAND, Key::U);
    walk.wait_for("Board: the whole photo but what lies on it, ");
    walk.answer(EMPTY_BOARD, "Path of the photo of the empty board", &folder.path().join("empty.png"));
    walk.wait_for("empty.png, 12 places.");
    walk.press_with(Modifiers::COMMAND, Key::Z);
    walk.wait_for("Empty board: no photo chosen.");
    walk.press_with(Modifiers::COMMAND.plus(Modifiers::SHIFT), Key::Z);
    walk.wait_for("empty.png, 12 places.");

    // A photo with something on the board is refused, and says what to do.
    let littered = folder.path().join("littered.png");
    image::RgbImage::from_fn(800, 600, |x, y| {
        image::Rgb([if (x / 50 + y / 50) % 2 == 0 { 60 } else { 170 }; 3])
    })
    .save(&littered)
    .unwrap();
    walk.answer(EMPTY_BOARD, "Path of the photo of the empty board", &littered);
    walk.wait_for("Take everything off the board");
    assert!(walk.shows("empty.png, 12 places."), "the photo chosen before stays");

    walk.press_with(Modifiers::COMMAND, Key::S);
    walk.wait_for("Saved.");
    let path = folder.path().join("bench.case.json");
    let case = saved(&path);
    assert_eq!(case.flat_field.as_deref(), Some("empty.png"));
    assert!(case.board.is_some_and(|board| board.shape.is_none()));

    // Both ways of doing without are there, and the outline of a mark becomes that of the board.
    let mut again = Walk::open(Some(path.clone()), USUAL);
    again.wait_for("Photo bench.png");
    again.press(Key::F7);
    again.wait_for("Empty board: empty.png, 12 places.");
    again.press_by_keys("Use no empty board");
    again.wait_for("Empty board: no photo chosen.");
    again.press(Key::N);
    again.wait_for("1 part");
    again.press_by_keys("Plain board");
    again.wait_for("Board: as outlined");
    again.wait_for("0 parts");
    again.press_with(Modifiers::COMMAND, Key::S);
    again.wait_for("Saved.");
    let case = saved(&path);
    assert_eq!(case.flat_field, None);
    assert!(case.board.is_some_and(|board| board.shape.is_some()) && case.readings.is_empty());
}

//! Another photo of the same parts, chosen in the window by names and keys, undone, saved and opened again.

use std::path::{Path, PathBuf};

use egui::{Key, Modifiers};
use sameshot::case::{self, CaseDocument, Known, PathRule, ReadingMark, ZoneMark};
use sameshot::raster::Shape;

use crate::walker::{USUAL, Walk};

const ANOTHER_PHOTO: (Modifiers, Key) = (Modifiers::COMMAND.plus(Modifiers::SHIFT), Key::B);
const LADDER: [f64; 4] = [30.0, 50.0, 70.0, 90.0];

fn square(column: u32, row: u32) -> Shape {
    let corner = |inset: f64| [column, row].map(|cell| f64::from(cell) * 100.0 + inset);
    Shape::Rect { min: corner(12.0), max: corner(88.0) }
}

/// Four greys in a row and three green parts under them in these columns, saved beside the photo.
fn photo(folder: &Path, name: &str, columns: [u32; 3]) -> PathBuf {
    let picture = image::RgbImage::from_fn(600, 300, |x, y| {
        let noise = ((x * 7 + y * 13) % 5) as u8;
        let (column, row) = (x / 100, y / 100);
        let part = columns.iter().position(|at| *at == column).filter(|part| row == 1 + *part as u32 % 2);
        let codes: [u8; 3] = match (row, part) {
            (0, _) if column < 4 => [[71, 119, 171, 226][column as usize]; 3],
            (_, Some(_)) => [70, 125, 95],
            _ => [25; 3],
        };
        image::Rgb(codes.map(|code| code + noise))
    });
    picture.save(folder.join(format!("{name}.png"))).unwrap();
    let mut case = CaseDocument::new(format!("{name}.png"));
    for (step, lightness) in (0..).zip(LADDER) {
        let known = Known::Lab { lab: [lightness, 0.0, 0.0], sd: [0.5, 0.3, 0.3] };
        case.zones.push(ZoneMark::new(format!("step {}", step + 1), square(step, 0), known));
    }
    for (part, (id, column)) in ["torso", "left arm", "right arm"].into_iter().zip(columns).enumerate() {
        case.readings.push(ReadingMark::new(id, square(column, 1 + part as u32 % 2)));
    }
    let path = folder.join(format!("{name}.case.json"));
    std::fs::write(&path, case::to_text(&case).unwrap()).unwrap();
    path
}

fn saved(path: &Path) -> CaseDocument {
    case::parse(&std::fs::read(path).unwrap(), PathRule::InsideFolder).unwrap()
}

#[test]
fn another_photo_is_chosen_undone_saved_and_found_again() {
    let folder = tempfile::tempdir().unwrap();
    let path = photo(folder.path(), "bench", [0, 2, 5]);
    let again = photo(folder.path(), "again", [4, 1, 3]);
    let as_before = photo(folder.path(), "as-before", [0, 2, 5]);
    let mut walk = Walk::open(Some(path.clone()), USUAL);
    walk.wait_for("Photo bench.png");
    walk.press(Key::F7);
    walk.wait_for("No other photo is read with this one.");

    walk.answer(ANOTHER_PHOTO, "Path of its case file", &again);
    walk.wait_for("1 of 1 read with this one.");
    walk.press_with(Modifiers::COMMAND, Key::Z);
    walk.wait_for("No other photo is read with this one.");
    walk.press_with(Modifiers::COMMAND.plus(Modifiers::SHIFT), Key::Z);
    walk.wait_for("1 of 1 read with this one.");

    // One in which nothing was moved is named, and says what to do; the case itself is no other photo.
    walk.answer(ANOTHER_PHOTO, "Path of its case file", &as_before);
    walk.wait_for("1 of 2 read with this one.");
    walk.wait_for("tells nothing new and was left out");
    walk.press_by_keys("Leave out as-before.case.json");
    walk.wait_for("1 of 1 read with this one.");
    walk.answer(ANOTHER_PHOTO, "Path of its case file", &path);
    walk.wait_for("This is the case that is open.");

    walk.press_with(Modifiers::COMMAND, Key::S);
    walk.wait_for("Saved.");
    assert_eq!(saved(&path).more_photos, ["again.case.json"]);

    let mut reopened = Walk::open(Some(path.clone()), USUAL);
    reopened.wait_for("Photo bench.png");
    reopened.press(Key::F7);
    reopened.wait_for("1 of 1 read with this one.");

    // It is gone: the case opens, and says so.
    std::fs::remove_file(&again).unwrap();
    let mut without = Walk::open(Some(path), USUAL);
    without.wait_for("again.case.json");
    without.press(Key::F7);
    without.wait_for("0 of 1 read with this one.");
}

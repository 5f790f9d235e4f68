//! Two photos side by side, by accessible names.

use egui::{Event, Key, Modifiers, pos2, vec2};
use egui_kittest::kittest::Queryable;

use crate::demo::demo;
use crate::walker::{USUAL, Walk};

const COMPARE: (Modifiers, Key) = (Modifiers::COMMAND.plus(Modifiers::SHIFT), Key::C);
const ASKED: &str = "Path of the file";

/// At how many percent a photo is shown, as its label says.
fn percent(walk: &Walk, photo: &str) -> u32 {
    let start = format!("Photo {photo}, ");
    let label = walk.labels().into_iter().find(|label| label.starts_with(&start)).unwrap();
    label.rsplit(' ').nth(1).unwrap().parse().unwrap()
}

#[test]
fn a_second_case_is_shown_beside_the_first_and_moves_with_it_or_by_itself() {
    let mut walk = Walk::open(Some(demo("bench.case.json")), USUAL);
    walk.wait_for("left arm: part, ");
    let before = walk.labels();
    walk.answer(COMPARE, ASKED, &demo("exchanged.case.json"));
    walk.wait_for("Right: exchanged.case.json");
    assert!(walk.shows("Left: bench.case.json") && walk.shows("nothing is measured from it"));
    let [left, right] = ["bench.jpg", "exchanged.jpg"]
        .map(|photo| walk.harness.get_by_label_contains(&format!("Photo {photo}, ")).rect());
    assert!(left.max.x <= right.min.x && (left.width() - right.width()).abs() < 2.0, "{left:?} {right:?}");

    let (fitted, other) = (percent(&walk, "bench.jpg"), percent(&walk, "exchanged.jpg"));
    walk.go_by_keys("Photo bench.jpg");
    walk.press(Key::Plus);
    assert!(percent(&walk, "bench.jpg") > fitted && percent(&walk, "exchanged.jpg") == other);
    walk.go_by_keys("Photo exchanged.jpg");
    walk.press(Key::Num1);
    assert!(percent(&walk, "bench.jpg") < 100 && percent(&walk, "exchanged.jpg") == 100);
    walk.press_by_keys("Move both together");
    walk.press(Key::Num0);
    assert_eq!((percent(&walk, "bench.jpg"), percent(&walk, "exchanged.jpg")), (fitted, other));

    // The wheel over one zooms both, and by as much.
    walk.harness.event(Event::PointerMoved(left.center()));
    walk.harness.event(Event::Zoom(2.0));
    walk.settle();
    for (photo, was) in [("bench.jpg", fitted), ("exchanged.jpg", other)] {
        assert!(percent(&walk, photo).abs_diff(2 * was) <= 1, "{photo}: {}", percent(&walk, photo));
    }
    // Nothing is changed by what changes a mark elsewhere.
    walk.drag(left.center(), left.center() + vec2(40.0, 10.0));
    walk.press(Key::N);
    walk.press(Key::Delete);

    walk.press_by_keys("As the cards’ greys ask");
    assert!(walk.shows("The greys of each card are shown grey. The screen is not calibrated"));
    walk.press(Key::Escape);
    assert!(!walk.shows("Right: exchanged.case.json"));
    walk.press(Key::Num0);
    let marks = |labels: Vec<String>| -> Vec<String> {
        labels.into_iter().filter(|l| l.contains(": part, ") || l.contains(": known colour")).collect()
    };
    assert_eq!(marks(walk.labels()), marks(before));
}

#[test]
fn a_photo_without_greys_is_compared_as_it_is_and_trouble_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let photo = folder.path().join("plain.png");
    image::RgbImage::from_pixel(300, 200, image::Rgb([90, 120, 110])).save(&photo).unwrap();
    let mut walk = Walk::open(Some(demo("bench.case.json")), [1024.0, 640.0]);
    walk.wait_for("left arm: part, ");
    let broken = folder.path().join("broken.jpg");
    walk.answer(COMPARE, ASKED, &broken);
    walk.wait_for("broken.jpg does not exist.");
    std::fs::write(&broken, "no photo").unwrap();
    walk.answer(COMPARE, ASKED, &broken);
    walk.click_when_usable("Close");
    walk.answer(COMPARE, ASKED, &photo);
    walk.wait_for("Right: plain.png");
    assert!(walk.shows("mark the card’s greys in both photos"));
    let window = egui::Rect::from_min_size(pos2(0.0, 0.0), vec2(1024.0, 640.0));
    for label in ["Move both together", "As the cards’ greys ask", "Close the comparison"] {
        let rect = walk.harness.get_by_label(label).rect();
        assert!(window.contains_rect(rect), "{label} is cut: {rect:?}");
    }
    walk.click("Close the comparison");
    assert!(!walk.shows("Right: plain.png") && walk.shows("left arm: part, "));
}

//! The walk through the window by accessible names: what a test finds, a screen reader finds.

use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use egui::{Key, Modifiers, pos2, vec2};
use egui_kittest::kittest::Queryable;
use sameshot::app::Start;
use sameshot::case::{self, CaseDocument, Known, PathRule};

use crate::painted::Painted;
use crate::walker::{USUAL, Walk};

const PHOTO: [f32; 2] = [1200.0, 900.0];
const STEP_X: [f32; 6] = [150.0, 270.0, 390.0, 510.0, 630.0, 750.0];

/// A bench with a card of six steps and two parts of one green.
fn bench_photo(folder: &Path) -> PathBuf {
    let mut picture = Painted::board([1200, 900]);
    for (x, l) in STEP_X.into_iter().zip([90.0, 75.0, 60.0, 50.0, 35.0, 20.0]) {
        picture.rect([x as u32 - 55, 100], [110, 110], [l, 0.0, 0.0]);
    }
    for x in [300, 700] {
        picture.rect([x - 80, 400], [160, 300], [50.0, -12.0, 8.0]);
    }
    let path = folder.join("bench.png");
    picture.save(&path);
    path
}

/// Three greens, far enough apart that the middle one can be called.
fn references(folder: &Path) -> PathBuf {
    let shade = |id: &str, label: &str, l: f64| {
        let specimen = |i: u32| {
            serde_json::json!({"id": format!("{label} {i}"), "lab": [l + 0.3 * f64::from(i), -12.0, 8.0],
                "sd": [0.3, 0.2, 0.2], "method": "spectrophotometer"})
        };
        serde_json::json!({"id": id, "label": label, "specimens": [specimen(0), specimen(1), specimen(2)]})
    };
    let shades = serde_json::json!({"sameshot_shades": 1, "family": "green", "shades": [
        shade("green/light", "light sea green", 68.0), shade("green/medium", "medium sea green", 50.0),
        shade("green/dark", "dark sea green", 32.0)]});
    let path = folder.join("greens.shades.json");
    std::fs::write(&path, shades.to_string()).unwrap();
    path
}

fn drag(walk: &mut Walk, from: (f32, f32), to: (f32, f32)) {
    let [from, to] = [from, to].map(|(x, y)| walk.on_photo(PHOTO, [x, y]));
    walk.drag(from, to);
}

fn saved(path: &Path) -> CaseDocument {
    case::parse(&std::fs::read(path).unwrap(), PathRule::ChosenByHand).unwrap()
}

#[test]
fn open_zoom_mark_the_card_mark_two_parts_save_and_reopen() {
    let folder = tempfile::tempdir().unwrap();
    let photo = bench_photo(folder.path());
    let mut walk = Walk::open(None, USUAL);
    assert!(walk.shows("drop it on this window"), "the first page says what to do");
    walk.open_by_path(&photo);
    walk.wait_for("Photo bench.png, 1200 × 900 pixels");

    walk.press(Key::Num1);
    assert!(walk.shows("shown at 100 %"));
    walk.press(Key::Num0);

    walk.click("Mark the card");
    assert!(walk.shows("lightest step"), "the strip says what to draw");
    drag(&mut walk, (STEP_X[0], 155.0), (STEP_X[0] + 35.0, 155.0));
    assert!(walk.shows("darkest step"));
    drag(&mut walk, (STEP_X[5], 155.0), (STEP_X[5] + 35.0, 155.0));
    walk.wait_for("6 known colours, 0 parts");

    walk.press(Key::C);
    for (x, name) in [(300.0, "left arm"), (700.0, "right arm")] {
        drag(&mut walk, (x, 550.0), (x + 50.0, 550.0));
        walk.press(Key::Enter);
        walk.type_text(name);
        walk.press(Key::Enter);
    }
    walk.wait_for("6 known colours, 2 parts. Not saved yet.");

    // Without shades there is no call.
    walk.wait_for("No shades to compare with");
    walk.drop_file(&references(folder.path()));
    walk.wait_for("B medium sea green: difference");
    assert!(walk.shows("left arm: part, medium sea green"), "the mark says what was found");
    assert!(walk.shows("Medium sea green"), "the call");
    walk.press(Key::F6);
    assert!(walk.shows("left arm and right arm: difference"));
    walk.press(Key::F5);

    walk.press_with(Modifiers::COMMAND, Key::S);
    walk.wait_for("Saved.");
    let case_path = folder.path().join("bench.case.json");
    let case = saved(&case_path);
    assert_eq!(case.photo, "bench.png");
    assert_eq!(case.references.as_deref(), Some("greens.shades.json"));
    assert_eq!(case.readings.iter().map(|r| r.id.as_str()).collect::<Vec<_>>(), ["left arm", "right arm"]);
    assert_eq!(case.zones.len(), 6);
    for (x, number) in STEP_X.into_iter().zip(1..) {
        let zone = case.zones.iter().find(|zone| zone.id == format!("step {number}")).unwrap();
        assert!((zone.shape.centre()[0] - f64::from(x)).abs() < 2.0, "{zone:?}");
    }

    let mut again = Walk::open(Some(case_path), USUAL);
    again.wait_for("left arm: part");
    again.wait_for("6 known colours, 2 parts. Saved.");
    assert!(again.shows("step 3: known colour, L* 60.0"));
    again.wait_for("left arm: part, medium sea green");
}

#[test]
fn a_known_part_can_be_said_to_be_a_specimen() {
    let folder = tempfile::tempdir().unwrap();
    bench_photo(folder.path());
    references(folder.path());
    let case = serde_json::json!({"sameshot_case": 1, "photo": "bench.png", "references": "greens.shades.json",
        "zones": [{"id": "my own arm", "shape": {"circle": {"centre": [300.0, 550.0], "radius": 40.0}},
            "known": {"shade": "green/medium"}}]});
    let path = folder.path().join("bench.case.json");
    std::fs::write(&path, case.to_string()).unwrap();
    let mut walk = Walk::open(Some(path.clone()), USUAL);
    walk.wait_for("my own arm: known colour, shade green/medium");
    walk.click_like("my own arm: known colour");
    walk.click("Which specimen");
    walk.click("medium sea green 1");
    walk.press_with(Modifiers::COMMAND, Key::S);
    walk.wait_for("Saved.");
    let known = &saved(&path).zones[0].known;
    let Known::Shade { shade, specimen } = known else { panic!("{known:?}") };
    assert_eq!((shade.as_str(), specimen.as_deref()), ("green/medium", Some("medium sea green 1")));
    walk.press_with(Modifiers::COMMAND, Key::Z);
    walk.press_with(Modifiers::COMMAND, Key::S);
    walk.wait("the choice taken back and saved", |_| {
        saved(&path).zones.iter().all(|zone| zone.known == Known::shade("green/medium"))
    });
}

#[test]
fn everything_by_keyboard_alone() {
    let folder = tempfile::tempdir().unwrap();
    let photo = bench_photo(folder.path());
    let mut walk = Walk::open(Some(photo), USUAL);
    walk.wait_for("Photo bench.png");
    walk.press(Key::N);
    assert!(walk.shows("part 1: part"), "a new mark in the middle of the view");
    for _ in 0..5 {
        walk.press(Key::ArrowRight);
    }
    walk.press_with(Modifiers::SHIFT, Key::ArrowUp);
    walk.press(Key::Enter);
    walk.type_text("head");
    walk.press(Key::Enter);
    assert!(walk.shows("head: part"));
    walk.press(Key::K);
    walk.press(Key::B);
    walk.press(Key::N);
    assert!(walk.shows("step 1: known colour, L* 90.0"));
    walk.press_with(Modifiers::COMMAND, Key::S);
    walk.wait_for("Saved.");
    let case = saved(&folder.path().join("bench.case.json"));
    let moved = case.readings[0].shape.centre()[0] - 600.0;
    assert!(moved > 4.9, "five steps to the right, of a pixel at least: {moved}");
    assert!(matches!(case.zones[0].shape, sameshot::raster::Shape::Rect { .. }));

    walk.press(Key::Delete);
    assert!(!walk.shows("step 1: known"));
    walk.press_with(Modifiers::COMMAND, Key::Z);
    assert!(walk.shows("step 1: known"));
    walk.press_with(Modifiers::COMMAND | Modifiers::SHIFT, Key::Z);
    assert!(!walk.shows("step 1: known"));
    // Naming was one step, moving another: two steps lead back to before them.
    for _ in 0..2 {
        walk.press_with(Modifiers::COMMAND, Key::Z);
    }
    walk.press_with(Modifiers::COMMAND, Key::Z);
    assert!(walk.shows("part 1: part"));
}

#[test]
fn the_magnifier_follows_the_pointer_and_a_mark_that_keys_move() {
    let folder = tempfile::tempdir().unwrap();
    let mut walk = Walk::open(Some(bench_photo(folder.path())), USUAL);
    walk.wait_for("Photo bench.png");
    let over = walk.on_photo(PHOTO, [150.0, 155.0]);
    walk.harness.event(egui::Event::PointerMoved(over));
    walk.settle();
    assert!(!walk.shows("Magnifier"));
    walk.press(Key::L);
    // What the file holds there: the lightest step.
    let [r, g, b] = image::open(folder.path().join("bench.png")).unwrap().into_rgb8().get_pixel(150, 155).0;
    assert!(walk.shows(&format!("sRGB {r} {g} {b}")), "{:?}", walk.labels());
    let photo = walk.harness.get_by_label_contains("Photo bench.png").rect();
    for corner in
        [photo.min, photo.max - vec2(1.0, 1.0), pos2(photo.max.x - 1.0, photo.min.y), photo.center()]
    {
        walk.harness.event(egui::Event::PointerMoved(corner));
        walk.settle();
        let lens = walk.harness.get_by_label_contains("Magnifier: ").rect();
        assert!(photo.contains_rect(lens) && !lens.expand(4.0).contains(corner), "{lens:?} at {corner:?}");
    }
    walk.press(Key::N);
    walk.press(Key::ArrowRight);
    walk.press(Key::ArrowLeft);
    assert!(walk.shows("Magnifier: pixel 600, 450, "), "the middle of the mark: {:?}", walk.labels());
    walk.harness.event(egui::Event::PointerMoved(over));
    walk.settle();
    assert!(walk.shows("Magnifier: pixel 150, 155, ") || walk.shows("Magnifier: pixel 149, 154, "));
    walk.press(Key::L);
    assert!(!walk.shows("Magnifier"));
}

#[test]
fn a_file_that_is_no_photo_is_told_with_a_remedy() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("letter.jpg");
    std::fs::write(&path, "Dear sir").unwrap();
    let mut walk = Walk::open(Some(path), USUAL);
    walk.wait_for("letter.jpg");
    assert!(walk.shows("Photos are JPEG, PNG"), "the remedy");
    walk.click("Close");
    assert!(!walk.shows("letter.jpg"));
}

#[test]
fn unsaved_marks_are_asked_about() {
    let folder = tempfile::tempdir().unwrap();
    let mut walk = Walk::open(Some(bench_photo(folder.path())), USUAL);
    walk.wait_for("Photo bench.png");
    walk.press(Key::N);
    walk.press_with(Modifiers::COMMAND, Key::Q);
    assert!(walk.shows("Your marks are not saved"));
    walk.click("Stay here");
    assert!(!walk.shows("Your marks are not saved"));
    assert!(!walk.window().has_quit());
    walk.press_with(Modifiers::COMMAND, Key::Q);
    walk.click("Save, then go on");
    walk.wait("the end", |walk| walk.window().has_quit());
    assert_eq!(saved(&folder.path().join("bench.case.json")).readings.len(), 1);
}

#[test]
fn marks_left_without_saving_leave_no_copy() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().join("data");
    let path = Some(bench_photo(folder.path()));
    let mut walk = Walk::start(Start { path, data_folder: Some(data.clone()), ..Start::default() }, USUAL);
    walk.wait_for("Photo bench.png");
    walk.press(Key::N);
    let copies = || {
        let entries = std::fs::read_dir(data.join("autosave")).into_iter().flatten().flatten();
        entries.filter(|entry| entry.path().extension().is_some_and(|ending| ending == "json")).count()
    };
    walk.wait("the copy", |_| copies() == 1);
    // By then another copy could be made.
    std::thread::sleep(Duration::from_millis(1100));
    walk.press_with(Modifiers::COMMAND, Key::Q);
    walk.click("Leave without saving");
    assert!(walk.window().has_quit());
    std::thread::sleep(Duration::from_millis(200));
    assert_eq!(copies(), 0);
}

#[test]
fn a_small_window_shows_everything_and_every_control_has_a_name() {
    let folder = tempfile::tempdir().unwrap();
    let mut walk = Walk::open(Some(bench_photo(folder.path())), [1024.0, 640.0]);
    walk.wait_for("Photo bench.png");
    let photo = walk.harness.get_by_label_contains("Photo bench.png").rect();
    assert!(photo.width() > 560.0 && photo.height() > 360.0, "the photo stays usable: {photo:?}");
    for label in ["Menu", "Mark the card", "Parts", "Same plastic?", "Photo", "Whole photo", "Larger"] {
        let rect = walk.harness.query_all_by_label(label).next().unwrap().rect();
        let window = egui::Rect::from_min_size(pos2(0.0, 0.0), vec2(1024.0, 640.0));
        assert!(window.contains_rect(rect), "{label} is cut: {rect:?}");
    }
    walk.press(Key::N);
    for key in [Key::F6, Key::F7, Key::F5] {
        walk.press(key);
    }
    walk.press(Key::F1);
    assert!(walk.shows("all marks count as one"));
}

#[test]
fn work_of_a_window_that_is_gone_is_offered_and_gone_on_with() {
    let folder = tempfile::tempdir().unwrap();
    let data_folder = Some(folder.path().join("data"));
    let start = Start {
        path: Some(bench_photo(folder.path())),
        data_folder: data_folder.clone(),
        ..Start::default()
    };
    let mut walk = Walk::start(start, USUAL);
    walk.wait_for("Photo bench.png");
    walk.press(Key::N);
    let copies = data_folder.clone().unwrap().join("autosave");
    let is_kept = || {
        let mut entries = std::fs::read_dir(&copies).into_iter().flatten().flatten();
        entries.any(|entry| entry.path().extension().is_some_and(|ending| ending == "json"))
    };
    walk.wait("the copy", |_| is_kept());
    // Dropping the window without closing it is what a crash does.
    drop(walk);
    // Its thread lets go of the copy a moment later.
    let end = Instant::now() + Duration::from_secs(60);
    while sameshot::storage::recoverable(data_folder.as_deref().unwrap()).is_empty() {
        assert!(Instant::now() < end, "the copy is never let go of");
        std::thread::sleep(Duration::from_millis(5));
    }

    let start = Start { path: None, data_folder: data_folder.clone(), ..Start::default() };
    let mut walk = Walk::start(start, USUAL);
    walk.wait_for("There is unsaved work");
    walk.click("Go on with bench.png");
    walk.wait_for("part 1: part");
    walk.wait_for("Not saved yet.");
    walk.press_with(Modifiers::COMMAND, Key::S);
    walk.wait_for("Saved.");
    walk.wait("the copy is gone", |_| !is_kept());
    drop(walk);

    let mut walk = Walk::start(Start { data_folder, ..Start::default() }, USUAL);
    walk.wait_for("Opened last");
    assert!(!walk.shows("There is unsaved work"), "what was saved is not offered again");
}

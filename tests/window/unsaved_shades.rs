//! Shades being built are not lost: a crash leaves a copy, quitting asks first, and an evening's photos share them.

use std::path::{Path, PathBuf};

use egui::{Key, Modifiers};
use sameshot::app::Start;
use sameshot::shade::parse_references;
use sameshot::storage::recoverable;
use serde_json::Value;

use crate::greens::case_in;
use crate::walker::Walk;

/// Tall enough that nothing is scrolled away.
const TALL: [f32; 2] = [1280.0, 2400.0];

fn start(home: &Path, path: Option<PathBuf>) -> Walk {
    Walk::start(Start { path, data_folder: Some(home.join("data")), ..Start::default() }, TALL)
}

/// Puts the first part into shades that are in no file.
fn add_one(walk: &mut Walk) {
    walk.wait_for("part 4: part");
    walk.press(Key::F8);
    walk.wait_for("Shade of part 1");
    walk.fill("Shade of part 1", "green/light");
    walk.click_when_usable("Add to the shades");
    walk.wait_for("The shades are not saved yet.");
}

/// The copies that are kept for the case of a crash, as text.
fn copies(home: &Path) -> Vec<String> {
    let entries = std::fs::read_dir(home.join("data/autosave")).into_iter().flatten().flatten();
    let paths = entries.map(|entry| entry.path());
    let json = paths.filter(|path| path.extension().is_some_and(|ending| ending == "json"));
    json.filter_map(|path| std::fs::read_to_string(path).ok()).collect()
}

/// Drops the window without closing it, which is what a crash does; its threads let go of the copies a moment later.
fn crash(walk: Walk, home: &Path, works: usize) {
    drop(walk);
    while recoverable(&home.join("data")).len() < works {
        std::thread::sleep(std::time::Duration::from_millis(5));
    }
}

#[test]
fn shades_that_were_never_saved_outlive_a_crash_with_the_photo_beside_them() {
    let folder = tempfile::tempdir().unwrap();
    let home = folder.path();
    let mut walk = start(home, Some(case_in(home)));
    add_one(&mut walk);
    walk.wait("the copy", |_| copies(home).iter().any(|text| text.contains("sameshot_shades")));
    crash(walk, home, 1);

    let mut walk = start(home, None);
    walk.wait_for("There is unsaved work");
    assert!(walk.shows("1 specimen, "));
    walk.click("Go on with the shades of green");
    walk.wait_for("Photo bench.png");
    assert!(walk.shows("Family green") && walk.shows("The shades are not saved yet."));
    assert!(!walk.shows("There is unsaved work"), "there is no more of it");
    walk.click("Save the shades");
    walk.wait_for("The shades are saved.");
    let saved = parse_references(&std::fs::read(home.join("my.shades.json")).unwrap()).unwrap();
    assert_eq!(saved.shades[0].specimens[0].id, "part 1");
    walk.wait("the copy is gone", |_| copies(home).iter().all(|text| !text.contains("sameshot_shades")));
}

#[test]
fn marks_and_shades_of_one_crash_are_gone_on_with_together() {
    let folder = tempfile::tempdir().unwrap();
    let home = folder.path();
    let mut walk = start(home, Some(case_in(home)));
    add_one(&mut walk);
    walk.press(Key::N);
    walk.wait_for("6 known colours, 5 parts. Not saved yet.");
    walk.wait("both copies", |_| {
        let copies = copies(home);
        copies.len() == 2 && copies.iter().any(|text| text.contains("sameshot_shades"))
    });
    crash(walk, home, 2);

    let mut walk = start(home, None);
    walk.wait_for("There is unsaved work");
    walk.click("Go on with the shades of green");
    walk.wait_for("Photo bench.png");
    assert!(walk.shows("There is unsaved work"), "the marks are still on offer");
    walk.click("Go on with bench");
    walk.wait_for("6 known colours, 5 parts. Not saved yet.");
    walk.press(Key::F8);
    assert!(walk.shows("The shades are not saved yet.") && !walk.shows("There is unsaved work"));
}

#[test]
fn quitting_asks_about_unsaved_shades_and_leads_back_to_them() {
    let folder = tempfile::tempdir().unwrap();
    let home = folder.path();
    let mut walk = start(home, Some(case_in(home)));
    add_one(&mut walk);
    walk.wait("the copy", |_| copies(home).len() == 1);
    walk.press(Key::F5);
    walk.press_with(Modifiers::COMMAND, Key::Q);
    assert!(walk.shows("The shades are not saved") && !walk.window().has_quit());
    walk.click("Back to the shades");
    assert!(walk.shows("Family green") && !walk.shows("would be lost"));
    walk.press_with(Modifiers::COMMAND, Key::Q);
    walk.click("Leave without saving");
    walk.wait("the end", |walk| walk.window().has_quit());
    assert!(copies(home).is_empty(), "what nobody wants is not offered again");
    assert!(!home.join("my.shades.json").exists());
}

#[test]
fn the_shades_stay_for_the_next_photo_of_the_evening() {
    let folder = tempfile::tempdir().unwrap();
    let home = folder.path();
    let mut walk = start(home, Some(case_in(home)));
    add_one(&mut walk);
    walk.click("Save the shades");
    walk.wait_for("The shades are saved.");
    // The case rests on them once they are read.
    walk.wait_for("Not saved yet.");
    walk.press_with(Modifiers::COMMAND, Key::S);
    walk.wait_for("parts. Saved.");

    std::fs::copy(home.join("bench.png"), home.join("next.png")).unwrap();
    walk.open_by_path(&home.join("next.png"));
    walk.wait_for("Photo next.png");
    walk.press(Key::F8);
    assert!(walk.shows("Family green"));
    walk.press(Key::N);
    walk.wait_for("1 part. Not saved yet.");
    walk.press_with(Modifiers::COMMAND, Key::S);
    walk.wait_for("1 part. Saved.");
    let case: Value = serde_json::from_slice(&std::fs::read(home.join("next.case.json")).unwrap()).unwrap();
    assert_eq!(case["references"], "my.shades.json");
}

#[test]
fn shades_typed_and_not_yet_added_outlive_a_crash() {
    let folder = tempfile::tempdir().unwrap();
    let home = folder.path();
    let mut walk = start(home, Some(case_in(home)));
    walk.wait_for("part 4: part");
    walk.press(Key::F8);
    walk.wait_for("Shade of part 1");
    walk.fill("Shade of part 1", "green/light");
    walk.fill("Specimen of part 2", "my own arm");
    walk.wait("the copy", |_| {
        copies(home).iter().any(|text| text.contains("green/light") && text.contains("my own arm"))
    });
    crash(walk, home, 1);

    let mut walk = start(home, None);
    walk.wait_for("There is unsaved work");
    assert!(walk.shows("2 parts, "));
    walk.click("Go on with the shades typed for bench.png");
    walk.wait_for("part 4: part");
    assert_eq!(walk.text_in("Shade of part 1"), "green/light");
    assert_eq!(walk.text_in("Specimen of part 2"), "my own arm");
    walk.click_when_usable("Add to the shades");
    walk.wait_for("The shades are not saved yet.");
    walk.fill("Shade of part 2", "green/light");
    walk.wait("a copy of both", |_| {
        copies(home).iter().any(|text| text.contains("sameshot_shades") && text.contains("my own arm"))
    });
    walk.click_when_usable("Add to the shades");
    walk.click("Save the shades");
    walk.wait_for("The shades are saved.");
    let saved = parse_references(&std::fs::read(home.join("my.shades.json")).unwrap()).unwrap();
    let ids: Vec<&str> = saved.shades[0].specimens.iter().map(|specimen| specimen.id.as_str()).collect();
    assert_eq!(ids, ["part 1", "my own arm"]);
    walk.wait("the copy is gone", |_| copies(home).iter().all(|text| !text.contains("green/light")));
}

#[test]
fn what_was_typed_stays_with_its_photo_and_quitting_asks_about_it() {
    let folder = tempfile::tempdir().unwrap();
    let home = folder.path();
    let mut walk = start(home, Some(case_in(home)));
    walk.wait_for("part 4: part");
    walk.press(Key::F8);
    walk.wait_for("Shade of part 1");
    walk.fill("Shade of part 1", "green/light");
    std::fs::copy(home.join("bench.png"), home.join("next.png")).unwrap();
    walk.open_by_path(&home.join("next.png"));
    walk.wait_for("Photo next.png");
    walk.press(Key::N);
    walk.press(Key::F8);
    walk.wait_for("Shade of part 1");
    assert_eq!(walk.text_in("Shade of part 1"), "", "another part of the same name");
    walk.press_with(Modifiers::COMMAND, Key::S);
    walk.wait_for("Saved.");
    walk.open_by_path(&home.join("bench.case.json"));
    walk.wait_for("Photo bench.png");
    walk.press(Key::F8);
    assert_eq!(walk.text_in("Shade of part 1"), "green/light");
    walk.press_with(Modifiers::COMMAND, Key::Q);
    assert!(walk.shows("set aside or typed") && !walk.window().has_quit());
    walk.click("Leave without saving");
    walk.wait("the end", |walk| walk.window().has_quit());
    assert!(copies(home).is_empty(), "what nobody wants is not offered again");
}

//! A whole evening by accessible names: a collection begun, a guide, references from three known figures, a tray sorted, a
//! doubtful figure identified, a listing judged, a report of each. And in every room: all that can be used is reached by
//! Tab.

use std::path::Path;

use egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable;
use sameshot::app::Start;
use serde_json::{Value, json};

use crate::demo::demo;
use crate::walker::{USUAL, Walk};

/// Tall enough that nothing is scrolled away.
const TALL: [f32; 2] = [1280.0, 3600.0];
const CTRL_SHIFT: Modifiers = Modifiers::COMMAND.plus(Modifiers::SHIFT);
const FOLDER: (Modifiers, Key) = (CTRL_SHIFT, Key::O);
const ADD: (Modifiers, Key) = (Modifiers::COMMAND, Key::D);
const SHADES: (Modifiers, Key) = (Modifiers::COMMAND, Key::R);
const REPORT: (Modifiers, Key) = (Modifiers::COMMAND, Key::P);
const COMPARE: (Modifiers, Key) = (CTRL_SHIFT, Key::C);

fn read(path: &Path) -> Value {
    serde_json::from_slice(&std::fs::read(path).unwrap()).unwrap()
}

/// Copies the demo's photos, its guide, and its cases as they are before there are any shades.
fn lay_out(home: &Path) {
    for name in
        ["bench.jpg", "lamp.jpg", "exchanged.jpg", "listing.jpg", "tray.jpg", "skerry-rescue.guide.json"]
    {
        std::fs::copy(demo(name), home.join(name)).unwrap();
    }
    for name in ["bench", "lamp", "exchanged", "listing"] {
        let name = format!("{name}.case.json");
        let mut case = read(&demo(&name));
        case.as_object_mut().unwrap().remove("references");
        case["zones"].as_array_mut().unwrap().retain(|zone| !zone["known"]["lab"].is_null());
        std::fs::write(home.join(name), case.to_string()).unwrap();
    }
    // The doubtful figure lies beside a known part, and comes with its shades and its guide.
    std::fs::copy(demo("exchanged.jpg"), home.join("doubtful.jpg")).unwrap();
    std::fs::copy(demo("skerry-sea-green.shades.json"), home.join("skerry-sea-green.shades.json")).unwrap();
    let mut case = read(&demo("exchanged.case.json"));
    case["photo"] = "doubtful.jpg".into();
    std::fs::write(home.join("doubtful.case.json"), case.to_string()).unwrap();
}

/// The parts of a demo photo of which the shade is certain, each with it.
fn certain(name: &str) -> Vec<(String, String)> {
    let truth = read(&demo(&format!("{name}.truth.json")));
    let text = |value: &Value| value.as_str().unwrap().to_owned();
    let parts = truth["parts"].as_array().unwrap().iter().filter(|part| part["known"] != true);
    parts
        .map(|part| (text(&part["id"]), text(&part["shade"])))
        // The one that does not belong is the doubtful one.
        .filter(|(part, shade)| !(part == "left arm" && shade == "green/dark"))
        .collect()
}

/// Writes a report and looks whether it names what it is of.
fn report(walk: &mut Walk, path: &Path, names: &[&str]) {
    loop {
        walk.answer(REPORT, "Path of the report", path);
        walk.wait("an answer", |walk| walk.shows("Close"));
        let is_written = walk.shows("The report is in");
        walk.click("Close");
        if is_written {
            break;
        }
        assert!(!path.exists(), "it was only too early");
    }
    let text = std::fs::read_to_string(path).unwrap();
    for name in names {
        assert!(text.contains(name), "{name} in {}", path.display());
    }
}

/// A guide of two characters, written from nothing.
fn write_a_guide(walk: &mut Walk, path: &Path) {
    walk.press_with(CTRL_SHIFT, Key::N);
    walk.wait_for("Guide of a line without a name");
    walk.fill("Name of the line", "Skerry Rescue, small");
    let pages: [(&str, &str, &[&str]); 5] = [
        ("Runs", "run", &["only"]),
        ("Slots", "slot", &["torso", "arm-left"]),
        ("Shades", "shade", &["green/medium", "green/dark"]),
        ("Moulds", "mould", &["T1", "A1"]),
        ("Characters", "character", &["Keeper", "Diver"]),
    ];
    for (page, what, names) in pages {
        steady(walk);
        walk.click_like(page);
        for name in names {
            walk.fill(&format!("New {what}"), name);
            walk.press(Key::Enter);
            steady(walk);
        }
        if page == "Moulds" {
            for (mould, slot) in [("Mould T1", "torso"), ("Mould A1", "left arm")] {
                walk.click(mould);
                walk.click(slot);
                steady(walk);
            }
        }
    }
    for (character, torso, arm) in
        [("Keeper", "green/medium", "green/dark"), ("Diver", "green/dark", "green/medium")]
    {
        walk.click(&format!("Character {character}"));
        walk.click("Made in only");
        for (slot, shade) in [("torso", torso), ("left arm", arm)] {
            steady(walk);
            walk.click_like(&format!("shade of the {slot}, now "));
            walk.click(&format!("shade of the {slot}: {shade}"));
        }
    }
    walk.fill("Note on the torso", "Seen on one only.");
    steady(walk);
    walk.fill("File of the guide", &path.display().to_string());
    walk.click("Save the guide");
    walk.wait("the guide is saved", |_| path.exists());
    walk.wait_for("The guide can be used.");
    let parts = read(path)["characters"][1]["issues"][0]["parts"].clone();
    let arm = json!({"mould": "A1", "shade": "green/medium"});
    let torso = json!({"mould": "T1", "note": "Seen on one only.", "shade": "green/dark"});
    assert_eq!(parts, json!({"arm-left": arm, "torso": torso}));
    walk.press_with(CTRL_SHIFT, Key::G);
}

fn steady(walk: &mut Walk) {
    walk.wait("the guide is read over", |walk| !walk.shows("Reading the guide over"));
}

/// Names what is certain of a figure, puts it into the shades and saves them.
fn build_references(walk: &mut Walk, name: &str, shades: &Path) {
    walk.press(Key::F8);
    for (part, shade) in certain(name) {
        walk.wait_for(&format!("Shade of {part}"));
        walk.fill(&format!("Shade of {part}"), &shade);
        walk.fill(&format!("Specimen of {part}"), &format!("{name} {part}"));
    }
    walk.click_when_usable("Add to the shades");
    walk.wait_for("The shades are not saved yet.");
    walk.fill("Path of the shades file to write", &shades.display().to_string());
    walk.click("Save the shades");
    walk.wait("the shades are saved", |walk| !walk.shows("are not saved yet"));
    // The case is compared with them from now on.
    walk.wait_for("Not saved yet.");
    walk.press_with(Modifiers::COMMAND, Key::S);
    walk.wait_for("Saved.");
}

/// Every part is a specimen of its shade, and lies where the demo's truth has it, within four of its own standard
/// deviations on each axis.
fn check_references(built: &Value) {
    let number = |value: &Value| value.as_f64().unwrap();
    let mut counts = Vec::new();
    for shade in built["shades"].as_array().unwrap() {
        let specimens = shade["specimens"].as_array().unwrap();
        counts.push(specimens.len());
        for specimen in specimens {
            let (photo, part) = specimen["id"].as_str().unwrap().split_once(' ').unwrap();
            let truth = read(&demo(&format!("{photo}.truth.json")));
            let parts = truth["parts"].as_array().unwrap();
            let there = parts.iter().find(|there| there["id"] == part).unwrap();
            assert_eq!(there["shade"], shade["id"], "{part}");
            for axis in 0..3 {
                let away = number(&specimen["lab"][axis]) - number(&there["lab"][axis]);
                assert!(
                    away.abs() < 4.0 * number(&specimen["sd"][axis]),
                    "{photo} {part}: {away} on axis {axis}"
                );
            }
        }
    }
    counts.sort_unstable();
    assert_eq!(counts, [2, 3, 10]);
}

#[test]
fn a_whole_evening() {
    let home = tempfile::tempdir().unwrap();
    let at = |name: &str| home.path().join(name);
    lay_out(home.path());
    let start = || Start {
        data_folder: Some(home.path().join("data")),
        config_folder: Some(home.path().join("config")),
        ..Start::default()
    };
    let mut walk = Walk::start(start(), TALL);
    walk.press(Key::F9);

    // A new collection.
    walk.press(Key::F12);
    assert!(walk.shows("No collection yet"));
    walk.answer(FOLDER, "Path of the folder with your records", &at("figures"));
    walk.wait_for("is not there yet");
    walk.press(Key::Escape);

    write_a_guide(&mut walk, &at("small.guide.json"));

    // References from three known figures, which the next photo is compared with.
    let shades = at("mine.shades.json");
    for name in ["bench", "lamp", "exchanged"] {
        walk.open_by_path(&at(&format!("{name}.case.json")));
        walk.wait_for(&format!("Photo {name}.jpg"));
        if shades.exists() {
            walk.answer(SHADES, "Path of the shades file", &shades);
        }
        build_references(&mut walk, name, &shades);
    }
    check_references(&read(&shades));

    // A tray.
    walk.open_by_path(&at("tray.jpg"));
    walk.wait_for("Photo tray.jpg");
    walk.answer(SHADES, "Path of the shades file", &shades);
    walk.press(Key::F3);
    walk.click("Find the parts");
    walk.wait_for("May be left and right");
    walk.wait("the sorting", |walk| !walk.shows("Sorting…"));
    report(&mut walk, &at("tray.html"), &["tray.jpg", "green/medium"]);
    walk.press_with(Modifiers::COMMAND, Key::S);
    walk.wait_for("Saved.");
    assert!(read(&at("tray.case.json"))["tray"].is_object());

    // A doubtful figure, weighed with its guide.
    walk.open_by_path(&at("doubtful.case.json"));
    walk.wait_for("left arm: part, ");
    walk.press(Key::F4);
    walk.wait_for("1. Radio Hand, second run");
    walk.wait_for("left arm: does not belong");
    report(&mut walk, &at("figure.html"), &["Radio Hand", "left arm: does not belong"]);
    walk.press_with(ADD.0, ADD.1);
    walk.fill("Name", "The one from the fair");
    walk.click("Add it");
    walk.wait_for("1 of 1 record");
    let record = read(&at("figures/the-one-from-the-fair.record.json"));
    assert_eq!(record["findings"].as_array().unwrap().len(), 1);
    report(&mut walk, &at("figures.html"), &["The one from the fair"]);

    // A listing.
    walk.open_by_path(&at("listing.case.json"));
    walk.wait_for("Photo listing.jpg");
    walk.answer(SHADES, "Path of the shades file", &shades);
    walk.press(Key::F7);
    walk.wait_for("Copy the text for the seller");
    report(&mut walk, &at("listing.html"), &["listing.jpg"]);
    walk.press_with(Modifiers::COMMAND, Key::S);
    walk.wait_for("Saved.");
    let ground = walk.harness.ctx.global_style().visuals.panel_fill;
    walk.press_with(Modifiers::COMMAND, Key::Q);
    assert!(walk.window().has_quit());

    // The next evening: what was opened last is offered, and the window looks as it was left.
    let mut walk = Walk::start(start(), TALL);
    walk.wait_for("Opened last");
    assert!(walk.shows("doubtful") && walk.shows("listing"));
    assert_eq!(walk.harness.ctx.global_style().visuals.panel_fill, ground);
}

#[test]
fn all_that_can_be_used_is_reached_by_tab_in_every_room() {
    let home = tempfile::tempdir().unwrap();
    let mut walk = Walk::start(
        Start { path: None, data_folder: Some(home.path().join("data")), ..Start::default() },
        USUAL,
    );
    let check = |walk: &mut Walk, room: &str| {
        assert_eq!(walk.unreached(), Vec::<String>::new(), "{room}");
    };
    check(&mut walk, "the first page");
    walk.press(Key::F12);
    check(&mut walk, "no collection");
    walk.press(Key::Escape);
    walk.open_by_path(&demo("exchanged.case.json"));
    walk.wait_for("left arm: part, ");
    check(&mut walk, "the photo");
    walk.press(Key::Period);
    check(&mut walk, "a mark selected");
    for (key, room) in
        [(Key::F6, "pairs"), (Key::F7, "photo"), (Key::F8, "shades"), (Key::F3, "tray"), (Key::F4, "figure")]
    {
        walk.press(key);
        walk.settle();
        check(&mut walk, room);
    }
    walk.click_like("torso: belongs");
    check(&mut walk, "a slot of the figure");
    walk.answer(COMPARE, "Path of the file", &demo("bench.case.json"));
    walk.wait_for("Right: bench.case.json");
    check(&mut walk, "two photos");
    walk.press(Key::Escape);
    walk.answer(ADD, "Path of the folder with your records", &home.path().join("figures"));
    walk.wait_for("New record");
    check(&mut walk, "a new record");
    walk.click("Add it");
    for layout in ["Gallery", "Table", "Totals"] {
        walk.wait_for(layout);
        walk.click(layout);
        check(&mut walk, layout);
    }
    walk.press(Key::Escape);
    walk.press_with(CTRL_SHIFT, Key::G);
    walk.wait_for("Guide of Skerry Rescue");
    for page in ["Line", "Runs", "Slots", "Shades", "Moulds", "Features", "Characters", "Remarks"] {
        walk.click_like(page);
        check(&mut walk, page);
    }
    assert!(walk.harness.query_all_by_label_contains("Close the guide").next().is_some());
}

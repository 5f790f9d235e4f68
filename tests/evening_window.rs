//! A whole evening by accessible names: a collection begun, a guide, references from three known figures, a tray sorted, a
//! doubtful figure identified, a listing judged, a report of each. And in every room: all that can be used is reached by
//! Tab.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a check may stop where it fails")]
#![cfg(feature = "gui")]

#[path = "support/walker.rs"]
mod walker;

use std::path::{Path, PathBuf};

use egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable;
use sameshot::app::Start;
use sameshot::color::{Lab, to_srgb8};
use serde_json::{Value, json};
use walker::{USUAL, Walk};

/// Tall enough that nothing is scrolled away.
const TALL: [f32; 2] = [1280.0, 3600.0];
const CTRL_SHIFT: Modifiers = Modifiers::COMMAND.plus(Modifiers::SHIFT);
const FOLDER: (Modifiers, Key) = (CTRL_SHIFT, Key::O);
const ADD: (Modifiers, Key) = (Modifiers::COMMAND, Key::D);
const REPORT: (Modifiers, Key) = (Modifiers::COMMAND, Key::P);
const COMPARE: (Modifiers, Key) = (CTRL_SHIFT, Key::C);

fn demo(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("assets/demo").join(name)
}

fn read(path: &Path) -> Value {
    serde_json::from_slice(&std::fs::read(path).unwrap()).unwrap()
}

/// A known figure: three parts of one green beside a ladder of greys, with its case.
fn known_figure(folder: &Path, name: &str, green: f64) -> PathBuf {
    let mut picture = image::RgbImage::from_pixel(1000, 700, image::Rgb(to_srgb8(Lab::new(62.0, 3.0, 9.0))));
    let mut paint = |x: u32, y: u32, lab: Lab| {
        for (px, py) in (y..y + 120).flat_map(|py| (x..x + 120).map(move |px| (px, py))) {
            let noise = f64::from((px * 7 + py * 13) % 5) * 0.2 - 0.4;
            picture.put_pixel(px, py, image::Rgb(to_srgb8(Lab::new(lab.l + noise, lab.a, lab.b))));
        }
    };
    let circle = |x: u32, y: u32| json!({"circle": {"centre": [x + 60, y + 60], "radius": 40.0}});
    let (mut zones, mut readings) = (Vec::new(), Vec::new());
    for (number, l) in (0..).zip([90.0, 75.0, 60.0, 50.0, 35.0, 20.0]) {
        let x = 40 + 150 * number;
        paint(x, 80, Lab::new(l, 0.0, 0.0));
        zones.push(json!({"id": format!("step {}", number + 1), "shape": circle(x, 80),
            "known": {"lab": [l, 0.0, 0.0], "sd": [0.5, 0.3, 0.3]}}));
    }
    for (number, part) in (0..).zip(["torso", "arm", "leg"]) {
        let x = 100 + 250 * number;
        paint(x, 400, Lab::new(green + 0.3 * f64::from(number), -15.0, 9.0));
        readings.push(json!({"id": part, "surface": "flat", "shape": circle(x, 400)}));
    }
    picture.save(folder.join(format!("{name}.png"))).unwrap();
    let path = folder.join(format!("{name}.case.json"));
    let case =
        json!({"sameshot_case": 1, "photo": format!("{name}.png"), "zones": zones, "readings": readings});
    std::fs::write(&path, case.to_string()).unwrap();
    path
}

/// Writes a report and looks whether it names what it is of.
fn report(walk: &mut Walk, path: &Path, names: &[&str]) {
    walk.answer(REPORT, "Path of the report", path);
    walk.wait_for("The report is in");
    walk.click("Understood");
    let text = std::fs::read_to_string(path).unwrap();
    for name in names {
        assert!(text.contains(name), "{name} in {}", path.display());
    }
}

#[test]
fn a_whole_evening() {
    let home = tempfile::tempdir().unwrap();
    let at = |name: &str| home.path().join(name);
    for name in ["exchanged.case.json", "exchanged.jpg", "listing.case.json", "listing.jpg", "tray.jpg"] {
        std::fs::copy(demo(name), at(name)).unwrap();
    }
    for name in ["skerry-rescue.guide.json", "skerry-sea-green.shades.json"] {
        std::fs::copy(demo(name), at(name)).unwrap();
    }
    let mut walk = Walk::start(Start { path: None, data_folder: Some(at("data")) }, TALL);

    // A new collection.
    walk.press(Key::F12);
    assert!(walk.shows("No collection yet"));
    walk.answer(FOLDER, "Path of the folder with your records", &at("figures"));
    walk.wait_for("does not exist yet");

    // References from three known figures, which the next photo is compared with.
    for (number, (name, green)) in (0..).zip([("light", 56.0), ("medium", 50.0), ("dark", 44.0)]) {
        walk.open_by_path(&known_figure(home.path(), name, green));
        walk.wait_for(&format!("Photo {name}.png"));
        if number > 0 {
            walk.drop_file(&at("mine.shades.json"));
        }
        walk.press(Key::F8);
        walk.wait_for("Shade of torso");
        for part in ["torso", "arm", "leg"] {
            walk.fill(&format!("Shade of {part}"), &format!("green/{name}"));
            walk.fill(&format!("Specimen of {part}"), &format!("{name} {part}"));
        }
        walk.click("Add to the shades");
        walk.wait_for(&format!("green/{name}: L* "));
        walk.fill("Path of the shades file to write", &at("mine").display().to_string());
        walk.click("Save the shades");
        walk.wait("the shades are saved", |walk| !walk.shows("are not saved yet"));
        walk.press_with(Modifiers::COMMAND, Key::S);
        walk.wait_for("Saved.");
    }
    let shades = read(&at("mine.shades.json"))["shades"].clone();
    let counts = shades.as_array().unwrap().iter().map(|s| s["specimens"].as_array().unwrap().len());
    assert_eq!(counts.collect::<Vec<_>>(), [3, 3, 3]);

    // A doubtful figure, weighed with the guide.
    walk.open_by_path(&at("exchanged.case.json"));
    walk.wait_for("left arm: part, ");
    walk.press(Key::F4);
    walk.wait_for("1. Radio Hand, second run");
    walk.wait_for("left arm: does not belong");
    report(&mut walk, &at("figure.html"), &["Radio Hand", "left arm: does not belong"]);
    walk.press_with(ADD.0, ADD.1);
    walk.fill("Name", "The one from the fair");
    walk.click("Add it");
    walk.wait_for("1 of 1 records");
    report(&mut walk, &at("figures.html"), &["The one from the fair"]);

    // A tray.
    walk.open_by_path(&at("tray.jpg"));
    walk.wait_for("Photo tray.jpg");
    walk.drop_file(&at("skerry-sea-green.shades.json"));
    walk.press(Key::F3);
    walk.click("Find the parts");
    walk.wait_for("May be left and right");
    walk.wait("the sorting", |walk| !walk.shows("Sorting…"));
    report(&mut walk, &at("tray.html"), &["tray.jpg", "medium sea green"]);
    walk.press_with(Modifiers::COMMAND, Key::S);
    walk.wait_for("Saved.");
    assert!(read(&at("tray.case.json"))["tray"].is_object());

    // A listing.
    walk.open_by_path(&at("listing.case.json"));
    walk.wait_for("Photo listing.jpg");
    walk.press(Key::F7);
    walk.wait_for("Copy the text for the seller");
    report(&mut walk, &at("listing.html"), &["listing.jpg"]);
}

#[test]
fn all_that_can_be_used_is_reached_by_tab_in_every_room() {
    let home = tempfile::tempdir().unwrap();
    let mut walk = Walk::start(Start { path: None, data_folder: Some(home.path().join("data")) }, USUAL);
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

//! The page of the collection and the reports by accessible names: the case at hand becomes a record, is found, changed
//! and opened again, with the mouse and with keys alone.

use std::path::Path;

use egui::{Key, Modifiers, pos2, vec2};
use egui_kittest::kittest::Queryable;
use sameshot::app::Start;
use serde_json::{Value, json};

use crate::demo::demo;
use crate::walker::{USUAL, Walk};

fn record(folder: &Path, name: &str) -> Value {
    serde_json::from_slice(&std::fs::read(folder.join(name)).unwrap()).unwrap()
}

const ADD: (Modifiers, Key) = (Modifiers::COMMAND, Key::D);
const FOLDER: (Modifiers, Key) = (Modifiers::COMMAND.plus(Modifiers::SHIFT), Key::O);
const REPORT: (Modifiers, Key) = (Modifiers::COMMAND, Key::P);

#[test]
fn the_case_at_hand_becomes_a_record_is_changed_and_opened_again() {
    let home = tempfile::tempdir().unwrap();
    let folder = home.path().join("figures");
    let start = Start {
        path: Some(demo("exchanged.case.json")),
        data_folder: Some(home.path().join("data")),
        ..Start::default()
    };
    let mut walk = Walk::start(start, USUAL);
    walk.wait_for("left arm: part, ");
    walk.press(Key::F4);
    walk.wait_for("1. Radio Hand, second run");
    walk.answer(ADD, "Path of the folder with your records", &folder);
    walk.wait_for("is not there yet");
    assert!(!folder.exists(), "looking makes no folder");
    assert!(walk.shows("A new collection") && walk.shows("adds the figure of the open photo"));
    assert!(!walk.shows("No collection open."));
    walk.fill("Name", "The one from the fair");
    walk.fill("Price", "12.50 EUR");
    walk.click("Add it");
    walk.wait_for("1 of 1 record");
    let written = record(&folder, "the-one-from-the-fair.record.json");
    assert_eq!(written["bought"]["price"], "12.50 EUR");
    assert_eq!(written["findings"][0]["ranking"][0]["character"], "Radio Hand");
    assert!(folder.join("photos/the-one-from-the-fair.jpg").is_file());

    walk.press_by_keys("Record The one from the fair: ");
    walk.wait_for("What was found");
    walk.fill("Notes", "snaps at the wrist");
    walk.click("Save the record");
    walk.wait("the notes are saved", |_| {
        record(&folder, "the-one-from-the-fair.record.json")["notes"] == "snaps at the wrist"
    });
    assert_eq!(record(&folder, "the-one-from-the-fair.record.json")["findings"], written["findings"]);
    walk.wait_for("Saved The one from the fair: notes changed.");
    walk.press_by_keys("Undo");
    walk.wait("the record is as it was", |_| record(&folder, "the-one-from-the-fair.record.json") == written);
    assert!(!walk.shows("notes changed"));
    walk.fill("Find", "wrist");
    walk.wait_for("0 of 1 record");
    walk.fill("Find", "");

    walk.click_like("Record The one from the fair: ");
    walk.fill("Notes", "snaps at the wrist");
    walk.click("Close the record");
    assert!(walk.shows("What was typed of The one from the fair is not saved."));
    assert_eq!(record(&folder, "the-one-from-the-fair.record.json"), written);
    walk.click("Undo");
    walk.click("Save the record");
    walk.wait_for("Saved The one from the fair: notes changed.");
    walk.press(Key::Escape);
    walk.press(Key::F12);
    walk.wait_for("1 of 1 record");
    assert!(!walk.shows("notes changed"), "only until the page is closed");

    walk.fill("Find", "wrist");
    // The folder is read anew after the change.
    walk.wait_for("1 of 1 record");
    walk.fill("Find", "no such word");
    assert!(walk.shows("0 of 1 record") && walk.shows("No record agrees"));
    walk.fill("Find", "");
    walk.click("Table");
    walk.click("How sure");
    assert!(walk.shows("Record The one from the fair"));
    walk.click("Totals");
    assert!(walk.shows("Skerry Rescue") && walk.shows("Keeper, first run: wanted"));
    walk.click("Gallery");

    walk.click_like("Record The one from the fair");
    walk.click("Open its photo");
    walk.wait_for("Photo the-one-from-the-fair.jpg");
    assert!(!walk.shows("Parts missing"));
    drop(walk);

    // The folder is remembered.
    let start = Start { path: None, data_folder: Some(home.path().join("data")), ..Start::default() };
    let mut walk = Walk::start(start, USUAL);
    walk.wait_for("Opened last");
    walk.press(Key::F12);
    walk.wait_for("1 of 1 record");
    walk.press(Key::Escape);
    assert!(!walk.shows("1 of 1 record"));
}

#[test]
fn the_page_fits_a_small_window_and_keys_of_the_photo_do_nothing_behind_it() {
    let home = tempfile::tempdir().unwrap();
    for number in 0..300 {
        let record = json!({"sameshot_record": 1, "name": format!("figure {number:03}")});
        std::fs::write(home.path().join(format!("{number:03}.record.json")), record.to_string()).unwrap();
    }
    std::fs::write(home.path().join("broken.record.json"), "{").unwrap();
    let photo = home.path().join("a.png");
    image::RgbImage::from_pixel(400, 300, image::Rgb([120, 120, 120])).save(&photo).unwrap();
    let mut walk = Walk::open(Some(photo), [1024.0, 640.0]);
    walk.wait_for("Photo a.png");
    walk.press(Key::F12);
    walk.wait_for("No collection yet");
    walk.answer(FOLDER, "Path of the folder", home.path());
    walk.wait_for("300 of 300 records");
    assert!(walk.shows("broken.record.json"), "what is broken is named");
    walk.press(Key::N);
    walk.press(Key::Delete);
    walk.press_by_keys("Record figure 000");
    for label in
        ["Find", "Doubtful", "Gallery", "Totals", "Save the record", "Close the record", "Back to the photo"]
    {
        let rect = walk.harness.query_all_by_label(label).next().unwrap().rect();
        let window = egui::Rect::from_min_size(pos2(0.0, 0.0), vec2(1024.0, 640.0));
        assert!(window.contains_rect(rect), "{label} is cut: {rect:?}");
    }
    // Only what is in sight is laid out, yet keys lead on to what is not.
    let laid_out = walk.labels().iter().filter(|label| label.starts_with("Record figure")).count();
    assert!(laid_out < 40, "{laid_out}");
    walk.click("Table");
    walk.go_by_keys("Record figure 000");
    for _ in 0..40 {
        walk.press(Key::ArrowDown);
    }
    assert!(walk.labels().iter().any(|label| label.starts_with("Record figure 040")), "{:?}", walk.labels());
    walk.click("Back to the photo");
    assert!(walk.shows("0 known colours, 0 parts"), "no mark was made behind the page");
}

#[test]
fn what_cannot_be_written_is_told_and_stays_in_the_form() {
    let home = tempfile::tempdir().unwrap();
    let file = home.path().join("no folder");
    std::fs::write(&file, "a file").unwrap();
    let mut walk = Walk::open(Some(demo("exchanged.case.json")), USUAL);
    walk.wait_for("left arm: part, ");
    walk.answer(ADD, "Path of the folder with your records", &file.join("figures"));
    walk.wait_for("is not there yet");
    walk.fill("Name", "kept in the form");
    walk.click("Add it");
    walk.wait_for("cannot be made: a part of its path is a file");
    walk.click("Close");
    // Another place, and all that was typed is still there.
    walk.answer(FOLDER, "Path of the folder with your records", &home.path().join("figures"));
    walk.wait_for("is not there yet");
    walk.click("Add it");
    walk.wait_for("1 of 1 record");
    assert!(home.path().join("figures/kept-in-the-form.record.json").is_file());
}

#[test]
fn reports_of_the_case_and_of_the_collection_are_written_from_the_window() {
    let home = tempfile::tempdir().unwrap();
    let mut walk = Walk::open(Some(demo("exchanged.case.json")), USUAL);
    walk.wait_for("left arm: part, ");
    walk.press(Key::F4);
    walk.wait_for("1. Radio Hand, second run");
    for (ending, start) in [("pdf", "%PDF-"), ("html", "<!DOCTYPE html>"), ("csv", "case,photo"), ("txt", "")]
    {
        let path = home.path().join(format!("report.{ending}"));
        walk.answer(REPORT, "Path of the report", &path);
        walk.wait_for("The report is in");
        walk.click("Close");
        let bytes = std::fs::read(&path).unwrap();
        assert!(bytes.starts_with(start.as_bytes()), "{ending}");
        if ending == "html" {
            let text = String::from_utf8(bytes).unwrap();
            let today = sameshot::storage::today();
            for wanted in
                ["The figure seen from the front", &format!("Made on {today}"), "left arm: does not belong"]
            {
                assert!(text.contains(wanted), "{wanted}");
            }
        }
    }
    walk.answer(REPORT, "Path of the report", &home.path().join("report.doc"));
    // The sheet stays, with what is wrong in it and what was typed.
    walk.wait_for("the ending does not say");
    assert!(walk.text_in("Path of the report").ends_with("report.doc"));
    walk.answer(REPORT, "Path of the report", &home.path().join("report.txt"));
    walk.wait_for("There is a file already");
    walk.click("Cancel");
}

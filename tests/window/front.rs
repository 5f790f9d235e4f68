//! What stands in front decides which commands can be used, in the menu as by keys; and what was chosen for the window
//! itself is kept between two starts.

use std::path::{Path, PathBuf};

use egui::{Color32, Key, Modifiers};
use egui_kittest::kittest::{NodeT, Queryable};
use sameshot::app::Start;

use crate::walker::{USUAL, Walk};

const CTRL_SHIFT: Modifiers = Modifiers::COMMAND.plus(Modifiers::SHIFT);

fn grey_photo(folder: &Path) -> PathBuf {
    let path = folder.join("a.png");
    image::RgbImage::from_pixel(400, 300, image::Rgb([120, 120, 120])).save(&path).unwrap();
    path
}

/// Those of a menu's commands that can be used, of the ones asked about.
fn usable(walk: &mut Walk, menu: &str, of: &[&str]) -> Vec<String> {
    walk.click("Menu");
    walk.click(menu);
    let nodes = walk.harness.query_all_by_label_contains("").map(|node| node.accesskit_node());
    let can: Vec<_> = nodes.filter(|node| !node.is_disabled()).filter_map(|node| node.label()).collect();
    let with_keys = |label: &str, text: &str| {
        label.strip_prefix(text).is_some_and(|keys| keys.starts_with(' ') && keys.len() < 14)
    };
    let found = of.iter().filter(|text| can.iter().any(|label| with_keys(label, text)));
    let found = found.map(|text| (*text).to_owned()).collect();
    // Escape shuts the menu, and goes to what lies below it only once it is shut.
    while egui::Popup::is_any_open(&walk.harness.ctx) {
        walk.press(Key::Escape);
    }
    found
}

#[test]
fn commands_of_the_photo_are_out_of_reach_behind_what_stands_in_front() {
    let home = tempfile::tempdir().unwrap();
    let mut walk = Walk::open(None, USUAL);
    let marks = ["Undo", "New mark", "Circle", "Grow", "Delete mark"];
    let views = ["Larger", "Parts", "Magnifier", "Keys…"];
    assert_eq!(usable(&mut walk, "Marks", &marks), Vec::<String>::new());
    assert_eq!(usable(&mut walk, "Card and tray", &["Find the card", "Card values…"]), ["Card values…"]);
    assert_eq!(usable(&mut walk, "View", &views), ["Keys…"]);
    walk.open_by_path(&grey_photo(home.path()));
    walk.wait_for("Photo a.png");
    assert_eq!(usable(&mut walk, "Marks", &marks), marks[1..]);
    walk.press(Key::N);
    walk.wait_for("0 known colours, 1 part.");
    assert_eq!(usable(&mut walk, "Marks", &marks), marks);
    assert_eq!(usable(&mut walk, "View", &views), views);

    walk.press(Key::F12);
    walk.wait_for("No collection yet");
    assert_eq!(usable(&mut walk, "Marks", &marks), Vec::<String>::new());
    assert_eq!(usable(&mut walk, "View", &views), ["Parts", "Keys…"]);
    for key in [Key::N, Key::Delete, Key::M, Key::L, Key::Plus] {
        walk.press(key);
    }
    walk.press_with(Modifiers::COMMAND, Key::Z);
    walk.press(Key::F5);
    walk.wait_for("0 known colours, 1 part.");
    assert!(walk.shows("Photo a.png") && !walk.shows("Magnifier:") && walk.shows("part 1: part"));

    walk.press_with(CTRL_SHIFT, Key::G);
    walk.wait_for("Guide of a line without a name");
    assert_eq!(usable(&mut walk, "Marks", &marks), Vec::<String>::new());
    assert_eq!(usable(&mut walk, "File", &["Save", "Report…", "Open…", "Shades…"]), ["Save", "Open…"]);
    walk.fill("Name of the line", "Skerry");
    assert_eq!(usable(&mut walk, "Marks", &marks), ["Undo"], "the guide has a past of its own");
    walk.press(Key::F12);
    walk.wait_for("No collection yet");
    walk.press(Key::Escape);
    walk.wait_for("Photo a.png");
    walk.press_with(CTRL_SHIFT, Key::G);
    walk.wait_for("Guide of Skerry");
    walk.press(Key::F4);
    walk.wait_for("No guide yet");
}

fn ground(walk: &Walk) -> Color32 {
    walk.harness.ctx.global_style().visuals.panel_fill
}

#[test]
fn the_theme_is_kept_and_broken_settings_are_told() {
    let home = tempfile::tempdir().unwrap();
    let config = home.path().join("config");
    let file = config.join("settings.json");
    let start = || Start { config_folder: Some(config.clone()), ..Start::default() };
    let mut grounds = Vec::new();
    for _ in 0..3 {
        let mut walk = Walk::start(start(), USUAL);
        walk.settle();
        assert_eq!(grounds.last().copied().unwrap_or(ground(&walk)), ground(&walk), "as it was left");
        walk.press(Key::F9);
        grounds.push(ground(&walk));
        walk.press_with(Modifiers::COMMAND, Key::Q);
        assert!(walk.window().has_quit() && file.exists());
    }
    assert!(grounds[0] != grounds[1] && grounds[1] != grounds[2] && grounds[2] != grounds[0], "{grounds:?}");

    std::fs::write(&file, "{").unwrap();
    let photo = Some(grey_photo(home.path()));
    let mut walk = Walk::start(Start { path: photo, ..start() }, USUAL);
    walk.wait_for("The settings in ");
    walk.wait_for("Photo a.png");
    assert!(walk.shows("was set aside as") && config.join("settings.broken-1.json").exists());
    walk.click("Close");
    walk.press(Key::F9);
    walk.wait("the settings are written", |_| file.exists());
    // A place where nothing can be written is told, and the window works on.
    let start = Start { config_folder: Some(file), ..Start::default() };
    let mut walk = Walk::start(start, USUAL);
    walk.press(Key::F9);
    walk.wait_for("could not be saved");
}

#[test]
fn the_first_page_says_what_the_demo_shows_and_writes_a_card_to_print() {
    let home = tempfile::tempdir().unwrap();
    let mut walk = Walk::open(None, [1024.0, 640.0]);
    walk.settle();
    assert!(walk.shows("forty loose limbs to be sorted"));
    let file = home.path().join("card.pdf");
    let written = |walk: &mut Walk, told: &str, away: &str| {
        walk.click("Grey card to print…");
        walk.click("Letter");
        walk.click("With boxes for parts of certain shade");
        walk.fill("Path of the PDF to write", home.path().join("card").to_str().unwrap());
        // As its button does.
        walk.press(Key::Enter);
        walk.wait_for(told);
        walk.click(away);
        assert!(!walk.shows(told));
        std::fs::read(&file).unwrap()
    };
    let card = written(&mut walk, "Print it at 100 % and check the ruler.", "Close");
    let letter = sameshot::card::page::Paper::Letter;
    let wanted = sameshot::card::page::card_pdf(letter, sameshot::card::Variant::WithStrip).unwrap();
    assert!(card.starts_with(b"%PDF-") && card.len() == wanted.len(), "the page that was asked for");
    std::fs::write(&file, "mine").unwrap();
    // What went wrong stands in the sheet, and goes with it.
    assert_eq!(written(&mut walk, "is there already; nothing was written.", "Cancel"), b"mine");
}

#[test]
fn a_path_that_is_not_there_stays_to_be_mended() {
    let home = tempfile::tempdir().unwrap();
    let photo = grey_photo(home.path());
    let mut walk = Walk::open(None, USUAL);
    walk.open_by_path(&photo.with_extension("pn"));
    walk.wait_for("a.pn does not exist.");
    walk.type_text("g");
    walk.press(Key::Enter);
    walk.wait_for("Photo a.png");
}

#[test]
fn the_field_that_takes_the_keys_has_a_ring_in_every_theme() {
    let mut walk = Walk::open(None, USUAL);
    let rings = |walk: &Walk| {
        let text = walk.harness.ctx.global_style().visuals.text_color();
        let is_ring = |shape: &egui::Shape| match shape {
            egui::Shape::Rect(rect) => {
                rect.stroke.width >= 2.0 && rect.stroke.color == text && rect.fill.a() == 0
            }
            _ => false,
        };
        walk.harness.output().shapes.iter().filter(|clipped| is_ring(&clipped.shape)).count()
    };
    for _ in 0..3 {
        walk.press_with(Modifiers::COMMAND, Key::L);
        walk.settle();
        assert_eq!(rings(&walk), 1, "the field for the path is typed in");
        walk.press(Key::Escape);
        walk.settle();
        assert_eq!(rings(&walk), 0);
        walk.press(Key::Tab);
        walk.settle();
        assert_eq!(rings(&walk), 1, "a button has the focus");
        walk.press(Key::Escape);
        walk.press(Key::F9);
    }
}

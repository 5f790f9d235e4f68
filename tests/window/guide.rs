//! A guide written in the window by accessible names: from nothing, with its faults told at their place, saved, and a
//! figure weighed with it; one that stands in a file changed by keys alone in a small window.

use std::path::{Path, PathBuf};

use egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable;
use sameshot::app::Start;
use sameshot::case::{self, PathRule};
use sameshot::guide::{Choice, FeatureKind, Guide, lint, parse_guide, read_guide};
use sameshot::storage::recoverable;

use crate::demo::demo;
use crate::walker::Walk;

/// Tall enough that nothing is scrolled away.
const TALL: [f32; 2] = [1280.0, 2400.0];
/// The smallest window that everything must work in.
const SMALL: [f32; 2] = [1024.0, 640.0];

const CTRL_SHIFT: Modifiers = Modifiers { shift: true, ..Modifiers::COMMAND };

fn case_in(folder: &Path, guide: Option<&str>) -> PathBuf {
    image::RgbImage::from_pixel(40, 30, image::Rgb([120, 120, 120])).save(folder.join("a.png")).unwrap();
    let path = folder.join("a.case.json");
    let mut case = serde_json::json!({"sameshot_case": 1, "photo": "a.png"});
    if let Some(guide) = guide {
        case["guide"] = guide.into();
    }
    std::fs::write(&path, case.to_string()).unwrap();
    path
}

fn saved(path: &Path) -> Guide {
    read_guide(&std::fs::read_to_string(path).unwrap()).unwrap_or_else(|problems| panic!("{problems:#?}"))
}

/// Clicks once the guide was read over: what is remarked stands above what is clicked, and moves it.
fn click(walk: &mut Walk, label: &str) {
    steady(walk);
    walk.click(label);
}

fn steady(walk: &mut Walk) {
    walk.wait("the guide is read over", |walk| !walk.shows("Reading the guide over"));
}

/// New members of a list, the first with the button, the others with Enter.
fn add(walk: &mut Walk, page: &str, what: &str, names: &[&str]) {
    steady(walk);
    walk.click_like(page);
    for (number, name) in names.iter().enumerate() {
        walk.fill(&format!("New {what}"), name);
        if number == 0 {
            click(walk, &format!("Add the new {what}"));
        } else {
            walk.press(Key::Enter);
        }
        walk.wait_for(name);
    }
}

/// Opens a list of values and takes one.
fn choose(walk: &mut Walk, field: &str, value: &str) {
    steady(walk);
    walk.click_like(&format!("{field}, now "));
    walk.click(&format!("{field}: {value}"));
    walk.wait_for(&format!("{field}, now {value}"));
}

#[test]
fn a_guide_of_two_characters_is_written_from_nothing_and_a_figure_weighed_with_it() {
    let folder = tempfile::tempdir().unwrap();
    let case_path = case_in(folder.path(), None);
    let mut walk = Walk::open(Some(case_path.clone()), TALL);
    walk.wait_for("Photo a.png");
    walk.press_with(CTRL_SHIFT, Key::G);
    walk.wait_for("Guide of a line without a name");
    walk.wait_for("To mend before the guide can be used: 3");
    walk.fill("Name of the line", "Skerry Rescue, small");
    walk.wait_for("Guide of Skerry Rescue, small");

    add(&mut walk, "Runs", "run", &["only"]);
    add(&mut walk, "Slots", "slot", &["head", "torso"]);
    add(&mut walk, "Shades", "shade", &["green/light", "green/dark"]);
    walk.wait_for("No character has “green/dark” yet.");
    add(&mut walk, "Moulds", "mould", &["H1", "H2", "T1"]);
    click(&mut walk, "torso");
    walk.fill("How to know it", "A seam runs down the back.");
    for mould in ["H1", "H2"] {
        click(&mut walk, &format!("Mould {mould}"));
        click(&mut walk, "head");
    }
    add(&mut walk, "Features", "feature", &["badge"]);
    walk.wait_for("A feature with fewer than two values tells nothing.");
    click(&mut walk, "torso");
    for value in ["none", "red"] {
        walk.fill("New value", value);
        walk.press(Key::Enter);
    }
    choose(&mut walk, "Means bare", "none");
    walk.fill("Share worn off", "130 %");
    walk.wait_for("This is not a share of 0 to 1.");
    walk.fill("Share worn off", "much");
    walk.wait_for("“much” is no number.");
    walk.fill("Share worn off", "30 %");
    walk.wait("the fault is gone", |walk| !walk.shows("no number") && !walk.shows("not a share"));
    walk.fill("How to see it", "Look at the left breast.");

    add(&mut walk, "Characters", "character", &["Medic"]);
    click(&mut walk, "Made in only");
    choose(&mut walk, "mould of the head", "H1");
    choose(&mut walk, "shade of the head", "green/light");
    choose(&mut walk, "shade of the torso", "green/light");
    choose(&mut walk, "badge of the torso", "several, by how common");
    walk.fill("How common red is as badge of the torso", "3");
    add(&mut walk, "Characters", "character", &["Diver"]);
    click(&mut walk, "Made in only");
    walk.wait_for("Nothing is said of “shade” and “badge”");
    steady(&mut walk);
    walk.click_like("Same parts as, now ");
    walk.click("Same parts as: Medic, only");
    walk.wait_for("No observation can tell “Medic, only run” and “Diver, only run” apart.");
    choose(&mut walk, "mould of the head", "H2");
    choose(&mut walk, "shade of the head", "green/dark");
    choose(&mut walk, "shade of the torso", "green/dark");
    walk.wait_for("The guide can be used.");
    walk.wait_for("Remarks 0");

    // A name that is taken is refused at its field, and one renamed is renamed in the parts.
    steady(&mut walk);
    walk.click_like("Slots");
    walk.fill("Name", "torso");
    walk.wait_for("There is “torso” already.");
    walk.fill("Name", "hood");
    walk.wait_for("Slot hood");
    walk.press_with(Modifiers::COMMAND, Key::Z);
    walk.wait("the old name is back", |walk| walk.shows("Slot head") && !walk.shows("Slot hood"));
    walk.press_with(CTRL_SHIFT, Key::Z);
    walk.wait_for("Slot hood");

    walk.fill("File of the guide", &folder.path().join("small").display().to_string());
    click(&mut walk, "Save the guide");
    walk.wait_for("The case uses it.");
    let guide = saved(&folder.path().join("small.guide.json"));
    assert_eq!(lint(&guide), []);
    assert_eq!(guide.line, "Skerry Rescue, small");
    let badge = &guide.features[0];
    assert_eq!(
        (badge.kind, badge.bare.as_deref(), badge.wear),
        (FeatureKind::Paint, Some("none"), Some(0.3))
    );
    assert_eq!(guide.moulds[2].how.as_deref(), Some("A seam runs down the back."));
    let medic = &guide.characters[0].issues[0].parts;
    assert_eq!(medic["torso"]["mould"], Choice::One("T1".into()), "the only mould of torsos");
    assert_eq!(medic["torso"]["badge"], Choice::Mixed([("none".into(), 1.0), ("red".into(), 3.0)].into()));
    assert_eq!(guide.characters[1].issues[0].parts["hood"]["mould"], Choice::One("H2".into()));

    // The key of the figure leads to the figure, and the guide tells the two apart.
    walk.press(Key::F4);
    walk.wait_for("Undecided");
    walk.click_like("hood: not seen");
    walk.click_like("mould of the hood: H2");
    walk.wait_for("1. Diver");
    walk.click_like("mould of the hood: H1");
    walk.wait_for("1. Medic");

    // Choosing the guide was a step of its own.
    for _ in 0..3 {
        walk.press_with(Modifiers::COMMAND, Key::Z);
    }
    walk.wait_for("No guide yet");
    for _ in 0..3 {
        walk.press_with(CTRL_SHIFT, Key::Z);
    }
    walk.wait_for("1. Medic");
    walk.press_with(Modifiers::COMMAND, Key::S);
    let of_case = || case::parse(&std::fs::read(&case_path).unwrap(), PathRule::InsideFolder).unwrap();
    walk.wait("the case is saved", |_| of_case().guide.is_some());
    assert_eq!(of_case().guide.as_deref(), Some("small.guide.json"));
}

#[test]
fn a_guide_with_a_fault_is_mended_by_keys_alone_in_a_small_window() {
    let folder = tempfile::tempdir().unwrap();
    let written = demo("skerry-rescue.guide.json");
    let text = std::fs::read_to_string(written).unwrap().replacen("\"arm-right\"", "\"arm-wrong\"", 1);
    let mut value: serde_json::Value = serde_json::from_str(&text).unwrap();
    value["kept"] = "by a later version".into();
    let path = folder.path().join("mine.guide.json");
    std::fs::write(&path, value.to_string()).unwrap();
    let mut walk = Walk::open(Some(case_in(folder.path(), Some("mine.guide.json"))), SMALL);
    walk.wait_for("knows no");
    walk.press_by_keys("Close");
    walk.press_with(CTRL_SHIFT, Key::G);
    walk.wait_for("Guide of Skerry Rescue");
    walk.wait_for("To mend before the guide can be used");
    walk.press_by_keys("! To mend ");
    walk.wait_for("The guide cannot be used before this is mended");
    walk.press_by_keys("Go to ");
    walk.wait_for("The guide knows no");
    walk.go_by_keys("Other side, now");
    walk.press(Key::Enter);
    walk.press_by_keys("Other side: right arm");
    walk.wait_for("The guide can be used.");
    // What the keys go to comes into sight, however far down it stands.
    walk.press_by_keys("Characters 9");
    walk.wait_for("Character Radio Hand");
    let last = "sole stamp of the right leg, now";
    walk.go_by_keys(last);
    let rect = walk.harness.query_all_by_label_contains(last).next().unwrap().rect();
    assert!(rect.top() > 0.0 && rect.bottom() < SMALL[1] - 30.0, "{rect:?}");
    walk.press_with(Modifiers::COMMAND, Key::S);
    walk.wait_for("The case uses it.");
    let guide = saved(&path);
    assert_eq!(guide.rest["kept"], "by a later version");
    // What is not saved is asked about before leaving, and is still there after that.
    walk.press_by_keys("Line");
    walk.fill("Maker", "nobody");
    walk.press_with(Modifiers::COMMAND, Key::Q);
    walk.wait_for("The guide is not saved");
    walk.press_by_keys("Back to the guide");
    assert!(walk.shows("Name of the line") && !walk.window().has_quit());
    walk.press_with(Modifiers::COMMAND, Key::Z);
    walk.press_with(CTRL_SHIFT, Key::G);
    walk.wait_for("Photo a.png");
    walk.press(Key::F4);
    walk.wait_for("head: not seen");
    walk.press_with(Modifiers::COMMAND, Key::Q);
    assert!(walk.window().has_quit());
}

#[test]
fn a_guide_that_was_never_saved_outlives_a_crash() {
    let home = tempfile::tempdir().unwrap();
    let data = home.path().join("data");
    let start = || Start { path: None, data_folder: Some(data.clone()), ..Start::default() };
    let mut walk = Walk::start(start(), TALL);
    walk.wait_for("New guide…");
    walk.click("New guide…");
    walk.fill("Name of the line", "Skerry Rescue, small");
    add(&mut walk, "Runs", "run", &["only"]);
    let copies = data.join("autosave");
    walk.wait("the copy", |_| {
        let files = std::fs::read_dir(&copies).into_iter().flatten().flatten();
        files
            .map(|file| std::fs::read_to_string(file.path()).unwrap_or_default())
            .any(|text| text.contains("only"))
    });
    // Dropping the window without closing it is what a crash does; its thread lets go of the copy a moment later.
    drop(walk);
    while recoverable(&data).is_empty() {
        std::thread::sleep(std::time::Duration::from_millis(5));
    }

    let mut walk = Walk::start(start(), TALL);
    walk.wait_for("There is unsaved work");
    walk.click("Go on with the guide to Skerry Rescue, small");
    walk.wait_for("Guide of Skerry Rescue, small");
    walk.fill("File of the guide", &home.path().join("small.guide.json").display().to_string());
    walk.press_with(Modifiers::COMMAND, Key::S);
    let path = home.path().join("small.guide.json");
    walk.wait("the guide is saved", |_| path.exists());
    let text = std::fs::read_to_string(&path).unwrap();
    assert_eq!(parse_guide(&text).unwrap().runs[0].id, "only");
    walk.wait("the copy is gone", |_| {
        std::fs::read_dir(&copies).unwrap().flatten().all(|f| f.path().extension().unwrap() == "lock")
    });
}

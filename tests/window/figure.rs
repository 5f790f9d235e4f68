//! The panel of the figure by accessible names: what is stated in a slot changes who the figure is, with a photo and
//! without readings, with the mouse and with keys alone.

use std::path::Path;

use egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable;
use sameshot::case::{self, CaseDocument, PathRule};

use crate::demo::demo;
use crate::walker::Walk;

/// Tall enough that nothing is scrolled away.
const TALL: [f32; 2] = [1280.0, 2400.0];

/// "1. Radio Hand, second run: 88 %" and those after it.
fn ranking(walk: &Walk) -> Vec<String> {
    let found = walk.labels().into_iter().filter(|label| label.contains(" run: "));
    found.filter(|label| label.starts_with(|first: char| first.is_ascii_digit())).collect()
}

#[test]
fn the_exchanged_arm_is_told_and_a_mould_stated_changes_the_ranking_until_it_is_taken_back() {
    let mut walk = Walk::open(Some(demo("exchanged.case.json")), TALL);
    walk.wait_for("Photo exchanged.jpg");
    walk.press(Key::F4);
    walk.wait_for("1. Radio Hand, second run");
    walk.wait_for("left arm: does not belong");
    for label in [
        "if not: Winchman",
        "Sign, Left arm: unlike the torso",
        "Innocent if: one of the two lay in the light",
        "Next look",
        "do not force a joint",
        "no authentication and no appraisal",
    ] {
        assert!(walk.shows(label), "{label}");
    }
    let before = ranking(&walk);
    println!("before: {before:?}");
    assert!(!before.is_empty());

    // The badge alone would settle it: the mould shows only once it cannot be seen.
    walk.click_like("torso: belongs");
    walk.click_like("badge of the torso: can’t see");
    walk.wait_for("badge: can't see");
    walk.click_like("head: belongs");
    walk.click_like("mould of the head: diving hood");
    walk.wait("another ranking", |walk| !ranking(walk).is_empty() && ranking(walk) != before);
    println!("with a diving hood: {:?}", ranking(&walk));
    assert!(walk.shows("Known: diving hood"), "the figure shows what was stated");
    walk.click_like("mould of the head: unsure");
    walk.wait_for("Known: diving hood?");
    for _ in 0..3 {
        walk.press_with(Modifiers::COMMAND, Key::Z);
    }
    walk.wait("the ranking from before", |walk| ranking(walk) == before);
    assert!(walk.shows("Known: knitted cap"));
}

#[test]
fn a_key_on_the_table_needs_no_reading_and_no_mouse() {
    let folder = tempfile::tempdir().unwrap();
    image::RgbImage::from_pixel(40, 30, image::Rgb([120, 120, 120]))
        .save(folder.path().join("a.png"))
        .unwrap();
    std::fs::copy(demo("skerry-rescue.guide.json"), folder.path().join("mine.guide.json")).unwrap();
    let path = folder.path().join("a.case.json");
    let case = serde_json::json!({"sameshot_case": 1, "photo": "a.png", "guide": "mine.guide.json"});
    std::fs::write(&path, case.to_string()).unwrap();

    let mut walk = Walk::open(Some(path.clone()), TALL);
    walk.wait_for("Photo a.png");
    walk.press(Key::F4);
    walk.wait_for("Undecided");
    assert!(walk.shows("back pack: not seen"));
    walk.press_by_keys("back pack: not seen");
    walk.press_by_keys("mould of the back pack: air bottle");
    // In the guide the air bottle is the Diver's alone, in both runs alike.
    walk.wait_for("1. Diver");
    walk.press_by_keys("state of the back pack: loose joint");
    walk.wait_for("loose joint. Do not force the joint");
    walk.press_by_keys("part of the back pack: missing");
    walk.wait_for("back pack: missing");
    walk.wait("no Diver first", |walk| !walk.shows("1. Diver"));
    walk.press_with(Modifiers::COMMAND, Key::Z);
    walk.wait_for("1. Diver");
    walk.press_with(Modifiers::COMMAND, Key::S);
    walk.wait("the case is saved", |_| !saved(&path).observations.is_empty());
    let kept = saved(&path);
    assert_eq!(kept.guide.as_deref(), Some("mine.guide.json"));
    let said: Vec<_> = kept.observations.iter().map(|o| (&*o.slot, &*o.feature, &*o.value, o.sure)).collect();
    assert_eq!(said, [("pack", "mould", "P1", true), ("pack", "condition", "loose joint", true)]);
}

#[test]
fn the_pictures_of_a_guide_stand_beside_what_they_tell_apart() {
    let home = tempfile::tempdir().unwrap();
    let folder = home.path().join("line");
    std::fs::create_dir(&folder).unwrap();
    let grey = image::RgbImage::from_pixel(40, 30, image::Rgb([120, 120, 120]));
    for picture in ["line/a.png", "line/air.png", "outside.png"] {
        grey.save(home.path().join(picture)).unwrap();
    }
    let text = std::fs::read_to_string(demo("skerry-rescue.guide.json")).unwrap();
    let mut guide: serde_json::Value = serde_json::from_str(&text).unwrap();
    for mould in guide["moulds"].as_array_mut().unwrap() {
        match mould["id"].as_str() {
            Some("P1") => mould["picture"] = "air.png".into(),
            Some("P2") => mould["picture"] = "../outside.png".into(),
            _ => {}
        }
    }
    std::fs::write(folder.join("mine.guide.json"), guide.to_string()).unwrap();
    let path = folder.join("a.case.json");
    let case = serde_json::json!({"sameshot_case": 1, "photo": "a.png", "guide": "mine.guide.json"});
    std::fs::write(&path, case.to_string()).unwrap();

    let mut walk = Walk::open(Some(path), TALL);
    walk.wait_for("Photo a.png");
    walk.press(Key::F4);
    walk.wait_for("back pack: not seen");
    walk.press_by_keys("back pack: not seen");
    let images = |walk: &Walk| walk.harness.query_all_by_role(egui::accesskit::Role::Image).count();
    walk.wait("the one picture that lies beside the guide", |walk| images(walk) == 1);
    assert!(!walk.shows("No picture yet"));
}

fn saved(path: &Path) -> CaseDocument {
    case::parse(&std::fs::read(path).unwrap(), PathRule::InsideFolder).unwrap()
}

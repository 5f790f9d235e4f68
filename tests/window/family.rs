//! The panel of the shades by accessible names: parts of a photo become a reference set, and one is set aside.

use std::path::Path;

use egui::{Key, Modifiers};
use egui_kittest::kittest::{NodeT, Queryable};
use sameshot::shade::{References, parse_references};
use serde_json::json;

use crate::greens::case_in;
use crate::walker::Walk;

/// Tall enough that nothing is scrolled away.
const TALL: [f32; 2] = [1280.0, 2400.0];

fn saved(path: &Path) -> References {
    parse_references(&std::fs::read(path).unwrap()).unwrap()
}

#[test]
fn parts_of_a_photo_become_shades_and_one_is_set_aside() {
    let folder = tempfile::tempdir().unwrap();
    let mut walk = Walk::open(Some(case_in(folder.path())), TALL);
    walk.wait_for("part 4: part");
    walk.press(Key::F8);
    assert!(walk.shows("No shades yet"));
    walk.wait_for("Shade of part 1");
    for (part, shade) in [(1, "green/light"), (2, "green/light"), (3, "green/dark"), (4, "green/dark")] {
        walk.fill(&format!("Shade of part {part}"), shade);
    }
    walk.fill("Specimen of part 1", "torso A");
    let places = |walk: &Walk| {
        ["Shade of part 4", "Add to the shades", "Save the shades", "Tables of measured values"]
            .map(|name| walk.harness.get_by_label(name).rect())
    };
    let before = places(&walk);
    walk.click_when_usable("Add to the shades");
    assert_eq!(places(&walk), before, "nothing jumps");
    walk.wait_for("Picture of the family");
    assert_eq!(places(&walk), before, "nothing jumps when the picture comes");
    for label in [
        "Picture of the family, where the next part of each shade lies with 95 %. A green/light, 2 specimens",
        "A green/light: L* ",
        "2 specimens, which are few",
        "How often would they be confused?",
        "readings of half the error",
        "The shades are not saved yet.",
    ] {
        assert!(walk.shows(label), "{label}");
    }

    walk.click("Specimens");
    assert!(walk.shows("torso A: L* "), "the specimen with its values");
    walk.click("Set part 2 aside…");
    walk.fill("Why part 2 does not count", "paint on it");
    walk.click("Set it aside");
    walk.wait_for("one specimen, so its spread is a guess");
    assert!(walk.shows("set aside: paint on it"));

    walk.fill("Path of the shades file to write", &folder.path().join("mine").display().to_string());
    walk.click("Save the shades");
    let path = folder.path().join("mine.shades.json");
    walk.wait("the shades are saved", |walk| path.exists() && !walk.shows("are not saved yet"));
    let references = saved(&path);
    assert_eq!(references.family, "green");
    assert_eq!(references.shades.iter().map(|s| s.specimens.len()).collect::<Vec<_>>(), [2, 2]);
    let aside = references.shades[0].specimens[1].details();
    assert_eq!(aside.set_aside.as_deref(), Some("paint on it"));
    let torso = &references.shades[0].specimens[0];
    assert!((torso.lab[0] - 56.0).abs() < 3.0 * torso.sd[0], "{torso:?}");
    assert_eq!(torso.details().photos[0].photo, "bench.png");

    // The case is compared with them from now on, and one that is set aside can count again.
    walk.press(Key::F5);
    walk.wait_for("green/light: difference");
    walk.press(Key::F8);
    walk.wait_for("Family green");
    walk.click("Count part 2 again");
    walk.wait_for("2 specimens, which are few");
}

#[test]
fn shades_come_from_a_table_and_go_into_one() {
    let folder = tempfile::tempdir().unwrap();
    let file = |name: &str| folder.path().join(name);
    let table = "shade,id,L,a,b,sd_l,sd_a,sd_b\n\
                 green/light,A,56.0,-15.0,9.0,0.3,0.2,0.2\ngreen/light,B,56.6,-15.2,9.1,0.3,0.2,0.2\n\
                 green/dark,A,44.0,-15.0,9.0,0.3,0.2,0.2\ngreen/dark,B,44.5,-14.8,9.2,0.3,0.2,0.2\n";
    std::fs::write(file("lab.csv"), table).unwrap();
    let mut walk = Walk::open(Some(case_in(folder.path())), TALL);
    walk.wait_for("part 4: part");
    walk.press(Key::F8);
    walk.click("Tables of measured values");
    walk.wait_for("Path of the table");
    walk.fill("Path of the table", &file("nothing.csv").display().to_string());
    walk.click("Read the table");
    walk.wait_for("nothing.csv");
    walk.click("Close");
    walk.fill("Path of the table", &file("lab.csv").display().to_string());
    walk.click("Read the table");
    walk.wait_for("4 specimens added");
    walk.click("Close");
    walk.wait_for("A green/light: L* ");
    walk.fill("Path of the table", &file("out.txt").display().to_string());
    walk.click("Write the shades as a table");
    walk.wait_for("Written to ");
    let text = std::fs::read_to_string(file("out.txt")).unwrap();
    let read = sameshot::shade::table::import_table(&text, &Default::default()).unwrap().references;
    let labs = |references: &References| -> Vec<[f64; 3]> {
        references.shades.iter().flat_map(|s| s.specimens.iter().map(|s| s.lab)).collect()
    };
    assert_eq!(labs(&read), [[56.0, -15.0, 9.0], [56.6, -15.2, 9.1], [44.0, -15.0, 9.0], [44.5, -14.8, 9.2]]);
    walk.click("Close");
    walk.click("Write the shades as a table");
    walk.wait_for("is there already; nothing was written");
}

#[test]
fn a_card_file_gives_the_marked_steps_their_values() {
    let folder = tempfile::tempdir().unwrap();
    let path = case_in(folder.path());
    let mut walk = Walk::open(Some(path.clone()), TALL);
    walk.wait_for("part 4: part");
    let steps: Vec<_> = [88.0, 74.0, 59.0, 49.0, 34.0, 25.0, 22.0, 19.0]
        .map(|l| json!({"lab": [l, 0.4, 1.5], "sd": [0.4, 0.2, 0.3]}))
        .into();
    let card = json!({"sameshot_card": 1, "print": "inkjet, June", "steps": steps});
    let card_path = folder.path().join("mine.card.json");
    std::fs::write(&card_path, card.to_string()).unwrap();
    walk.press_with(Modifiers::COMMAND, Key::K);
    // The list is that of the case's own marks.
    assert!(walk.shows("Values of the card"));
    let field = "Card file (NAME.card.json), to read the values from or to keep them in";
    walk.fill(field, &folder.path().join("of-the-case").display().to_string());
    walk.click("Keep in the card file");
    walk.wait_for("there are 6 steps; the card has 8");
    walk.fill(field, &card_path.display().to_string());
    walk.click("Read the card file");
    walk.wait("the list", |walk| {
        let list = walk.harness.query_all_by_label_contains("").filter_map(|n| n.accesskit_node().value());
        list.into_iter().any(|text| text.contains("88") && text.contains("0.4"))
    });
    walk.click("Use these values");
    walk.press_with(Modifiers::COMMAND, Key::S);
    let zones = || -> serde_json::Value {
        serde_json::from_slice::<serde_json::Value>(&std::fs::read(&path).unwrap()).unwrap()["zones"].clone()
    };
    walk.wait("the case is saved", |_| zones()[0]["known"]["lab"][0] == json!(88.0));
    assert_eq!(zones()[5]["known"], json!({"lab": [25.0, 0.4, 1.5], "sd": [0.4, 0.2, 0.3]}));
    walk.press_with(Modifiers::COMMAND, Key::Z);
    walk.press_with(Modifiers::COMMAND, Key::S);
    walk.wait("taken back in one step", |_| zones()[0]["known"]["lab"][0] == json!(90.0));
}

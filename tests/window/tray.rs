//! Loose parts in the window by accessible names: card and parts found, piles, split, merge, drop and redraw by mouse and
//! by keys with undo, areas grown from a click, limbs matched, the shade map, and all of it kept by saving.

use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use egui::{Event, Key, Modifiers, PointerButton};
use egui_kittest::kittest::{NodeT, Queryable};
use sameshot::case::{self, CaseDocument, Known, PathRule};

use crate::demo::demo;
use crate::small_tray::small_tray;
use crate::walker::Walk;

/// Tall enough that nothing is scrolled away.
const TALL: [f32; 2] = [1280.0, 3600.0];
/// The least size that the window is made for.
const LEAST: [f32; 2] = [1024.0, 640.0];
/// The demo's tray made smaller, in pixels.
const SMALL: [f32; 2] = [1400.0, 1050.0];

/// A folder of its own with the demo's tray, made smaller, and a case that names its shades.
fn tray_folder() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    small_tray(SMALL[0] as u32).save(folder.path().join("tray.png")).unwrap();
    std::fs::copy(demo("skerry-sea-green.shades.json"), folder.path().join("green.shades.json")).unwrap();
    let path = folder.path().join("tray.case.json");
    let case = serde_json::json!({"sameshot_case": 1, "photo": "tray.png", "references": "green.shades.json", "box": "attic"});
    std::fs::write(&path, case.to_string()).unwrap();
    (folder, path)
}

fn saved(path: &Path) -> CaseDocument {
    case::parse(&std::fs::read(path).unwrap(), PathRule::InsideFolder).unwrap()
}

fn save(walk: &mut Walk, path: &Path, what: &str, so: impl Fn(&CaseDocument) -> bool) -> CaseDocument {
    let end = Instant::now() + Duration::from_secs(60);
    loop {
        walk.press_with(Modifiers::COMMAND, Key::S);
        // What is asked for may be under way on another thread still.
        for _ in 0..20 {
            if so(&saved(path)) {
                walk.settle();
                return saved(path);
            }
            std::thread::sleep(Duration::from_millis(5));
            walk.harness.step();
        }
        assert!(Instant::now() < end, "waited for {what} in vain; the window shows {:#?}", walk.labels());
    }
}

fn found(walk: &mut Walk) {
    walk.wait_for("Photo tray.png");
    walk.press_with(Modifiers::COMMAND, Key::F);
    walk.wait_for("May be left and right");
    walk.wait("the sorting", |walk| !walk.shows("Sorting…"));
}

fn numbers(case: &CaseDocument) -> Vec<u32> {
    case.loose_parts().iter().map(|part| part.number).collect()
}

/// Where a point of the small tray lies on the screen.
fn at(walk: &Walk, point: [f64; 2]) -> egui::Pos2 {
    walk.on_photo(SMALL, point.map(|v| v as f32))
}

fn click_at(walk: &mut Walk, pos: egui::Pos2) {
    let button = |pressed| Event::PointerButton {
        pos,
        button: PointerButton::Primary,
        pressed,
        modifiers: Modifiers::NONE,
    };
    walk.harness.event(Event::PointerMoved(pos));
    walk.harness.event(button(true));
    walk.harness.event(button(false));
    walk.settle();
}

#[test]
fn the_tray_is_found_sorted_changed_and_kept() {
    let (_folder, path) = tray_folder();
    let mut walk = Walk::open(Some(path.clone()), TALL);
    found(&mut walk);
    for label in [
        "The card is found by 4 of its 4",
        "Undecided: ",
        "Limbs and bodies",
        "× ",
        "Shade of the part in box 1",
    ] {
        assert!(walk.shows(label), "{label}");
    }
    let first = save(&mut walk, &path, "the parts in the file", |case| case.tray.is_some());
    let count = first.loose_parts().len();
    println!("{count} parts");
    assert!((36..=44).contains(&count), "{count} parts of forty");
    assert!(first.zones.len() >= 6 && first.zones.iter().all(|zone| zone.id.starts_with("step ")));
    assert_eq!(first.rest["box"], "attic");

    // A part in a box of the card becomes a known shade.
    choose(&mut walk, "Shade of the part in box 1", "light sea green");
    let boxed = save(&mut walk, &path, "a known part", |case| case.zones.len() > first.zones.len());
    let part = boxed.zones.iter().find(|zone| zone.id == "known part 1").unwrap();
    assert!(matches!(&part.known, Known::Shade { shade, .. } if shade.contains("light")), "{part:?}");

    walk.press_with(Modifiers::COMMAND, Key::Z);
    walk.click("In the order of the shades");
    let all = save(&mut walk, &path, "three known parts", |case| case.zones.len() == first.zones.len() + 3);
    println!("{} zones", all.zones.len());

    // The list keeps its place when a part is looked at.
    let listed = walk.labels().into_iter().find(|label| label.starts_with("Part ")).unwrap();
    let place = |walk: &Walk| walk.harness.query_all_by_label(&listed).next().unwrap().rect();
    let before = place(&walk);
    walk.click(&listed);
    assert!(walk.shows(&format!("{listed}: ")) && place(&walk) == before, "{listed} jumps");

    // By mouse: a line across a part splits it; the button merges the pieces again.
    let one = first.loose_parts().iter().find(|part| part.doubts.is_empty()).unwrap();
    let (low, high) = one.shape().bounds();
    let middle = [(low[0] + high[0]) / 2.0, (low[1] + high[1]) / 2.0];
    let tall = high[1] - low[1] > high[0] - low[0];
    let line = if tall {
        [[low[0] - 6.0, middle[1]], [high[0] + 6.0, middle[1]]]
    } else {
        [[middle[0], low[1] - 6.0], [middle[0], high[1] + 6.0]]
    };
    walk.click(&format!("Part {}", one.number));
    walk.press(Key::S);
    assert!(walk.shows("Drag a line right across the part"));
    let ends = line.map(|p| at(&walk, p));
    walk.drag(ends[0], ends[1]);
    let next = numbers(&first).into_iter().max().unwrap() + 1;
    let split = save(&mut walk, &path, "two pieces", |case| case.loose_parts().len() == count + 1);
    assert!(numbers(&split).contains(&next));
    walk.wait_for(&format!("Merge part {} with part {next}", one.number));
    walk.click(&format!("Merge part {} with part {next}", one.number));
    let merged = save(&mut walk, &path, "one part again", |case| case.loose_parts().len() == count);
    let area = |case: &CaseDocument| case.tray.as_ref().unwrap().part(one.number).unwrap().shape().area_px();
    assert!((area(&merged) / area(&first) - 1.0).abs() < 0.1, "{} {}", area(&merged), area(&first));

    // Undo and redo go through all of it.
    walk.press_with(Modifiers::COMMAND, Key::Z);
    save(&mut walk, &path, "two pieces by undo", |case| case.loose_parts().len() == count + 1);
    walk.press_with(Modifiers::COMMAND, Key::Z);
    save(&mut walk, &path, "one part by undo", |case| case.tray == first.tray);
    walk.press_with(Modifiers::COMMAND.plus(Modifiers::SHIFT), Key::Z);
    save(&mut walk, &path, "two pieces by redo", |case| case.loose_parts().len() == count + 1);
    walk.press_with(Modifiers::COMMAND, Key::Z);

    // Dropped by the button; drawn again by clicks.
    walk.click(&format!("Part {}", one.number));
    walk.click("Redraw");
    assert!(walk.shows("corners of the part's new outline"));
    let corners = [low, [high[0], low[1]], high, [low[0], high[1]]];
    for corner in corners {
        let pos = at(&walk, corner);
        click_at(&mut walk, pos);
    }
    walk.press(Key::Enter);
    let redrawn = save(&mut walk, &path, "the new outline", |case| {
        case.tray
            .as_ref()
            .is_some_and(|tray| tray.part(one.number).is_some_and(|part| part.outline.len() == 4))
    });
    let box_px = (high[0] - low[0]) * (high[1] - low[1]);
    assert!((area(&redrawn) / box_px - 1.0).abs() < 0.05, "{} {box_px}", area(&redrawn));
    walk.click("Drop");
    let dropped = save(&mut walk, &path, "a part less", |case| case.loose_parts().len() == count - 1);
    assert!(!numbers(&dropped).contains(&one.number));

    // Opened again nothing is lost.
    let mut again = Walk::open(Some(path.clone()), TALL);
    again.wait_for("Photo tray.png");
    again.press(Key::F3);
    again.wait_for("May be left and right");
    again.wait("the sorting", |walk| !walk.shows("Sorting…"));
    assert!(again.shows("The card is found by 4 of its 4"));
    again.press_with(Modifiers::COMMAND.plus(Modifiers::SHIFT), Key::S);
    assert_eq!(saved(&path), dropped);
}

#[test]
fn everything_is_done_by_keys_at_the_least_size() {
    let (_folder, path) = tray_folder();
    let mut walk = Walk::open(Some(path.clone()), LEAST);
    walk.wait_for("Photo tray.png");
    walk.press(Key::F3);
    walk.press_exactly("Find the parts");
    walk.wait_for("Undecided: ");
    let first = save(&mut walk, &path, "the parts in the file", |case| case.tray.is_some());
    let count = first.loose_parts().len();
    walk.press_exactly("Part 3");
    walk.wait_for("Part 3: ");
    walk.press_exactly("Drop");
    save(&mut walk, &path, "a part less", |case| case.loose_parts().len() == count - 1);
    walk.press_with(Modifiers::COMMAND, Key::Z);
    save(&mut walk, &path, "it is back", |case| case.loose_parts().len() == count);

    // A cut by the cross in the middle: N, the photo moved, N. It begins on one side of the part and ends on the other.
    walk.press_exactly("Part 3");
    walk.press(Key::S);
    assert!(walk.harness.get_by_label_contains("Photo ").accesskit_node().is_focused());
    let part = first.tray.as_ref().unwrap().part(3).unwrap().clone();
    let (low, high) = part.shape().bounds();
    for end in [[low[0] - 12.0, (low[1] + high[1]) / 2.0], [high[0] + 12.0, (low[1] + high[1]) / 2.0]] {
        move_cross(&mut walk, end);
        walk.press(Key::N);
    }
    let split = save(&mut walk, &path, "two pieces", |case| case.loose_parts().len() == count + 1);
    let next = numbers(&split).into_iter().max().unwrap();
    walk.press_by_keys(&format!("Merge part 3 with part {next}"));
    save(&mut walk, &path, "one part again", |case| case.loose_parts().len() == count);

    // And a new outline the same way.
    walk.press(Key::R);
    for corner in [low, [high[0], low[1]], [high[0], high[1]]] {
        move_cross(&mut walk, corner);
        walk.press(Key::N);
    }
    walk.press(Key::Enter);
    save(&mut walk, &path, "the new outline", |case| {
        case.tray.as_ref().is_some_and(|tray| tray.part(3).is_some_and(|part| part.outline.len() == 3))
    });
}

/// Clicks a control until another is there: while results arrive parts change their piles, and a click may miss.
fn press_until(walk: &mut Walk, control: &str, there: &str) {
    for _ in 0..20 {
        walk.click(control);
        if walk.harness.query_all_by_label(there).next().is_some() {
            return;
        }
    }
    panic!("{control} never leads to {there}");
}

/// Opens a list and takes an item of it.
fn choose(walk: &mut Walk, list: &str, item: &str) {
    press_until(walk, list, item);
    walk.click(item);
}

/// Moves the photo by the arrow keys until the cross is near a point of the photo.
fn move_cross(walk: &mut Walk, to: [f64; 2]) {
    let photo = SMALL;
    for _ in 0..400 {
        let bench = walk.harness.get_by_label_contains("Photo ").rect();
        // The whole photo is fitted until it is moved; after that its scale stays.
        let scale = (bench.width() / photo[0]).min(bench.height() / photo[1]) * 0.96;
        let centre = CROSS.with(|cross| cross.get());
        let off = [(to[0] - centre[0]) as f32 * scale, (to[1] - centre[1]) as f32 * scale];
        let (axis, key) = match off {
            [x, y] if x.abs() < 4.0 && y.abs() < 4.0 => return,
            [x, y] if x.abs() >= y.abs() => (0, if x > 0.0 { Key::ArrowRight } else { Key::ArrowLeft }),
            [_, y] => (1, if y > 0.0 { Key::ArrowDown } else { Key::ArrowUp }),
        };
        let coarse = off[axis].abs() >= 40.0;
        let step = f64::from(if coarse { 60.0 } else { 6.0 } / scale) * f64::from(off[axis].signum());
        walk.press_with(if coarse { Modifiers::NONE } else { Modifiers::SHIFT }, key);
        let mut moved = centre;
        moved[axis] = (moved[axis] + step).clamp(0.0, f64::from(photo[axis]));
        CROSS.with(|cross| cross.set(moved));
    }
    panic!("the cross never comes to {to:?}");
}

thread_local! {
    /// Where the cross is on the photo: in its middle at first.
    static CROSS: std::cell::Cell<[f64; 2]> = const { std::cell::Cell::new([700.0, 525.0]) };
}

#[test]
fn limbs_are_matched_with_bodies_and_alike_ones_are_named_together() {
    let (_folder, path) = tray_folder();
    let mut walk = Walk::open(Some(path.clone()), TALL);
    found(&mut walk);
    let case = save(&mut walk, &path, "the parts in the file", |case| case.tray.is_some());
    let sure: Vec<u32> =
        case.loose_parts().iter().filter(|part| part.doubts.is_empty()).map(|part| part.number).collect();
    press_until(&mut walk, &format!("Part {}", sure[0]), "What the part is");
    choose(&mut walk, "What the part is", "torso");
    save(&mut walk, &path, "a torso", |case| {
        case.readings.iter().any(|r| r.slot.as_deref() == Some("torso"))
    });
    press_until(&mut walk, &format!("Part {}", sure[1]), "What the part is");
    choose(&mut walk, "What the part is", "arm");
    walk.wait_for("(arm) ");
    walk.click_like(" like it");
    let named = save(&mut walk, &path, "many arms", |case| {
        case.readings.iter().filter(|r| r.slot.as_deref() == Some("arm")).count() > 3
    });
    println!("{} arms", named.readings.iter().filter(|r| r.slot.as_deref() == Some("arm")).count());
    walk.wait("every limb has an answer", |walk| walk.shows("is left open: ") || walk.shows(") fits "));
}

#[test]
fn a_click_grows_a_reading_and_a_photo_without_a_card_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let mut photo = image::RgbImage::from_pixel(400, 300, image::Rgb([150, 150, 150]));
    for (x, y) in (100..300).flat_map(|x| (110..190).map(move |y| (x, y))) {
        let light = 1.0 - 0.5 * (f64::from(y) - 150.0).abs() / 40.0;
        let code = |v: f64| (sameshot::color::srgb_encode(v * light) * 255.0).round() as u8;
        photo.put_pixel(x, y, image::Rgb([0.045, 0.19, 0.115].map(code)));
    }
    photo.save(folder.path().join("plain.png")).unwrap();
    let path = folder.path().join("plain.case.json");
    std::fs::write(&path, r#"{"sameshot_case": 1, "photo": "plain.png"}"#).unwrap();
    let mut walk = Walk::open(Some(path.clone()), LEAST);
    walk.wait_for("Photo plain.png");
    walk.press(Key::F);
    walk.wait_for("No card was found in this photo");
    assert!(walk.shows("Mark any other card by hand"));
    walk.click("Close");

    // The part lies under the cross already.
    walk.press(Key::A);
    walk.press(Key::N);
    let case = save(&mut walk, &path, "the reading", |case| case.readings.len() == 1);
    let area = case.readings[0].shape.area_px();
    assert!((area / 16_000.0 - 1.0).abs() < 0.15, "{area}");
    walk.press(Key::Escape);
    walk.press_with(Modifiers::COMMAND, Key::Z);
    save(&mut walk, &path, "none", |case| case.readings.is_empty());

    // By mouse; on the board nothing stops it.
    walk.click("Grow");
    let pos = walk.on_photo([400.0, 300.0], [150.0, 150.0]);
    click_at(&mut walk, pos);
    save(&mut walk, &path, "the reading again", |case| case.readings.len() == 1);
    let pos = walk.on_photo([400.0, 300.0], [40.0, 40.0]);
    click_at(&mut walk, pos);
    walk.wait_for("Nothing stops the area");
}

#[test]
fn the_shade_map_has_a_legend_of_patterns_and_goes_away_again() {
    let mut walk = Walk::open(Some(demo("bench.case.json")), LEAST);
    walk.wait_for("Photo bench.jpg");
    walk.press(Key::H);
    walk.wait_for("(rising lines)");
    for label in [
        "(falling lines)",
        "(level lines)",
        "full pattern: clearly",
        "lone dots: two shades",
        "For looking only",
    ] {
        assert!(walk.shows(label), "{label}");
    }
    walk.press_by_keys("Hide the map");
    assert!(!walk.shows("(rising lines)"));
}

#[test]
fn the_light_is_drawn_over_the_photo_and_told_in_words() {
    let mut walk = Walk::open(Some(demo("bench.case.json")), LEAST);
    walk.wait_for("Photo bench.jpg");
    walk.press(Key::U);
    walk.wait_for("% of the light in the middle of the known colours");
    assert!(walk.shows("Dashed: known to no better than 5 %"));
    walk.press_by_keys("Hide the lines");
    assert!(!walk.shows("of the light in the middle"));
}

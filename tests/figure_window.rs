//! The panel of the figure by accessible names: what is stated in a slot changes who the figure is, with a photo and
//! without readings, with the mouse and with keys alone.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    reason = "a check may stop where it fails, and prints what it measured"
)]
#![cfg(feature = "gui")]

use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use egui::{Key, Modifiers, vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use sameshot::app::{Start, Window};
use sameshot::case::{self, CaseDocument, PathRule};

struct Walk(Harness<'static, Option<Window>>);

impl Walk {
    fn start(case: PathBuf, height: f32) -> Self {
        let start = Start { path: Some(case), data_folder: None };
        let harness = Harness::builder().with_size(vec2(1280.0, height)).build_ui_state(
            move |ui, window: &mut Option<Window>| {
                window.get_or_insert_with(|| Window::new(ui.ctx(), &start)).ui(ui);
            },
            None,
        );
        Self(harness)
    }

    fn shows(&self, label: &str) -> bool {
        self.0.query_all_by_label_contains(label).next().is_some()
    }

    fn wait(&mut self, what: &str, there: impl Fn(&Self) -> bool) {
        let end = Instant::now() + Duration::from_secs(60);
        while !there(self) {
            assert!(Instant::now() < end, "waited for {what} in vain; the ranking is {:?}", self.ranking());
            std::thread::sleep(Duration::from_millis(5));
            self.0.step();
        }
        self.settle();
    }

    fn wait_for(&mut self, label: &str) {
        self.wait(label, |walk| walk.shows(label));
    }

    fn settle(&mut self) {
        self.0.run_steps(3);
        self.0.check_accessibility();
    }

    fn press(&mut self, modifiers: Modifiers, key: Key) {
        self.0.key_press_modifiers(modifiers, key);
        self.settle();
    }

    fn click(&mut self, label: &str) {
        let found = self.0.query_all_by_label_contains(label).next();
        found.unwrap_or_else(|| panic!("no control named {label}")).click();
        self.settle();
    }

    /// Goes on with Tab until a control has the focus, then presses it.
    fn press_by_keys(&mut self, label: &str) {
        for _ in 0..120 {
            let found = self.0.query_all_by_label_contains(label).next();
            let found = found.unwrap_or_else(|| panic!("no control named {label}"));
            if found.accesskit_node().is_focused() {
                return self.press(Modifiers::NONE, Key::Space);
            }
            self.press(Modifiers::NONE, Key::Tab);
        }
        panic!("Tab never reaches {label}");
    }

    /// "1. Radio Hand, second run: 88 %" and those after it.
    fn ranking(&self) -> Vec<String> {
        let labels = self.0.query_all_by_label_contains(" run: ").filter_map(|n| n.accesskit_node().label());
        labels.filter(|label| label.starts_with(|first: char| first.is_ascii_digit())).collect()
    }
}

fn demo(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("assets/demo").join(name)
}

#[test]
fn the_exchanged_arm_is_told_and_a_mould_stated_changes_the_ranking_until_it_is_taken_back() {
    let mut walk = Walk::start(demo("exchanged.case.json"), 2400.0);
    walk.wait_for("Photo exchanged.jpg");
    walk.press(Modifiers::NONE, Key::F4);
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
    let before = walk.ranking();
    println!("before: {before:?}");
    assert!(!before.is_empty());

    // The badge alone would settle it: the mould shows only once it cannot be seen.
    walk.click("torso: belongs");
    walk.click("badge of the torso: can’t see");
    walk.wait_for("badge: can't see");
    walk.click("head: belongs");
    walk.click("mould of the head: diving hood");
    walk.wait("another ranking", |walk| !walk.ranking().is_empty() && walk.ranking() != before);
    println!("with a diving hood: {:?}", walk.ranking());
    assert!(walk.shows("Known: diving hood"), "the figure shows what was stated");
    walk.click("mould of the head: unsure");
    walk.wait_for("Known: diving hood?");
    for _ in 0..3 {
        walk.press(Modifiers::COMMAND, Key::Z);
    }
    walk.wait("the ranking from before", |walk| walk.ranking() == before);
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

    let mut walk = Walk::start(path.clone(), 2400.0);
    walk.wait_for("Photo a.png");
    walk.press(Modifiers::NONE, Key::F4);
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
    walk.press(Modifiers::COMMAND, Key::Z);
    walk.wait_for("1. Diver");
    walk.press(Modifiers::COMMAND, Key::S);
    walk.wait("the case is saved", |_| !saved(&path).observations.is_empty());
    let kept = saved(&path);
    assert_eq!(kept.guide.as_deref(), Some("mine.guide.json"));
    let said: Vec<_> = kept.observations.iter().map(|o| (&*o.slot, &*o.feature, &*o.value, o.sure)).collect();
    assert_eq!(said, [("pack", "mould", "P1", true), ("pack", "condition", "loose joint", true)]);
}

fn saved(path: &Path) -> CaseDocument {
    case::parse(&std::fs::read(path).unwrap(), PathRule::InsideFolder).unwrap()
}

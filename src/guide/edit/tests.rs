//! Edits of the demo's guide and of one written from nothing.

use std::collections::BTreeMap;

use serde_json::json;

use super::*;
use crate::guide::{lint, read_guide, validate, write_guide};

fn demo() -> Guide {
    read_guide(include_str!("../../../assets/demo/skerry-rescue.guide.json")).unwrap()
}

fn each_member(guide: &Guide) -> Vec<(List, usize)> {
    List::ALL.into_iter().flat_map(|list| (0..guide.ids(list).len()).map(move |at| (list, at))).collect()
}

#[test]
fn a_renamed_member_is_renamed_wherever_it_is_named() {
    let before = demo();
    for (list, at) in each_member(&before) {
        let old = before.ids(list)[at].to_owned();
        let mut guide = before.clone();
        GuideEdit::Rename(list, at, " new name ".into()).apply(&mut guide).unwrap();
        assert_eq!(guide.ids(list)[at], "new name");
        assert_eq!(validate(&guide), [], "{} {old}", list.one());
        // Renamed back, it is the guide from before to the letter: nothing else was touched.
        GuideEdit::Rename(list, at, old).apply(&mut guide).unwrap();
        assert_eq!(guide, before);
    }
}

#[test]
fn a_removed_member_is_named_nowhere_any_more() {
    let before = demo();
    for (list, at) in each_member(&before) {
        let mut guide = before.clone();
        GuideEdit::Remove(list, at).apply(&mut guide).unwrap();
        assert_eq!(guide.ids(list).len(), before.ids(list).len() - 1);
        for problem in validate(&guide) {
            assert!(!problem.text.contains("knows no"), "{} {at}: {problem}", list.one());
            assert!(!problem.text.contains("has no feature"), "{} {at}: {problem}", list.one());
        }
    }
}

#[test]
fn values_are_renamed_and_removed_in_the_parts_too() {
    let before = demo();
    for (at, feature) in before.features.iter().enumerate() {
        for value in 0..feature.values.len() {
            let mut guide = before.clone();
            GuideEdit::RenameValue(at, value, "other".into()).apply(&mut guide).unwrap();
            assert_eq!(validate(&guide), [], "{} {value}", feature.id);
            assert_ne!(guide, before);
            GuideEdit::RenameValue(at, value, feature.values[value].clone()).apply(&mut guide).unwrap();
            assert_eq!(guide, before);
            GuideEdit::AddValue(at, "third".into()).apply(&mut guide).unwrap();
            GuideEdit::RemoveValue(at, value).apply(&mut guide).unwrap();
            assert!(validate(&guide).iter().all(|p| !p.text.contains("knows no")), "{} {value}", feature.id);
        }
    }
}

#[test]
fn names_that_are_empty_or_taken_are_refused_and_change_nothing() {
    let before = demo();
    for list in List::ALL {
        let taken = before.ids(list)[0].to_owned();
        for name in ["", "  ", &taken] {
            let mut guide = before.clone();
            assert!(GuideEdit::Add(list, name.to_owned()).apply(&mut guide).is_err());
            assert!(GuideEdit::Rename(list, 1, name.to_owned()).apply(&mut guide).is_err());
            assert!(GuideEdit::Rename(list, 999, "x".into()).apply(&mut guide).is_err());
            assert_eq!(guide, before);
        }
    }
}

#[test]
fn what_a_later_version_wrote_is_kept() {
    let mut value = serde_json::to_value(demo()).unwrap();
    value["sketch"] = json!("a.svg");
    value["moulds"][0]["cavity"] = json!(3);
    value["slots"][0]["x"] = json!([1]);
    value["characters"][0]["issues"][0]["seen by"] = json!("me");
    let mut guide = read_guide(&value.to_string()).unwrap();
    for edit in [
        GuideEdit::Rename(List::Moulds, 0, "H1b".into()),
        GuideEdit::Text(List::Moulds, 0, TextField::How, "Look.".into()),
        GuideEdit::Shift(List::Slots, 0, Shift::Later),
        GuideEdit::Rate("wear".into(), Some(0.2)),
    ] {
        edit.apply(&mut guide).unwrap();
    }
    let saved: serde_json::Value = serde_json::from_str(&write_guide(&guide)).unwrap();
    assert_eq!(saved["sketch"], json!("a.svg"));
    assert_eq!((&saved["moulds"][0]["cavity"], &saved["moulds"][0]["how"]), (&json!(3), &json!("Look.")));
    assert_eq!(saved["slots"][1]["x"], json!([1]));
    assert_eq!(saved["characters"][0]["issues"][0]["seen by"], json!("me"));
    assert_eq!(saved["rates"]["wear"], json!(0.2));
}

#[test]
fn both_sides_name_each_other_and_nobody_else() {
    let mut guide = Guide::new("A line");
    for slot in ["arm-left", "arm-right", "hand"] {
        GuideEdit::Add(List::Slots, slot.into()).apply(&mut guide).unwrap();
    }
    GuideEdit::Mirror(0, Some("hand".into())).apply(&mut guide).unwrap();
    GuideEdit::Mirror(1, Some("arm-left".into())).apply(&mut guide).unwrap();
    let mirrors: Vec<_> = guide.slots.iter().map(|s| s.mirror.as_deref()).collect();
    assert_eq!(mirrors, [Some("arm-right"), Some("arm-left"), None]);
}

#[test]
fn a_guide_written_from_nothing_is_sound() {
    let mut guide = Guide::new("");
    assert!(!validate(&guide).is_empty(), "nothing is no guide yet");
    let issue = |character, edit| GuideEdit::Issue(IssueAt { character, run: "only".into() }, edit);
    let choose = |slot: &str, feature: &str, value: &str| {
        IssueEdit::Choose(slot.into(), feature.into(), Some(Choice::One(value.into())))
    };
    let mixed = Choice::Mixed(BTreeMap::from([("red".into(), 3.0), ("none".into(), 1.0)]));
    for edit in [
        GuideEdit::Line("Skerry Rescue, small".into()),
        GuideEdit::Add(List::Runs, "only".into()),
        GuideEdit::Add(List::Slots, "head".into()),
        GuideEdit::Add(List::Slots, "torso".into()),
        GuideEdit::Add(List::Shades, "green/light".into()),
        GuideEdit::Add(List::Shades, "green/dark".into()),
        GuideEdit::Add(List::Moulds, "H1".into()),
        GuideEdit::GoesInto(List::Moulds, 0, "head".into(), true),
        GuideEdit::Add(List::Features, "badge".into()),
        GuideEdit::GoesInto(List::Features, 0, "torso".into(), true),
        GuideEdit::AddValue(0, "none".into()),
        GuideEdit::AddValue(0, "red".into()),
        GuideEdit::Bare(0, Some("none".into())),
        GuideEdit::Number(List::Features, 0, NumberField::Wear, Some(0.3)),
        GuideEdit::Upper("head".into(), true),
        GuideEdit::Add(List::Characters, "Medic".into()),
        issue(0, IssueEdit::Made),
        issue(0, choose("head", "shade", "green/light")),
        issue(0, choose("torso", "shade", "green/light")),
        issue(0, IssueEdit::Choose("torso".into(), "badge".into(), Some(mixed))),
        GuideEdit::Add(List::Characters, "Diver".into()),
        issue(1, IssueEdit::Made),
        issue(1, IssueEdit::FillFrom(IssueAt { character: 0, run: "only".into() })),
        issue(1, choose("torso", "badge", "none")),
        issue(1, choose("head", "shade", "green/dark")),
        issue(1, choose("torso", "shade", "green/dark")),
    ] {
        edit.apply(&mut guide).unwrap();
    }
    assert_eq!(validate(&guide), []);
    assert_eq!(lint(&guide), []);
    // The one mould of heads was filled in by itself.
    assert_eq!(guide.characters[0].issues[0].parts["head"]["mould"], Choice::One("H1".into()));
    assert_eq!(read_guide(&write_guide(&guide)).unwrap(), guide);
    GuideEdit::Upper("head".into(), false).apply(&mut guide).unwrap();
    assert_eq!(guide.halves, None);
}

use serde_json::{Value, json};

use super::*;
use crate::guide::{Guide, read_guide};

fn guide() -> Guide {
    read_guide(include_str!("../../assets/demo/skerry-rescue.guide.json")).unwrap()
}

/// What the guide lists for a part.
fn listed(guide: &Guide, [character, run, slot, feature]: [&str; 4]) -> String {
    let character = guide.characters.iter().find(|c| c.id == character).unwrap();
    let issue = character.issues.iter().find(|issue| issue.run == run).unwrap();
    match &issue.parts[slot][feature] {
        crate::guide::Choice::One(value) => value.clone(),
        other => panic!("{other:?}"),
    }
}

fn record(name: &str, holds: &str, parts: Value, missing: Value) -> Record {
    let ranking = match holds {
        "figure" => json!([{"character": "Keeper", "run": "second", "probability": 0.97}]),
        _ => json!([]),
    };
    let record = json!({"sameshot_record": 1, "name": name, "holds": holds, "findings": [
        {"date": "2026-11-25", "program": "0.1.0", "ranking": ranking, "parts": parts, "missing": missing,
         "sources": [{"role": "guide", "file": "g.guide.json", "sha256": "00"}]}]});
    parse_record(record.to_string().as_bytes()).unwrap()
}

/// Every slot of the Keeper's second run, belonging, but for those named.
fn keeper_parts(guide: &Guide, but: &[&str]) -> Vec<Value> {
    let keeper = guide.characters.iter().find(|c| c.id == "Keeper").unwrap();
    let issue = keeper.issues.iter().find(|issue| issue.run == "second").unwrap();
    let slots = issue.parts.keys().filter(|slot| !but.contains(&slot.as_str()));
    slots.map(|slot| json!({"slot": slot, "belongs": 0.99})).collect()
}

fn of<'a>(records: &'a [(&'a str, Record)], guide: &Guide) -> Totals {
    totals(records.iter().map(|(file, record)| (*file, record)), &[("g.guide.json".into(), guide.clone())])
}

fn keeper(totals: &Totals) -> &IssueTotal {
    let issues = &totals.lines[0].issues;
    issues.iter().find(|issue| issue.character == "Keeper" && issue.run == "second").unwrap()
}

#[test]
fn a_record_keeps_what_it_does_not_know_and_a_broken_one_is_told() {
    let text = r#"{"sameshot_record": 1, "name": "Keeper", "shelf": 3, "bought": {"where": "fair", "stall": 7},
        "findings": [{"date": "2026-11-25", "program": "0.1.0", "lamp": "kitchen",
            "parts": [{"slot": "head", "belongs": 0.5, "by": "eye"}]}]}"#;
    let record = parse_record(text.as_bytes()).unwrap();
    let saved: Value = serde_json::from_str(&record_to_text(&record).unwrap()).unwrap();
    assert_eq!(saved, serde_json::from_str::<Value>(text).unwrap());
    let first = record_to_text(&record).unwrap();
    assert!(first.trim_start_matches(['{', '\n', ' ']).starts_with("\"sameshot_record\": 1"));
    for (from, to, wanted) in [
        ("\"sameshot_record\": 1", "\"sameshot_record\": 2", "newer Sameshot"),
        ("\"name\": \"Keeper\"", "\"name\": \" \"", "no name"),
        ("\"belongs\": 0.5", "\"belongs\": 1.5", "1.5 is no probability"),
        ("\"program\": \"0.1.0\", ", "", "program"),
        ("\"name\": \"Keeper\", ", "", "name"),
        ("]}]}", "", "ends in the middle"),
    ] {
        assert!(text.contains(from), "{from}");
        let told = parse_record(text.replacen(from, to, 1).as_bytes()).unwrap_err().to_string();
        assert!(told.contains(wanted), "{told}");
    }
}

#[test]
fn a_figure_is_complete_only_when_every_part_was_seen_and_belongs() {
    let guide = guide();
    let state = |parts: Vec<Value>, missing: Value| {
        let records = [("a.record.json", record("a", "figure", parts.into(), missing))];
        keeper(&of(&records, &guide)).state
    };
    assert_eq!(state(keeper_parts(&guide, &[]), json!([])), IssueState::Complete);
    assert_eq!(state(keeper_parts(&guide, &["head"]), json!([])), IssueState::CompleteAsFarAsSeen);
    assert_eq!(state(keeper_parts(&guide, &["head"]), json!(["head"])), IssueState::Incomplete);
    let mut doubtful = keeper_parts(&guide, &["head"]);
    doubtful.push(json!({"slot": "head", "belongs": 0.5}));
    assert_eq!(state(doubtful, json!([])), IssueState::Incomplete);
    let none: [(&str, Record); 0] = [];
    assert_eq!(keeper(&of(&none, &guide)).state, IssueState::Wanted);
}

#[test]
fn the_best_figure_counts_and_an_undecided_one_completes_nothing() {
    let guide = guide();
    let mut unsure = record("c", "figure", keeper_parts(&guide, &[]).into(), json!([]));
    unsure.findings[0].ranking[0].probability = 0.9;
    let records = [
        ("a.record.json", record("a", "figure", keeper_parts(&guide, &["head"]).into(), json!(["head"]))),
        ("b.record.json", record("b", "figure", keeper_parts(&guide, &["torso"]).into(), json!([]))),
        ("c.record.json", unsure),
    ];
    let totals = of(&records, &guide);
    assert_eq!((totals.figures, totals.undecided, keeper(&totals).figures), (3, 1, 2));
    assert_eq!(keeper(&totals).best.as_deref(), Some("b.record.json"));
    assert_eq!(keeper(&totals).state, IssueState::CompleteAsFarAsSeen);
}

#[test]
fn a_loose_part_completes_a_figure_when_shade_and_mould_are_those_of_the_guide() {
    let guide = guide();
    let of_arm = |feature| listed(&guide, ["Keeper", "second", "arm-left", feature]);
    let (shade, mould) = (of_arm("shade"), of_arm("mould"));
    let other = guide.shades.iter().find(|s| s.id != shade).unwrap().id.clone();
    let arm = |reading: &str, call: &str, mould: Option<&str>| json!({"reading": reading, "slot": "arm-left", "call": call, "mould": mould});
    let loose = json!([
        arm("no mould seen", &shade, None),
        arm("right", &shade, Some(&mould)),
        arm("other shade", &other, Some(&mould)),
        arm("other mould", &shade, Some("no such")),
        arm("unsure", "undecided", Some(&mould)),
        {"reading": "a leg", "slot": "leg-left", "call": shade}]);
    let stranger = json!([{"slot": "arm-left", "call": shade, "mould": mould, "belongs": 0.02}]);
    let records = [
        (
            "a.record.json",
            record("a", "figure", keeper_parts(&guide, &["arm-left"]).into(), json!(["arm-left"])),
        ),
        ("b.record.json", record("b", "figure", stranger, json!([]))),
        ("tray.record.json", record("tray", "loose parts", loose, json!([]))),
    ];
    let totals = of(&records, &guide);
    assert_eq!(totals.loose, 1);
    let wants = &totals.lines[0].wants;
    assert_eq!(
        wants.iter().map(|w| (&*w.name, w.why)).collect::<Vec<_>>(),
        [("a", Why::Missing), ("b", Why::DoesNotBelong)]
    );
    let spares: Vec<_> = wants[0].spares.iter().map(|s| (&*s.part, s.on_a_figure, s.fit)).collect();
    assert_eq!(
        spares,
        [
            ("right", false, Fit::Fits),
            ("arm-left", true, Fit::Fits),
            ("no mould seen", false, Fit::MayFit),
            ("unsure", false, Fit::MayFit)
        ]
    );
    assert!(
        wants[1].spares.iter().all(|spare| spare.file != "b.record.json"),
        "its own stranger is no spare"
    );
    assert_eq!((&wants[0].shades, &wants[0].moulds), (&vec![shade], &vec![mould]));
}

#[test]
fn rows_are_found_by_words_and_marks_and_put_in_order() {
    let guide = guide();
    let mut first = record("Émile’s Keeper", "figure", keeper_parts(&guide, &[]).into(), json!([]));
    first.notes = Some("Bought at the HARBOUR fair".into());
    let part = json!([{"slot": "head", "belongs": 0.5, "call": "green/dark"}]);
    let second = record("another", "figure", part, json!(["pack"]));
    let third = record("tray", "loose parts", json!([]), json!([]));
    let records = [("z.record.json", first), ("b/y.record.json", second), ("x.record.json", third)];
    let rows = index(records.iter().map(|(file, record)| (*file, record)));
    let found = |filter: Filter| -> Vec<usize> { filter.of(&rows) };
    let text = |text: &str| Filter { text: text.into(), ..Filter::default() };
    assert_eq!(found(text("harbour émile")), [0]);
    assert_eq!(found(text("keeper")), [0, 1], "the character is searched too");
    assert_eq!(found(text("keeper harbour nowhere")), [0_usize; 0]);
    assert_eq!(found(Filter { missing: true, ..Filter::default() }), [1]);
    assert_eq!(found(Filter { doubtful: true, ..Filter::default() }), [1]);
    assert_eq!(found(Filter { loose: true, ..Filter::default() }), [2]);
    assert_eq!(found(Filter { shade: Some("green/dark".into()), ..Filter::default() }), [1]);
    assert_eq!(found(Filter { run: Some("first".into()), ..Filter::default() }), [0_usize; 0]);
    let ordered = |by, backwards| {
        let mut all = vec![0, 1, 2];
        sort(&rows, &mut all, by, backwards);
        all
    };
    assert_eq!(ordered(SortBy::Name, false), [1, 2, 0]);
    assert_eq!(ordered(SortBy::Name, true), [0, 2, 1]);
    assert_eq!(ordered(SortBy::Missing, false)[0], 1);
    assert_eq!(ordered(SortBy::Doubt, false)[0], 2);
    assert_eq!(rows[1].sources[0].file, "b/g.guide.json");
}

#[test]
fn paths_start_from_the_collection() {
    for (file, path, wanted) in [
        ("a.record.json", "g.json", "g.json"),
        ("b/a.record.json", "../g.json", "g.json"),
        ("b/c/a.record.json", "./d//g.json", "b/c/d/g.json"),
        ("a.record.json", "../g.json", "../g.json"),
        ("a.record.json", "../../g.json", "../../g.json"),
        ("b/a.record.json", "/etc/g.json", "/etc/g.json"),
    ] {
        assert_eq!(from_root(file, path), wanted);
    }
}

#[test]
fn only_what_is_said_otherwise_is_a_change() {
    let parts = json!([{"reading": "left arm", "slot": "arm-left", "call": "green/dark", "belongs": 0.97},
        {"slot": "head", "belongs": 0.99}]);
    let before = record("a", "figure", parts, json!(["pack"])).findings.remove(0);
    let mut after = before.clone();
    after.ranking[0].probability = 0.99;
    after.parts[0].belongs = Some(0.96);
    assert_eq!(changes(&before, &after), [""; 0]);
    after.ranking[0].run = "first".into();
    after.parts[0].call = Some("undecided".into());
    after.parts[0].belongs = Some(0.04);
    after.parts.remove(1);
    after.missing = vec!["head".into()];
    assert_eq!(
        changes(&before, &after),
        [
            "who it is: Keeper, second run, now Keeper, first run",
            "left arm: green/dark, now undecided",
            "left arm: belongs, now does not belong",
            "head: is not found any more",
            "head: missing now",
            "pack: not missing any more",
        ]
    );
}

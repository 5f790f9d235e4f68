use serde_json::{Value, json};

use super::*;

const DEMO: &str = include_str!("../../assets/demo/skerry-rescue.guide.json");

/// A guide that is good, to be broken in one place at a time.
fn small() -> Value {
    json!({
        "sameshot_guide": 1, "line": "Test",
        "runs": [{"id": "only"}],
        "slots": [{"id": "head"}, {"id": "torso"}],
        "shades": [{"id": "green/light"}, {"id": "green/dark"}],
        "moulds": [{"id": "H1", "slots": ["head"]}, {"id": "H2", "slots": ["head"]}],
        "features": [{"id": "badge", "kind": "paint", "slots": ["torso"], "values": ["none", "red"], "bare": "none"}],
        "characters": [
            {"id": "A", "issues": [{"run": "only", "parts": {
                "head": {"mould": "H1", "shade": "green/light"},
                "torso": {"shade": "green/light", "badge": "red"}}}]},
            {"id": "B", "issues": [{"run": "only", "parts": {
                "head": {"mould": "H2", "shade": "green/dark"},
                "torso": {"shade": "green/dark", "badge": {"red": 1.5, "none": 2.5}}}}]}
        ]
    })
}

fn problems(change: impl FnOnce(&mut Value)) -> Vec<String> {
    let mut value = small();
    change(&mut value);
    match read_guide(&value.to_string()) {
        Ok(_) => Vec::new(),
        Err(problems) => problems.iter().map(Problem::to_string).collect(),
    }
}

fn lints(change: impl FnOnce(&mut Value)) -> Vec<(LintCode, String)> {
    let mut value = small();
    change(&mut value);
    let guide = read_guide(&value.to_string()).expect("a good guide");
    lint(&guide).into_iter().map(|l| (l.code, l.problem.to_string())).collect()
}

#[test]
fn a_good_guide_has_nothing_to_be_said_of() {
    assert_eq!(problems(|_| ()), Vec::<String>::new());
    assert_eq!(lints(|_| ()), Vec::new());
}

#[test]
fn problems_name_the_place_and_the_remedy() {
    let part = |v: &mut Value, slot: &str, part: Value| v["characters"][0]["issues"][0]["parts"][slot] = part;
    type Break = Box<dyn Fn(&mut Value)>;
    let cases: Vec<(Break, &str, &str)> = vec![
        (
            Box::new(move |v| part(v, "head", json!({"mould": "H9"}))),
            "characters › A › only › head › mould",
            "“H1” and “H2”",
        ),
        (Box::new(move |v| part(v, "tail", json!({}))), "characters › A › only › tail", "“head” and “torso”"),
        (
            Box::new(move |v| part(v, "head", json!({"badge": "red"}))),
            "characters › A › only › head › badge",
            "“slots”",
        ),
        (Box::new(move |v| part(v, "head", json!({"mould": 7}))), "head › mould", "in quotes"),
        (Box::new(move |v| part(v, "torso", json!({"badge": {"red": -1}}))), "torso › badge", "how common"),
        (Box::new(move |v| part(v, "torso", json!({"badge": {}}))), "torso › badge", "how common"),
        (
            Box::new(|v| v["characters"][0]["issues"][0]["run"] = json!("third")),
            "characters › A › third",
            "“only”",
        ),
        (Box::new(|v| v["characters"][1]["id"] = json!("A")), "characters › A", "Rename"),
        (
            Box::new(|v| v["characters"][0]["issues"][0]["weight"] = json!(0)),
            "A › only › weight",
            "leave it out",
        ),
        (Box::new(|v| v["rates"] = json!({"exchange": 5})), "rates › exchange", "0.05"),
        (Box::new(|v| v["halves"] = json!({"upper": ["hat"]})), "halves › upper", "“head” and “torso”"),
        (
            Box::new(|v| v["features"][0]["bare"] = json!("blank")),
            "features › badge › bare",
            "“none” and “red”",
        ),
        (Box::new(|v| v["features"][0]["id"] = json!("mould")), "features › mould", "another name"),
        (
            Box::new(|v| v["slots"][0]["mirror"] = json!("foot")),
            "slots › head › mirror",
            "“head” and “torso”",
        ),
        (Box::new(|v| v["runs"] = json!([])), "runs", "at least one"),
        (Box::new(|v| v["characters"] = json!([])), "characters", "at least one"),
    ];
    for (change, place, remedy) in cases {
        let told = problems(change);
        assert!(told.iter().any(|t| t.contains(place) && t.contains(remedy)), "{place}, {remedy}: {told:#?}");
    }
}

#[test]
fn files_that_are_no_guides_are_refused_with_a_reason() {
    let told = |text: &str| parse_guide(text).expect_err("refused").to_string();
    assert!(told("{\"sameshot_guide\": 1,\n oops").contains("line 2"));
    assert!(told("{}").contains("sameshot_guide"));
    assert!(told("[]").contains("not a guide"));
    assert!(told(r#"{"sameshot_guide": 2}"#).contains("newer Sameshot"));
    assert!(told(r#"{"sameshot_guide": "1"}"#).contains("not a guide"));
    assert!(told(r#"{"sameshot_guide": 1, "line": "x"}"#).contains("runs"));
}

#[test]
fn unknown_fields_live_through_a_save() {
    let mut value = small();
    value["colour of the box"] = json!("blue");
    value["slots"][0]["x"] = json!([1, 2]);
    value["characters"][0]["issues"][0]["y"] = json!({"z": null});
    value["rates"] = json!({"exchange": 0.1, "w": 1});
    let guide = parse_guide(&value.to_string()).expect("read");
    let text = write_guide(&guide);
    assert_eq!(serde_json::from_str::<Value>(&text).expect("json"), value);
    assert!(text.trim_start_matches(['{', '\n', ' ']).starts_with("\"sameshot_guide\""), "first field");
}

#[test]
fn lints_find_what_they_are_for() {
    let has = |told: &[(LintCode, String)], code, word: &str| {
        assert!(told.iter().any(|(c, t)| *c == code && t.contains(word)), "{code:?} {word}: {told:#?}");
    };
    let same = |v: &mut Value| v["characters"][1]["issues"] = v["characters"][0]["issues"].clone();
    has(&lints(same), LintCode::Alike, "“A, only run” and “B, only run”");
    has(&lints(same), LintCode::NoOwnPart, "A has no part of its own");
    has(&lints(same), LintCode::Unused, "H2");
    let paint = |v: &mut Value| {
        same(v);
        v["characters"][1]["issues"][0]["parts"]["torso"]["badge"] = json!("none");
    };
    has(&lints(paint), LintCode::OnlyPaint, "“A, only run” and “B, only run”");
    has(&lints(|v| v["slots"][0]["mirror"] = json!("torso")), LintCode::Contradiction, "other way round");
    has(&lints(|v| v["halves"] = json!({"upper": ["head", "torso"]})), LintCode::Contradiction, "One half");
    let silent = |v: &mut Value| v["characters"][0]["issues"][0]["parts"]["head"] = json!({"mould": "H1"});
    has(&lints(silent), LintCode::Silent, "“shade”");
    let shape = |v: &mut Value| {
        v["features"]
            .as_array_mut()
            .expect("list")
            .push(json!({"id": "neck", "kind": "joint", "slots": ["head"], "values": ["knob", "ring"]}));
        v["characters"][0]["issues"][0]["parts"]["head"] =
            json!({"mould": "H1", "shade": "green/light", "neck": "knob"});
        v["characters"][1]["issues"][0]["parts"]["head"] =
            json!({"mould": "H1", "shade": "green/dark", "neck": "ring"});
    };
    has(&lints(shape), LintCode::Contradiction, "one mould makes one shape");
}

#[test]
fn the_demo_is_as_hard_as_it_should_be() {
    let guide = read_guide(DEMO).unwrap_or_else(|problems| panic!("{problems:#?}"));
    assert_eq!((guide.characters.len(), guide.runs.len()), (9, 2));
    let told = lint(&guide);
    let only: Vec<_> = told.iter().map(|l| (l.code, &*l.problem.place)).collect();
    assert_eq!(only, [(LintCode::NoOwnPart, "characters › Keeper")], "{told:#?}");

    let parts = |name: &str, run: usize| {
        let character = guide.characters.iter().find(|c| c.id == name).expect("there");
        &character.issues[run].parts
    };
    for run in 0..2 {
        let (one, other) = (parts("Signaller", run), parts("Lookout", run));
        let differ: Vec<_> = one.keys().filter(|slot| one.get(*slot) != other.get(*slot)).collect();
        assert_eq!(differ, ["arm-right"], "alike in all but one slot");
        let boatwright = parts("Boatwright", run);
        assert_ne!(boatwright["arm-right"]["shade"], boatwright["torso"]["shade"], "rightly another shade");
    }
}

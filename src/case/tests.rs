use proptest::prelude::*;
use serde_json::{Value, json};

use super::*;
use crate::raster::Shape;

/// The example of the format, with unknown fields at every level.
fn example() -> Value {
    json!({
        "sameshot_case": 1, "photo": "bench.jpg", "future": {"a": [1, null]},
        "zones": [
            {"id": "step 3", "shape": {"circle": {"centre": [812.0, 344.5], "radius": 22.0, "by": "hand"}, "x": 1},
             "known": {"lab": [50.7, -0.3, -0.3], "sd": [0.5, 0.3, 0.3], "from": "card"}, "note": "é"},
            {"id": "my own torso", "shape": {"polygon": [[10.0, 10.0], [60.0, 12.0], [58.0, 70.0]]},
             "known": {"shade": "green/medium", "sure": false}, "surface": "rounded"}
        ],
        "readings": [
            {"id": "left arm", "slot": "arm-left", "shape": {"rect": {"min": [100.0, 100.0], "max": [140.0, 160.0]}},
             "surface": "flat", "z": 1e-7}
        ],
        "references": "tidy.shades.json",
        "board": {"shape": {"rect": {"min": [0.0, 0.0], "max": [900.0, 600.0]}, "by": "hand"}, "paper": "grey"},
        "flat_field": "empty.jpg",
        "more_photos": ["bench-2.case.json", "bench-3.case.json"],
        "observations": [{"slot": "head", "feature": "mould", "value": "H2", "sure": true, "who": 18446744073709551615u64}]
    })
}

fn open(document: &Value) -> Result<CaseDocument, String> {
    parse(document.to_string().as_bytes(), PathRule::InsideFolder).map_err(|problem| problem.to_string())
}

#[test]
fn unknown_fields_at_every_level_survive() {
    let case = open(&example()).unwrap();
    let text = to_text(&case).unwrap();
    assert!(text.starts_with("{\n  \"sameshot_case\": 1,\n  \"photo\": \"bench.jpg\","), "{text}");
    assert_eq!(serde_json::from_str::<Value>(&text).unwrap(), example());
    assert_eq!(parse(text.as_bytes(), PathRule::InsideFolder).unwrap(), case);
}

#[test]
fn unknown_fields_stay_when_a_mark_is_edited_and_do_not_bring_an_old_shape_back() {
    let mut case = open(&example()).unwrap();
    let step = MarkKey::zone("step 3");
    let rect = Shape::Rect { min: [0.0, 0.0], max: [5.0, 5.0] };
    Edit::Reshape(step.clone(), rect).apply(&mut case).unwrap();
    Edit::SetKnown(step, Known::shade("green/light")).apply(&mut case).unwrap();
    let saved: Value = serde_json::from_str(&to_text(&case).unwrap()).unwrap();
    assert_eq!(
        saved["zones"][0],
        json!({"id": "step 3", "shape": {"rect": {"min": [0.0, 0.0], "max": [5.0, 5.0]}, "x": 1},
               "known": {"shade": "green/light", "from": "card"}, "note": "é"})
    );
}

/// Every refusal names the line, the mark and the field, and says what to do.
#[test]
fn refusals_name_line_mark_and_field() {
    let cases = [
        // (the text, what the message must hold)
        (r#"{"sameshot_case": 2, "photo": "a.jpg"}"#, vec!["newer Sameshot", "up to 1", "Install"]),
        (r#"{"sameshot_case": 0, "photo": "a.jpg"}"#, vec!["sameshot_case", "from 1 on"]),
        (r#"{"sameshot_shades": 1}"#, vec!["sameshot_shades", "another kind of file"]),
        (r#"{"photo": "a.jpg"}"#, vec!["sameshot_case is missing"]),
        ("[1]", vec!["no case file"]),
        ("", vec!["empty"]),
        ("{\n  \"sameshot_case\": 1,\n  \"photo\": \"a", vec!["Line 3", "cut off"]),
        ("{\n \"sameshot_case\": 1,,}", vec!["Line 2, column 21", "not JSON"]),
        (r#"{"sameshot_case": 1}"#, vec!["`photo` is missing"]),
        (r#"{"sameshot_case": 1, "photo": 7}"#, vec!["field photo", "expected text"]),
        (r#"{"sameshot_case": 1, "photo": "/a.jpg"}"#, vec!["column 31", "field photo", "absolute"]),
        (r#"{"sameshot_case": 1, "photo": "../a.jpg"}"#, vec!["field photo", "leads out"]),
        (r#"{"sameshot_case": 1, "photo": "a.jpg", "references": "../b.json"}"#, vec!["field references"]),
        (r#"{"sameshot_case": 1, "photo": "a.jpg", "photo_sha256": "12"}"#, vec!["photo_sha256", "64"]),
    ];
    for (text, wanted) in cases {
        let problem = parse(text.as_bytes(), PathRule::InsideFolder).unwrap_err().to_string();
        for word in wanted {
            assert!(problem.contains(word), "{text}\n  gave: {problem}\n  without: {word}");
        }
    }
    let not_utf8 =
        parse(b"{\n\"sameshot_case\": 1, \"photo\": \"\xff\"}", PathRule::InsideFolder).unwrap_err();
    assert_eq!(not_utf8.message, "Line 2: the file is not UTF-8 text.");
    let large = vec![b' '; CASE_LIMIT_BYTES as usize + 1];
    assert!(parse(&large, PathRule::InsideFolder).unwrap_err().message.contains("at most 16 MB"));
}

#[test]
fn refusals_of_marks_name_the_mark() {
    let zone = |id: &str, shape: &str, known: &str| {
        format!("{{\"id\": \"{id}\", \"shape\": {shape}, \"known\": {known}}}")
    };
    let circle = r#"{"circle": {"centre": [5, 5], "radius": 3}}"#;
    let grey = r#"{"lab": [50, 0, 0], "sd": [1, 1, 1]}"#;
    let cases = [
        (zone("s", circle, r#"{"lab": [NaN, 0, 0], "sd": [1, 1, 1]}"#), vec!["Line 3", "NaN is no number"]),
        (
            zone("s", circle, r#"{"lab": [-Infinity, 0, 0], "sd": [1, 1, 1]}"#),
            vec!["Line 3", "-Infinity is no number"],
        ),
        (zone("s", circle, r#"{"lab": [1e999, 0, 0], "sd": [1, 1, 1]}"#), vec!["Line 3", "too large"]),
        (
            zone("s", circle, r#"{"lab": [1e300, 0, 0], "sd": [1, 1, 1]}"#),
            vec!["zone \"s\"", "known.lab", "L* is"],
        ),
        (zone("s", circle, r#"{"lab": [50, 0, -201], "sd": [1, 1, 1]}"#), vec!["known.lab", "b* is -201"]),
        (
            zone("s", circle, r#"{"lab": [50, 0, 0], "sd": [1, 0, 1]}"#),
            vec!["zone \"s\"", "known.sd", "above 0"],
        ),
        (zone("s", circle, r#"{"lab": [50, 0, 0], "sd": [1, 1, -1]}"#), vec!["known.sd", "deviation is -1"]),
        (zone("s", circle, r#"{"lab": [50, 0, 0], "sd": [1, 1]}"#), vec!["field known", "sd", "a list of 3"]),
        (zone("s", circle, r#"{"lab": [50, "x", 0], "sd": [1, 1, 1]}"#), vec!["lab[1]", "expected a number"]),
        (zone("s", circle, r#"{"lab": [50, 0, 0]}"#), vec!["field known", "sd are missing"]),
        (zone("s", circle, "{}"), vec!["field known", "found neither"]),
        (zone("s", circle, r#"{"shade": "a", "lab": [5, 0, 0], "sd": [1, 1, 1]}"#), vec!["found both"]),
        (
            zone("s", r#"{"circle": {"centre": [5, 1e7], "radius": 3}}"#, grey),
            vec!["field shape", "10000000"],
        ),
        (
            zone("s", r#"{"circle": {"centre": [5, 1]}}"#, grey),
            vec!["field shape", "circle", "`radius` is missing"],
        ),
        (zone("s", r#"{"star": 1}"#, grey), vec!["field shape", "circle, rect and polygon"]),
        (zone("", circle, grey), vec!["zone number 1", "id is empty"]),
        (
            format!("{},\n{}", zone("s", circle, grey), zone("s", circle, grey)),
            vec!["Line 4", "zone \"s\"", "twice"],
        ),
        (
            format!("{{\"id\": \"s\", \"shape\": {circle}, \"known\": {grey}, \"surface\": \"shiny\"}}"),
            vec!["zone \"s\"", "field surface", "`shiny`", "`flat` or `rounded`"],
        ),
    ];
    for (zones, wanted) in cases {
        let text = format!("{{\"sameshot_case\": 1, \"photo\": \"a.jpg\",\n\"zones\": [\n{zones}\n]}}");
        let problem = parse(text.as_bytes(), PathRule::InsideFolder).unwrap_err().to_string();
        for word in wanted {
            assert!(problem.contains(word), "{text}\n  gave: {problem}\n  without: {word}");
        }
    }
    let twice = format!(
        r#"{{"sameshot_case": 1, "photo": "a.jpg", "readings": [{{"id": "arm", "shape": {circle}}}, {{"id": "arm", "shape": {circle}}}]}}"#
    );
    let problem = parse(twice.as_bytes(), PathRule::InsideFolder).unwrap_err().to_string();
    assert!(problem.contains("reading \"arm\"") && problem.contains("twice"), "{problem}");
}

#[test]
fn a_case_that_could_not_be_opened_again_is_not_saved() {
    let mut case = CaseDocument::new("a.jpg");
    let shape = Shape::Circle { centre: [f64::NAN, 1.0], radius: 2.0 };
    case.readings.push(ReadingMark::new("arm", shape));
    assert!(to_text(&case).unwrap_err().message.contains("cannot be saved"));
}

fn number() -> impl Strategy<Value = f64> {
    // Every size of number that a coordinate may have, to the last bit.
    prop_oneof![-1e6..1e6, -1.0..1.0, Just(-0.0), Just(1e-300), Just(0.1 + 0.2)]
}

fn point() -> impl Strategy<Value = [f64; 2]> {
    [number(), number()]
}

fn shape() -> impl Strategy<Value = Shape> {
    prop_oneof![
        (point(), number()).prop_map(|(centre, radius)| Shape::Circle { centre, radius }),
        (point(), point()).prop_map(|(min, max)| Shape::Rect { min, max }),
        prop::collection::vec(point(), 0..6).prop_map(Shape::Polygon),
    ]
}

fn known() -> impl Strategy<Value = Known> {
    prop_oneof![
        ((-5.0..105.0, -200.0..200.0, -200.0..200.0), [1e-9..99.0, 1e-9..99.0, 1e-9..99.0])
            .prop_map(|((l, a, b), sd)| Known::Lab { lab: [l, a, b], sd }),
        ("[a-z/ é☂\"\\\\]{1,9}x", prop::option::of("[a-z é☂\"]{1,9}x"))
            .prop_map(|(shade, specimen)| Known::Shade { shade, specimen }),
    ]
}

fn surface() -> impl Strategy<Value = Surface> {
    prop_oneof![Just(Surface::Flat), Just(Surface::Rounded)]
}

fn rest() -> impl Strategy<Value = serde_json::Map<String, Value>> {
    let leaf = prop_oneof![
        Just(Value::Null),
        any::<bool>().prop_map(Value::from),
        any::<i64>().prop_map(Value::from),
        any::<f64>().prop_map(|v| Value::from(if v.is_finite() { v } else { 0.0 })),
        ".{0,8}".prop_map(Value::from),
    ];
    let value = leaf.prop_recursive(2, 8, 3, |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 0..3).prop_map(Value::from),
            prop::collection::vec(("[a-z]{1,4}", inner), 0..3)
                .prop_map(|v| Value::Object(v.into_iter().collect())),
        ]
    });
    // The prefix keeps the names apart from those that the format knows.
    prop::collection::vec(("x-[a-z]{1,4}", value), 0..3).prop_map(|fields| fields.into_iter().collect())
}

prop_compose! {
    fn case()(
        zones in prop::collection::vec((shape(), known(), surface(), rest(), rest(), rest()), 0..4),
        readings in prop::collection::vec((shape(), surface(), prop::option::of("[a-z-]{1,8}"), rest(), rest()), 0..4),
        (references, flat_field) in (prop::option::of("[a-z]{1,5}"), prop::option::of("[a-z]{1,5}")),
        more_photos in prop::collection::vec("[a-z]{1,5}", 0..3),
        board in prop::option::of((prop::option::of(shape()), rest())),
        rest in rest(),
    ) -> CaseDocument {
        let inside = |mut rest: serde_json::Map<String, Value>, name: &str, inner: serde_json::Map<String, Value>| {
            if !inner.is_empty() {
                rest.insert(name.into(), inner.into());
            }
            rest
        };
        let zones = zones.into_iter().enumerate().map(|(n, (shape, known, surface, rest, in_shape, in_known))| {
            let rest = inside(inside(rest, "shape", in_shape), "known", in_known);
            ZoneMark { id: format!("zone {n}"), shape, known, surface, rest }
        });
        let readings = readings.into_iter().enumerate().map(|(n, (shape, surface, slot, rest, in_shape))| {
            ReadingMark { id: format!("part {n}"), slot, shape, surface, rest: inside(rest, "shape", in_shape) }
        });
        let (zones, readings) = (zones.collect(), readings.collect());
        let board = board.map(|(shape, rest)| BoardMark { shape, rest });
        CaseDocument { zones, readings, references, board, flat_field, more_photos, rest, ..CaseDocument::new("a.jpg") }
    }
}

proptest! {
    #[test]
    fn saved_and_loaded_is_the_same(case in case()) {
        let text = to_text(&case).unwrap();
        prop_assert_eq!(&parse(text.as_bytes(), PathRule::InsideFolder).unwrap(), &case);
        // And a second save writes the same bytes.
        prop_assert_eq!(to_text(&parse(text.as_bytes(), PathRule::InsideFolder).unwrap()).unwrap(), text);
    }

    #[test]
    fn no_bytes_make_it_panic(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        let _ = parse(&bytes, PathRule::InsideFolder);
    }

    #[test]
    fn no_cut_or_changed_text_makes_it_panic(cut in 0usize..900, at in 0usize..900, byte in any::<u8>()) {
        let mut bytes = example().to_string().into_bytes();
        let at = at.min(bytes.len() - 1);
        bytes[at] = byte;
        bytes.truncate(cut);
        let _ = parse(&bytes, PathRule::InsideFolder);
    }
}

#[test]
fn groups_are_undone_and_redone_as_one_step() {
    let mut history = History::opened(open(&example()).unwrap());
    let arm = MarkKey::reading("left arm");
    assert!(!history.is_unsaved());
    history.begin("move left arm");
    for _ in 0..30 {
        history.apply(&Edit::Move(arm.clone(), [1.0, -2.0])).unwrap();
    }
    history.commit();
    let moved = Shape::Rect { min: [130.0, 40.0], max: [170.0, 100.0] };
    assert_eq!(history.current().readings[0].shape, moved);
    history.apply(&Edit::Rename(arm.clone(), "arm".into())).unwrap();
    assert_eq!(history.undo_label(), Some("rename left arm to arm"));
    assert_eq!(history.undo().as_deref(), Some("rename left arm to arm"));
    assert_eq!(history.undo().as_deref(), Some("move left arm"));
    assert_eq!(history.undo(), None);
    assert!(!history.is_unsaved(), "undone back to the file");
    assert_eq!(history.redo().as_deref(), Some("move left arm"));
    assert_eq!(history.current().readings[0].shape, moved);
    // A cancelled group leaves nothing, an empty one no step, and neither spoils the redo.
    history.begin("drag");
    history.apply(&Edit::Delete(arm.clone())).unwrap();
    history.cancel();
    history.begin("click");
    history.commit();
    assert_eq!(history.redo_label(), Some("rename left arm to arm"));
    // A new step does.
    history.apply(&Edit::Delete(arm.clone())).unwrap();
    assert_eq!((history.redo_label(), history.undo_label()), (None, Some("delete left arm")));
    assert!(history.apply(&Edit::Delete(arm)).is_err());
    assert!(history.is_unsaved());
    history.mark_saved(history.current().clone());
    assert!(!history.is_unsaved());
}

#[test]
fn suggested_ids_are_free_and_taken_ids_are_refused() {
    let mut case = CaseDocument::new("a.jpg");
    let disc = Shape::Circle { centre: [5.0, 5.0], radius: 3.0 };
    for wanted in ["part 1", "part 2", "part 3"] {
        let id = unused_id(&case, MarkKind::Reading, "part");
        assert_eq!(id, wanted);
        Edit::AddReading(ReadingMark::new(id, disc.clone())).apply(&mut case).unwrap();
    }
    Edit::Delete(MarkKey::reading("part 2")).apply(&mut case).unwrap();
    assert_eq!(unused_id(&case, MarkKind::Reading, "part"), "part 2");
    let before = case.clone();
    assert!(Edit::Rename(MarkKey::reading("part 1"), "part 3".into()).apply(&mut case).is_err());
    assert!(Edit::AddReading(ReadingMark::new("part 1", disc.clone())).apply(&mut case).is_err());
    assert!(Edit::Rename(MarkKey::reading("part 1"), " ".into()).apply(&mut case).is_err());
    assert!(Edit::SetSlot(MarkKey::zone("part 1"), None).apply(&mut case).is_err());
    assert_eq!(case, before);
    // A zone and a reading may share a name.
    let known = Known::shade("green/light");
    Edit::AddZone(ZoneMark::new("part 1", disc, known)).apply(&mut case).unwrap();
}

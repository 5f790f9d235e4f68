//! `sameshot identify` from outside: who the figure is, what does not belong, line by line.

use std::fs;
use std::path::PathBuf;

use serde::Deserialize;
use serde_json::{Value, json};

use crate::bench::{grey, patches, shades, square};
use crate::run::{Said, program, run};

// A mirror of the machine-readable interface: nothing may be missing, and nothing added but the lists that are left
// out where they are empty.

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Findings {
    sameshot_findings: u32,
    ranking: Vec<Ranked>,
    slots: Vec<Slot>,
    signs: Vec<Sign>,
    next_looks: Vec<Look>,
    #[serde(default)]
    #[allow(dead_code)]
    composites: Vec<Value>,
    #[serde(default)]
    missing: Vec<Value>,
    #[serde(default)]
    #[allow(dead_code)]
    condition: Vec<Value>,
    #[serde(default)]
    notes: Vec<String>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Ranked {
    character: String,
    run: String,
    probability: f64,
    reasons: Vec<Reason>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Reason {
    slot: String,
    text: String,
    odds: f64,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Slot {
    slot: String,
    belongs: f64,
    donors: Vec<Donor>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Donor {
    character: String,
    #[allow(dead_code)]
    run: String,
    probability: f64,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Sign {
    slot: String,
    sign: String,
    probability: f64,
    text: String,
    innocent: Vec<String>,
    checks: Vec<String>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Look {
    slot: String,
    #[allow(dead_code)]
    feature: String,
    bits: f64,
    how: String,
}

const GUIDE: &str = include_str!("../../assets/demo/skerry-rescue.guide.json");
const GREENS: [(&str, [f64; 3]); 3] = [
    ("green/light", [56.0, -16.0, 8.0]),
    ("green/medium", [50.0, -16.0, 8.0]),
    ("green/dark", [44.0, -16.0, 8.0]),
];
const GREYS: [f64; 6] = [94.0, 80.0, 65.0, 50.0, 35.0, 22.0];
const PARTS: [(&str, usize); 6] =
    [("torso", 1), ("arm-left", 2), ("arm-right", 1), ("waist", 1), ("leg-left", 1), ("leg-right", 1)];

/// A folder with a photo of six greys and six parts, references, the demo's guide and a case.
struct Table {
    folder: tempfile::TempDir,
}

impl Table {
    fn new() -> Self {
        let table = Self { folder: tempfile::tempdir().unwrap() };
        let colours = [GREYS.map(grey), PARTS.map(|(_, green)| GREENS[green].1)].concat();
        patches(&colours).save(table.path("table.png")).unwrap();
        table.write("greens.shades.json", &shades(&GREENS));
        fs::write(table.path("skerry.guide.json"), GUIDE).unwrap();
        table
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn write(&self, name: &str, value: &Value) {
        fs::write(self.path(name), value.to_string()).unwrap();
    }

    fn identify(&self, arguments: &[&str]) -> Said {
        run(program().current_dir(self.folder.path()).arg("identify").args(arguments))
    }
}

fn look(slot: &str, feature: &str, value: &str) -> Value {
    json!({"slot": slot, "feature": feature, "value": value, "sure": true})
}

fn case(readings: bool) -> Value {
    let zones: Vec<Value> = GREYS
        .iter()
        .enumerate()
        .map(|(n, l)| json!({"id": format!("step {n}"), "shape": square(n), "known": {"lab": grey(*l), "sd": [0.3, 0.2, 0.2]}}))
        .collect();
    let read: Vec<Value> = PARTS
        .iter()
        .enumerate()
        .map(|(n, (slot, _))| json!({"id": format!("the {slot}"), "slot": slot, "shape": square(n + 6), "surface": "flat"}))
        .collect();
    let observations = [
        look("head", "mould", "H5"),
        look("torso", "mould", "T1"),
        look("arm-left", "mould", "A2"),
        look("arm-right", "mould", "A2"),
        look("arm-right", "wrist", "ball"),
        look("leg-left", "mould", "L1"),
        look("pack", "presence", "missing"),
    ];
    json!({
        "sameshot_case": 1, "photo": "table.png", "guide": "skerry.guide.json", "references": "greens.shades.json",
        "zones": zones, "readings": if readings { read } else { vec![] }, "observations": observations
    })
}

#[test]
fn an_exchanged_limb_is_found_from_the_photo() {
    let table = Table::new();
    table.write("table.case.json", &case(true));
    let Said { status, out, err } = table.identify(&["--json", "table.case.json"]);
    assert_eq!((status, err.as_str()), (0, ""), "{out}");
    assert!(out.ends_with('\n') && out.lines().count() == 1);
    let found: Findings = serde_json::from_str(out.trim_end()).unwrap();
    assert_eq!(found.sameshot_findings, 1);
    let first = &found.ranking[0];
    assert_eq!((&*first.character, &*first.run), ("Radio Hand", "second"), "{out}");
    assert!(first.probability > 0.95, "{}", first.probability);
    let sum: f64 = found.ranking.iter().map(|r| r.probability).sum();
    assert!(sum <= 1.0 + 1e-9 && found.ranking.is_sorted_by(|a, b| a.probability >= b.probability));
    for slot in &found.slots {
        if slot.slot == "arm-left" {
            assert!(slot.belongs < 0.2, "{slot:?}");
            // Dark arms of this mould are the Winchman's.
            assert_eq!(slot.donors[0].character, "Winchman");
            assert!(slot.donors.iter().map(|d| d.probability).sum::<f64>() <= 1.0 + 1e-9);
        } else {
            assert!(slot.belongs > 0.8, "{slot:?}");
        }
    }
    let against = first.reasons.iter().find(|r| r.odds < 1.0 && r.slot == "arm-left").unwrap();
    assert!(
        against.text.contains("would have to come from another figure, such as Winchman"),
        "{}",
        against.text
    );
    let signs: Vec<(&str, &str)> = found.signs.iter().map(|s| (&*s.slot, &*s.sign)).collect();
    assert!(signs.contains(&("arm-left", "unlike the torso")), "{signs:?}");
    assert!(signs.contains(&("arm-left", "left unlike right")), "{signs:?}");
    for sign in &found.signs {
        assert!(sign.probability > 0.5 && !sign.text.contains("fake") && !sign.innocent.is_empty());
        // The harmless first, and what must not be done last.
        assert!(
            sign.checks[0].contains("dry soft cloth")
                && sign.checks.last().unwrap().starts_with("Do not scrape")
        );
    }
    assert!(found.next_looks.iter().all(|l| l.bits > 0.0 && !l.how.is_empty() && l.slot != "pack"));
    assert_eq!(found.missing.len(), 1);
    assert!(found.notes.is_empty(), "{:?}", found.notes);
}

#[test]
fn it_works_as_a_key_on_the_table_without_a_photo() {
    let table = Table::new();
    fs::remove_file(table.path("table.png")).unwrap();
    table.write("table.case.json", &case(false));
    let Said { status, out, err } = table.identify(&["table.case.json"]);
    assert_eq!((status, err.as_str()), (0, ""), "{out}");
    assert!(out.contains("Radio Hand, second run") && out.contains("Next look"), "{out}");
    assert!(out.contains("no authentication and no appraisal"));
}

#[test]
fn what_is_wrong_is_told_with_file_and_remedy() {
    let table = Table::new();
    let mut no_guide = case(false);
    no_guide.as_object_mut().unwrap().remove("guide");
    table.write("a.case.json", &no_guide);
    table.write("b.case.json", &case(false));
    let Said { status, out, err } = table.identify(&["--json", "a.case.json", "b.case.json"]);
    assert_eq!(status, 1);
    let lines: Vec<Value> = out.lines().map(|l| serde_json::from_str(l).unwrap()).collect();
    assert_eq!((&lines[0]["sameshot_error"], &lines[1]["sameshot_findings"]), (&json!(1), &json!(1)));
    assert!(err.contains("a.case.json: the case names no guide") && err.contains("--guide FILE"), "{err}");

    let Said { status, err, .. } = table.identify(&["--guide", "skerry.guide.json", "a.case.json"]);
    assert_eq!((status, err.as_str()), (0, ""));

    let mut broken: Value = serde_json::from_str(GUIDE).unwrap();
    broken["characters"][0]["issues"][0]["parts"]["head"]["mould"] = json!("H9");
    table.write("broken.guide.json", &broken);
    let Said { status, err, .. } = table.identify(&["--guide", "broken.guide.json", "a.case.json"]);
    assert_eq!(status, 1);
    assert!(err.contains("characters › Coxswain › first › head › mould") && err.contains("“H9”"), "{err}");
    assert_eq!(table.identify(&[]).status, 2);
}

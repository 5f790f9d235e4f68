//! `sameshot measure`: its lines, its table, its exit status.

use std::fs;
use std::path::{Path, PathBuf};

use serde::Deserialize;
use serde_json::{Value, json};

use crate::bench::{Bench, DARK, ErrorLine, LIGHT, bench_case};

// Mirrors of the machine-readable interface: nothing may be missing and nothing may be added.

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ResultLine {
    sameshot_result: u32,
    readings: Vec<Reading>,
    pairs: Vec<Pair>,
    light: Light,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Reading {
    id: String,
    lab: [f64; 3],
    cov: [[f64; 3]; 3],
    pixels: Pixels,
    differences: Vec<Difference>,
    shades: Vec<ShadeEntry>,
    call: Option<String>,
    budget: Vec<BudgetEntry>,
    warnings: Vec<Warning>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Pixels {
    inside: usize,
    used: usize,
    glare: usize,
    clipped: usize,
    dark: usize,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Difference {
    shade: String,
    de00: Interval,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Interval {
    median: f64,
    low: f64,
    high: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ShadeEntry {
    // Without the attribute a missing field would pass for null.
    #[serde(deserialize_with = "Option::deserialize")]
    shade: Option<String>,
    probability: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct BudgetEntry {
    source: String,
    share: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Warning {
    code: String,
    text: String,
    remedy: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Pair {
    a: String,
    b: String,
    de00: Interval,
    different_plastic: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Light {
    zones: usize,
    warnings: Vec<Warning>,
}

fn check_interval(interval: &Interval) {
    assert!(0.0 <= interval.low && interval.low <= interval.median && interval.median <= interval.high);
}

#[test]
fn the_json_is_the_stated_one() {
    let bench = Bench::new();
    let said = bench.measure(&["bench.case.json", "--json"]);
    assert_eq!((said.status, said.err.as_str()), (0, ""), "{said:?}");
    assert!(said.out.ends_with('\n') && said.out.lines().count() == 1);
    assert!(said.out.starts_with("{\"sameshot_result\":1,"), "{}", said.out);
    let result: ResultLine = serde_json::from_str(&said.out).unwrap();
    assert_eq!(result.sameshot_result, 1);
    assert_eq!(result.light.zones, 3);
    let ids: Vec<&str> = result.readings.iter().map(|reading| reading.id.as_str()).collect();
    assert_eq!(ids, ["left arm", "torso"]);
    for (reading, truth) in result.readings.iter().zip([LIGHT, DARK]) {
        for axis in 0..3 {
            let sd = reading.cov[axis][axis].sqrt();
            assert!((reading.lab[axis] - truth[axis]).abs() < 3.0 * sd, "{:?} {truth:?}", reading.lab);
            for other in 0..3 {
                assert!((reading.cov[axis][other] - reading.cov[other][axis]).abs() < 1e-9, "not symmetric");
            }
        }
        let Pixels { inside, used, glare, clipped, dark } = reading.pixels;
        // The shape as it was drawn; of its edge nothing is looked at.
        assert_eq!(inside, 60 * 80);
        assert!(used + glare + clipped + dark <= inside && used > inside / 2);
        let compared: Vec<&str> = reading.differences.iter().map(|entry| entry.shade.as_str()).collect();
        assert_eq!(compared, ["green/light", "green/dark"]);
        reading.differences.iter().for_each(|entry| check_interval(&entry.de00));
        let shades: Vec<Option<&str>> = reading.shades.iter().map(|entry| entry.shade.as_deref()).collect();
        assert_eq!(shades, [Some("green/light"), Some("green/dark"), None]);
        let total: f64 = reading.shades.iter().map(|entry| entry.probability).sum();
        assert!((total - 1.0).abs() < 1e-9, "{total}");
        let call = reading.call.as_deref().unwrap();
        assert!(["green/light", "green/dark", "undecided", "none"].contains(&call), "{call}");
        let shares: f64 = reading.budget.iter().map(|entry| entry.share).sum();
        assert!((shares - 1.0).abs() < 1e-9, "{shares}");
        assert!(reading.budget.iter().all(|entry| !entry.source.is_empty()));
    }
    let warnings = result.readings.iter().flat_map(|reading| &reading.warnings).chain(&result.light.warnings);
    for warning in warnings {
        assert!(!warning.code.is_empty() && !warning.text.is_empty() && !warning.remedy.is_empty());
    }
    // A PNG without a profile is told.
    assert!(result.light.warnings.iter().any(|warning| warning.code == "no-profile"));
    let [pair] = &result.pairs[..] else { panic!("one pair of two readings") };
    assert_eq!((pair.a.as_str(), pair.b.as_str()), ("left arm", "torso"));
    check_interval(&pair.de00);
    assert!(pair.different_plastic > 0.95 && pair.different_plastic <= 1.0, "12 CIEDE2000 apart");
}

#[test]
fn the_same_seed_gives_the_same_bytes_and_another_one_nearly() {
    let bench = Bench::new();
    let first = bench.measure(&["bench.case.json", "--json", "--seed", "7"]);
    assert_eq!(first.out, bench.measure(&["--json", "--seed=7", "bench.case.json"]).out);
    let other = bench.measure(&["bench.case.json", "--json", "--seed", "8"]);
    assert_ne!(first.out, other.out);
}

#[test]
fn without_references_nothing_is_called() {
    let bench = Bench::new();
    let mut case = bench_case();
    case.as_object_mut().unwrap().remove("references");
    bench.write("plain.case.json", case.to_string());
    let said = bench.measure(&["plain.case.json", "--json"]);
    assert_eq!(said.status, 0, "{said:?}");
    let value: Value = serde_json::from_str(&said.out).unwrap();
    assert_eq!(value["readings"][0]["call"], Value::Null);
    assert!(value["readings"][0].as_object().unwrap().contains_key("call"));
    let result: ResultLine = serde_json::from_str(&said.out).unwrap();
    assert!(
        result.readings.iter().all(|reading| reading.differences.is_empty() && reading.shades.is_empty())
    );
}

#[test]
fn a_failing_case_has_its_line_and_the_rest_go_on_in_order() {
    let bench = Bench::new();
    fs::create_dir(bench.path("more")).unwrap();
    for name in ["b", "a", "c"] {
        bench.write(&format!("more/{name}.case.json"), bench_case().to_string());
    }
    for name in ["bench.png", "green.shades.json"] {
        fs::copy(bench.path(name), bench.path("more").join(name)).unwrap();
    }
    bench.write("more/b.case.json", "{");
    bench.write("more/not-a-case.json", "{");
    let said = bench.measure(&["--json", "gone.case.json", "more", "bench.case.json"]);
    assert_eq!(said.status, 1);
    let firsts: Vec<String> = said
        .out
        .lines()
        .map(|line| {
            let value: Value = serde_json::from_str(line).unwrap();
            value.as_object().unwrap().keys().next().unwrap().clone()
        })
        .collect();
    let (error, result) = ("sameshot_error", "sameshot_result");
    assert_eq!(firsts, [error, result, error, result, result]);
    let lines: Vec<&str> = said.out.lines().collect();
    let gone: ErrorLine = serde_json::from_str(lines[0]).unwrap();
    assert!(gone.case == "gone.case.json" && gone.text.contains("no such file"), "{}", gone.text);
    let cut: ErrorLine = serde_json::from_str(lines[2]).unwrap();
    assert_eq!(Path::new(&cut.case), Path::new("more/b.case.json"));
}

#[test]
fn a_wrong_call_is_status_2_and_says_how_to_call() {
    let bench = Bench::new();
    fs::create_dir(bench.path("empty")).unwrap();
    let calls: [(&[&str], &str); 5] = [
        (&[], "CASE"),
        (&["--jsn", "bench.case.json"], "--jsn"),
        (&["--confidence", "95", "bench.case.json"], "above 0.5 and below 1"),
        (&["--seed=-1", "bench.case.json"], "seed"),
        (&["empty"], "no *.case.json in the folder empty"),
    ];
    for (arguments, wanted) in calls {
        let said = bench.measure(arguments);
        assert_eq!((said.status, said.out.as_str()), (2, ""), "{arguments:?} {said:?}");
        assert!(said.err.contains(wanted), "{arguments:?} {said:?}");
    }
}

#[test]
fn the_table_for_people_has_the_numbers_of_the_json() {
    let bench = Bench::new();
    let table = bench.measure(&["bench.case.json"]);
    assert_eq!((table.status, table.err.as_str()), (0, ""));
    let result: ResultLine =
        serde_json::from_str(&bench.measure(&["bench.case.json", "--json"]).out).unwrap();
    for reading in &result.readings {
        for number in [reading.lab[0], reading.differences[0].de00.median, reading.differences[1].de00.high] {
            assert!(table.out.contains(&format!("{number:.1}")), "{number} is missing in\n{}", table.out);
        }
    }
    for wanted in ["left arm: ", "torso: ", "Same plastic?", "no colour profile", "->"] {
        assert!(table.out.contains(wanted), "{wanted} is missing in\n{}", table.out);
    }
    assert!(!table.out.contains('\u{1b}'), "no colour codes");
}

#[test]
fn the_table_shows_what_could_be_measured_and_says_what_could_not() {
    let bench = Bench::new();
    let mut case = bench_case();
    case["readings"][0]["shape"] = json!({"circle": {"centre": [9000, 9000], "radius": 20}});
    bench.write("half.case.json", case.to_string());
    let said = bench.measure(&["half.case.json"]);
    assert_eq!(said.status, 1);
    assert!(said.err.contains("half.case.json") && said.err.contains("left arm"), "{said:?}");
    assert!(said.out.contains("torso: ") && !said.out.contains("left arm: "), "{said:?}");
}

#[test]
fn measuring_changes_no_file() {
    let bench = Bench::new();
    let read_all = || {
        let mut files: Vec<(PathBuf, Vec<u8>)> = fs::read_dir(bench.folder.path())
            .unwrap()
            .map(|entry| entry.unwrap().path())
            .map(|path| (path.clone(), fs::read(path).unwrap()))
            .collect();
        files.sort();
        files
    };
    let before = read_all();
    bench.measure(&["bench.case.json", "--json"]);
    bench.measure(&["bench.case.json"]);
    assert_eq!(read_all(), before);
}

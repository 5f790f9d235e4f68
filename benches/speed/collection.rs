//! Ten thousand records opened, beside reading and parsing the same files with serde_json alone (one thread, into its
//! own value type), the named peer.
//!
//! `cargo bench --no-default-features --bench speed -- collection`

use std::path::Path;
use std::sync::OnceLock;

use divan::Bencher;
use sameshot::collection::{Filter, Row, SortBy, index, sort, totals};
use sameshot::guide::read_guide;
use sameshot::storage::open_collection;
use serde_json::{Value, json};
use tempfile::TempDir;

const RECORDS: usize = 10_000;

/// Records as long as those of a figure with nine parts and two findings.
fn folder() -> &'static Path {
    static FOLDER: OnceLock<TempDir> = OnceLock::new();
    let made = || {
        let folder = tempfile::tempdir().unwrap();
        for i in 0..RECORDS {
            let text = record(i).to_string();
            std::fs::write(folder.path().join(format!("figure-{i:05}.record.json")), text).unwrap();
        }
        folder
    };
    FOLDER.get_or_init(made).path()
}

fn record(i: usize) -> Value {
    let slots = ["head", "torso", "arm-left", "arm-right", "waist", "leg-left", "leg-right", "pack", "tool"];
    let parts: Vec<Value> = slots
        .iter()
        .enumerate()
        .map(|(n, slot)| {
            json!({"reading": format!("part {n}"), "slot": slot, "call": "green/medium", "mould": "A2",
                "probability": 0.97, "belongs": if (i + n).is_multiple_of(11) { 0.3 } else { 0.99 }})
        })
        .collect();
    let sources = json!([
        {"role": "case", "file": "figure.case.json", "sha256": "a".repeat(64)},
        {"role": "references", "file": "greens.shades.json", "sha256": "b".repeat(64)},
        {"role": "guide", "file": "g.guide.json", "sha256": "c".repeat(64)}]);
    let character = ["Keeper", "Diver", "Winchman", "Medic"][i % 4];
    let finding = json!({"date": "2026-11-25", "program": "0.1.0", "sources": sources, "parts": parts,
        "ranking": [{"character": character, "run": "second", "probability": 0.9 + 0.01 * (i % 10) as f64}]});
    json!({"sameshot_record": 1, "name": format!("{character} number {i}"), "photos": [format!("photos/{i}.jpg")],
        "cases": [format!("figure-{i:05}.case.json")], "notes": "bought at the harbour fair",
        "bought": {"where": "harbour fair", "price": "12.50 EUR"}, "findings": [finding.clone(), finding]})
}

#[divan::bench(sample_count = 10)]
fn peer_serde_json_values(bencher: Bencher) {
    let folder = folder();
    bencher.bench(|| {
        let entries = std::fs::read_dir(folder).unwrap();
        let values = entries.map(|entry| {
            let bytes = std::fs::read(entry.unwrap().path()).unwrap();
            serde_json::from_slice::<Value>(&bytes).unwrap()
        });
        values.collect::<Vec<Value>>()
    });
}

#[divan::bench(sample_count = 10)]
fn open(bencher: Bencher) {
    let folder = folder();
    bencher.bench(|| {
        let opened = open_collection(folder).unwrap();
        assert_eq!((opened.records.len(), opened.problems.len()), (RECORDS, 0));
        opened
    });
}

fn rows() -> Vec<Row> {
    let opened = open_collection(folder()).unwrap();
    index(opened.records.iter().map(|(file, record)| (file.as_str(), record)))
}

/// What a key typed into the search field costs.
#[divan::bench(sample_count = 10)]
fn search_and_sort(bencher: Bencher) {
    let rows = rows();
    let filter = Filter { text: "keeper fair 77".into(), ..Filter::default() };
    bencher.bench(|| {
        let mut chosen = filter.of(&rows);
        sort(&rows, &mut chosen, SortBy::Doubt, false);
        chosen
    });
}

#[divan::bench(sample_count = 10)]
fn sort_all_by_name(bencher: Bencher) {
    let rows = rows();
    bencher.bench(|| {
        let mut chosen: Vec<usize> = (0..rows.len()).collect();
        sort(&rows, &mut chosen, SortBy::Name, false);
        chosen
    });
}

#[divan::bench(sample_count = 10)]
fn index_and_totals(bencher: Bencher) {
    let opened = open_collection(folder()).unwrap();
    let guide = read_guide(include_str!("../../assets/demo/skerry-rescue.guide.json")).unwrap();
    let guides = [("g.guide.json".to_owned(), guide)];
    bencher.bench(|| {
        let records = || opened.records.iter().map(|(file, record)| (file.as_str(), record));
        (index(records()), totals(records(), &guides))
    });
}

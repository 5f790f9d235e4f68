//! What a new finding costs after each look, on a line far larger than the demo's: 400 characters in 4 runs, 12 slots.
//!
//! `cargo bench --no-default-features --bench speed -- figure`

use divan::Bencher;
use rand::{RngExt, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;
use sameshot::figure::{
    Evidence, FindingOptions, JointShades, JointTerm, Line, LookOptions, ShadeLikelihood, find, next_looks,
    weigh,
};
use sameshot::guide::{Guide, read_guide};
use serde_json::{Map, Value, json};

const SHADES: [&str; 5] = ["green/light", "green/medium", "green/dark", "flesh/pale", "flesh/tan"];
const SLOTS: usize = 12;

fn slots() -> Vec<String> {
    (0..SLOTS).map(|s| format!("slot {s}")).collect()
}

/// Every slot has 30 moulds, 5 shades, a paint of 4 values, a joint and a mark of 2; runs change some parts.
fn guide() -> Guide {
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(1);
    let slots = slots();
    let moulds: Vec<Value> = slots
        .iter()
        .flat_map(|s| (0..30).map(move |m| json!({"id": format!("{s} mould {m}"), "slots": [s]})))
        .collect();
    let mut part = |slot: &str| {
        json!({
            "mould": format!("{slot} mould {}", rng.random_range(0..30)),
            "shade": (SHADES[rng.random_range(0..5)]),
            "paint": (["none", "white", "red", "blue"][rng.random_range(0..4)]),
            "joint": (["pin", "ball"][rng.random_range(0..2)]),
            "stamp": (["plain", "star"][rng.random_range(0..2)]),
        })
    };
    let mut characters = Vec::new();
    for c in 0..400 {
        let mut parts: Map<String, Value> = slots.iter().map(|s| (s.clone(), part(s))).collect();
        let mut issues = Vec::new();
        for run in 0..4 {
            let changed = &slots[(c + run) % SLOTS];
            parts.insert(changed.clone(), part(changed));
            issues.push(json!({"run": format!("run {run}"), "parts": parts.clone()}));
        }
        characters.push(json!({"id": format!("character {c}"), "issues": issues}));
    }
    let guide = json!({
        "sameshot_guide": 1, "line": "Large",
        "runs": (0..4).map(|r| json!({"id": format!("run {r}")})).collect::<Vec<_>>(),
        "slots": slots.iter().map(|s| json!({"id": s})).collect::<Vec<_>>(),
        "shades": SHADES.map(|s| json!({"id": s})), "moulds": moulds,
        "features": [
            {"id": "paint", "kind": "paint", "slots": slots, "values": ["none", "white", "red", "blue"], "bare": "none"},
            {"id": "joint", "kind": "joint", "slots": slots, "values": ["pin", "ball"]},
            {"id": "stamp", "kind": "mark", "slots": slots, "values": ["plain", "star"]},
        ],
        "characters": characters,
        "halves": {"upper": slots[..6]},
    });
    read_guide(&guide.to_string()).expect("a good guide")
}

/// A few looks as they come in the course of a finding.
fn looks(guide: &Guide, joint_terms: usize) -> Evidence {
    let mut evidence = Evidence::default();
    let parts = &guide.characters[17].issues[2].parts;
    for (slot, feature) in [(0, "mould"), (3, "paint"), (7, "mould"), (9, "joint"), (11, "stamp")] {
        let slot = format!("slot {slot}");
        if let Some(sameshot::guide::Choice::One(value)) = parts.get(&slot).and_then(|p| p.get(feature)) {
            evidence.see(&slot, feature, value, true);
        }
    }
    if joint_terms > 0 {
        // As the readings of one photo come: combinations of shades, each with its likelihood.
        let mut rng = Xoshiro256PlusPlus::seed_from_u64(2);
        let mut read = |_: &String| {
            let seen = rng.random_range(0..SHADES.len());
            let is = |n: usize| f64::from(u8::from(n == seen));
            let shades = SHADES.iter().enumerate().map(|(n, s)| ((*s).to_owned(), is(n))).collect();
            ShadeLikelihood { shades, none: 0.0 }
        };
        let mut terms: Vec<JointTerm> = (0..joint_terms)
            .map(|_| JointTerm { weight: 1.0, slots: slots().iter().map(&mut read).collect() })
            .collect();
        terms.iter_mut().for_each(|term| term.weight = rng.random_range(0.01..1.0));
        evidence.joint = Some(JointShades { slots: slots(), terms });
    }
    evidence
}

#[divan::bench]
fn make_ready(bencher: Bencher) {
    let guide = guide();
    bencher.bench_local(|| Line::new(&guide));
}

#[divan::bench]
fn posterior(bencher: Bencher) {
    let guide = guide();
    let (line, evidence) = (Line::new(&guide), looks(&guide, 0));
    bencher.bench_local(|| weigh(&line, &evidence).map(|w| w.composite));
}

#[divan::bench(args = [0, 64])]
fn all_next_looks(bencher: Bencher, joint_terms: usize) {
    let guide = guide();
    let (line, evidence) = (Line::new(&guide), looks(&guide, joint_terms));
    let weighed = weigh(&line, &evidence).expect("fits");
    bencher.bench_local(|| next_looks(&weighed, &evidence, &LookOptions::default()).len());
}

/// The line that the promise is about: everything that a new look changes on the screen.
#[divan::bench(args = [0, 64])]
fn whole_finding(bencher: Bencher, joint_terms: usize) {
    let guide = guide();
    let (line, evidence) = (Line::new(&guide), looks(&guide, joint_terms));
    bencher.bench_local(|| find(&line, &evidence, &FindingOptions::default()).ranking.len());
}

/// Once who it is is settled, the next looks go for the parts.
#[divan::bench]
fn settled_finding(bencher: Bencher) {
    let guide = guide();
    let line = Line::new(&guide);
    let mut evidence = Evidence::default();
    for (slot, part) in &guide.characters[17].issues[2].parts {
        if let Some(sameshot::guide::Choice::One(value)) = part.get("mould") {
            evidence.see(slot, "mould", value, true);
        }
    }
    let found = find(&line, &evidence, &FindingOptions::default());
    assert!(found.ranking[0].probability > 0.95, "settled: {}", found.ranking[0].probability);
    bencher.bench_local(|| find(&line, &evidence, &FindingOptions::default()).next_looks.len());
}

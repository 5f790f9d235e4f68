//! The proposed looks against the best possible plan of looks, found by exhaustive search.

use std::collections::HashMap;

use rand::{Rng, RngExt, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;
use serde_json::json;

use super::*;
use crate::guide::read_guide;

const SETTLED: f64 = 0.95;
const LEAST_BITS: f64 = 1e-6;

/// A small line: three to six hosts, two slots with two or three features each.
fn small_line(rng: &mut impl Rng) -> Line {
    let values = ["a", "b", "c"];
    let slots = ["head", "torso"];
    let count: usize = rng.random_range(2..=3);
    let features: Vec<_> = (0..count)
        .map(|f| {
            let values = &values[..rng.random_range(2..=3)];
            json!({"id": format!("mark {f}"), "kind": "mark", "slots": slots, "values": values})
        })
        .collect();
    let mut characters = Vec::new();
    for c in 0..rng.random_range(3..=6) {
        let mut parts = serde_json::Map::new();
        for slot in slots {
            let mut part = serde_json::Map::new();
            for feature in &features {
                let of = feature["values"].as_array().expect("list");
                part.insert(
                    feature["id"].as_str().expect("id").into(),
                    of[rng.random_range(0..of.len())].clone(),
                );
            }
            parts.insert(slot.into(), part.into());
        }
        let weight = rng.random_range(0.2..2.0);
        characters.push(
            json!({"id": format!("C{c}"), "issues": [{"run": "only", "weight": weight, "parts": parts}]}),
        );
    }
    let guide = json!({
        "sameshot_guide": 1, "line": "Small", "runs": [{"id": "only"}],
        "slots": slots.map(|s| json!({"id": s, "lost": 0})), "features": features, "characters": characters,
        "rates": {"exchange": 0.02, "misread": 0.01}
    });
    Line::new(&read_guide(&guide.to_string()).unwrap_or_else(|p| panic!("{p:?}")))
}

/// Expected number of looks until somebody is settled or no look tells anything.
struct Plan<'a> {
    line: &'a Line,
    greedy: bool,
    known: HashMap<String, f64>,
}

impl Plan<'_> {
    fn looks_from(&mut self, evidence: &Evidence) -> f64 {
        let key = format!("{:?}", evidence.slots);
        if let Some(known) = self.known.get(&key) {
            return *known;
        }
        let weighed = weigh(self.line, evidence).expect("fits");
        let top = weighed.whole.iter().copied().fold(0.0, f64::max);
        let mut open = next_looks(&weighed, evidence, &LookOptions::default());
        open.retain(|l| l.bits > LEAST_BITS);
        if self.greedy {
            open.truncate(1);
        }
        if top >= SETTLED || open.is_empty() {
            self.known.insert(key, 0.0);
            return 0.0;
        }
        let mut best = f64::INFINITY;
        for look in open {
            let slot = &self.line.slots[look.slot];
            let feature = &slot.features[look.feature];
            let (mut expected, mut sum) = (1.0, 0.0);
            for value in &feature.values {
                let mut more = evidence.clone();
                more.see(&slot.id, &feature.id, value, true);
                let after = weigh(self.line, &more).expect("fits");
                let chance = libm::exp(after.ln_evidence - weighed.ln_evidence);
                sum += chance;
                expected += chance * self.looks_from(&more);
            }
            assert!((sum - 1.0).abs() < 1e-9, "outcomes add up to {sum}");
            best = f64::min(best, expected);
        }
        self.known.insert(key, best);
        best
    }
}

#[test]
fn looks_are_nearly_as_few_as_the_best_plan_needs() {
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(7);
    let (mut ours, mut best, mut worst) = (0.0, 0.0, 1.0);
    let guides = 40;
    for _ in 0..guides {
        let line = small_line(&mut rng);
        let mut evidence = Evidence::default();
        for slot in &line.slots {
            evidence.at(&slot.id).presence = Presence::Present;
        }
        let count = |greedy| Plan { line: &line, greedy, known: HashMap::new() }.looks_from(&evidence);
        let (greedy, optimum) = (count(true), count(false));
        assert!(greedy >= optimum - 1e-9, "no plan beats the best one: {greedy} {optimum}");
        ours += greedy;
        best += optimum;
        worst = f64::max(worst, if optimum > 0.0 { greedy / optimum } else { 1.0 });
    }
    println!(
        "looks: {:.3} on average, best plan {:.3}, ratio {:.3}, worst guide {worst:.3}",
        ours / f64::from(guides),
        best / f64::from(guides),
        ours / best
    );
    assert!(ours <= 1.3 * best, "{ours} against {best}");
    assert!(best > f64::from(guides), "the guides are not trivial");
}

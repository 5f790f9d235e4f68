//! The algebra against enumeration, against a textbook, and on degenerate evidence.

use proptest::prelude::*;
use rand::{Rng, RngExt, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;
use serde_json::{Value, json};

use super::brute::{Brute, enumerate, figures};
use super::look::entropy_bits;
use super::*;
use crate::guide::{Guide, read_guide};

/// A random small guide: shared parts, parts that nobody has, silence, mixtures, joints that bind, two halves.
fn random_guide(rng: &mut impl Rng) -> Guide {
    let slots = ["head", "torso", "arm"];
    let slots = &slots[..rng.random_range(1..=3)];
    let runs = ["first", "second"];
    let pick = |rng: &mut dyn FnMut() -> usize, from: &[&str]| json!(from[rng() % from.len()]);
    let mut characters = Vec::new();
    for c in 0..rng.random_range(1..=3) {
        let mut issues = Vec::new();
        for run in &runs[..rng.random_range(1..=2)] {
            let mut parts = serde_json::Map::new();
            for slot in slots {
                if rng.random_bool(0.15) {
                    continue;
                }
                let mut part = serde_json::Map::new();
                let mut draw = || rng.random_range(0..100usize);
                for (feature, values) in [
                    ("mould", &["M1", "M2"][..]),
                    ("shade", &["green/light", "green/dark", "flesh/pale"][..]),
                    ("badge", &["none", "red", "blue"][..]),
                    ("joint", &["pin", "ball"][..]),
                ] {
                    match draw() % 6 {
                        0 => {}
                        1 => drop(part.insert(feature.into(), json!({values[0]: 1, values[1]: 2}))),
                        _ => drop(part.insert(feature.into(), pick(&mut draw, values))),
                    }
                }
                parts.insert((*slot).into(), part.into());
            }
            if parts.is_empty() {
                parts.insert("head".into(), json!({"mould": "M1"}));
            }
            issues.push(json!({"run": run, "weight": rng.random_range(0.1..3.0), "parts": parts}));
        }
        characters.push(json!({"id": format!("C{c}"), "issues": issues}));
    }
    let rate = |rng: &mut dyn FnMut() -> f64| json!(rng() * 0.4);
    let mut draw = || rng.random_range(0.0..1.0);
    let mut guide = json!({
        "sameshot_guide": 1, "line": "Random",
        "runs": [{"id": "first"}, {"id": "second", "weight": 0.6}],
        "slots": slots.iter().map(|s| json!({"id": s})).collect::<Vec<_>>(),
        "shades": [{"id": "green/light"}, {"id": "green/dark"}, {"id": "flesh/pale"}],
        "moulds": [{"id": "M1", "slots": slots}, {"id": "M2", "slots": slots}],
        "features": [
            {"id": "badge", "kind": "paint", "slots": slots, "values": ["none", "red", "blue"], "bare": "none"},
            {"id": "joint", "kind": "joint", "slots": slots, "values": ["pin", "ball"], "binds": true},
        ],
        "characters": characters,
        "rates": {"exchange": rate(&mut draw), "lost": rate(&mut draw), "misread": rate(&mut draw),
                  "wear": rate(&mut draw), "off_colour": rate(&mut draw), "aged": rate(&mut draw)},
    });
    if draw() < 0.7 && slots.len() > 1 {
        guide["halves"] = json!({"upper": ["head"], "rate": 0.2});
    }
    read_guide(&guide.to_string()).unwrap_or_else(|p| panic!("{p:?}"))
}

fn random_shades(rng: &mut impl Rng) -> ShadeLikelihood {
    let mut value = || rng.random_range(0.0..2.0);
    // "flesh/pale" was not compared with: it counts as none of these.
    ShadeLikelihood {
        shades: vec![("green/light".into(), value()), ("green/dark".into(), value())],
        none: value(),
    }
}

fn random_evidence(guide: &Guide, rng: &mut impl Rng) -> Evidence {
    let mut out = Evidence::default();
    let mut joint = Vec::new();
    for slot in &guide.slots {
        let at = out.at(&slot.id);
        match rng.random_range(0..10) {
            0 => {
                at.presence = Presence::Missing;
                continue;
            }
            1 => continue,
            2 => at.presence = Presence::Present,
            _ => {}
        }
        for feature in ["mould", "badge", "joint"] {
            let values = guide.values_in(&slot.id, feature);
            let sure = rng.random_bool(0.7);
            let seen = match rng.random_range(0..10) {
                0..=3 => continue,
                4 => Seen::CantSee,
                5 if feature == "badge" => Seen::WornOff { sure },
                _ => Seen::Value { value: values[rng.random_range(0..values.len())].into(), sure },
            };
            at.looks.insert(feature.into(), seen);
        }
        if rng.random_bool(0.2) {
            at.condition.push(Condition::Yellowed);
        }
        match rng.random_range(0..4) {
            0 => at.shade = Some(random_shades(rng)),
            1 => {
                drop(at.looks.insert("shade".into(), Seen::Value { value: "green/dark".into(), sure: true }))
            }
            2 => joint.push(slot.id.clone()),
            _ => {}
        }
    }
    if !joint.is_empty() {
        let terms = (0..rng.random_range(1..=3)).map(|_| JointTerm {
            weight: rng.random_range(0.1..1.0),
            slots: joint.iter().map(|_| random_shades(rng)).collect(),
        });
        let terms = terms.collect();
        out.joint = Some(JointShades { slots: joint, terms });
    }
    out
}

/// Entropy of who it is, bits: every whole host and every pair of halves is one state.
fn entropy(brute: &Brute) -> f64 {
    entropy_bits(&brute.whole) + entropy_bits(&brute.pairs.values().copied().collect::<Vec<_>>())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn posterior_equals_enumeration(seed in any::<u64>()) {
        let mut rng = Xoshiro256PlusPlus::seed_from_u64(seed);
        let guide = random_guide(&mut rng);
        let evidence = random_evidence(&guide, &mut rng);
        let line = Line::new(&guide);
        let brute = enumerate(&guide, &evidence);
        let weighed = match weigh(&line, &evidence) {
            Ok(weighed) => weighed,
            Err(NoFit::Nothing(text)) => {
                prop_assert!(text.starts_with("no hypothesis fits: "));
                prop_assert!(brute.total == 0.0, "{}", brute.total);
                return Ok(());
            }
            Err(problems) => panic!("{problems}"),
        };
        let near = |a: f64, b: f64| (a - b).abs() <= 1e-9;
        prop_assert!(near(libm::exp(weighed.ln_evidence) / brute.total, 1.0), "evidence");
        for (ours, theirs) in weighed.whole.iter().zip(&brute.whole) {
            prop_assert!(near(*ours, *theirs), "whole {ours} {theirs}");
        }
        let pairs: f64 = brute.pairs.values().sum();
        prop_assert!(near(weighed.composite, pairs), "composite {} {pairs}", weighed.composite);
        for ((upper, lower), p) in &brute.pairs {
            prop_assert!(near(weighed.pair(*upper, *lower), *p), "pair {upper} {lower}");
        }
        for (s, slot) in guide.slots.iter().enumerate() {
            let view = weighed.part(s);
            prop_assert_eq!(view.is_none(), evidence.presence(&slot.id) == Presence::Missing);
            if evidence.presence(&slot.id) != Presence::Present {
                continue;
            }
            let view = view.expect("there");
            prop_assert!(near(view.belongs, brute.belongs[s]), "belongs {} {}", view.belongs, brute.belongs[s]);
            let away: f64 = view.from.iter().sum();
            prop_assert!(near(view.belongs + away, 1.0));
            for (host, p) in weighed.donors(s, &view) {
                prop_assert!(near(p * away, brute.donors[s][host]), "donor {host}");
            }
        }
    }

    /// The expected fall of entropy by its definition: entropy now, less the mean of the entropies after each outcome.
    #[test]
    fn expected_fall_equals_its_definition(seed in any::<u64>()) {
        let mut rng = Xoshiro256PlusPlus::seed_from_u64(seed);
        let guide = random_guide(&mut rng);
        let mut evidence = random_evidence(&guide, &mut rng);
        // Shades read together couple the halves; what is told then is of the looked-at half alone.
        if guide.halves.is_some() {
            evidence.joint = None;
        }
        let line = Line::new(&guide);
        let Ok(weighed) = weigh(&line, &evidence) else { return Ok(()) };
        let before = enumerate(&guide, &evidence);
        for look in next_looks(&weighed, &evidence, &LookOptions::default()) {
            let slot = &line.slots[look.slot];
            let feature = &slot.features[look.feature];
            let mut outcomes: Vec<Option<&str>> = feature.values.iter().map(|v| Some(&**v)).collect();
            if feature.outcomes() > feature.values.len() {
                outcomes.push(Some("worn off"));
            }
            if evidence.presence(&slot.id) == Presence::Unknown {
                outcomes.push(None);
            }
            let (mut after, mut sum) = (0.0, 0.0);
            for outcome in outcomes {
                let mut more = evidence.clone();
                match outcome {
                    Some(value) => drop(more.see(&slot.id, &feature.id, value, true)),
                    None => more.at(&slot.id).presence = Presence::Missing,
                }
                let brute = enumerate(&guide, &more);
                if brute.total > 0.0 {
                    after += brute.total / before.total * entropy(&brute);
                    sum += brute.total / before.total;
                }
            }
            prop_assert!((sum - 1.0).abs() < 1e-9, "outcomes add up to {sum}");
            prop_assert!((look.bits - (entropy(&before) - after)).abs() < 1e-9, "{} {}", look.bits, entropy(&before) - after);
        }
    }
}

/// Two characters told apart by one mark with set rates; nothing is ever lost or exchanged.
fn two(prior: f64, misread: f64) -> Value {
    json!({
        "sameshot_guide": 1, "line": "Two", "runs": [{"id": "only"}], "slots": [{"id": "head"}],
        "features": [{"id": "stamp", "kind": "mark", "slots": ["head"], "values": ["yes", "no"], "misread": misread}],
        "characters": [
            {"id": "A", "issues": [{"run": "only", "weight": prior, "parts": {"head": {"stamp": "yes"}}}]},
            {"id": "B", "issues": [{"run": "only", "weight": 1.0 - prior, "parts": {"head": {"stamp": "no"}}}]}
        ],
        "rates": {"exchange": 0, "lost": 0}
    })
}

fn line_of(value: &Value) -> Line {
    Line::new(&read_guide(&value.to_string()).unwrap_or_else(|p| panic!("{p:?}")))
}

/// Eddy, D. M. (1982), "Probabilistic reasoning in clinical medicine: problems and opportunities", in Kahneman, Slovic
/// and Tversky (eds), Judgment under Uncertainty, pp. 249–267: prior 1 %, P(positive | ill) = 0.792, P(positive |
/// well) = 0.096, P(ill | positive) = 0.077 (printed to three decimals; digits from memory).
#[test]
fn the_mammography_problem_gives_the_printed_answer() {
    let mut value = two(0.01, 0.0);
    value["characters"][0]["issues"][0]["parts"]["head"]["stamp"] = json!({"yes": 0.792, "no": 0.208});
    value["characters"][1]["issues"][0]["parts"]["head"]["stamp"] = json!({"yes": 0.096, "no": 0.904});
    let line = line_of(&value);
    let mut evidence = Evidence::default();
    evidence.see("head", "stamp", "yes", true);
    let weighed = weigh(&line, &evidence).expect("fits");
    assert!((weighed.whole[0] - 0.077).abs() < 5e-4, "{}", weighed.whole[0]);
    let by_hand = 0.792 * 0.01 / (0.792 * 0.01 + 0.096 * 0.99);
    assert!((weighed.whole[0] - by_hand).abs() < 1e-12, "{}", weighed.whole[0]);
}

/// The binary symmetric channel: a look that errs at rate e on even odds tells 1 − H(e) bits (Cover and Thomas 2006,
/// Elements of Information Theory, section 7.1.4); H(0.11) = 0.49992 by its formula.
#[test]
fn a_look_tells_what_a_noisy_channel_carries() {
    let line = line_of(&two(0.5, 0.11));
    let mut evidence = Evidence::default();
    evidence.at("head").presence = Presence::Present;
    let weighed = weigh(&line, &evidence).expect("fits");
    let looks = next_looks(&weighed, &evidence, &LookOptions::default());
    assert_eq!(looks.len(), 1);
    assert!((looks[0].bits - 0.5).abs() < 1e-4, "{}", looks[0].bits);
}

#[test]
fn nothing_seen_gives_the_prior() {
    let demo = include_str!("../../assets/demo/skerry-rescue.guide.json");
    let guide = read_guide(demo).expect("good");
    let line = Line::new(&guide);
    let mut evidence = Evidence::default();
    for slot in &guide.slots {
        evidence.see(&slot.id, "mould", "can't see", true);
    }
    for evidence in [Evidence::default(), evidence] {
        let weighed = weigh(&line, &evidence).expect("fits");
        assert!((weighed.composite - 0.01).abs() < 1e-12);
        for (p, figure) in weighed.whole.iter().zip(figures(&guide)) {
            let prior = line.hosts.iter().find(|h| h.character == figure.character).expect("there").weight;
            assert!(*p > 0.0 && prior > 0.0);
        }
        for (p, host) in weighed.whole.iter().zip(&line.hosts) {
            assert!((p - 0.99 * host.weight).abs() < 1e-12, "{}", host.name);
        }
        assert!((weighed.ln_evidence).abs() < 1e-12);
    }
}

#[test]
fn the_impossible_is_said_and_no_number_is_lost() {
    let mut value = two(0.5, 0.0);
    value["slots"] = json!([{"id": "head"}, {"id": "torso"}]);
    value["features"][0]["slots"] = json!(["head", "torso"]);
    for (c, stamp) in [(0, "yes"), (1, "no")] {
        value["characters"][c]["issues"][0]["parts"]["torso"] = json!({"stamp": stamp});
    }
    value["rates"] = json!({"exchange": 0, "lost": 0, "misread": 0});
    let line = line_of(&value);
    let mut evidence = Evidence::default();
    evidence.see("head", "stamp", "yes", true).see("torso", "stamp", "no", true);
    let told = weigh(&line, &evidence).expect_err("impossible").to_string();
    assert!(told.starts_with("no hypothesis fits: each part is possible"), "{told}");

    let mut evidence = Evidence::default();
    evidence.at("head").presence = Presence::Missing;
    let told = weigh(&line, &evidence).expect_err("never lost").to_string();
    assert!(
        told.starts_with("no hypothesis fits: nobody in the guide can have what was seen of the head"),
        "{told}"
    );

    // A shade reading that no shade explains at all.
    let mut evidence = Evidence::default();
    evidence.at("head").shade = Some(ShadeLikelihood { shades: vec![], none: 0.0 });
    value["shades"] = json!([{"id": "green/light"}]);
    let told = weigh(&line_of(&value), &evidence).expect_err("impossible").to_string();
    assert!(told.starts_with("no hypothesis fits: "), "{told}");
}

#[test]
fn evidence_outside_the_guide_names_place_and_remedy() {
    let line = line_of(&two(0.5, 0.1));
    let told = |evidence: &Evidence| weigh(&line, evidence).expect_err("refused").to_string();
    let mut evidence = Evidence::default();
    evidence.see("tail", "stamp", "yes", true);
    assert_eq!(told(&evidence), "tail: The guide knows no slot “tail”. It knows: head.");
    let mut evidence = Evidence::default();
    evidence.see("head", "stamp", "maybe", true);
    assert!(told(&evidence).contains("yes, no"));
    let mut evidence = Evidence::default();
    evidence.see("head", "stamp", "worn off", true);
    assert!(told(&evidence).contains("does not wear off"));
    let mut evidence = Evidence::default();
    evidence.see("head", "stamp", "yes", true).at("head").presence = Presence::Missing;
    assert!(told(&evidence).contains("said to be missing"));
    let mut evidence = Evidence::default();
    evidence.at("head").shade = Some(ShadeLikelihood { shades: vec![("x".into(), f64::NAN)], none: 1.0 });
    assert!(told(&evidence).contains("finite"));
}

/// A table over all combinations means the same as its terms: against the sum over the table's cells by hand.
#[test]
fn a_joint_table_is_read_in_the_stated_order() {
    let value = json!({
        "sameshot_guide": 1, "line": "Two", "runs": [{"id": "only"}], "slots": [{"id": "head"}, {"id": "torso"}],
        "shades": [{"id": "a"}, {"id": "b"}],
        "characters": [
            {"id": "A", "issues": [{"run": "only", "parts": {"head": {"shade": "a"}, "torso": {"shade": "b"}}}]},
            {"id": "B", "issues": [{"run": "only", "parts": {"head": {"shade": "b"}, "torso": {"shade": "a"}}}]}
        ],
        "rates": {"exchange": 0, "off_colour": 0}
    });
    let line = line_of(&value);
    let slots = ["head".to_owned(), "torso".to_owned()];
    let shades = ["a".to_owned(), "b".to_owned()];
    // Rows: head a, b, none; columns: torso a, b, none.
    let table = [0.1, 0.6, 0.0, 0.2, 0.1, 0.0, 0.0, 0.0, 0.0];
    let joint = JointShades::from_table(&slots, &shades, &table).expect("fits");
    let evidence = Evidence { joint: Some(joint), ..Evidence::default() };
    let weighed = weigh(&line, &evidence).expect("fits");
    assert!((weighed.whole[0] - 0.75).abs() < 1e-12, "0.6 against 0.2: {}", weighed.whole[0]);
    assert!(JointShades::from_table(&slots, &shades, &table[1..]).is_err());
    assert!(JointShades::from_table(&[], &shades, &[]).is_err());
}

//! The demo's guide weighed: hard characters, reasons, composites, signs, rehearsal, the shape of the JSON.

use serde_json::{Value, json};

use super::rehearse::{RehearseOptions, Scenario, rehearse, rehearse_by_turns, rehearse_one, table};
use super::*;
use crate::case::{CaseDocument, Observation};
use crate::guide::{Guide, read_guide};
use crate::measure::Measurement;

fn demo() -> Guide {
    read_guide(include_str!("../../assets/demo/skerry-rescue.guide.json")).expect("good")
}

/// Sure looks at parts of one host, as the guide has them.
fn see(evidence: &mut Evidence, guide: &Guide, who: (&str, &str), slots: &[&str], features: &[&str]) {
    let character = guide.characters.iter().find(|c| c.id == who.0).expect("character");
    let issue = character.issues.iter().find(|i| i.run == who.1).expect("run");
    for slot in slots {
        for feature in features {
            if let Some(crate::guide::Choice::One(value)) =
                issue.parts.get(*slot).and_then(|p| p.get(*feature))
            {
                evidence.see(slot, feature, value, true);
            }
        }
    }
}

const BODY: [&str; 7] = ["head", "torso", "arm-left", "arm-right", "waist", "leg-left", "leg-right"];

fn top(findings: &Findings) -> (&str, &str, f64) {
    let first = &findings.ranking[0];
    (&first.character, &first.run, first.probability)
}

#[test]
fn two_alike_in_all_but_one_slot_are_told_by_that_slot_alone() {
    let guide = demo();
    let line = Line::new(&guide);
    let mut evidence = Evidence::default();
    let most: Vec<&str> = BODY.iter().copied().filter(|s| *s != "arm-right").collect();
    see(
        &mut evidence,
        &guide,
        ("Signaller", "first"),
        &most,
        &["mould", "shade", "wrist", "sole stamp", "cuff paint"],
    );
    let weighed = weigh(&line, &evidence).expect("fits");
    let of = |w: &Weighed, who: &str| {
        line.hosts.iter().zip(&w.whole).filter(|(h, _)| h.character == who).map(|(_, p)| p).sum::<f64>()
    };
    // Nothing seen so far tells them apart: their odds are still those of the guide, 1 to 0.5.
    assert!((of(&weighed, "Signaller") / of(&weighed, "Lookout") - 2.0).abs() < 1e-9);
    let best = next_looks(&weighed, &evidence, &LookOptions::default())[0];
    assert_eq!(
        (&*line.slots[best.slot].id, &*line.slots[best.slot].features[best.feature].id),
        ("arm-right", "mould")
    );
    evidence.see("arm-right", "mould", "A4", true);
    let findings = find(&line, &evidence, &FindingOptions::default());
    assert_eq!((top(&findings).0, top(&findings).1), ("Lookout", "first"));
    assert!(top(&findings).2 > 0.9, "{}", top(&findings).2);
}

#[test]
fn one_with_no_part_of_its_own_is_singled_out_by_the_combination() {
    let guide = demo();
    let line = Line::new(&guide);
    let shared = |who: &str, run: &str, slots: &[&str]| {
        let mut evidence = Evidence::default();
        see(&mut evidence, &guide, (who, run), slots, &["mould", "shade", "wrist", "sole stamp"]);
        find(&line, &evidence, &FindingOptions::default())
    };
    // Each part alone leaves others at least as likely.
    for slot in BODY {
        let findings = shared("Keeper", "first", &[slot]);
        let keeper =
            findings.ranking.iter().find(|r| r.character == "Keeper" && r.run == "first").expect("listed");
        assert!(keeper.probability < 0.5, "{slot}: {}", keeper.probability);
    }
    let findings = shared("Keeper", "first", &BODY);
    assert_eq!((top(&findings).0, top(&findings).1), ("Keeper", "first"));
    assert!(top(&findings).2 > 0.95, "{}", findings.text(&guide));
}

#[test]
fn a_limb_that_rightly_has_another_shade_belongs() {
    let guide = demo();
    let line = Line::new(&guide);
    let mut evidence = Evidence::default();
    see(&mut evidence, &guide, ("Boatwright", "second"), &BODY, &["mould", "shade", "wrist", "sole stamp"]);
    let findings = find(&line, &evidence, &FindingOptions::default());
    assert_eq!(top(&findings).0, "Boatwright");
    let arm = findings.slots.iter().find(|s| s.slot == "arm-right").expect("listed");
    assert!(arm.belongs > 0.95, "{}", arm.belongs);

    // The same arm on a Coxswain does not.
    let mut evidence = Evidence::default();
    see(&mut evidence, &guide, ("Coxswain", "first"), &BODY, &["mould", "shade", "wrist", "sole stamp"]);
    see(&mut evidence, &guide, ("Boatwright", "first"), &["arm-right"], &["mould", "wrist"]);
    // Measured, not seen: the dark shade beyond doubt.
    let arm = evidence.at("arm-right");
    arm.looks.remove("shade");
    let measured = [("green/light", 0.0001), ("green/medium", 0.0005), ("green/dark", 0.9993)];
    let shades: Vec<_> = measured.map(|(shade, p)| (Some(shade.to_owned()), p)).into();
    arm.shade = Some(ShadeLikelihood::from_posterior(&[shades, vec![(None, 0.0001)]].concat(), 0.05));
    let findings = find(&line, &evidence, &FindingOptions::default());
    assert_eq!(top(&findings).0, "Coxswain");
    let arm = findings.slots.iter().find(|s| s.slot == "arm-right").expect("listed");
    assert!(arm.belongs < 0.2, "{}", findings.text(&guide));
    assert_eq!(arm.donors[0].character, "Boatwright");
    let against = findings.ranking[0].reasons.iter().find(|r| r.slot == "arm-right").expect("contradiction");
    assert!(
        against.odds < 1.0
            && against.text.contains("would have to come from another figure, such as Boatwright")
    );
}

#[test]
fn two_halves_come_out_as_such() {
    let guide = demo();
    let line = Line::new(&guide);
    let mut evidence = Evidence::default();
    let all = ["mould", "shade", "wrist", "sole stamp"];
    see(&mut evidence, &guide, ("Medic", "first"), &["head", "torso", "arm-left", "arm-right", "pack"], &all);
    see(&mut evidence, &guide, ("Winchman", "second"), &["waist", "leg-left", "leg-right"], &all);
    let findings = find(&line, &evidence, &FindingOptions::default());
    let pair = &findings.composites[0];
    assert_eq!((&*pair.upper.character, &*pair.lower.character), ("Medic", "Winchman"));
    assert!(pair.probability > 0.9, "{}", findings.text(&guide));
    assert!(findings.headline().starts_with("Possibly put together from two"));
}

#[test]
fn parts_that_do_not_fit_are_no_donors() {
    let guide = demo();
    let line = Line::new(&guide);
    let mut evidence = Evidence::default();
    see(&mut evidence, &guide, ("Coxswain", "first"), &BODY, &["mould", "shade", "wrist", "sole stamp"]);
    // A diver's hood was seen on a Coxswain, unsure: its neck ring does not fit, so no Diver gave it.
    evidence.see("head", "mould", "H4", false);
    let weighed = weigh(&line, &evidence).expect("fits");
    let head = line.slot("head").expect("head");
    let coxswain = line.hosts.iter().position(|h| h.character == "Coxswain").expect("there");
    let view = weighed.part_if(head, coxswain).expect("there");
    let donors = weighed.donors(head, &view);
    assert!(
        donors.iter().all(|(h, _)| !["Diver", "Winchman"].contains(&&*line.hosts[*h].character)),
        "{donors:?}"
    );
    assert!(!donors.is_empty());
}

#[test]
fn the_json_is_as_documented() {
    let guide = demo();
    let mut case = CaseDocument::new("bench.jpg");
    let look = |slot: &str, feature: &str, value: &str| Observation {
        slot: slot.into(),
        feature: feature.into(),
        value: value.into(),
        sure: true,
        rest: serde_json::Map::new(),
    };
    case.observations = vec![look("head", "mould", "H1"), look("arm-left", "mould", "A1")];
    let findings = identify(&case, &Measurement::default(), None, &guide);
    let value: Value = serde_json::to_value(&findings).expect("json");
    let keys = |v: &Value| v.as_object().expect("object").keys().cloned().collect::<Vec<_>>();
    assert_eq!(keys(&value), ["sameshot_findings", "ranking", "slots", "signs", "next_looks"]);
    assert_eq!(value["sameshot_findings"], json!(1));
    assert_eq!(keys(&value["ranking"][0]), ["character", "run", "probability", "reasons"]);
    assert_eq!(keys(&value["ranking"][0]["reasons"][0]), ["slot", "text", "odds"]);
    assert_eq!(keys(&value["slots"][0]), ["slot", "belongs", "donors"]);
    assert_eq!(keys(&value["next_looks"][0]), ["slot", "feature", "bits", "how"]);
    let back: Findings = serde_json::from_value(value).expect("read again");
    assert_eq!(back, findings);
    let sum: f64 = findings.ranking.iter().map(|r| r.probability).sum();
    assert!(sum > 0.9 && sum <= 1.0 + 1e-12, "{sum}");
}

#[test]
fn what_the_guide_does_not_know_is_told_and_left_out() {
    let guide = demo();
    let mut case = CaseDocument::new("bench.jpg");
    let text = r#"[{"slot": "head", "feature": "mould", "value": "H9"}, {"slot": "tail", "feature": "mould", "value": "H1"},
        {"slot": "torso", "feature": "mould", "value": "T3"}, {"slot": "leg-left", "feature": "presence", "value": "missing"},
        {"slot": "arm-left", "feature": "condition", "value": "loose joint"}]"#;
    case.observations = serde_json::from_str(text).expect("observations");
    let findings = identify(&case, &Measurement::default(), None, &guide);
    assert_eq!(findings.notes.len(), 2, "{:?}", findings.notes);
    assert_eq!(top(&findings).0, "Diver");
    assert_eq!(findings.missing[0].slot, "leg-left");
    let arm = findings.condition.iter().find(|c| c.slot == "arm-left").expect("listed");
    assert_eq!(arm.state, ["loose joint"]);
    // The Diver's parts are dark, and the guide says that these snap.
    assert!(arm.cautions.iter().any(|c| c.contains("snap at the pegs")));
    let told = findings.text(&guide);
    assert!(told.contains("missing") && told.contains("no authentication"), "{told}");
}

fn small(figures: usize) -> RehearseOptions {
    RehearseOptions { figures, ..RehearseOptions::default() }
}

/// A part of what `rehearse_the_demo_in_full` does, with room for the smaller number of figures.
#[test]
fn rehearsed_figures_are_told_as_promised() {
    let line = Line::new(&demo());
    let clean = rehearse_one(&line, Scenario::Clean, &small(300));
    assert!(clean.right_first >= 0.95, "{clean:?}");
    assert!(clean.false_alarms <= 0.05, "{clean:?}");
    let one = rehearse_one(&line, Scenario::OneExchanged, &small(300));
    assert!(one.found_other_shade >= 0.85, "{one:?}");
}

/// `cargo test --no-default-features --lib -- --ignored --nocapture in_full` prints the table.
#[test]
#[ignore = "minutes in a debug build"]
fn rehearse_the_demo_in_full() {
    let line = Line::new(&demo());
    let rows = rehearse(&line, &RehearseOptions::default());
    println!("{}", table(&rows));
    let clean = &rows[0];
    assert!(clean.right_first >= 0.97, "{clean:?}");
    assert!(clean.false_alarms <= 0.03, "{clean:?}");
    assert!(rows[1].found_other_shade >= 0.90, "{:?}", rows[1]);
    for row in &rows {
        assert!(row.false_alarms <= 0.03 || row.scenario == Scenario::TwoHalves, "{row:?}");
    }
    // Figures of two halves are one in a hundred to the weighing: a row of nothing else cannot be calibrated.
    for row in rows.iter().filter(|row| row.scenario != Scenario::TwoHalves) {
        assert!(row.calibration_error <= 0.03, "{row:?}");
    }
    // Where every second figure is one, and the guide says so, the row is.
    let line = Line { composite: 0.5, ..line };
    let halves = rehearse_by_turns(&line, Scenario::TwoHalves, Scenario::Clean, &RehearseOptions::default());
    println!(
        "every second one of two halves, and the guide says so:\n{}",
        table(std::slice::from_ref(&halves))
    );
    assert!(halves.calibration_error <= 0.03, "{halves:?}");
}

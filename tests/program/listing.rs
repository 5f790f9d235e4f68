//! A seller's picture, without a card.

use std::fs;

use serde_json::Value;

use crate::run::sameshot;

/// The demo's seller's picture: bars far wider than the shades lie apart, no wrong call, a remedy with each open part, a text
/// for the seller; and the arm that came from another figure shows all the same, beside the others in the picture.
#[test]
fn the_sellers_picture_promises_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let demo = folder.path().join("demo");
    assert_eq!(sameshot(&["demo", &demo.display().to_string()]).status, 0);
    let case = demo.join("listing.case.json").display().to_string();
    let truth: Value = serde_json::from_slice(&fs::read(demo.join("listing.truth.json")).unwrap()).unwrap();
    let json = sameshot(&["measure", "--json", &case]);
    let result: Value = serde_json::from_str(&json.out).unwrap();
    for reading in result["readings"].as_array().unwrap() {
        let part =
            truth["parts"].as_array().unwrap().iter().find(|part| part["id"] == reading["id"]).unwrap();
        let call = reading["call"].as_str().unwrap();
        assert_eq!(call, "undecided", "{reading}");
        let likeliest =
            reading["shades"].as_array().unwrap().iter().max_by(|p, q| {
                p["probability"].as_f64().unwrap().total_cmp(&q["probability"].as_f64().unwrap())
            });
        assert_eq!(likeliest.unwrap()["shade"], part["shade"], "{reading}");
        let sd_of_lightness = reading["cov"][0][0].as_f64().unwrap().sqrt();
        assert!(sd_of_lightness > 5.0, "{sd_of_lightness}");
        assert!(!reading["warnings"].as_array().unwrap().is_empty());
    }
    let shade_of = |id: &Value| {
        let part = truth["parts"].as_array().unwrap().iter().find(|part| part["id"] == *id).unwrap();
        part["shade"].as_str().unwrap()
    };
    let (mut with_the_arm, mut without) = (Vec::new(), Vec::new());
    for pair in result["pairs"].as_array().unwrap() {
        let different = pair["different_plastic"].as_f64().unwrap();
        let of_two_shades = shade_of(&pair["a"]) != shade_of(&pair["b"]);
        if of_two_shades { &mut with_the_arm } else { &mut without }.push(different);
    }
    println!("of different plastic: {with_the_arm:.2?}, of one: {without:.2?}");
    assert_eq!(with_the_arm.len(), 4);
    let mean = |all: &[f64]| all.iter().sum::<f64>() / all.len() as f64;
    assert!(mean(&with_the_arm) > 0.8, "{with_the_arm:?}");
    assert!(without.iter().all(|different| *different < 0.5), "{without:?}");

    let text = sameshot(&["measure", &case]).all();
    for word in
        ["What this picture supports", "Which shade these are: torso", "A text for the seller", "no filter"]
    {
        assert!(text.contains(word), "{text}\n  without: {word}");
    }
    let supported = text.split("What this picture supports").nth(1).unwrap();
    let supported = supported.split("What it does not").next().unwrap();
    let shade = |line: &str| ["light", "medium", "dark"].into_iter().find(|shade| line.contains(shade));
    let mut hardly = supported.lines().filter(|line| line.contains("hardly")).peekable();
    assert!(hardly.peek().is_some(), "{supported}");
    for line in hardly {
        let of_others = ["torso", "right arm", "leg"].into_iter().any(|part| line.contains(part));
        assert!(!(of_others && shade(line) == Some("medium")), "{line}");
        assert!(!(line.contains("left arm") && shade(line) == Some("dark")), "{line}");
    }
    let stranger = supported.lines().find(|line| line.contains("differs most"));
    assert!(stranger.is_some_and(|line| line.contains("left arm")), "{supported}");
    let with_card = sameshot(&["measure", &demo.join("bench.case.json").display().to_string()]).all();
    assert!(!with_card.contains("A text for the seller"));
}

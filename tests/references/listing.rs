//! A seller's picture, and cards of one's own.

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use serde_json::Value;

fn sameshot(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_sameshot")).args(arguments).output().unwrap()
}

fn said(output: &Output) -> String {
    format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr))
}

/// The demo's seller's picture: bars far wider than the shades lie apart, no wrong call, a remedy with each open part, and a
/// text for the seller.
#[test]
fn the_sellers_picture_promises_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let demo = folder.path().join("demo");
    assert!(sameshot(&["demo", &demo.display().to_string()]).status.success());
    let case = demo.join("listing.case.json").display().to_string();
    let truth: Value = serde_json::from_slice(&fs::read(demo.join("listing.truth.json")).unwrap()).unwrap();
    let json = sameshot(&["measure", "--json", &case]);
    let result: Value = serde_json::from_slice(&json.stdout).unwrap();
    for reading in result["readings"].as_array().unwrap() {
        let part =
            truth["parts"].as_array().unwrap().iter().find(|part| part["id"] == reading["id"]).unwrap();
        let call = reading["call"].as_str().unwrap();
        assert!(call == "undecided" || Some(call) == part["shade"].as_str(), "{reading}");
        let sd_of_lightness = reading["cov"][0][0].as_f64().unwrap().sqrt();
        assert!(sd_of_lightness > 5.0, "{sd_of_lightness}");
        assert!(!reading["warnings"].as_array().unwrap().is_empty());
    }
    let text = said(&sameshot(&["measure", &case]));
    for word in
        ["What this picture supports", "Which shade these are: torso", "A text for the seller", "no filter"]
    {
        assert!(text.contains(word), "{text}\n  without: {word}");
    }
    let with_card = said(&sameshot(&["measure", &demo.join("bench.case.json").display().to_string()]));
    assert!(!with_card.contains("A text for the seller"));
}

#[test]
fn a_card_is_kept_with_its_measured_greys() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name).display().to_string();
    let rows =
        [91.0, 80.0, 66.0, 55.0, 46.0, 36.0, 29.0, 21.0].map(|l| format!("step,{l},0.2,-1.5,0.4,0.2,0.3\n"));
    let numbered: String =
        rows.iter().enumerate().map(|(i, row)| row.replace("step", &format!("step {}", i + 1))).collect();
    fs::write(path("card.csv"), format!("name,L,a,b,sd_l,sd_a,sd_b\n{numbered}")).unwrap();
    let kept = sameshot(&[
        "references",
        "import",
        &path("card.csv"),
        "--card",
        &path("laser.card.json"),
        "--family",
        "laser, May",
    ]);
    assert!(kept.status.success(), "{}", said(&kept));
    let card: Value = serde_json::from_slice(&fs::read(path("laser.card.json")).unwrap()).unwrap();
    assert_eq!(card["print"], "laser, May");
    assert_eq!(card["steps"].as_array().unwrap().len(), 8);
    assert_eq!(card["steps"][1]["lab"][0].as_f64(), Some(80.0));
    let again = sameshot(&["references", "import", &path("card.csv"), "--card", &path("laser.card.json")]);
    assert!(said(&again).contains("is there already"), "{}", said(&again));

    fs::write(path("short.csv"), "name,L,a,b\none,90,0,0\ntwo,50,0,0\n").unwrap();
    let short = sameshot(&["references", "import", &path("short.csv"), "--card", &path("short.card.json")]);
    assert!(said(&short).contains("2 steps"), "{}", said(&short));
    assert!(!Path::new(&path("short.card.json")).exists());
}

//! Cards of one's own: the measured greys of a print, kept in a file.

use std::fs;
use std::path::Path;

use serde_json::{Value, json};

use crate::painted::Painted;
use crate::run::sameshot;

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
    assert_eq!(kept.status, 0, "{}", kept.all());
    let card: Value = serde_json::from_slice(&fs::read(path("laser.card.json")).unwrap()).unwrap();
    assert_eq!(card["print"], "laser, May");
    assert_eq!(card["steps"].as_array().unwrap().len(), 8);
    assert_eq!(card["steps"][1]["lab"][0].as_f64(), Some(80.0));
    let again = sameshot(&["references", "import", &path("card.csv"), "--card", &path("laser.card.json")]);
    assert!(again.all().contains("is there already"), "{}", again.all());

    fs::write(path("short.csv"), "name,L,a,b\none,90,0,0\ntwo,50,0,0\n").unwrap();
    let short = sameshot(&["references", "import", &path("short.csv"), "--card", &path("short.card.json")]);
    assert!(short.all().contains("2 steps"), "{}", short.all());
    assert!(!Path::new(&path("short.card.json")).exists());
}

/// A person's own print: its steps measured in a photo beside greys of certain values become a card file, and with its values
/// the same case is read nearer to the truth than with the nominal ones.
#[test]
fn a_print_measured_once_makes_later_readings_truer() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name).display().to_string();
    // A print whose greys are darker and warmer than their targets, beside a bought ladder in one photo.
    let printed: [[f64; 3]; 8] = [
        [88.0, 0.5, 3.0],
        [75.0, 0.8, 2.5],
        [63.0, 1.0, 2.0],
        [52.0, 1.0, 1.5],
        [43.0, 0.8, 1.0],
        [35.0, 0.6, 0.5],
        [28.0, 0.4, 0.2],
        [23.0, 0.2, 0.0],
    ];
    let nominal = [90.0, 79.0, 68.0, 57.0, 47.0, 38.0, 30.0, 24.0];
    let bought = [92.0, 80.0, 66.0, 50.0, 35.0, 20.0];
    let part = [50.0, -18.0, 9.0];
    let mut picture = Painted::board([1600, 900]);
    let mut paint = |x: u32, y: u32, lab: [f64; 3]| {
        picture.rect([x, y], [140, 140], lab);
        json!({"circle": {"centre": [x + 70, y + 70], "radius": 45.0}})
    };
    let steps: Vec<Value> = (0..8).map(|i| paint(40 + 190 * i as u32, 60, printed[i])).collect();
    let greys: Vec<Value> = (0..6).map(|i| paint(40 + 190 * i as u32, 340, [bought[i], 0.0, 0.0])).collect();
    let part_shape = paint(700, 640, part);
    picture.save(path("print.png").as_ref());
    let zones: Vec<Value> = greys
        .iter()
        .zip(bought)
        .enumerate()
        .map(|(i, (shape, l))| {
            json!({"id": format!("bought {i}"), "shape": shape,
            "known": {"lab": [l, 0.0, 0.0], "sd": [0.3, 0.2, 0.2]}})
        })
        .collect();
    let readings: Vec<Value> = steps
        .iter()
        .enumerate()
        .map(|(i, shape)| json!({"id": format!("step {}", i + 1), "shape": shape, "surface": "flat"}))
        .collect();
    let case = json!({"sameshot_case": 1, "photo": "print.png", "zones": zones, "readings": readings});
    fs::write(path("print.case.json"), case.to_string()).unwrap();
    let made = sameshot(&[
        "references",
        "build",
        &path("print.case.json"),
        "--card",
        &path("mine.card.json"),
        "--family",
        "inkjet, June",
    ]);
    assert_eq!(made.status, 0, "{}", made.all());
    let card: Value = serde_json::from_slice(&fs::read(path("mine.card.json")).unwrap()).unwrap();
    assert_eq!(card["print"], "inkjet, June");
    for (step, truth) in card["steps"].as_array().unwrap().iter().zip(printed) {
        for axis in 0..3 {
            let (found, sd) = (step["lab"][axis].as_f64().unwrap(), step["sd"][axis].as_f64().unwrap());
            assert!((found - truth[axis]).abs() < 3.0 * sd, "{step} {truth:?}");
        }
    }

    // Another evening: the card alone, its steps as printed on it, and a part.
    let zones: Vec<Value> = steps
        .iter()
        .zip(nominal)
        .enumerate()
        .map(|(i, (shape, l))| {
            json!({"id": format!("step {}", i + 1), "shape": shape,
            "known": {"lab": [l, 0.0, 0.0], "sd": [4.0, 1.5, 2.5]}})
        })
        .collect();
    let case = json!({"sameshot_case": 1, "photo": "print.png", "zones": zones,
        "readings": [{"id": "part", "shape": part_shape, "surface": "flat"}]});
    fs::write(path("part.case.json"), case.to_string()).unwrap();
    let read = |more: &[&str]| {
        let case = path("part.case.json");
        let output = sameshot(&[&["measure", "--json", &case], more].concat());
        assert_eq!(output.status, 0, "{}", output.all());
        let result: Value = serde_json::from_str(&output.out).unwrap();
        let reading = &result["readings"][0];
        let of = |axis: usize| {
            (reading["lab"][axis].as_f64().unwrap(), reading["cov"][axis][axis].as_f64().unwrap())
        };
        let away: f64 = (0..3).map(|axis| (of(axis).0 - part[axis]).powi(2)).sum();
        (away.sqrt(), (0..3).map(|axis| of(axis).1).sum::<f64>().sqrt())
    };
    let (without, with) = (read(&[]), read(&["--card", &path("mine.card.json")]));
    println!(
        "away from the truth, and the bar: nominal {without:.2?}, with the card's own values {with:.2?}"
    );
    assert!(with.0 < 0.5 * without.0, "{with:?} {without:?}");
    assert!(with.1 < without.1, "{with:?} {without:?}");
    let none = sameshot(&["measure", &path("print.case.json"), "--card", &path("mine.card.json")]);
    assert!(none.all().contains("No zone is a step of a card"), "{}", none.all());
}

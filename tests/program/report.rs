//! Reports from outside: what is written agrees with what is measured, and hostile names do no harm.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use image::{Rgb, RgbImage};
use quick_xml::Reader;
use quick_xml::events::Event;
use serde_json::{Value, json};

use crate::demo::demo;
use crate::painted::Painted;
use crate::run::{Said, sameshot};

fn report(case: &Path, out: &Path) -> Said {
    sameshot(&["report", case.to_str().unwrap(), "--out", out.to_str().unwrap()])
}

fn demo_case() -> PathBuf {
    demo("exchanged.case.json")
}

fn measured(case: &Path) -> Value {
    let out = sameshot(&["measure", "--json", case.to_str().unwrap()]);
    assert_eq!(out.status, 0, "{out:?}");
    serde_json::from_str(&out.out).unwrap()
}

/// Names of elements, and the texts between tags with their entities resolved. Fails where the page is no well-formed
/// XML (W3C XML 1.0: tags closed in order, no bare `<` or `&`, attributes quoted and not repeated).
fn parsed(html: &str) -> (Vec<String>, Vec<String>) {
    let mut reader = Reader::from_str(html);
    let (mut elements, mut texts, mut text) = (Vec::new(), Vec::new(), String::new());
    loop {
        match reader.read_event().unwrap() {
            Event::Start(tag) | Event::Empty(tag) => {
                elements.push(String::from_utf8(tag.name().as_ref().to_vec()).unwrap());
                for attribute in tag.attributes() {
                    let attribute = attribute.unwrap();
                    if ["href", "src"].contains(&std::str::from_utf8(attribute.key.as_ref()).unwrap()) {
                        assert!(attribute.value.starts_with(b"data:"), "a report must need no other file");
                    }
                }
                texts.push(std::mem::take(&mut text));
            }
            Event::End(_) => texts.push(std::mem::take(&mut text)),
            Event::Text(part) => text.push_str(&part.decode().unwrap()),
            Event::GeneralRef(entity) => match entity.resolve_char_ref().unwrap() {
                Some(letter) => text.push(letter),
                None => {
                    let name = entity.decode().unwrap();
                    text.push_str(quick_xml::escape::resolve_predefined_entity(&name).unwrap());
                }
            },
            Event::Eof => return (elements, texts),
            _ => {}
        }
    }
}

/// The report's CSV has the numbers of `measure --json`, bit for bit.
#[test]
fn the_table_has_the_numbers_of_measure() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("r.csv");
    assert_eq!(report(&demo_case(), &out).status, 0);
    let result = measured(&demo_case());
    let mut table = csv::Reader::from_path(&out).unwrap();
    let head = table.headers().unwrap().clone();
    let rows: Vec<csv::StringRecord> = table.records().map(Result::unwrap).collect();
    let readings = result["readings"].as_array().unwrap();
    assert_eq!(rows.len(), readings.len());
    for (row, reading) in rows.iter().zip(readings) {
        let cell = |name: &str| &row[head.iter().position(|column| column == name).expect(name)];
        let number = |name: &str| cell(name).parse::<f64>().unwrap();
        assert_eq!(cell("reading"), reading["id"].as_str().unwrap());
        assert_eq!(cell("call"), reading["call"].as_str().unwrap());
        for (axis, name) in ["L", "a", "b"].iter().enumerate() {
            assert_eq!(Some(number(name)), reading["lab"][axis].as_f64());
        }
        for (name, [i, j]) in [("cov_LL", [0, 0]), ("cov_La", [0, 1]), ("cov_ab", [1, 2]), ("cov_bb", [2, 2])]
        {
            assert_eq!(Some(number(name)), reading["cov"][i][j].as_f64(), "{name}");
        }
        for entry in reading["shades"].as_array().unwrap() {
            let shade = entry["shade"].as_str().unwrap_or("none");
            assert_eq!(Some(number(&format!("probability {shade}"))), entry["probability"].as_f64());
        }
        for entry in reading["differences"].as_array().unwrap() {
            for bound in ["median", "low", "high"] {
                let name = format!("dE00_{bound} {}", entry["shade"].as_str().unwrap());
                assert_eq!(Some(number(&name)), entry["de00"][bound].as_f64());
            }
        }
        for kind in ["inside", "used", "glare", "clipped", "dark"] {
            assert_eq!(Some(number(&format!("pixels_{kind}"))), reading["pixels"][kind].as_f64());
        }
    }
}

/// What must stand in every readable report of the demo's case, from `measure --json`.
fn wanted(result: &Value) -> Vec<String> {
    let mut wanted =
        vec!["no authentication".to_owned(), "What makes up the error bar".into(), "JCGM 101:2008".into()];
    for reading in result["readings"].as_array().unwrap() {
        for entry in reading["differences"].as_array().unwrap() {
            let de00 = &entry["de00"];
            let [low, high] = ["low", "high"].map(|bound| de00[bound].as_f64().unwrap());
            wanted.push(format!("{low:.1} to {high:.1}"));
        }
        let lab = [0, 1, 2].map(|axis| reading["lab"][axis].as_f64().unwrap());
        wanted.push(format!("L* {:.1} ±", lab[0]));
    }
    for pair in result["pairs"].as_array().unwrap() {
        wanted.push(format!("{} and {}", pair["a"].as_str().unwrap(), pair["b"].as_str().unwrap()));
    }
    wanted
}

#[test]
fn the_page_says_what_was_measured_and_needs_no_other_file() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("r.html");
    assert_eq!(report(&demo_case(), &out).status, 0);
    let html = fs::read_to_string(&out).unwrap();
    let (elements, texts) = parsed(&html);
    let flat = texts.join(" ");
    for text in wanted(&measured(&demo_case())) {
        assert!(flat.contains(&text), "{text} is missing");
    }
    assert!(
        html.contains("<html lang=\"en-GB\"")
            && html.contains("scope=\"row\"")
            && html.contains("aria-label")
    );
    let count = |name: &str| elements.iter().filter(|element| *element == name).count();
    assert!(count("caption") == count("table") && count("table") >= 8 && count("script") == 0);
    // The photo with its marks: each outlined twice.
    let case: Value = serde_json::from_str(&fs::read_to_string(demo_case()).unwrap()).unwrap();
    let marks = ["zones", "readings"].iter().map(|kind| case[kind].as_array().unwrap().len()).sum::<usize>();
    assert!(marks >= 10);
    assert_eq!((count("image"), count("polygon")), (1, 2 * marks));
}

#[test]
fn the_pdf_says_what_was_measured() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("r.pdf");
    assert_eq!(report(&demo_case(), &out).status, 0);
    let bytes = fs::read(&out).unwrap();
    assert!(bytes.starts_with(b"%PDF-"));
    let Ok(text) = Command::new("pdftotext").args(["-layout", out.to_str().unwrap(), "-"]).output() else {
        println!("skipped: pdftotext (Debian: poppler-utils) is not installed");
        return;
    };
    let text = String::from_utf8(text.stdout).unwrap();
    let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
    for text in wanted(&measured(&demo_case())) {
        assert!(flat.contains(&text), "{text} is missing in\n{flat}");
    }
    let facts = Command::new("pdfinfo").arg(&out).output().unwrap();
    let facts = String::from_utf8(facts.stdout).unwrap();
    assert!(facts.contains("Tagged:          yes") && facts.contains("A4"), "{facts}");
}

/// A small photo whose marks have names that a page, a spreadsheet or a terminal could take for commands.
fn hostile_case(folder: &Path) -> PathBuf {
    RgbImage::from_pixel(200, 100, Rgb([90, 120, 100])).save(folder.join("p.png")).unwrap();
    // The longest that a case may hold; control characters are refused there.
    let long = "x".repeat(200);
    let names =
        ["<b>&\"", "=1+1", "</th><script>alert(1)</script>", "\u{202e}mra\u{2028}x", &long, "腕 ذراع"];
    let readings: Vec<Value> = names
        .iter()
        .enumerate()
        .map(|(i, name)| {
            json!({"id": name, "slot": "a\"b<c", "shape": {"circle": {"centre": [20 + 30 * i, 50], "radius": 10}}})
        })
        .collect();
    let zone = json!({"id": "<i>'&amp;", "shape": {"rect": {"min": [2, 2], "max": [40, 30]}},
        "known": {"lab": [50.0, -10.0, 5.0], "sd": [0.5, 0.3, 0.3]}});
    let case = folder.join("hostile.case.json");
    let text = json!({"sameshot_case": 1, "photo": "p.png", "zones": [zone], "readings": readings});
    fs::write(&case, text.to_string()).unwrap();
    case
}

#[test]
fn hostile_names_do_no_harm() {
    let folder = tempfile::tempdir().unwrap();
    let case = hostile_case(folder.path());
    let written = |ending: &str| {
        let out = folder.path().join(format!("r.{ending}"));
        let ran = report(&case, &out);
        assert_eq!(ran.status, 0, "{ran:?}");
        fs::read(out).unwrap()
    };
    let html = String::from_utf8(written("html")).unwrap();
    let (elements, texts) = parsed(&html);
    assert!(texts.iter().any(|text| text == "<b>&\""), "the name is shown as it is");
    assert!(!elements.iter().any(|element| ["b", "i", "script"].contains(&element.as_str())));
    assert!(html.len() < 200_000, "a long name is told once, and cut");
    let steering = |c: char| ['\u{202e}', '\u{2028}'].contains(&c) || (c.is_control() && c != '\n');
    let message = String::from_utf8(written("txt")).unwrap();
    let table = String::from_utf8(written("csv")).unwrap();
    for text in [&html, &message, &table] {
        assert!(!text.contains(steering));
    }
    let mut rows = csv::Reader::from_reader(table.as_bytes());
    let ids: Vec<String> = rows.records().map(|row| row.unwrap()[2].to_owned()).collect();
    assert_eq!(ids[..2], ["<b>&\"", "'=1+1"]);
    assert!(written("pdf").starts_with(b"%PDF-"));
}

/// A board of forty limbs of two greens beside a ladder of greys, a millimetre every four pixels.
fn tray_case(folder: &Path) -> PathBuf {
    let mut photo = Painted::board([1200, 800]);
    let mut zones = Vec::new();
    for (number, l) in (0..).zip([90.0, 75.0, 60.0, 50.0, 35.0, 20.0]) {
        photo.rect([40 + 130 * number, 30], [100, 90], [l, 0.0, 0.0]);
        zones.push(json!({"id": format!("step {}", number + 1), "known": {"lab": [l, 0.0, 0.0], "sd": [0.5, 0.3, 0.3]},
            "shape": {"circle": {"centre": [90 + 130 * number, 75], "radius": 35}}}));
    }
    let (mut readings, mut parts) = (Vec::new(), Vec::new());
    for number in 0..40_u32 {
        let [x, y] = [30 + 115 * (number % 10), 160 + 155 * (number / 10)];
        photo.rect([x, y], [48, 120], [if number % 2 == 0 { 56.0 } else { 40.0 }, -15.0, 9.0]);
        readings.push(json!({"id": format!("part {}", number + 1), "surface": "flat",
            "shape": {"rect": {"min": [x + 8, y + 8], "max": [x + 40, y + 112]}}}));
        parts.push(json!({"number": number + 101, "reading": format!("part {}", number + 1),
            "outline": [[x, y], [x + 48, y], [x + 48, y + 120], [x, y + 120]]}));
    }
    photo.save(&folder.join("tray.png"));
    let shade = |id: &str, l: f64| {
        let specimen = |i: u32| {
            json!({"id": format!("{i}"), "lab": [l + 0.2 * f64::from(i), -15.0, 9.0], "sd": [0.3, 0.2, 0.2],
                "method": "spectrophotometer"})
        };
        json!({"id": id, "specimens": [specimen(0), specimen(1), specimen(2)]})
    };
    let shades = json!({"sameshot_shades": 1, "family": "green",
        "shades": [shade("green/light", 56.0), shade("green/dark", 40.0)]});
    fs::write(folder.join("two.shades.json"), shades.to_string()).unwrap();
    let case = json!({"sameshot_case": 1, "photo": "tray.png", "references": "two.shades.json", "zones": zones,
        "readings": readings, "tray": {"parts": parts},
        "card_found": {"card": "plain", "marks": 4, "quality": 0.9, "boxes": [],
            "to_mm": [[0.25, 0.0, 0.0], [0.0, 0.25, 0.0], [0.0, 0.0, 1.0]]}});
    let path = folder.join("tray.case.json");
    fs::write(&path, case.to_string()).unwrap();
    path
}

#[test]
fn a_tray_is_told_pile_by_pile_and_part_by_part() {
    let folder = tempfile::tempdir().unwrap();
    let case = tray_case(folder.path());
    let out = folder.path().join("tray.html");
    let ran = report(&case, &out);
    assert_eq!(ran.status, 0, "{ran:?}");
    let (_, texts) = parsed(&fs::read_to_string(&out).unwrap());
    let flat =
        texts.iter().filter(|text| !text.trim().is_empty()).map(|text| text.trim()).collect::<Vec<_>>();
    // 48 by 120 pixels at 0.25 mm are 12 by 30 mm; the longer side is told first.
    for wanted in ["The loose parts", "Shade by shade", "30 × 12 mm"] {
        assert!(flat.iter().any(|text| text.contains(wanted)), "{wanted}");
    }
    // Parts carry their own numbers, on the photo and in the tables.
    assert!(flat.contains(&"101") && flat.contains(&"140"));
    let piles: Vec<&&str> = flat.iter().filter(|text| text.starts_with("101, 103")).collect();
    assert_eq!(piles.len(), 1, "the light ones lie in one pile: {flat:?}");
    // Each is listed once, besides its own section.
    assert!(!flat.contains(&"The parts in short") && flat.contains(&"loose parts"));
    let message = folder.path().join("tray.txt");
    assert_eq!(report(&case, &message).status, 0);
    let message = fs::read_to_string(message).unwrap();
    assert!(message.lines().count() < 12 && message.contains(": 101, 103"), "{message}");
    let start = std::time::Instant::now();
    assert_eq!(report(&case, &folder.path().join("tray.pdf")).status, 0);
    println!("the PDF of a tray of 40 parts, measured and written: {:.2} s", start.elapsed().as_secs_f64());
}

#[test]
fn a_wrong_call_is_told_with_what_to_do() {
    let folder = tempfile::tempdir().unwrap();
    let out = report(&demo_case(), &folder.path().join("r.docx"));
    assert_eq!(out.status, 2);
    assert!(out.err.contains(".html, .pdf, .csv or .txt"));
    let out = report(&folder.path().join("none.case.json"), &folder.path().join("r.html"));
    assert_eq!(out.status, 1);
    let told = out.err;
    assert!(told.contains("none.case.json") && !folder.path().join("r.html").exists(), "{told}");
    let out = report(&demo_case(), &folder.path().join("no folder/r.txt"));
    assert_eq!(out.status, 1);
    assert!(out.err.contains("the folder does not exist"));
}

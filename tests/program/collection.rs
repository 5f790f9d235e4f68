//! A collection from outside: cases go in, are found again, a broken record stops nothing, and what other references
//! would change is listed before anything is written.

use std::fs;
use std::path::{Path, PathBuf};

use serde_json::Value;

use crate::demo::demo;
use crate::run::{Said, sameshot};

fn done(arguments: &[&str]) -> String {
    let said = sameshot(arguments);
    assert_eq!(said.status, 0, "{arguments:?}: {said:?}");
    said.out
}

fn demo_case() -> String {
    demo("exchanged.case.json").display().to_string()
}

fn read(path: &Path) -> Value {
    serde_json::from_slice(&fs::read(path).unwrap()).unwrap()
}

fn listing(folder: &str) -> Value {
    serde_json::from_str(&done(&["collection", folder, "--json"])).unwrap()
}

/// A copy of the demo with the small guide case and its photo.
fn collection(folder: &Path) -> (String, PathBuf) {
    let text = folder.join("figures").display().to_string();
    let case = demo_case();
    let out = done(&[
        "collection",
        &text,
        "--add",
        &case,
        "--name",
        "The one from the fair",
        "--price",
        "12.50 EUR",
        "--bought",
        "harbour fair",
    ]);
    (text, PathBuf::from(out.trim()))
}

#[test]
fn a_case_goes_in_whole_and_is_found_again() {
    let home = tempfile::tempdir().unwrap();
    let (folder, record_path) = collection(home.path());
    assert!(record_path.ends_with("the-one-from-the-fair.record.json"), "{record_path:?}");
    let record = read(&record_path);
    assert_eq!(record.as_object().unwrap().keys().next().unwrap(), "sameshot_record");
    let parts = record["findings"][0]["parts"].as_array().unwrap();
    let out = done(&["identify", "--json", &demo_case()]);
    let findings: Value = serde_json::from_str(&out).unwrap();
    for slot in findings["slots"].as_array().unwrap() {
        let part = parts.iter().find(|part| part["slot"] == slot["slot"]).unwrap();
        assert_eq!(part["belongs"], slot["belongs"], "the finding is that of identify");
    }
    let first = &findings["ranking"][0];
    assert_eq!(record["findings"][0]["ranking"][0]["character"], first["character"]);

    // All that it names lies in the folder, and its copy of the case gives the same finding.
    let inside = |name: &str| Path::new(&folder).join(name);
    for file in record["findings"][0]["sources"].as_array().unwrap() {
        assert!(inside(file["file"].as_str().unwrap()).is_file(), "{file}");
    }
    let copy = inside(record["cases"][0].as_str().unwrap());
    let again = done(&["identify", "--json", copy.to_str().unwrap()]);
    assert_eq!(serde_json::from_str::<Value>(&again).unwrap(), findings);

    // A second one of the same name gets files of its own but shares references and guide.
    done(&["collection", &folder, "--add", &demo_case(), "--name", "The one from the fair"]);
    let names: Vec<String> = fs::read_dir(&folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| name.ends_with("guide.json") || name.ends_with("shades.json"))
        .collect();
    assert_eq!(names.len(), 2, "{names:?}");

    let all = listing(&folder);
    assert_eq!(all["records"].as_array().unwrap().len(), 2);
    assert_eq!(all["outdated"], serde_json::json!([]));
    let found = done(&["collection", &folder, "--find", "harbour"]);
    assert!(found.contains("1 of 2 records") && found.contains("The one from the fair"), "{found}");
    assert!(found.contains("Skerry Rescue"), "{found}");
    println!("{found}");
}

#[test]
fn a_broken_record_is_named_and_the_rest_is_shown() {
    let home = tempfile::tempdir().unwrap();
    let folder = home.path().display().to_string();
    let write = |name: &str, text: &str| fs::write(home.path().join(name), text).unwrap();
    write("a.record.json", r#"{"sameshot_record": 1, "name": "good"}"#);
    write("b.record.json", r#"{"sameshot_record": 1, "name": "#);
    write("c.record.json", r#"{"sameshot_record": 7, "name": "from tomorrow"}"#);
    write("d.record.json", r#"{"sameshot_case": 1, "photo": "a.jpg"}"#);
    fs::create_dir(home.path().join("e.record.json")).unwrap();
    fs::create_dir(home.path().join("box")).unwrap();
    write("box/f.record.json", r#"{"sameshot_record": 1, "name": "deeper"}"#);
    let Said { status, out, err: told } = sameshot(&["collection", &folder]);
    assert_eq!(status, 1);
    assert!(out.contains("good") && out.contains("deeper") && out.contains("2 of 2 records"), "{out}");
    for wanted in ["b.record.json", "ends in the middle", "c.record.json", "newer Sameshot", "d.record.json"]
    {
        assert!(told.contains(wanted), "{wanted} in {told}");
    }
    let nowhere = home.path().join("nowhere").display().to_string();
    let Said { status, err: told, .. } = sameshot(&["collection", &nowhere]);
    assert_eq!(status, 2);
    assert!(told.contains("nowhere") && told.contains("does not exist"), "{told}");
}

#[test]
fn what_other_references_change_is_listed_before_anything_is_written() {
    let home = tempfile::tempdir().unwrap();
    let (folder, record_path) = collection(home.path());
    let before = fs::read(&record_path).unwrap();
    // References that call the same colours by each other's names.
    let shades = Path::new(&folder).join("skerry-sea-green.shades.json");
    let mut swapped = read(&shades);
    let list = swapped["shades"].as_array_mut().unwrap();
    let last = list.len() - 1;
    let specimens = list[0]["specimens"].take();
    list[0]["specimens"] = list[last]["specimens"].take();
    list[last]["specimens"] = specimens;
    let newer = home.path().join("newer.shades.json");
    fs::write(&newer, swapped.to_string()).unwrap();

    let newer = newer.to_str().unwrap();
    let listed = done(&["collection", &folder, "--check", "--references", newer]);
    assert!(listed.contains(", now ") && listed.contains("1 would say something else"), "{listed}");
    assert!(listed.contains("Nothing was written"), "{listed}");
    assert_eq!(fs::read(&record_path).unwrap(), before);

    done(&["collection", &folder, "--update", "--references", newer]);
    let record = read(&record_path);
    let findings = record["findings"].as_array().unwrap();
    assert_eq!(findings.len(), 2, "the history grows");
    let old: Value = serde_json::from_slice(&before).unwrap();
    assert_eq!(findings[0], old["findings"][0], "and what was there stays");
    // The case names the copy from now on: nothing would change any more.
    let again = done(&["collection", &folder, "--check", "--references", newer]);
    assert!(again.contains("0 would say something else"), "{again}");
    assert_eq!(listing(&folder)["outdated"], serde_json::json!([]));

    // An edit in place is noticed by its hash.
    let used = findings[1]["sources"].as_array().unwrap();
    let used = used.iter().find(|source| source["role"] == "references").unwrap()["file"].as_str().unwrap();
    fs::copy(&shades, Path::new(&folder).join(used)).unwrap();
    assert_eq!(listing(&folder)["outdated"].as_array().unwrap().len(), 1);
    let listed = done(&["collection", &folder, "--check"]);
    assert!(listed.contains("1 would say something else"), "{listed}");
}

#[test]
fn hostile_records_do_no_harm() {
    let home = tempfile::tempdir().unwrap();
    let folder = home.path().display().to_string();
    let names =
        ["<script>alert(1)</script>", "\u{202e}evil\u{1b}[31m", &"x".repeat(10_000), "../../etc", "=1+1"];
    for (i, name) in names.iter().enumerate() {
        let record = serde_json::json!({"sameshot_record": 1, "name": name, "notes": name, "photos": ["../../../x.jpg"],
            "findings": [{"date": name, "program": name, "missing": [name], "parts": [{"slot": name, "call": name}],
                "sources": [{"role": "guide", "file": "../../../etc/passwd", "sha256": ""}],
                "ranking": [{"character": name, "run": name, "probability": 0.99}]}]});
        fs::write(home.path().join(format!("{i}.record.json")), record.to_string()).unwrap();
    }
    let Said { status, out, err: told } = sameshot(&["collection", &folder]);
    assert_eq!(status, 1, "the guide outside is refused");
    assert!(told.contains("leads out of the folder"), "{told}");
    assert!(out.lines().all(|line| line.chars().count() < 200), "{out}");
    assert!(!out.contains(['\u{1b}', '\u{202e}']), "{out}");
    for ending in ["html", "pdf", "csv", "txt"] {
        let path = home.path().join(format!("all.{ending}"));
        let Said { status, err: told, .. } = sameshot(&["report", &folder, "--out", path.to_str().unwrap()]);
        assert_eq!(status, 1, "the guide outside is told: {told}");
        let bytes = fs::read(&path).unwrap();
        if ending == "pdf" {
            assert!(bytes.starts_with(b"%PDF-") && bytes.len() < 400_000, "{}", bytes.len());
            continue;
        }
        let text = String::from_utf8(bytes).unwrap();
        assert!(!text.contains(['\u{1b}', '\u{202e}']), "{ending}");
        // In a table it is text like any other; in a page it would be a command.
        assert!(ending != "html" || !text.contains("<script>"), "{ending}");
        assert!(!text.lines().any(|line| line.starts_with('=')), "{ending}");
        assert!(ending == "csv" || text.len() < 40_000, "long names are cut: {} in {ending}", text.len());
    }
}

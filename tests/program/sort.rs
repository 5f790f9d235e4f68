//! `sameshot sort` on a folder: a bad photo stops no other, what was sorted is not sorted again, and Ctrl+C keeps what is
//! done.

use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Command, Stdio};

use crate::demo::demo;
use crate::run::{Said, program, run};
use crate::small_tray::small_tray;

/// So many small trays and the shades, in a folder of its own.
fn folder(photos: u32) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for n in 1..=photos {
        // Each differs a little, so that none is the same file as another.
        small_tray(1100 + n).save(folder.path().join(format!("tray {n}.png"))).unwrap();
    }
    std::fs::copy(demo("skerry-sea-green.shades.json"), folder.path().join("green.shades.json")).unwrap();
    folder
}

fn sort(folder: &Path) -> Command {
    let mut command = program();
    command.arg("sort").arg(folder).args(["--known", "green/light,green/medium,green/dark"]);
    command
}

fn lines(folder: &Path) -> Vec<serde_json::Value> {
    let text = std::fs::read_to_string(folder.join("sorted/sorted.jsonl")).unwrap();
    text.lines().map(|line| serde_json::from_str(line).unwrap()).collect()
}

#[test]
fn a_bad_photo_stops_no_other_and_a_second_run_has_nothing_to_do() {
    let folder = folder(2);
    std::fs::write(folder.path().join("broken.jpg"), b"no photo at all").unwrap();
    let Said { status, out, err } = run(&mut sort(folder.path()));
    println!("{out}{err}");
    assert_eq!(status, 1, "one photo failed");
    assert!(err.contains("broken.jpg") && out.contains("broken.jpg: not sorted"));
    let sorted = lines(folder.path());
    assert_eq!(sorted.len(), 3);
    assert!(sorted[0]["sameshot_error"] == 1 && sorted[1]["sameshot_sorted"] == 1);
    let parts = sorted[1]["parts"].as_array().unwrap().len() + sorted[2]["parts"].as_array().unwrap().len();
    let table = std::fs::read_to_string(folder.path().join("sorted/sorted.csv")).unwrap();
    assert_eq!(table.lines().count(), parts + 1);
    let sheet = image::open(folder.path().join("sorted/contact-sheet.jpg")).unwrap();
    assert!(sheet.width() > 1000);
    let again = run(&mut sort(folder.path())).out;
    assert_eq!(again.matches("sorted before").count(), 2, "{again}");
    assert_eq!(lines(folder.path()), sorted);
}

#[test]
#[cfg(unix)]
fn ctrl_c_keeps_what_is_done_and_the_next_run_goes_on() {
    let folder = folder(4);
    let mut child = sort(folder.path()).args(["--threads", "1"]).stdout(Stdio::piped()).spawn().unwrap();
    let mut out = BufReader::new(child.stdout.take().unwrap());
    let mut told = String::new();
    out.read_line(&mut told).unwrap();
    assert!(told.starts_with("1/4 "), "{told}");
    let interrupted = Command::new("kill").args(["-INT", &child.id().to_string()]).status().unwrap();
    assert!(interrupted.success());
    let rest: Vec<String> = out.lines().map_while(Result::ok).collect();
    assert_eq!(child.wait().unwrap().code(), Some(1));
    assert!(rest.iter().any(|line| line.starts_with("Stopped. ")), "{rest:?}");
    let kept = lines(folder.path()).len();
    assert!((1..4).contains(&kept), "{kept} of 4");
    assert!(folder.path().join("sorted/contact-sheet.jpg").is_file());
    let Said { status, out, err } = run(&mut sort(folder.path()));
    assert_eq!(status, 0, "{err}");
    assert_eq!(out.matches("sorted before").count(), kept, "{out}");
    assert_eq!(lines(folder.path()).len(), 4);
}

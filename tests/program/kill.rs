//! Killed at any moment, nothing saved is lost: a writer that changes marks, records and references is killed two hundred
//! times without warning (SIGKILL). After each, every file reads, and holds what was last said to be saved or what was
//! being saved. And where nothing can be written, the old file stays and the person is told.

use std::io::{BufRead, BufReader, Write};
use std::os::unix::process::ExitStatusExt;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Duration;

use rand::{RngExt, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;
use sameshot::case::{CaseDocument, PathRule, ReadingMark};
use sameshot::collection::{Record, RecordedFinding};
use sameshot::raster::Shape;
use sameshot::shade::{References, parse_references, references_to_text};
use sameshot::storage::{
    Journal, Unsaved, open_case, open_collection, open_record, open_references, recoverable, save_atomically,
    save_case, save_record,
};
use serde_json::Map;

use crate::demo::demo;

/// So many times the writer is killed.
const KILLS: u32 = 200;

/// Names the folder to the writer, which is this test program started again.
const FOLDER: &str = "SAMESHOT_KILL_TEST_FOLDER";

fn files(folder: &Path) -> [PathBuf; 3] {
    ["a.case.json", "a.record.json", "a.shades.json"].map(|name| folder.join(name))
}

/// The state number `n`: each file says in itself which one it is.
fn case(n: usize) -> CaseDocument {
    let mut case = CaseDocument::new(format!("{n}.jpg"));
    let mark = |i: usize| {
        ReadingMark::new(format!("part {i}"), Shape::Circle { centre: [i as f64, n as f64], radius: 4.0 })
    };
    case.readings = (0..n % 37).map(mark).collect();
    case
}

fn record(n: usize) -> Record {
    let finding = |i: usize| RecordedFinding {
        date: format!("2026-11-{:02}", i % 28 + 1),
        program: "0.1.0".into(),
        sources: Vec::new(),
        ranking: Vec::new(),
        parts: Vec::new(),
        missing: vec![format!("slot {n}")],
        rest: Map::new(),
    };
    let mut record = Record::new(format!("{n}"));
    record.findings = (0..n % 23).map(finding).collect();
    record
}

fn references(n: usize) -> References {
    let specimen = |i: usize| serde_json::json!({"id": format!("{i}"), "lab": [50.0, -12.0, 8.0], "sd": [0.3, 0.2, 0.2], "method": "photo"});
    let specimens: Vec<_> = (0..n % 19 + 1).map(specimen).collect();
    let text = serde_json::json!({"sameshot_shades": 1, "family": format!("{n}"),
        "shades": [{"id": "green/light", "specimens": specimens}]});
    parse_references(text.to_string().as_bytes()).unwrap()
}

/// The writer: saves states one after the other, says which are saved, and keeps a copy of unsaved marks. It runs until
/// it is killed.
#[test]
#[ignore = "started by the other test, and killed by it"]
fn writer() {
    let Some(folder) = std::env::var_os(FOLDER).map(PathBuf::from) else { return };
    let [case_file, record_file, shades_file] = files(&folder);
    let journal = Journal::open(&folder.join("data")).unwrap();
    let mut out = std::io::stdout().lock();
    let first = std::fs::read_to_string(folder.join("next")).unwrap().parse::<usize>().unwrap();
    for n in first.. {
        journal.keep(&Unsaved::Case(Box::new(case(n))), Some(&case_file), &folder).unwrap();
        save_case(&case_file, &case(n)).unwrap();
        save_record(&record_file, &record(n)).unwrap();
        save_atomically(&shades_file, references_to_text(&references(n)).unwrap().as_bytes()).unwrap();
        writeln!(out, "\nsaved {n}").unwrap();
        out.flush().unwrap();
    }
}

#[test]
fn nothing_saved_is_lost_when_the_program_is_killed() {
    let home = tempfile::tempdir().unwrap();
    let folder = home.path();
    let [case_file, record_file, shades_file] = files(folder);
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(7);
    let mut last = 0;
    save_case(&case_file, &case(0)).unwrap();
    save_record(&record_file, &record(0)).unwrap();
    save_atomically(&shades_file, references_to_text(&references(0)).unwrap().as_bytes()).unwrap();
    let (mut in_between, mut offered) = (0, 0);
    for _ in 0..KILLS {
        std::fs::write(folder.join("next"), format!("{}", last + 1)).unwrap();
        let mut writer = Command::new(std::env::current_exe().unwrap())
            .args(["--exact", "kill::writer", "--ignored", "--nocapture", "--test-threads=1"])
            .env(FOLDER, folder)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut lines = BufReader::new(writer.stdout.take().unwrap()).lines();
        let said = |line: String| line.strip_prefix("saved ").and_then(|n| n.parse::<usize>().ok());
        // From the first save on, at any moment.
        let started = lines.by_ref().map_while(Result::ok).find_map(said).expect("the writer saves");
        last = started;
        std::thread::sleep(Duration::from_micros(rng.random_range(0..20_000)));
        writer.kill().unwrap();
        assert_eq!(writer.wait().unwrap().signal(), Some(9));
        last = lines.map_while(Result::ok).filter_map(said).last().unwrap_or(last);

        // Each file is whole, and is the state that was saved or the one after it.
        let case_now = open_case(&case_file, PathRule::InsideFolder).unwrap();
        let record_now = open_record(&record_file).unwrap();
        let shades_now = open_references(&shades_file).unwrap();
        let number = |text: &str| text.trim_end_matches(".jpg").parse::<usize>().unwrap();
        let [c, r, s] = [&case_now.photo, &record_now.name, &shades_now.family].map(|text| number(text));
        assert!([c, r, s].iter().all(|n| *n == last || *n == last + 1), "saved {last}, found {c}, {r}, {s}");
        assert!(c >= r && r >= s, "written in this order: {c}, {r}, {s}");
        assert_eq!((case_now, record_now, shades_now), (case(c), record(r), references(s)));
        in_between += usize::from(c != s);
        last = s;
        assert_eq!(open_collection(folder).unwrap().problems, []);
        // The marks that were being changed are offered, whole.
        let found = recoverable(&folder.join("data"));
        assert_eq!(found.len(), 1, "the copy of the marks");
        for work in found {
            let Unsaved::Case(kept) = &work.work else { panic!("{:?} was never written", work.work) };
            let n = number(&kept.photo);
            assert!(n == c || n == c + 1, "the copy is that of {n}, the case that of {c}");
            assert_eq!(**kept, case(n));
            work.discard().unwrap();
            offered += 1;
        }
        // The next writer goes on from the newest of the three.
        last = last.max(c);
        save_record(&record_file, &record(last)).unwrap();
        save_atomically(&shades_file, references_to_text(&references(last)).unwrap().as_bytes()).unwrap();
    }
    let left = std::fs::read_dir(folder).unwrap().flatten().count();
    println!(
        "{KILLS} kills after {last} states, {in_between} of them between two files; {offered} copies offered; {left} \
         files in the folder, of which some are what a kill left and the next hour clears"
    );
    assert!(in_between > 0, "the kills never hit the middle of a state");
}

/// Runs a piece of shell with the program's path and a folder; answers what the program printed on standard error.
fn shell(script: &str, folder: &Path) -> String {
    let out = Command::new("sh")
        .args(["-c", script, "sh", env!("CARGO_BIN_EXE_sameshot")])
        .arg(folder)
        .arg(demo("bench.case.json"))
        .output()
        .unwrap();
    String::from_utf8_lossy(&out.stderr).into_owned()
}

/// A limit on the size of files stands for a disk that is full: writing fails in the middle (EFBIG in place of ENOSPC).
#[test]
fn a_full_disk_is_told_and_leaves_what_was_there() {
    let home = tempfile::tempdir().unwrap();
    let folder = home.path().join("figures");
    let told = shell("\"$1\" collection \"$2\" --add \"$3\" --name whole", &folder);
    assert_eq!(told, "");
    let before = std::fs::read(folder.join("whole.record.json")).unwrap();
    // 1 block of 512 bytes: no record fits, and the signal that would end the program is ignored as a disk gives none.
    let told =
        shell("trap '' XFSZ; ulimit -f 1; \"$1\" collection \"$2\" --add \"$3\" --name second", &folder);
    assert!(told.contains("could not be saved") && told.contains("Make room"), "{told}");
    let opened = open_collection(&folder).unwrap();
    assert_eq!((opened.records.len(), opened.problems.len()), (1, 0), "no half record");
    assert_eq!(std::fs::read(folder.join("whole.record.json")).unwrap(), before);
    let shown: Vec<_> =
        std::fs::read_dir(&folder).unwrap().flatten().map(|entry| entry.file_name()).collect();
    assert!(!shown.iter().any(|name| name.to_string_lossy().ends_with(".tmp")), "{shown:?}");
}

/// A real full disk and a read-only one, where the test may mount: a tmpfs of 64 kB.
#[test]
fn a_full_and_a_read_only_file_system_are_told() {
    let home = tempfile::tempdir().unwrap();
    let mount = |options: &str| {
        let target = home.path().to_str().unwrap();
        let run = Command::new("mount").args(["-t", "tmpfs", "-o", options, "none", target]).output();
        run.is_ok_and(|out| out.status.success())
    };
    if !mount("size=64k") {
        println!("skipped: mounting a small disk is not allowed here");
        return;
    }
    let file = home.path().join("a.record.json");
    save_record(&file, &record(1)).unwrap();
    std::fs::write(home.path().join("filling"), vec![0; 40_000]).unwrap();
    let mut long = record(1);
    long.notes = Some("x".repeat(60_000));
    let told = save_record(&file, &long).unwrap_err().to_string();
    let kept = open_record(&file).unwrap() == record(1);
    let remounted = mount("remount,ro");
    let read_only = save_record(&file, &record(2)).map_err(|problem| problem.to_string());
    let unmounted = Command::new("umount").arg(home.path()).status().unwrap().success();
    assert!(told.contains("the disk is full") && told.contains("untouched"), "{told}");
    assert!(kept && unmounted);
    if remounted {
        let told = read_only.unwrap_err();
        assert!(told.contains("the disk is read-only"), "{told}");
    }
}

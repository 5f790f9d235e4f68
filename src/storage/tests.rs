use std::fs;
use std::path::Path;

use serde_json::json;

use super::*;
use crate::case::{CaseDocument, PathRule, ReadingMark};
use crate::guide::Guide;
use crate::raster::Shape;

fn case(photo: &str) -> CaseDocument {
    let mut case = CaseDocument::new(photo);
    case.readings.push(ReadingMark::new("arm", Shape::Circle { centre: [5.0, 5.0], radius: 3.0 }));
    case
}

fn unsaved(photo: &str) -> Unsaved {
    Unsaved::Case(Box::new(case(photo)))
}

fn names_in(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

#[test]
fn a_save_replaces_the_file_and_leaves_nothing_beside_it() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.case.json");
    save_atomically(&path, b"one").unwrap();
    save_atomically(&path, b"two").unwrap();
    assert_eq!(fs::read(&path).unwrap(), b"two");
    assert_eq!(names_in(folder.path()), ["a.case.json"]);
}

#[test]
fn what_a_kill_left_is_cleared_at_the_next_save_and_nothing_else() {
    let folder = tempfile::tempdir().unwrap();
    let hours_ago = |hours| std::time::SystemTime::now() - std::time::Duration::from_hours(hours);
    let leave = |name: &str, modified| {
        let file = fs::File::create(folder.path().join(name)).unwrap();
        file.set_modified(modified).unwrap();
    };
    leave(".sameshot-aBc123.tmp", hours_ago(2));
    // Another window may be saving at this moment.
    leave(".sameshot-new.tmp", hours_ago(0));
    leave(".sameshot-of-tomorrow.tmp", std::time::SystemTime::now() + std::time::Duration::from_hours(9));
    leave(".sameshot-notes.txt", hours_ago(99));
    leave("letter.tmp", hours_ago(99));
    fs::create_dir(folder.path().join(".sameshot-folder.tmp")).unwrap();
    save_atomically(&folder.path().join("a.case.json"), b"one").unwrap();
    let left = names_in(folder.path());
    let kept = [
        ".sameshot-folder.tmp",
        ".sameshot-new.tmp",
        ".sameshot-notes.txt",
        ".sameshot-of-tomorrow.tmp",
        "a.case.json",
        "letter.tmp",
    ];
    assert_eq!(left, kept);
}

#[test]
fn a_save_that_cannot_be_done_says_why_and_leaves_the_old_file() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("a.case.json");
    fs::write(&file, "old").unwrap();
    let cases = [
        (folder.path().join("missing/a.case.json"), "the folder does not exist"),
        (folder.path().to_path_buf(), "there is a folder of that name"),
        (file.join("b.case.json"), "is a file, not a folder"),
    ];
    for (path, reason) in cases {
        let problem = save_atomically(&path, b"new").unwrap_err();
        assert!(problem.message.contains(reason), "{problem}");
        assert!(problem.message.contains(&*path.to_string_lossy()), "{problem}");
        assert!(problem.remedy.contains("Save under another name"), "{problem}");
    }
    assert_eq!(fs::read(&file).unwrap(), b"old");
    assert_eq!(names_in(folder.path()), ["a.case.json"]);
}

#[cfg(unix)]
#[test]
fn rights_are_kept_and_links_are_followed() {
    use std::os::unix::fs::{PermissionsExt, symlink};
    let folder = tempfile::tempdir().unwrap();
    let (file, link) = (folder.path().join("a"), folder.path().join("b"));
    fs::write(&file, "old").unwrap();
    fs::set_permissions(&file, fs::Permissions::from_mode(0o640)).unwrap();
    symlink(&file, &link).unwrap();
    save_atomically(&link, b"new").unwrap();
    assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
    assert_eq!(fs::read(&file).unwrap(), b"new");
    assert_eq!(fs::metadata(&file).unwrap().permissions().mode() & 0o777, 0o640);
}

#[test]
fn a_case_goes_through_its_file() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("bench.case.json");
    save_case(&path, &case("a.jpg")).unwrap();
    assert_eq!(open_case(&path, PathRule::InsideFolder).unwrap(), case("a.jpg"));
    save_case(&path, &case("../a.jpg")).unwrap();
    let refused = open_case(&path, PathRule::InsideFolder).unwrap_err();
    assert!(refused.message.starts_with(&format!("{}: Line 3", path.display())), "{refused}");
    assert_eq!(open_case(&path, PathRule::ChosenByHand).unwrap(), case("../a.jpg"));
}

#[test]
fn files_that_cannot_be_read_are_named() {
    let folder = tempfile::tempdir().unwrap();
    let missing = folder.path().join("no.case.json");
    let problem = open_case(&missing, PathRule::InsideFolder).unwrap_err();
    assert!(problem.message.contains("no.case.json: there is no such file"), "{problem}");
    let problem = open_references(folder.path()).unwrap_err();
    assert!(problem.message.contains("is a folder, not a file"), "{problem}");
    fs::write(&missing, vec![b' '; 100]).unwrap();
    let problem = read_limited(&missing, 99).unwrap_err();
    assert!(problem.message.contains("at most 0 MB"), "{problem}");
    assert_eq!(read_limited(&missing, 100).unwrap().len(), 100);
}

#[cfg(unix)]
#[test]
fn a_link_out_of_the_folder_is_refused_unless_chosen_by_hand() {
    let folder = tempfile::tempdir().unwrap();
    let inner = folder.path().join("inner");
    fs::create_dir(&inner).unwrap();
    fs::write(folder.path().join("secret"), "x").unwrap();
    std::os::unix::fs::symlink(folder.path().join("secret"), inner.join("a.jpg")).unwrap();
    let problem = resolve_inside(&inner, "a.jpg", PathRule::InsideFolder).unwrap_err();
    assert!(problem.message.contains("leads out of the folder"), "{problem}");
    resolve_inside(&inner, "a.jpg", PathRule::ChosenByHand).unwrap();
    assert!(resolve_inside(&inner, "../secret", PathRule::InsideFolder).is_err());
    fs::write(inner.join("b.jpg"), "x").unwrap();
    assert_eq!(resolve_inside(&inner, "b.jpg", PathRule::InsideFolder).unwrap(), inner.join("b.jpg"));
}

#[test]
fn recent_files_are_few_latest_first_and_there() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().join("data");
    let file = |n: usize| folder.path().join(format!("{n}.case.json"));
    assert_eq!(recent(&data), Vec::<std::path::PathBuf>::new());
    for n in 0..MAX_RECENT + 3 {
        fs::write(file(n), "").unwrap();
        add_recent(&data, &file(n)).unwrap();
    }
    add_recent(&data, &file(5)).unwrap();
    let listed = recent(&data);
    assert_eq!(listed.len(), MAX_RECENT);
    assert_eq!(listed[..2], [file(5), file(MAX_RECENT + 2)]);
    fs::remove_file(file(5)).unwrap();
    assert_eq!(recent(&data)[0], file(MAX_RECENT + 2));
    // A damaged list is an empty one and mends itself.
    fs::write(data.join("recent.json"), "{").unwrap();
    add_recent(&data, &file(6)).unwrap();
    assert_eq!(recent(&data), [file(6)]);
}

#[test]
fn unsaved_work_is_offered_after_a_crash_only() {
    let data = tempfile::tempdir().unwrap();
    let (case_file, folder) = (Path::new("/home/a/b.case.json"), Path::new("/home/a"));
    let journal = Journal::open(data.path()).unwrap();
    assert!(recoverable(data.path()).is_empty());
    journal.keep(&unsaved("one.jpg"), None, folder).unwrap();
    journal.keep(&unsaved("two.jpg"), Some(case_file), folder).unwrap();
    assert!(recoverable(data.path()).is_empty(), "its window is alive");

    // A crash: the process ends, which unlocks.
    drop(journal);
    let mut found = recoverable(data.path());
    assert_eq!(found.len(), 1);
    let work = found.remove(0);
    assert_eq!((work.file.as_deref(), &*work.folder), (Some(case_file), folder));
    assert!(work.saved_at.elapsed().unwrap().as_secs() < 60);
    let (recovered, journal) = work.take_over();
    assert_eq!(recovered, unsaved("two.jpg"));
    assert!(recoverable(data.path()).is_empty(), "taken over by a window that is alive");

    // Saved, then changed again, then thrown away by the next window.
    journal.clear().unwrap();
    journal.keep(&unsaved("three.jpg"), Some(case_file), folder).unwrap();
    drop(journal);
    recoverable(data.path()).remove(0).discard().unwrap();
    assert!(names_in(&data.path().join("autosave")).is_empty());

    // A window that closes in order leaves nothing; one that crashed without unsaved work is cleared away.
    Journal::open(data.path()).unwrap().close().unwrap();
    drop(Journal::open(data.path()).unwrap());
    assert!(recoverable(data.path()).is_empty());
    assert!(names_in(&data.path().join("autosave")).is_empty());
}

#[test]
fn an_unsaved_guide_is_offered_with_its_faults() {
    let data = tempfile::tempdir().unwrap();
    let mut guide = Guide::new("Skerry \"Rescue\"\n");
    guide.rest.insert("my own".into(), json!([1, {"a": 0.1}]));
    let work = Unsaved::Guide(Box::new(guide));
    let journal = Journal::open(data.path()).unwrap();
    journal.keep(&work, None, Path::new("")).unwrap();
    drop(journal);
    let mut found = recoverable(data.path());
    assert_eq!((found.len(), &found[0].work, &found[0].file), (1, &work, &None));
    found.remove(0).discard().unwrap();
    assert!(recoverable(data.path()).is_empty());
}

#[test]
fn damaged_unsaved_work_is_left_where_it_is() {
    let data = tempfile::tempdir().unwrap();
    let journal = Journal::open(data.path()).unwrap();
    journal.keep(&unsaved("one.jpg"), None, Path::new("/")).unwrap();
    drop(journal);
    let names = names_in(&data.path().join("autosave"));
    fs::write(data.path().join("autosave").join(&names[0]), json!({"sameshot_autosave": 1}).to_string())
        .unwrap();
    assert!(recoverable(data.path()).is_empty());
    assert_eq!(names_in(&data.path().join("autosave")), names);
}

/// Overwrites a file without end when started by the test below; alone it does nothing.
#[test]
fn victim_of_the_kill() {
    let Some(path) = std::env::var_os("SAMESHOT_TEST_VICTIM") else { return };
    for n in 0u32.. {
        let letter = b'a' + (n % 26) as u8;
        save_atomically(Path::new(&path), &vec![letter; 200_000]).unwrap();
    }
}

#[cfg(unix)]
#[test]
fn a_kill_at_any_moment_leaves_a_whole_file() {
    use std::process::{Command, Stdio};
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.case.json");
    save_atomically(&path, &vec![b'-'; 200_000]).unwrap();
    let mut letters = std::collections::BTreeSet::new();
    for round in 0..20u64 {
        let mut victim = Command::new(std::env::current_exe().unwrap())
            .args(["storage::tests::victim_of_the_kill", "--exact"])
            .env("SAMESHOT_TEST_VICTIM", &path)
            .stdout(Stdio::null())
            .spawn()
            .unwrap();
        std::thread::sleep(std::time::Duration::from_millis(60 + round * 7));
        victim.kill().unwrap();
        victim.wait().unwrap();
        let bytes = fs::read(&path).unwrap();
        assert_eq!(bytes.len(), 200_000);
        assert!(bytes.iter().all(|byte| *byte == bytes[0]), "a mixture of two saves");
        letters.insert(bytes[0]);
    }
    assert!(letters.len() > 1, "the victim never saved anything");
}

/// Fails to write a large file when started by the test below; alone it does nothing.
#[test]
fn victim_of_the_full_disk() {
    let Some(path) = std::env::var_os("SAMESHOT_TEST_FULL") else { return };
    let problem = save_atomically(Path::new(&path), &vec![b'x'; 2_000_000]).unwrap_err();
    assert!(problem.message.contains("larger than this disk or account allows"), "{problem}");
    assert!(problem.remedy.contains("untouched. Make room"), "{problem}");
    println!("refused as it should be");
}

/// A limit on file size stands in for a full disk: both fail in the middle of writing.
#[cfg(unix)]
#[test]
fn a_disk_that_fills_up_leaves_the_old_file_whole() {
    use std::process::Command;
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.case.json");
    save_atomically(&path, b"old").unwrap();
    let output = Command::new("sh")
        .args(["-c", "trap '' XFSZ; ulimit -f 100; exec \"$0\" \"$@\""])
        .arg(std::env::current_exe().unwrap())
        .args(["storage::tests::victim_of_the_full_disk", "--exact", "--nocapture"])
        .env("SAMESHOT_TEST_FULL", &path)
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&output.stdout);
    assert!(output.status.success() && said.contains("refused as it should be"), "{said}");
    assert_eq!(fs::read(&path).unwrap(), b"old");
    assert_eq!(names_in(folder.path()), ["a.case.json"]);
}

#[cfg(unix)]
#[test]
fn a_folder_without_the_right_to_write_is_told() {
    use std::os::unix::fs::PermissionsExt;
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.case.json");
    fs::write(&path, "old").unwrap();
    fs::set_permissions(folder.path(), fs::Permissions::from_mode(0o555)).unwrap();
    if fs::write(folder.path().join("probe"), "").is_ok() {
        println!("skipped: this user may write everywhere");
        return;
    }
    let problem = save_atomically(&path, b"new").unwrap_err();
    fs::set_permissions(folder.path(), fs::Permissions::from_mode(0o755)).unwrap();
    assert!(problem.message.contains("you may not write there"), "{problem}");
    assert_eq!(fs::read(&path).unwrap(), b"old");
}

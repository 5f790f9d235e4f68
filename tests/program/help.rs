//! What `--help` says.

use crate::run::sameshot;

/// What an example may be wide and still stand in one line of a small terminal.
const WIDTH: usize = 80;

#[test]
fn every_help_has_examples_that_can_be_copied() {
    let commands = "demo card measure identify report references collection sort map rehearse learn";
    let mut calls: Vec<Vec<&str>> = commands.split(' ').map(|command| vec![command]).collect();
    calls.extend(["build", "import", "export", "show"].map(|command| vec!["references", command]));
    calls.push(Vec::new());
    for mut call in calls {
        call.push("--help");
        let said = sameshot(&call);
        assert_eq!((said.status, said.err.as_str()), (0, ""), "{call:?}");
        let examples = said.out.split("Example").nth(1).unwrap_or_else(|| panic!("{call:?}: {}", said.out));
        let lines = examples.lines().skip(1).take_while(|line| line.starts_with("  "));
        let lines: Vec<&str> = lines.collect();
        assert!(lines.first().is_some_and(|line| line.starts_with("  sameshot")), "{call:?}: {examples}");
        for line in lines {
            assert!(line.chars().count() <= WIDTH, "{call:?}: {line}");
        }
    }
}

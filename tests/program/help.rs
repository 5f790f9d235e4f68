//! What `--help` says.

use crate::run::sameshot;

#[test]
fn every_help_has_an_example() {
    for arguments in [vec!["--help"], vec!["measure", "--help"], vec!["demo", "--help"]] {
        let said = sameshot(&arguments);
        assert_eq!((said.status, said.err.as_str()), (0, ""));
        assert!(said.out.contains("Examples:") && said.out.contains("  sameshot "), "{}", said.out);
    }
}

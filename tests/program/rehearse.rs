//! `sameshot rehearse`.

use crate::run::sameshot;

#[test]
fn a_board_is_named_in_the_table_and_changes_what_is_known() {
    let rehearsed = |board: &str| -> serde_json::Value {
        let said = sameshot(&["rehearse", "--scenes", "14", "--board", board, "--json"]);
        assert_eq!((said.status, said.err.as_str()), (0, ""));
        serde_json::from_str(&said.out).unwrap()
    };
    let [without, seen, empty] = ["none", "seen", "empty"].map(rehearsed);
    assert_eq!([&without, &seen, &empty].map(|table| table["board"].clone()), ["none", "seen", "empty"]);
    let rows = |table: &serde_json::Value| table["rows"].as_array().unwrap().clone();
    assert_eq!((rows(&without).len(), rows(&seen).len()), (84, 84));
    assert!(rows(&without) != rows(&seen) && rows(&seen) != rows(&empty), "the board teaches nothing");

    let refused = sameshot(&["rehearse", "--board", "wood"]);
    assert_eq!(refused.status, 2);
    assert!(refused.err.contains("expected none, seen or empty"), "{}", refused.err);
}

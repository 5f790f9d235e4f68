//! `sameshot demo`.

use std::fs;

use crate::run::{program, run};

#[test]
fn the_demo_agrees_with_its_truth_and_says_how_to_open_the_window() {
    let folder = tempfile::tempdir().unwrap();
    let demo = || run(program().current_dir(folder.path()).args(["demo", "my demo"]));
    let first = demo();
    println!("{}", first.out);
    assert_eq!((first.status, first.err.as_str()), (0, ""), "{first:?}");
    assert!(first.out.contains(" 0 called wrong") && !first.out.contains("DISAGREES"));
    assert!(first.out.contains("'my demo/bench.case.json'"));
    for name in ["bench", "lamp", "exchanged", "listing"] {
        let picture = image::open(folder.path().join(format!("my demo/{name}.result.jpg"))).unwrap();
        assert!(picture.width() > 1000);
    }
    // What it leaves can be measured as it lies there, and a second run changes nothing but says the same.
    let measured = run(program().args(["measure", "--json"]).arg(folder.path().join("my demo")));
    assert_eq!((measured.status, measured.out.lines().count()), (0, 5), "{measured:?}");
    assert_eq!(demo().out, first.out);
    // Somebody's own file of that name is not touched.
    let own = folder.path().join("my demo/bench.case.json");
    fs::write(&own, "mine").unwrap();
    let refused = demo();
    assert_eq!((refused.status, refused.out.as_str()), (1, ""));
    assert!(refused.err.contains("bench.case.json is there already"), "{refused:?}");
    assert_eq!(fs::read(&own).unwrap(), b"mine");
}

//! `sameshot references`: tables brought in, taken out and shown.

use std::fs;
use std::path::{Path, PathBuf};

use crate::run::sameshot;

fn swatches(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("reference-swatches").join(name)
}

#[test]
fn the_commands_bring_in_take_out_and_show() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name).display().to_string();
    fs::write(path("chart.txt"), fs::read(swatches("chart-24-spectra.txt")).unwrap()).unwrap();
    let imported = sameshot(&["references", "import", &path("chart.txt")]);
    assert_eq!(imported.status, 0, "{}", imported.all());
    for word in ["24 samples in 24 shades", "380 to 730 nm", "Written to"] {
        assert!(imported.all().contains(word), "{}", imported.all());
    }
    let again = sameshot(&["references", "import", &path("chart.txt")]);
    assert!(again.status == 1 && again.all().contains("is there already"), "{}", again.all());

    for table in ["out.csv", "out.txt"] {
        let exported = sameshot(&["references", "export", &path("chart.shades.json"), "--out", &path(table)]);
        assert_eq!(exported.status, 0, "{}", exported.all());
        let back = path(&format!("{table}.shades.json"));
        assert_eq!(sameshot(&["references", "import", &path(table), "--out", &back]).status, 0);
        assert_eq!(fs::read(&back).unwrap(), fs::read(path("chart.shades.json")).unwrap(), "the same bytes");
    }

    fs::write(path("bad.csv"), "name,L,a,b\nfirst,50,0,0\nsecond,50,0,x\n").unwrap();
    let bad = sameshot(&["references", "import", &path("bad.csv")]);
    assert_eq!(bad.status, 1);
    for word in ["bad.csv", "Line 3, column 13", "\"x\""] {
        assert!(bad.all().contains(word), "{}", bad.all());
    }

    let greens = swatches("munsell-greens.shades.json");
    let shown =
        sameshot(&["references", "show", &greens.display().to_string(), "--svg", &path("greens.svg")]);
    assert_eq!(shown.status, 0, "{}", shown.all());
    for word in ["One specimen only: 5GY 5/4", "What would help", "called rightly"] {
        assert!(shown.all().contains(word), "{}", shown.all());
    }
    let svg = fs::read_to_string(path("greens.svg")).unwrap();
    assert!(svg.contains("<title>Shades of Munsell greens") && svg.matches("<polygon").count() == 9);
    for arguments in [["references", "--help"], ["references", "build"]] {
        let help = sameshot(&[arguments[0], arguments[1], "--help"]);
        assert!(help.all().contains("Example"), "{}", help.all());
    }
    assert_eq!(sameshot(&["references", "build", "--out", &path("none.shades.json")]).status, 2);
}

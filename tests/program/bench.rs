//! A small photo of three greys and two parts with its case and shades, painted into a folder.

use std::fs;
use std::path::PathBuf;

use image::{Rgb, RgbImage};
use sameshot::color::{Lab, to_srgb8};
use serde::Deserialize;
use serde_json::{Value, json};

use crate::run::{Said, program, run};

pub(crate) const LIGHT: [f64; 3] = [56.0, -14.0, 8.0];
pub(crate) const DARK: [f64; 3] = [44.0, -15.0, 9.0];
const GREYS: [f64; 3] = [92.0, 60.0, 30.0];

/// A mirror of the machine-readable line of a case that failed: nothing may be missing and nothing may be added.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct ErrorLine {
    sameshot_error: u32,
    pub(crate) case: String,
    pub(crate) text: String,
}

/// The folder.
pub(crate) struct Bench {
    pub(crate) folder: tempfile::TempDir,
}

impl Bench {
    pub(crate) fn new() -> Self {
        let bench = Self { folder: tempfile::tempdir().unwrap() };
        bench.photo().save(bench.path("bench.png")).unwrap();
        bench.write("green.shades.json", shades(&[("green/light", LIGHT), ("green/dark", DARK)]).to_string());
        bench.write("bench.case.json", bench_case().to_string());
        bench
    }

    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub(crate) fn write(&self, name: &str, content: impl AsRef<[u8]>) {
        fs::write(self.path(name), content).unwrap();
    }

    pub(crate) fn photo(&self) -> RgbImage {
        patches(&[grey(GREYS[0]), grey(GREYS[1]), grey(GREYS[2]), LIGHT, DARK])
    }

    pub(crate) fn measure(&self, arguments: &[&str]) -> Said {
        run(program().current_dir(self.folder.path()).arg("measure").args(arguments))
    }

    /// Measures one bad case and gives what was said of it, on the line and to the person.
    pub(crate) fn refusal(&self, case: &str) -> String {
        self.write("bad.case.json", case);
        let said = self.measure(&["--json", "bad.case.json"]);
        assert_eq!(said.status, 1, "{said:?}");
        let error: ErrorLine = serde_json::from_str(said.out.trim_end()).unwrap();
        assert_eq!((error.sameshot_error, error.case.as_str()), (1, "bad.case.json"));
        assert_eq!(said.out.lines().count(), 1);
        assert!(error.text.contains("bad.case.json"), "the file is not named: {}", error.text);
        assert!(said.err.starts_with("sameshot: bad.case.json"), "{said:?}");
        assert!(!said.err.contains("panicked"), "{said:?}");
        error.text
    }
}

/// The case of that photo.
pub(crate) fn bench_case() -> Value {
    let step = |n: usize| json!({"id": format!("step {}", n + 1), "shape": square(n), "known": {"lab": grey(GREYS[n]), "sd": [0.3, 0.2, 0.2]}});
    json!({
        "sameshot_case": 1, "photo": "bench.png", "references": "green.shades.json",
        "zones": [step(0), step(1), step(2)],
        "readings": [
            {"id": "left arm", "slot": "arm-left", "shape": square(3), "surface": "flat"},
            {"id": "torso", "shape": square(4), "surface": "flat"}
        ]
    })
}

pub(crate) fn grey(l: f64) -> [f64; 3] {
    [l, 0.0, 0.0]
}

/// Colours side by side, 100 pixels wide each.
pub(crate) fn patches(colours: &[[f64; 3]]) -> RgbImage {
    RgbImage::from_fn(100 * colours.len() as u32, 120, |x, y| {
        let [l, a, b] = colours[x as usize / 100];
        let code = to_srgb8(Lab::new(l, a, b));
        // One code of regular grain, as any camera has more of.
        Rgb(code.map(|value| value.saturating_add(((x * 7 + y * 3) % 3) as u8).saturating_sub(1)))
    })
}

/// A square inside one of the patches.
pub(crate) fn square(column: usize) -> Value {
    let left = 100 * column + 20;
    json!({"rect": {"min": [left, 20], "max": [left + 60, 100]}})
}

/// Greens by their ids, each with four specimens about its colour.
pub(crate) fn shades(shades: &[(&str, [f64; 3])]) -> Value {
    let specimen = |[l, a, b]: [f64; 3], n: u32| {
        let shift = 0.2 * f64::from(n) - 0.3;
        json!({"id": format!("s{n}"), "lab": [l + shift, a - shift, b], "sd": [0.3, 0.3, 0.3],
            "method": "spectrophotometer"})
    };
    let shade = |(id, lab): &(&str, [f64; 3])| {
        let specimens: Vec<Value> = (0..4).map(|n| specimen(*lab, n)).collect();
        json!({"id": id, "specimens": specimens})
    };
    let shades: Vec<Value> = shades.iter().map(shade).collect();
    json!({"sameshot_shades": 1, "family": "green", "shades": shades})
}

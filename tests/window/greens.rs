//! A photo of two greens beside a ladder of greys, painted here, with a case that marks them.

use std::path::{Path, PathBuf};

use serde_json::json;

use crate::painted::Painted;

/// Puts both into a folder and gives the case's path.
pub(crate) fn case_in(folder: &Path) -> PathBuf {
    let mut picture = Painted::board([1200, 900]);
    let mut zones = Vec::new();
    for (number, l) in (1..).zip([90.0, 75.0, 60.0, 50.0, 35.0, 20.0]) {
        let x = 40 + 180 * (number - 1);
        picture.rect([x, 80], [120, 120], [l, 0.0, 0.0]);
        zones.push(json!({"id": format!("step {number}"), "shape": {"circle": {"centre": [x + 60, 140], "radius": 40.0}},
            "known": {"lab": [l, 0.0, 0.0], "sd": [0.5, 0.3, 0.3]}}));
    }
    let mut readings = Vec::new();
    for (number, l) in (0..).zip([56.0, 55.4, 44.0, 44.8]) {
        let x = 60 + 280 * number;
        picture.rect([x, 400], [180, 300], [l, -15.0, 9.0]);
        readings.push(json!({"id": format!("part {}", number + 1), "surface": "flat",
            "shape": {"circle": {"centre": [x + 90, 550], "radius": 50.0}}}));
    }
    picture.save(&folder.join("bench.png"));
    let path = folder.join("bench.case.json");
    let case = json!({"sameshot_case": 1, "photo": "bench.png", "zones": zones, "readings": readings});
    std::fs::write(&path, case.to_string()).unwrap();
    path
}

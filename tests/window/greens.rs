//! A photo of two greens beside a ladder of greys, drawn here, with a case that marks them.

use std::path::Path;

use sameshot::color::{Lab, to_srgb8};
use serde_json::json;

/// Greens of two shades beside a ladder of greys, with a case that marks them.
pub(crate) fn case_in(folder: &Path) -> std::path::PathBuf {
    let mut picture = image::RgbImage::from_pixel(1200, 900, image::Rgb(to_srgb8(Lab::new(62.0, 3.0, 9.0))));
    let mut paint = |x: u32, y: u32, w: u32, h: u32, lab: Lab| {
        for py in y..y + h {
            for px in x..x + w {
                let noise = f64::from((px * 7 + py * 13) % 5) * 0.2 - 0.4;
                picture.put_pixel(px, py, image::Rgb(to_srgb8(Lab::new(lab.l + noise, lab.a, lab.b))));
            }
        }
    };
    let mut zones = Vec::new();
    for (number, l) in (1..).zip([90.0, 75.0, 60.0, 50.0, 35.0, 20.0]) {
        let x = 40 + 180 * (number - 1);
        paint(x, 80, 120, 120, Lab::new(l, 0.0, 0.0));
        zones.push(json!({"id": format!("step {number}"), "shape": {"circle": {"centre": [x + 60, 140], "radius": 40.0}},
            "known": {"lab": [l, 0.0, 0.0], "sd": [0.5, 0.3, 0.3]}}));
    }
    let mut readings = Vec::new();
    for (number, l) in (0..).zip([56.0, 55.4, 44.0, 44.8]) {
        let x = 60 + 280 * number;
        paint(x, 400, 180, 300, Lab::new(l, -15.0, 9.0));
        readings.push(json!({"id": format!("part {}", number + 1), "surface": "flat",
            "shape": {"circle": {"centre": [x + 90, 550], "radius": 50.0}}}));
    }
    picture.save(folder.join("bench.png")).unwrap();
    let path = folder.join("bench.case.json");
    let case = json!({"sameshot_case": 1, "photo": "bench.png", "zones": zones, "readings": readings});
    std::fs::write(&path, case.to_string()).unwrap();
    path
}

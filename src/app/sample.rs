//! An invented result and photo for the tests of this room.

use crate::case::CaseDocument;
use crate::measure::Measurement;
use crate::raster::{Coding, Raster, Samples};
use crate::shade::References;

/// A result with one part called, one undecided and one unlike every shade, and its references.
pub(super) fn measurement_and_references() -> (Measurement, References) {
    let reading = |id: &str, call: &str, p: [f64; 4], d: [[f64; 3]; 3]| {
        let bar = |i: usize, shade: &str| {
            let [low, median, high] = d[i];
            serde_json::json!({"shade": shade, "de00": {"median": median, "low": low, "high": high}})
        };
        serde_json::json!({
            "id": id, "lab": [44.8, -11.3, 15.2], "cov": [[0.5, 0.0, 0.0], [0.0, 0.2, 0.0], [0.0, 0.0, 0.3]],
            "pixels": {"inside": 2400, "used": 1985, "glare": 301, "clipped": 12, "dark": 102},
            "differences": [bar(0, "green/light"), bar(1, "green/medium"), bar(2, "green/dark")],
            "shades": [
                {"shade": "green/light", "probability": p[0]}, {"shade": "green/medium", "probability": p[1]},
                {"shade": "green/dark", "probability": p[2]}, {"shade": null, "probability": p[3]}],
            "call": call,
            "budget": [{"source": "tone curve", "share": 0.46}, {"source": "slope of the light", "share": 0.3},
                       {"source": "misfit", "share": 0.2}, {"source": "noise", "share": 0.04}],
            "warnings": [{"code": "card-far", "text": "The card lies far from this part.",
                          "remedy": "Lay the card beside the part and take the photo again."}]
        })
    };
    let result = serde_json::json!({
        "sameshot_result": 1,
        "readings": [
            reading("left arm", "green/medium", [0.01, 0.97, 0.01, 0.01],
                    [[4.2, 6.1, 8.3], [0.2, 0.8, 1.9], [5.0, 6.6, 8.9]]),
            reading("right arm", "undecided", [0.58, 0.39, 0.01, 0.02],
                    [[0.4, 2.1, 4.4], [0.9, 2.9, 5.2], [6.0, 9.1, 11.9]]),
            reading("head", "none", [0.0, 0.0, 0.01, 0.99],
                    [[9.2, 12.1, 15.0], [8.1, 11.0, 14.2], [6.6, 9.0, 12.1]])],
        "pairs": [{"a": "left arm", "b": "right arm", "de00": {"median": 0.9, "low": 0.3, "high": 1.8},
                   "different_plastic": 0.03}],
        "light": {"zones": 6, "warnings": []}
    });
    let shade = |id: &str, label: &str, l: f64| {
        serde_json::json!({"id": id, "label": label, "specimens": [
            {"id": format!("{label} arm"), "lab": [l, -12.0, 8.0], "sd": [0.5, 0.3, 0.3],
             "method": "spectrophotometer"}]})
    };
    let references = serde_json::json!({"sameshot_shades": 1, "family": "green", "shades": [
        shade("green/light", "light sea green", 56.0), shade("green/medium", "medium sea green", 50.0),
        shade("green/dark", "dark sea green", 43.0)]});
    (serde_json::from_value(result).unwrap(), serde_json::from_value(references).unwrap())
}

/// A case with two steps and two parts on a small photo.
pub(super) fn case_and_photo() -> (CaseDocument, Raster) {
    let zone = |id: &str, x: f64, l: f64| {
        serde_json::json!({"id": id, "shape": {"circle": {"centre": [x, 20.0], "radius": 8.0}},
                           "known": {"lab": [l, 0.0, 0.0], "sd": [1.0, 1.0, 1.5]}})
    };
    let reading = |id: &str, x: f64| serde_json::json!({"id": id, "shape": {"rect": {"min": [x, 50.0], "max": [x + 20.0, 80.0]}}});
    let case = serde_json::json!({"sameshot_case": 1, "photo": "bench.png",
        "zones": [zone("step 1", 20.0, 90.0), zone("step 6", 100.0, 20.0)],
        "readings": [reading("left arm", 20.0), reading("right arm", 80.0)]});
    let samples = (0..120 * 90).flat_map(|i| [100u8 + (i % 7) as u8, 120, 110]).collect();
    let raster = Raster::new(120, 90, Samples::U8(samples), Coding::srgb(256), None).unwrap();
    (serde_json::from_value(case).unwrap(), raster)
}

//! The whole way from a picture to Lab, on photographs of the 24-patch colour rendition chart (McCamy,
//! Marcus and Davidson 1976) by other people; `tests/charts` checks the light model from the numbers alone.

use std::path::Path;

use nalgebra::{Matrix3, Vector3};
use sameshot::case::{CaseDocument, Known, ReadingMark, Surface, ZoneMark};
use sameshot::measure::{AreaCache, Inputs, Options, Outcome, measure};
use sameshot::photo;
use sameshot::raster::Shape;

use crate::chart_photos::chart_photos;

struct Row {
    photo: String,
    patch: String,
    centre: [f64; 2],
    half_side: f64,
    lab: [f64; 3],
}

fn rows() -> Vec<Row> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/chart-patches.csv");
    let mut reader = csv::Reader::from_path(path).unwrap();
    let headers = reader.headers().unwrap().clone();
    let column = |name: &str| headers.iter().position(|header| header == name).unwrap();
    reader
        .records()
        .map(|record| {
            let record = record.unwrap();
            let number = |name: &str| record[column(name)].parse::<f64>().unwrap();
            Row {
                photo: record[column("photo")].to_owned(),
                patch: record[column("patch")].to_owned(),
                centre: [number("x"), number("y")],
                half_side: number("half_side"),
                lab: [number("L"), number("a"), number("b_star")],
            }
        })
        .collect()
}

/// A case in which the greys (all, or the mid one alone) are zones and the coloured patches readings.
fn case(rows: &[&Row], all_greys: bool) -> CaseDocument {
    let mut case = CaseDocument::new(rows[0].photo.clone());
    for row in rows {
        let corner = |sign: f64| row.centre.map(|v| v + sign * row.half_side);
        let shape = Shape::Rect { min: corner(-1.0), max: corner(1.0) };
        let grey = ["white 9.5", "neutral", "black 2"].iter().any(|start| row.patch.starts_with(start));
        let id = row.patch.clone();
        if grey && (all_greys || row.patch.starts_with("neutral 5 ")) {
            let known = Known::Lab { lab: row.lab, sd: [0.5, 0.3, 0.3] };
            case.zones.push(ZoneMark::new(id, shape, known));
        } else if !grey {
            case.readings.push(ReadingMark { surface: Surface::Flat, ..ReadingMark::new(id, shape) });
        }
    }
    case
}

#[test]
fn coloured_patches_lie_inside_their_bars() {
    let Some(folder) = chart_photos() else { return };
    let rows = rows();
    for all_greys in [false, true] {
        let (mut inside_95, mut inside_68, mut count) = (0, 0, 0);
        for photo_name in
            (1..=6).map(|i| if i == 3 { "chart-03.png".into() } else { format!("chart-0{i}.jpg") })
        {
            let of_photo: Vec<&Row> = rows.iter().filter(|row| row.photo == photo_name).collect();
            let photo = photo::read(&folder.join(&photo_name)).unwrap();
            let case = case(&of_photo, all_greys);
            let inputs = Inputs {
                raster: &photo.raster,
                facts: &photo.facts,
                case: &case,
                references: None,
                flat_field: None,
                other_photos: &[],
            };
            let outcome = measure(&inputs, &Options::default(), &mut AreaCache::default());
            // A clipped patch may be refused; nothing else.
            assert!(outcome.problems.len() <= 2, "{photo_name}: {:?}", outcome.problems);
            for distance2 in distances2(&outcome, &of_photo) {
                count += 1;
                inside_95 += usize::from(distance2 <= 7.815);
                inside_68 += usize::from(distance2 <= 3.527);
            }
        }
        let share = |inside: usize| inside as f64 / count as f64;
        println!(
            "{}: {count} patches, {:.1} % inside the 95 % region, {:.1} % inside the 68 % region",
            if all_greys { "all greys known" } else { "mid grey known" },
            100.0 * share(inside_95),
            100.0 * share(inside_68)
        );
        // Too wide on these photos, which are easier than those the constants were learned from: 91 to 98 % lie
        // inside the 68 % region, so that only the lower bound is held.
        assert!(share(inside_95) >= 0.85 && share(inside_68) >= 0.60, "bars too short");
    }
}

/// Squared Mahalanobis distances of the published colours; chi-squared with 3 degrees of freedom.
fn distances2(outcome: &Outcome, rows: &[&Row]) -> Vec<f64> {
    outcome
        .measurement
        .readings
        .iter()
        .map(|reading| {
            let truth = rows.iter().find(|row| row.patch == reading.id).unwrap();
            let off = Vector3::from(truth.lab) - Vector3::from(reading.lab);
            let cov = Matrix3::from_fn(|row, column| reading.cov[row][column]);
            (off.transpose() * cov.try_inverse().unwrap() * off)[0]
        })
        .collect()
}

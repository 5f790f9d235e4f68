//! Two painted photos of the same parts, laid anew: what reading them together gives, and what is refused. The numbers are
//! invented; the formulas are checked in the light room.

use std::sync::Arc;

use sameshot::case::{CaseDocument, Known, ReadingMark, ZoneMark};
use sameshot::color::{Lab, linear_srgb_from_lab_in_d50, srgb_encode};
use sameshot::measure::{AreaCache, Call, Inputs, Marked, Options, OtherPhoto, Outcome, measure};
use sameshot::raster::{Coding, PhotoFacts, Raster, Samples, Shape};

use crate::painted::references_of;

const SIDE: usize = 90;
const COLUMNS: usize = 6;
const ROWS: usize = 3;
const LADDER: [f64; 6] = [20.0, 35.0, 50.0, 60.0, 75.0, 90.0];
const LIGHT: [f64; 3] = [52.0, -18.0, 14.0];
const MEDIUM: [f64; 3] = [48.0, -18.5, 13.0];
const NAMES: [&str; 4] = ["torso", "left arm", "right arm", "head"];
/// Light is the head's shade alone.
const PARTS: [[f64; 3]; 4] = [MEDIUM, MEDIUM, MEDIUM, LIGHT];

/// One photo: in which cell each part lies, how much light its angle gives it, and how it was exposed.
struct Photo {
    cells: [usize; 4],
    lit: [f64; 4],
    exposed: f64,
}

const FIRST: Photo = Photo { cells: [7, 9, 11, 14], lit: [1.04, 0.96, 1.0, 0.97], exposed: 0.9 };
const SECOND: Photo = Photo { cells: [15, 6, 13, 8], lit: [0.96, 1.03, 1.02, 1.03], exposed: 0.75 };

impl Photo {
    /// The ladder in the first row, dark cells for limbs in the others.
    fn picture(&self) -> Raster {
        let (width, height) = (SIDE * COLUMNS, SIDE * ROWS);
        let mut codes = Vec::with_capacity(width * height * 3);
        for y in 0..height {
            for x in 0..width {
                let cell = (y / SIDE) * COLUMNS + x / SIDE;
                let part = self.cells.iter().position(|at| *at == cell);
                let ([l, a, b], lit) = match (LADDER.get(cell), part) {
                    (Some(l), _) => ([*l, 0.0, 0.0], 1.0),
                    (None, Some(part)) => (PARTS[part], self.lit[part]),
                    (None, None) => ([10.0, 0.0, 0.0], 1.0),
                };
                let noise = (f64::from(((x * 7919 + y * 104_729) % 13) as u32) - 6.0) / 3.0;
                let light = linear_srgb_from_lab_in_d50(Lab::new(l, a, b)).map(|v| v.max(0.0));
                codes.extend(
                    light.map(|v| (srgb_encode(v * lit * self.exposed) * 250.0 + noise).round() as u8),
                );
            }
        }
        Raster::new(width as u32, height as u32, Samples::U8(codes), Coding::srgb(256), None).unwrap()
    }

    fn case(&self) -> CaseDocument {
        let square = |cell: usize| {
            let corner =
                |inset: f64| [cell % COLUMNS, cell / COLUMNS].map(|place| (place * SIDE) as f64 + inset);
            Shape::Rect { min: corner(8.0), max: corner(SIDE as f64 - 8.0) }
        };
        let mut case = CaseDocument::new("painted.png");
        for (step, l) in LADDER.into_iter().enumerate() {
            let known = Known::Lab { lab: [l, 0.0, 0.0], sd: [0.5, 0.3, 0.3] };
            case.zones.push(ZoneMark::new(format!("step {}", step + 1), square(step), known));
        }
        for (name, cell) in NAMES.into_iter().zip(self.cells) {
            case.readings.push(ReadingMark::new(name, square(cell)));
        }
        case
    }
}

fn facts(camera: &str) -> PhotoFacts {
    PhotoFacts { profile: Some("sRGB".into()), camera: Some(camera.into()), ..PhotoFacts::default() }
}

fn other(photo: &Photo, case: &CaseDocument, camera: &str) -> OtherPhoto {
    let inputs = Inputs {
        raster: &photo.picture(),
        facts: &facts(camera),
        case,
        references: None,
        flat_field: None,
        other_photos: &[],
    };
    OtherPhoto::of("again.case.json", &inputs, Marked::ByHand)
}

/// The first photo, with these others.
fn measured(others: Vec<OtherPhoto>, names: &[&str]) -> Outcome {
    let case =
        CaseDocument { more_photos: names.iter().map(|name| (*name).to_owned()).collect(), ..FIRST.case() };
    let others: Vec<Arc<OtherPhoto>> = others.into_iter().map(Arc::new).collect();
    let inputs = Inputs {
        raster: &FIRST.picture(),
        facts: &facts("Invented A1"),
        case: &case,
        references: Some(&references_of(&[("light", LIGHT), ("medium", MEDIUM)])),
        flat_field: None,
        other_photos: &others,
    };
    measure(&inputs, &Options::default(), &mut AreaCache::default())
}

fn with(photo: &Photo, case: &CaseDocument) -> Outcome {
    measured(vec![other(photo, case, "Invented A1")], &["again.case.json"])
}

#[test]
fn what_the_light_did_to_each_part_is_averaged() {
    let (one, two) = (measured(Vec::new(), &[]), with(&SECOND, &SECOND.case()));
    assert_eq!((&one.problems, &two.problems), (&vec![], &vec![]));
    assert_eq!([&one, &two].map(|outcome| outcome.measurement.light.other_photos), [0, 1]);
    // Torso and arms are of one plastic; in the first photo 8 % of the light is between torso and left arm.
    let pair = |outcome: &Outcome| {
        outcome
            .measurement
            .pairs
            .iter()
            .find(|pair| pair.a == "torso" && pair.b == "left arm")
            .unwrap()
            .clone()
    };
    let (before, after) = (pair(&one), pair(&two));
    println!("torso and left arm: {:?}, with another photo {:?}", before.de00, after.de00);
    assert!(after.de00.median < before.de00.median && after.de00.high < before.de00.high);
    assert!(after.different_plastic < before.different_plastic, "{before:?} {after:?}");
    let sure = |outcome: &Outcome, name: &str, shade: &str| {
        let reading = outcome.measurement.readings.iter().find(|reading| reading.id == name).unwrap();
        reading.shades.iter().find(|entry| entry.shade.as_deref() == Some(shade)).unwrap().probability
    };
    for (name, shade) in NAMES.into_iter().zip(["medium", "medium", "medium", "light"]) {
        let [before, after] = [&one, &two].map(|outcome| sure(outcome, name, shade));
        println!("{name}: {shade} {before:.3}, with another photo {after:.3}");
        assert!(after > before - 0.01, "{name}: {before} {after}");
    }
    for reading in &two.measurement.readings {
        let whole: f64 = reading.budget.iter().map(|part| part.share).sum();
        assert!((whole - 1.0).abs() < 1e-9, "{reading:?}");
    }
}

/// Head and torso under each other's name: each is called nothing, and says why.
#[test]
fn a_part_under_the_name_of_another_is_noticed() {
    let mut case = SECOND.case();
    for reading in &mut case.readings {
        reading.id = match reading.id.as_str() {
            "torso" => "head".into(),
            "head" => "torso".into(),
            same => same.into(),
        };
    }
    // All parts lit alike, so that nothing else stands out.
    let even = Photo { lit: [1.0; 4], ..SECOND };
    let outcome = with(&even, &case);
    for name in ["torso", "head"] {
        let reading = outcome.measurement.readings.iter().find(|reading| reading.id == name).unwrap();
        let codes: Vec<&str> = reading.warnings.iter().map(|warning| warning.code.as_str()).collect();
        println!("{name}: {:?} {codes:?}", reading.call);
        assert_eq!(reading.call, Some(Call::Undecided), "{name}");
        assert!(codes.contains(&"shown-unlike"), "{name}: {codes:?}");
    }
}

/// What a photo that is of no use says, and that the result is that of the first alone.
#[test]
fn what_tells_nothing_is_left_out_with_a_reason() {
    let alone = measured(Vec::new(), &[]).measurement;
    let left_out = |outcome: Outcome, why: &str| {
        let [problem] = outcome.problems.as_slice() else { panic!("{:?}", outcome.problems) };
        assert!(problem.kind == "other photo" && problem.text.contains(why), "{problem:?}");
        assert!(!problem.remedy.is_empty());
        assert_eq!(outcome.measurement, alone, "{why}");
    };
    left_out(measured(Vec::new(), &["again.case.json"]), "could not be read");
    let same_place = Photo { cells: FIRST.cells, ..SECOND };
    left_out(with(&same_place, &same_place.case()), "lie as they do in this photo");
    // A single part and the card tell it too.
    let mut one_part = same_place.case();
    one_part.readings.truncate(1);
    left_out(with(&same_place, &one_part), "lie as they do in this photo");
    let another_camera = other(&SECOND, &SECOND.case(), "Invented B2");
    left_out(measured(vec![another_camera], &["again.case.json"]), "another camera (Invented B2)");
    let mut numbered = SECOND.case();
    for (number, reading) in (1..).zip(&mut numbered.readings) {
        reading.id = format!("part {number}");
    }
    left_out(with(&SECOND, &numbered), "No part of again.case.json has the name");
    let without_card = CaseDocument { zones: Vec::new(), ..SECOND.case() };
    left_out(with(&SECOND, &without_card), "has a known colour");
}

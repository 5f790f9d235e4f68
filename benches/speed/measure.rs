//! What a person waits for after moving a mark: one area is read again, the light is fitted, and every reading
//! and pair is compared anew. 40 marks on 12 megapixels; target: under 10 ms.
//!
//! `cargo bench --bench speed -- measure`

use divan::Bencher;
use nalgebra::{Matrix3, Vector3};
use sameshot::case::{CaseDocument, Known, ReadingMark, ZoneMark};
use sameshot::light::{Constants, KnownPatch, LightSpread, Patch, Relief, fit};
use sameshot::measure::{AreaCache, Inputs, Options, measure};
use sameshot::raster::{Coding, PhotoFacts, Raster, Samples, Shape};
use sameshot::shade::References;

const WIDTH: u32 = 4000;
const HEIGHT: u32 = 3000;
const ZONES: usize = 6;
const MARKS: usize = 40;

/// A card's ladder of greys above, and below it a slow gradient of one plastic; every pixel differs a little from
/// its neighbours, as noise does.
fn picture(plastic: [u8; 3]) -> Raster {
    let codes = |i: u32| {
        let noise = (i.wrapping_mul(2_654_435_761) >> 29) as u8;
        let (x, y) = (i % WIDTH, i / WIDTH);
        if y < 540 && x < ZONES as u32 * 450 {
            return [30 + 38 * (x / 450) as u8 + noise; 3];
        }
        let brighter = (x / 400) as u8;
        plastic.map(|code| code + brighter + noise)
    };
    let samples = (0..WIDTH * HEIGHT).flat_map(codes).collect();
    Raster::new(WIDTH, HEIGHT, Samples::U8(samples), Coding::srgb(256), None).unwrap()
}

fn disc(index: usize) -> Shape {
    let (column, row) = ((index % 8) as f64, (index / 8) as f64);
    Shape::Circle { centre: [300.0 + 450.0 * column, 300.0 + 480.0 * row], radius: 60.0 }
}

/// Six card steps and 34 parts.
fn case() -> CaseDocument {
    let mut case = CaseDocument::new("bench.jpg");
    for index in 0..MARKS {
        let (id, shape) = (format!("mark {index}"), disc(index));
        if index < ZONES {
            let known = Known::Lab { lab: [13.0 + 15.0 * index as f64, 0.0, 0.0], sd: [0.5, 0.3, 0.3] };
            case.zones.push(ZoneMark::new(id, shape, known));
        } else {
            case.readings.push(ReadingMark::new(id, shape));
        }
    }
    case
}

fn references() -> References {
    serde_json::from_str(include_str!("../../reference-swatches/skerry-sea-green.shades.json")).unwrap()
}

const GREEN: [u8; 3] = [72, 106, 92];
const GREY: [u8; 3] = [104, 107, 106];

/// Measures again and again, after `change` each time; areas of marks that stayed come from the cache.
fn after_each_change(
    bencher: Bencher,
    plastic: [u8; 3],
    options: Options,
    mut change: impl FnMut(&mut CaseDocument),
) {
    let (raster, facts, references) = (picture(plastic), PhotoFacts::default(), references());
    let (mut case, mut cache) = (case(), AreaCache::default());
    bencher.bench_local(|| {
        change(&mut case);
        let inputs = Inputs {
            raster: &raster,
            facts: &facts,
            case: &case,
            references: Some(&references),
            flat_field: None,
            other_photos: &[],
        };
        measure(&inputs, &options, &mut cache)
    });
}

/// A step to the right that never comes back to a place where the area was read already.
const STEP_PX: [f64; 2] = [0.013, 0.0];

fn move_a_part(case: &mut CaseDocument) {
    case.readings[20].shape = case.readings[20].shape.moved_by(STEP_PX);
}

/// What the window shows first: the result, while the advice is still being worked out.
const FIRST: fn() -> Options = || Options { remedies: false, ..Options::default() };

#[divan::bench]
fn a_moved_part_to_a_new_result(bencher: Bencher) {
    after_each_change(bencher, GREEN, FIRST(), move_a_part);
}

#[divan::bench]
fn a_moved_part_to_a_new_result_and_advice(bencher: Bencher) {
    after_each_change(bencher, GREEN, Options::default(), move_a_part);
}

/// Near neutral, differences are drawn instead of computed.
#[divan::bench]
fn a_moved_grey_part_to_a_new_result(bencher: Bencher) {
    after_each_change(bencher, GREY, FIRST(), move_a_part);
}

#[divan::bench]
fn a_moved_card_step_to_a_new_result(bencher: Bencher) {
    after_each_change(bencher, GREEN, FIRST(), |case| {
        case.zones[2].shape = case.zones[2].shape.moved_by(STEP_PX);
    });
}

/// Nothing moved: all but the reading of areas.
#[divan::bench]
fn a_new_result_without_a_move(bencher: Bencher) {
    after_each_change(bencher, GREEN, FIRST(), |_| {});
}

/// The light alone: 24 zones and 40 readings.
#[divan::bench]
fn light_of_24_zones_and_40_readings(bencher: Bencher) {
    let patch = |index: usize, relief| Patch {
        coded: Vector3::new(
            0.2 + 0.011 * index as f64,
            0.25 + 0.3 * ((index * 7 % 11) as f64) / 11.0,
            0.3 + 0.2 * ((index * 5 % 13) as f64) / 13.0,
        ),
        coded_cov: Matrix3::identity() * 1e-6,
        at: [((index % 8) as f64 - 3.5) / 4.0, ((index / 8) as f64 - 3.5) / 5.0],
        relief,
        photo: 0,
    };
    let known: Vec<KnownPatch> = (0..24)
        .map(|index| KnownPatch {
            patch: patch(index, None),
            lab: Vector3::new(25.0 + 2.5 * index as f64, 0.0, 0.0),
            lab_cov: Matrix3::identity() * 0.1,
            shared: None,
        })
        .collect();
    let relief = Relief {
        light: LightSpread { least: 0.08, seen: 0.0 },
        shared_light: LightSpread { least: 0.07, seen: 0.0 },
        gloss: 0.007,
        gloss_sd: 0.002,
        shared_gloss_sd: 0.004,
        log_tint: Vector3::new(0.01, 0.0, -0.01),
        shared_log_tint: Vector3::new(0.02, 0.0, -0.02),
    };
    let readings: Vec<Patch> = (24..64).map(|index| patch(index, Some(relief))).collect();
    bencher.bench_local(|| fit(&known, &readings, Constants::learned()));
}

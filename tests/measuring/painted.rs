//! A painted picture whose truth is known: flat squares of chosen Lab, coded as sRGB with noise. The numbers
//! are invented; the colour conversions behind them are checked in the colour room.

use sameshot::case::{CaseDocument, Doubt, Known, LoosePart, ReadingMark, Surface, TrayMarks, ZoneMark};
use sameshot::color::{Lab, linear_srgb_from_lab_in_d50, srgb_encode};
use sameshot::measure::{AreaCache, Call, Inputs, Options, Outcome, measure};
use sameshot::raster::{Coding, PhotoFacts, Raster, Samples, Shape};
use sameshot::shade::References;

const SIDE: usize = 100;
const COLUMNS: usize = 6;
const LADDER: [f64; 6] = [20.0, 35.0, 50.0, 60.0, 75.0, 90.0];
const LIGHT: [f64; 3] = [52.0, -18.0, 14.0];
const MEDIUM: [f64; 3] = [45.5, -19.0, 13.0];
const DARK: [f64; 3] = [39.0, -19.5, 11.5];
/// Beyond the end of the picture's scale.
const WHITE: [f64; 3] = [104.0, 0.0, 0.0];

/// Squares in rows of six: the ladder first, then `parts`; `warm` scales red up and blue down.
fn picture(parts: &[[f64; 3]], warm: f64) -> Raster {
    let mut colours: Vec<[f64; 3]> = LADDER.iter().map(|l| [*l, 0.0, 0.0]).collect();
    colours.extend(parts);
    let (width, height) = (SIDE * COLUMNS, SIDE * colours.len().div_ceil(COLUMNS));
    let mut codes = Vec::with_capacity(width * height * 3);
    for y in 0..height {
        for x in 0..width {
            let index = (y / SIDE) * COLUMNS + x / SIDE;
            let [l, a, b] = colours.get(index).copied().unwrap_or([50.0, 0.0, 0.0]);
            let linear = linear_srgb_from_lab_in_d50(Lab::new(l, a, b));
            let scaled = [linear[0] * warm, linear[1], linear[2] / warm];
            let noise = f64::from(((x * 7919 + y * 104_729) % 13) as u32) - 6.0;
            codes.extend(scaled.map(|v| (srgb_encode(v.max(0.0)) * 250.0 + noise / 3.0).round() as u8));
        }
    }
    Raster::new(width as u32, height as u32, Samples::U8(codes), Coding::srgb(256), None).unwrap()
}

fn square(index: usize) -> Shape {
    let corner =
        |inset: f64| [((index % COLUMNS) * SIDE) as f64 + inset, ((index / COLUMNS) * SIDE) as f64 + inset];
    Shape::Rect { min: corner(10.0), max: corner(90.0) }
}

fn case(steps: &[usize], parts: usize) -> CaseDocument {
    let mut case = CaseDocument::new("painted.png");
    for &step in steps {
        let known = Known::Lab { lab: [LADDER[step], 0.0, 0.0], sd: [0.5, 0.3, 0.3] };
        case.zones.push(ZoneMark::new(format!("step {step}"), square(step), known));
    }
    for part in 0..parts {
        let reading = ReadingMark::new(format!("part {part}"), square(COLUMNS + part));
        case.readings.push(ReadingMark { surface: Surface::Flat, ..reading });
    }
    case
}

fn references() -> References {
    references_of(&[("light", LIGHT), ("medium", MEDIUM), ("dark", DARK)])
}

/// A family of shades around these colours, each known from six specimens.
pub(crate) fn references_of(shades: &[(&str, [f64; 3])]) -> References {
    let shade = |id: &str, lab: [f64; 3]| {
        let specimens: Vec<_> = (0..6)
            .map(|i| {
                let off = (f64::from(i) - 2.5) / 5.0;
                serde_json::json!({
                    "id": format!("{id} {i}"), "lab": [lab[0] + off, lab[1] - off, lab[2] + off / 2.0],
                    "sd": [0.3, 0.2, 0.2], "method": "spectrophotometer"
                })
            })
            .collect();
        serde_json::json!({"id": id, "specimens": specimens})
    };
    let shades: Vec<_> = shades.iter().map(|(id, lab)| shade(id, *lab)).collect();
    serde_json::from_value(serde_json::json!({"sameshot_shades": 1, "family": "green", "shades": shades}))
        .unwrap()
}

fn run(raster: &Raster, case: &CaseDocument) -> Outcome {
    run_with(raster, case, &references())
}

fn run_with(raster: &Raster, case: &CaseDocument, references: &References) -> Outcome {
    let facts = PhotoFacts { profile: Some("sRGB".into()), ..PhotoFacts::default() };
    let inputs = Inputs {
        raster,
        facts: &facts,
        case,
        references: Some(references),
        flat_field: None,
        other_photos: &[],
    };
    measure(&inputs, &Options::default(), &mut AreaCache::default())
}

#[test]
fn a_warm_cast_is_taken_out_by_the_ladder() {
    let raster = picture(&[LIGHT, MEDIUM, DARK, MEDIUM], 1.15);
    let outcome = run(&raster, &case(&[0, 1, 2, 3, 4, 5], 4));
    assert_eq!(outcome.problems, []);
    for (reading, truth) in outcome.measurement.readings.iter().zip([LIGHT, MEDIUM, DARK, MEDIUM]) {
        for axis in 0..3 {
            let off = (reading.lab[axis] - truth[axis]).abs();
            let sd = reading.cov[axis][axis].sqrt();
            assert!(off < 2.5 * sd, "{}: axis {axis} off by {off:.2} at sd {sd:.2}", reading.id);
        }
        let whole: f64 = reading.budget.iter().map(|part| part.share).sum();
        assert!((whole - 1.0).abs() < 1e-9);
        let probable: f64 = reading.shades.iter().map(|shade| shade.probability).sum();
        assert!((probable - 1.0).abs() < 1e-9);
    }
    // The second and the fourth part are of one plastic, and the pair says so better than either colour.
    let pair = outcome.measurement.pairs.iter().find(|p| p.a == "part 1" && p.b == "part 3").unwrap();
    assert!(pair.different_plastic < 0.5, "{pair:?}");
    let apart = outcome.measurement.pairs.iter().find(|p| p.a == "part 0" && p.b == "part 2").unwrap();
    assert!(apart.different_plastic > 0.8 && apart.de00.low > pair.de00.median, "{apart:?} {pair:?}");
}

#[test]
fn a_known_part_decides_what_the_card_leaves_open() {
    let raster = picture(&[LIGHT, MEDIUM, DARK, MEDIUM], 1.1);
    // Three parts that differ as the shades do settle each other, even with one grey; one by itself stays open.
    let settled = run(&raster, &case(&[2], 3));
    let calls = settled.measurement.readings.iter().map(|reading| reading.call.clone());
    let shades = ["light", "medium", "dark"].map(|shade| Some(Call::Shade(shade.to_owned())));
    assert_eq!(calls.collect::<Vec<_>>(), shades);
    let open = run(&raster, &case(&[2], 1));
    let first = &open.measurement.readings[0];
    assert_eq!(first.call, Some(Call::Undecided));
    let advice = first.warnings.iter().find(|warning| warning.code == "undecided").unwrap();
    assert!(advice.remedy.contains("part of certain shade"), "{advice:?}");
    assert!(
        advice.remedy.starts_with("Photograph it again with one specimen of each shade beside it: about ± "),
        "{advice:?}"
    );
    assert!(advice.remedy.contains("; with the specimen “light 0” of your references, ± "), "{advice:?}");
    assert!(open.measurement.light.warnings.iter().any(|warning| warning.code == "one-grey-step"));

    let mut case = case(&[2], 3);
    let known = Known::shade("medium");
    case.zones.push(ZoneMark::new("my own torso", square(COLUMNS + 3), known));
    let settled = run(&raster, &case);
    let calls: Vec<_> =
        settled.measurement.readings.iter().map(|reading| reading.call.clone().unwrap()).collect();
    assert_eq!(calls, ["light", "medium", "dark"].map(|id| Call::Shade(id.into())));
}

/// Among three parts that settle each other, the middle one with an outline that may hold two.
#[test]
fn what_may_be_several_parts_is_not_called_and_says_why() {
    let raster = picture(&[LIGHT, MEDIUM, DARK], 1.1);
    let mut case = case(&[0, 1, 2, 3, 4, 5], 3);
    let id = case.readings[1].id.clone();
    let part = |doubts: &[Doubt]| LoosePart {
        number: 1,
        outline: vec![[0.0, 0.0], [90.0, 0.0], [90.0, 90.0]],
        reading: Some(id.clone()),
        doubts: doubts.iter().map(|doubt| doubt.code().to_owned()).collect(),
        rest: Default::default(),
    };
    let mut measured = |doubts: &[Doubt]| {
        case.tray = Some(TrayMarks { parts: vec![part(doubts)], ..TrayMarks::default() });
        run(&raster, &case).measurement.readings
    };
    let cut = measured(&[Doubt::Touching]);
    assert_eq!(cut[1].call, Some(Call::Shade("medium".into())));
    let doubtful = measured(&[Doubt::MaybeSeveral]);
    assert_eq!(doubtful[1].call, Some(Call::Undecided));
    assert!(doubtful[1].may_be_several(), "{:?}", doubtful[1].warnings);
    // Another photo would not help.
    assert!(doubtful[1].warnings.iter().all(|warning| warning.code != "undecided"));
    assert_eq!([&doubtful[0], &doubtful[2]], [&cut[0], &cut[2]]);
}

#[test]
fn a_known_part_that_is_a_specimen_tells_more_than_its_shade() {
    let raster = picture(&[LIGHT, MEDIUM, DARK, MEDIUM], 1.1);
    let with = |specimen: Option<&str>| {
        let mut case = case(&[0, 2, 4], 3);
        let known = Known::Shade { shade: "medium".into(), specimen: specimen.map(str::to_owned) };
        let zone = ZoneMark::new("my own torso", square(COLUMNS + 3), known);
        case.zones.push(ZoneMark { surface: Surface::Rounded, ..zone });
        case.readings.iter_mut().for_each(|reading| reading.surface = Surface::Rounded);
        run(&raster, &case)
    };
    let (of_shade, of_specimen) = (with(None), with(Some("medium 2")));
    assert_eq!(of_specimen.problems, []);
    for (p, q) in of_specimen.measurement.readings.iter().zip(&of_shade.measurement.readings) {
        let trace = |cov: &[[f64; 3]; 3]| (0..3).map(|axis| cov[axis][axis]).sum::<f64>();
        // Parts of one shade scatter by about 0.35 in each coordinate here; the specimen was measured to 0.2 to 0.3.
        assert!(trace(&p.cov) < trace(&q.cov) - 0.2, "{}: {:?} {:?}", p.id, p.cov, q.cov);
        assert_eq!(p.call, q.call);
    }
    let wrong = with(Some("medium 99"));
    let problem = wrong.problems.iter().find(|problem| problem.id == "my own torso").unwrap();
    assert!(problem.text.contains("medium 99") && problem.remedy.contains("specimen"), "{problem:?}");
}

#[test]
fn nothing_known_gives_wide_bars_and_no_call() {
    let raster = picture(&[LIGHT, DARK], 1.0);
    let outcome = run(&raster, &case(&[], 2));
    assert!(outcome.measurement.readings.iter().all(|reading| reading.call == Some(Call::Undecided)));
    assert!(outcome.measurement.readings.iter().all(|reading| reading.cov[0][0].sqrt() > 5.0));
    assert!(outcome.measurement.light.warnings.iter().any(|warning| warning.code == "no-zone"));
}

#[test]
fn a_burnt_out_step_is_left_out_and_named_and_the_rest_is_as_without_it() {
    let raster = picture(&[LIGHT, DARK, WHITE], 1.0);
    let mut with_burnt_step = case(&[0, 2, 4], 2);
    let known = Known::Lab { lab: [96.0, 0.0, 0.0], sd: [0.5, 0.3, 0.3] };
    with_burnt_step.zones.push(ZoneMark::new("white step", square(COLUMNS + 2), known));
    let outcome = run(&raster, &with_burnt_step);
    assert_eq!(outcome.problems, []);
    assert_eq!(outcome.measurement.light.zones, 3);
    let told = outcome.measurement.light.warnings.iter().find(|warning| warning.code == "zone-left-out");
    let told = told.unwrap();
    assert!(told.text.contains("white step") && told.text.contains("burnt out"), "{told:?}");
    assert!(told.remedy.contains("darker"), "{told:?}");
    assert_eq!(outcome.left_out.len(), 1);
    let without = run(&raster, &case(&[0, 2, 4], 2));
    assert_eq!(outcome.measurement.readings, without.measurement.readings);
}

#[test]
fn with_every_zone_unreadable_the_light_is_guessed_and_that_is_said() {
    let raster = picture(&[LIGHT, DARK, WHITE], 1.0);
    let mut case = case(&[2], 2);
    // Two pixels across: too few for a robust middle.
    case.zones[0].shape = Shape::Rect { min: [240.0, 40.0], max: [242.0, 42.0] };
    let outcome = run(&raster, &case);
    assert_eq!(outcome.problems, []);
    let codes: Vec<&str> = outcome.measurement.light.warnings.iter().map(|w| w.code.as_str()).collect();
    assert!(codes.contains(&"no-zone") && codes.contains(&"zone-left-out"), "{codes:?}");
    assert!(outcome.measurement.readings.iter().all(|reading| reading.call == Some(Call::Undecided)));
}

#[test]
fn a_shade_without_specimens_is_told() {
    let raster = picture(&[LIGHT, DARK], 1.0);
    let mut references = references();
    references.shades[1].specimens.clear();
    let outcome = run_with(&raster, &case(&[0, 2, 4], 2), &references);
    assert_eq!(outcome.problems, []);
    let told =
        outcome.measurement.light.warnings.iter().find(|w| w.code == "shade-without-specimen").unwrap();
    assert!(told.text.contains("\"medium\"") && !told.remedy.is_empty(), "{told:?}");
    let compared = outcome.measurement.readings[0].differences.iter().map(|d| d.shade.as_str());
    assert_eq!(compared.collect::<Vec<_>>(), ["light", "dark"]);
}

#[test]
fn inside_counts_the_shape_as_it_was_drawn() {
    let raster = picture(&[LIGHT, DARK], 1.0);
    let outcome = run(&raster, &case(&[0, 2, 4], 2));
    let pixels = outcome.measurement.readings[0].pixels;
    // A square of 80 pixels a side, of which 2 pixels are taken off all around.
    assert_eq!((pixels.inside, pixels.looked_at(), pixels.edge()), (80 * 80, 76 * 76, 80 * 80 - 76 * 76));
}

#[test]
fn a_mark_off_the_photo_is_named_and_the_rest_goes_on() {
    let raster = picture(&[LIGHT, DARK], 1.0);
    let mut case = case(&[0, 2, 4], 2);
    case.readings[0].shape = Shape::Circle { centre: [5000.0, 10.0], radius: 20.0 };
    let outcome = run(&raster, &case);
    assert_eq!(outcome.measurement.readings.len(), 1);
    assert_eq!(outcome.problems.len(), 1);
    assert!(outcome.problems[0].text.contains("part 0"), "{:?}", outcome.problems);
    assert!(!outcome.problems[0].remedy.is_empty());
}

//! Light that falls off across the photo, and a plain board under everything that shows how: painted pictures whose
//! truth is known. The card lies on one side, the parts on the other.

use sameshot::case::{BoardMark, CaseDocument, Known, ReadingMark, Surface, ZoneMark};
use sameshot::color::{Lab, linear_srgb_from_lab_in_d50, srgb_encode};
use sameshot::measure::{AreaCache, FlatField, Inputs, Options, Outcome, measure};
use sameshot::raster::{Coding, PhotoFacts, Raster, Samples, Shape};
use sameshot::rehearse::{Boards, Evenness, FAMILIES, Known as KnownInScene, Rehearsal, rehearse};

const WIDTH: usize = 1200;
const HEIGHT: usize = 900;
const LADDER: [f64; 6] = [90.0, 75.0, 60.0, 50.0, 35.0, 20.0];
const PARTS: [[f64; 3]; 4] =
    [[52.0, -18.0, 14.0], [45.5, -19.0, 13.0], [39.0, -19.5, 11.5], [60.0, 5.0, 30.0]];
/// Darker than all parts, so that no place of a part is taken for it.
const BOARD: [f64; 3] = [66.0, 1.0, 3.0];
const SIDE: f64 = 70.0;

/// Upper left corner of a step of the card and of a part.
fn step_at(index: usize) -> [f64; 2] {
    [60.0 + 80.0 * (index % 2) as f64, 300.0 + 80.0 * (index / 2) as f64]
}

fn part_at(index: usize) -> [f64; 2] {
    [850.0 + 150.0 * (index % 2) as f64, 180.0 + 330.0 * (index / 2) as f64]
}

/// Light at a place, over that in the middle: it falls by 30 % from left to right, bends, and turns warmer.
fn light_at(x: f64, y: f64) -> [f64; 3] {
    let [u, v] = [x / WIDTH as f64 - 0.5, y / HEIGHT as f64 - 0.5];
    let strength = (-0.36 * u - 0.08 * v - 0.12 * u * u - 0.1 * v * v).exp();
    [strength * (0.03 * u).exp(), strength, strength * (-0.05 * u).exp()]
}

/// A picture of things on the board under that light, exposed so many times as long.
fn picture(things: &[([f64; 2], [f64; 3])], exposure: f64) -> Raster {
    let linear = |lab: [f64; 3]| linear_srgb_from_lab_in_d50(Lab::new(lab[0], lab[1], lab[2]));
    let board = linear(BOARD);
    let things: Vec<_> = things.iter().map(|(at, lab)| (*at, linear(*lab))).collect();
    let mut codes = Vec::with_capacity(WIDTH * HEIGHT * 3);
    for y in 0..HEIGHT {
        for x in 0..WIDTH {
            let [px, py] = [x as f64 + 0.5, y as f64 + 0.5];
            let on =
                |at: [f64; 2]| (0.0..SIDE).contains(&(px - at[0])) && (0.0..SIDE).contains(&(py - at[1]));
            let surface = things.iter().find(|(at, _)| on(*at)).map_or(board, |thing| thing.1);
            let noise = f64::from(((x * 7919 + y * 104_729) % 13) as u32) - 6.0;
            let light = light_at(px, py);
            codes.extend([0, 1, 2].map(|channel| {
                let coded = srgb_encode((0.85 * exposure * surface[channel] * light[channel]).max(0.0));
                (coded * 255.0 + noise / 4.0).round() as u8
            }));
        }
    }
    Raster::new(WIDTH as u32, HEIGHT as u32, Samples::U8(codes), Coding::srgb(256), None).unwrap()
}

fn things() -> Vec<([f64; 2], [f64; 3])> {
    let steps = LADDER.iter().enumerate().map(|(i, l)| (step_at(i), [*l, 0.0, 0.0]));
    steps.chain(PARTS.iter().enumerate().map(|(i, lab)| (part_at(i), *lab))).collect()
}

fn case() -> CaseDocument {
    let square = |at: [f64; 2]| Shape::Rect { min: at.map(|v| v + 8.0), max: at.map(|v| v + SIDE - 8.0) };
    let mut case = CaseDocument::new("painted.png");
    for (index, lightness) in LADDER.into_iter().enumerate() {
        let known = Known::Lab { lab: [lightness, 0.0, 0.0], sd: [0.5, 0.3, 0.3] };
        case.zones.push(ZoneMark::new(format!("step {}", index + 1), square(step_at(index)), known));
    }
    for index in 0..PARTS.len() {
        let reading = ReadingMark::new(format!("part {index}"), square(part_at(index)));
        case.readings.push(ReadingMark { surface: Surface::Flat, ..reading });
    }
    case
}

fn facts() -> PhotoFacts {
    PhotoFacts {
        profile: Some("sRGB".into()),
        camera: Some("Invented A1".into()),
        exposure: Some("1/60 s".into()),
        white_balance_automatic: Some(false),
        ..PhotoFacts::default()
    }
}

fn measured(case: &CaseDocument, flat_field: Option<&FlatField>) -> Outcome {
    let (raster, facts) = (picture(&things(), 1.0), facts());
    let inputs =
        Inputs { raster: &raster, facts: &facts, case, references: None, flat_field, other_photos: &[] };
    measure(&inputs, &Options::default(), &mut AreaCache::default())
}

/// Root mean square of errors and of bars in L\*, and the largest error in bars.
fn lightness(outcome: &Outcome) -> [f64; 3] {
    let readings = outcome.measurement.readings.iter().zip(PARTS);
    let each: Vec<[f64; 2]> = readings.map(|(r, truth)| [r.lab[0] - truth[0], r.cov[0][0].sqrt()]).collect();
    let rms = |of: usize| (each.iter().map(|e| e[of] * e[of]).sum::<f64>() / each.len() as f64).sqrt();
    [rms(0), rms(1), each.iter().map(|[error, bar]| (error / bar).abs()).fold(0.0, f64::max)]
}

fn with_board(shape: Option<Shape>) -> CaseDocument {
    CaseDocument { board: Some(BoardMark { shape, ..BoardMark::default() }), ..case() }
}

#[test]
fn a_plain_board_shows_how_the_light_falls() {
    let without = measured(&case(), None);
    let with = measured(&with_board(None), None);
    assert_eq!((&without.problems, &with.problems), (&vec![], &vec![]));
    assert!(with.measurement.light.board >= 10, "{} places", with.measurement.light.board);
    let [before, after] = [lightness(&without), lightness(&with)];
    println!("L*: error, bar, largest error in bars: without {before:.2?}, with the board {after:.2?}");
    assert!(after[0] < 0.5 * before[0], "errors get smaller: {before:?} {after:?}");
    assert!(after[1] < 0.8 * before[1], "bars get shorter: {before:?} {after:?}");
    assert!(after[2] < 2.5, "and stay true: {after:?}");

    // Only the right half of the board was outlined.
    let half = Shape::Rect { min: [300.0, 0.0], max: [WIDTH as f64, HEIGHT as f64] };
    let outlined = measured(&with_board(Some(half)), None);
    let places = outlined.measurement.light.board;
    assert!((5..with.measurement.light.board).contains(&places), "{places} places, {:?}", outlined.problems);
}

#[test]
fn a_photo_of_the_empty_board_does_as_much() {
    let field = FlatField::of(&picture(&[], 0.9), &facts()).unwrap();
    let case = CaseDocument { flat_field: Some("empty.png".into()), ..case() };
    let outcome = measured(&case, Some(&field));
    assert_eq!(outcome.problems, []);
    assert_eq!(outcome.measurement.light.flat_field, 12);
    let [before, after] = [lightness(&measured(&self::case(), None)), lightness(&outcome)];
    println!("L*: error, bar, largest error in bars: without {before:.2?}, with the empty board {after:.2?}");
    assert!(
        after[0] < 0.5 * before[0] && after[1] < 0.8 * before[1] && after[2] < 2.5,
        "{before:?} {after:?}"
    );

    let not_at_hand = measured(&case, None);
    assert!(not_at_hand.problems[0].text.contains("empty.png"), "{:?}", not_at_hand.problems);
}

#[test]
fn a_photo_that_cannot_stand_for_the_board_is_refused_and_a_doubtful_one_told() {
    let said = |result: Result<FlatField, sameshot::problem::Problem>| result.unwrap_err().message;
    let littered = said(FlatField::of(&picture(&littered(), 1.0), &facts()));
    assert!(littered.contains("not even"), "{littered}");
    let bright = said(FlatField::of(&picture(&[], 3.5), &facts()));
    assert!(bright.contains("burnt out") || bright.contains("not even"), "{bright}");

    let problem = |field: &FlatField| {
        let outcome = measured(&CaseDocument { flat_field: Some("empty.png".into()), ..case() }, Some(field));
        (outcome.problems.first().map(|problem| problem.text.clone()), outcome.measurement.light.warnings)
    };
    let small =
        Raster::new(600, 450, Samples::U8(vec![150; 600 * 450 * 3]), Coding::srgb(256), None).unwrap();
    let (text, _) = problem(&FlatField::of(&small, &facts()).unwrap());
    assert!(text.as_ref().is_some_and(|text| text.contains("600 by 450")), "{text:?}");

    let other = PhotoFacts { camera: Some("Invented B2".into()), ..facts() };
    let (text, _) = problem(&FlatField::of(&picture(&[], 1.0), &other).unwrap());
    assert!(text.as_ref().is_some_and(|text| text.contains("Invented B2")), "{text:?}");

    let otherwise =
        PhotoFacts { exposure: Some("1/30 s".into()), white_balance_automatic: Some(true), ..facts() };
    let (text, warnings) = problem(&FlatField::of(&picture(&[], 1.0), &otherwise).unwrap());
    let codes: Vec<&str> = warnings.iter().map(|warning| warning.code.as_str()).collect();
    assert_eq!(text, None);
    assert!(
        codes.contains(&"flat-field-exposure") && codes.contains(&"flat-field-white-balance"),
        "{codes:?}"
    );
}

/// Things all over the board.
fn littered() -> Vec<([f64; 2], [f64; 3])> {
    let places = (0..8).flat_map(|column| (0..6).map(move |row| [column, row]));
    places.map(|place| (place.map(|v| 20.0 + 148.0 * f64::from(v)), [40.0, 20.0, -10.0])).collect()
}

/// Scenes by the rehearsal, one after the other with nothing, with the board and with the empty board.
#[test]
fn rehearsed_bars_stay_true_beside_a_board() {
    let table = |boards: Boards, scenes: usize| -> Rehearsal {
        let options = sameshot::rehearse::Options {
            scenes,
            families: FAMILIES[..1].to_vec(),
            evenness: vec![Evenness::Uneven],
            known: vec![KnownInScene::OneGrey, KnownInScene::Ladder, KnownInScene::LadderAndPart],
            boards,
            ..Default::default()
        };
        rehearse(&options, |_| {})
    };
    const SCENES: usize = 200;
    let tables = [Boards::None, Boards::Seen, Boards::Empty].map(|boards| table(boards, SCENES));
    for (row, (none, others)) in tables[0].rows.iter().enumerate().map(|(i, none)| (i, (none, &tables[1..])))
    {
        for (name, of) in
            [("none", none), ("board", &others[0].rows[row]), ("empty board", &others[1].rows[row])]
        {
            println!(
                "{}, {name}: 95 % holds {:.3}, surprise {:.2}, bar {:.2?}, error {:.2?}, decided {:.2}, wrong {:?}, CIEDE2000 {:.2}",
                of.known,
                of.coverage["95"],
                of.log_score,
                of.rms_bar,
                of.rms_error,
                of.decided,
                of.wrong_among_decided,
                of.median_de00
            );
            // At least 91 %, with three standard errors of as many scenes.
            let least = 0.91 - 3.0 * (0.91 * 0.09 / of.scenes as f64).sqrt();
            assert!(of.coverage["95"] >= least, "{}, {name}: {:?}", of.known, of.coverage);
            assert!(of.log_score < none.log_score + 0.05, "{}, {name}", of.known);
        }
    }
}

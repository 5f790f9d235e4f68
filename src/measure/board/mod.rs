//! The plain board under everything, and the photo of it with nothing on it: places that are all of one colour.
//!
//! The board is found in a picture made smaller; its places are read from the photo's own samples, as every area is.
//! Whatever lies on it is left out: its light is smooth, and marks are known.

mod flat_field;
mod seen;

pub use flat_field::FlatField;
pub(in crate::measure) use seen::BoardSeen;

use nalgebra::{DMatrix, DVector};

use super::areas::{INSET_PX, INSET_SUBSAMPLED_PX, not_burnt_out, patch_of};
use super::{AreaCache, Inputs, MarkProblem, Warning};
use crate::case::Surface;
use crate::color::{srgb_decode, srgb_encode};
use crate::light::Patch;
use crate::plastic::{AreaOptions, AreaProblem};
use crate::problem::Problem;
use crate::raster::{PhotoFacts, Raster, Shape};

/// With fewer places slope and curve are guessed.
const FEWEST_PLACES: usize = 5;
/// Constant, slope and curve.
const TERMS: usize = 6;
/// More than this left by slope and curve (logarithm) is worth a word: a third of a unit of L\*.
const MOST_REST: f64 = 0.02;

/// What boards give to a measurement.
#[derive(Debug, Default)]
pub(super) struct Boards {
    pub places: Vec<Vec<Patch>>,
    /// Number of places in this photo and in that of the empty board.
    pub on_board: usize,
    pub on_flat_field: usize,
    pub warnings: Vec<Warning>,
}

/// Reads the board of the case and takes in the photo of the empty board.
pub(super) fn read(inputs: &Inputs, cache: &mut AreaCache, problems: &mut Vec<MarkProblem>) -> Boards {
    let mut boards = Boards::default();
    let mut told = |problem: Problem| {
        problems.push(MarkProblem {
            kind: "board",
            id: String::new(),
            text: problem.message,
            remedy: problem.remedy,
        });
    };
    if let Some(board) = &inputs.case.board {
        match read_board(inputs, board.shape.as_ref(), cache) {
            Ok(mut places) => {
                boards.warnings.extend(rest_warning(with_rest(&mut places), "in this photo"));
                boards.on_board = places.len();
                boards.places.push(places);
            }
            Err(problem) => told(problem),
        }
    }
    if let (Some(file), None) = (&inputs.case.flat_field, inputs.flat_field) {
        told(Problem::new(
            format!("{file}, the photo of the empty board, could not be read and was left out."),
            "Put it back where it was, choose another one, or use none.",
        ));
    }
    if let Some(field) = inputs.flat_field {
        match field.unfit_for(inputs.raster, inputs.facts) {
            Some(problem) => told(problem),
            None => {
                boards.on_flat_field = field.places.len();
                boards.warnings.extend(field.warnings(inputs.facts));
                boards.places.push(field.places.clone());
            }
        }
    }
    boards
}

fn read_board(inputs: &Inputs, inside: Option<&Shape>, cache: &mut AreaCache) -> Result<Vec<Patch>, Problem> {
    let seen = match cache.board.take().filter(|seen| seen.inside.as_ref() == inside) {
        Some(seen) => seen,
        None => BoardSeen::of(inputs.raster, inside),
    };
    let zones = inputs.case.zones.iter().map(|zone| &zone.shape);
    let marks: Vec<&Shape> = zones.chain(inputs.case.readings.iter().map(|reading| &reading.shape)).collect();
    let read = read_places(inputs.raster, inputs.facts, &seen.places(&marks), cache);
    cache.board = Some(seen);
    if read.places.len() < FEWEST_PLACES {
        return Err(too_few("this photo", read.places.len()));
    }
    Ok(read.places)
}

/// Adds to the uncertainty of each place what a light of slope and curve leaves of the logarithm of all of them, and gives
/// that: its root mean square. Lamps farther away than the photo is wide leave less than 1 %, shadows leave more.
fn with_rest(places: &mut [Patch]) -> f64 {
    let logs = DVector::from_iterator(
        places.len(),
        places.iter().map(|place| place.coded.map(|v| libm::log(srgb_decode(v).max(1e-4))).mean()),
    );
    let terms = DMatrix::from_fn(places.len(), TERMS, |row, term| {
        let [x, y] = places[row].at;
        [1.0, x, y, x * x, x * y, y * y][term]
    });
    let normal = terms.tr_mul(&terms);
    let Some(root) = normal.cholesky().filter(|_| places.len() >= TERMS + 2) else { return 0.0 };
    let rest = &logs - &terms * root.solve(&terms.tr_mul(&logs));
    let squared = rest.norm_squared() / (places.len() - TERMS) as f64;
    for place in places {
        // How the codes move with the logarithm of the light, by differences.
        let moves = place.coded.map(|v| (srgb_encode(srgb_decode(v) * 1.001) - v) / 0.001);
        place.coded_cov += moves * moves.transpose() * squared;
    }
    squared.sqrt()
}

/// Warns where the light does not fall off smoothly.
fn rest_warning(rest: f64, of: &str) -> Option<Warning> {
    (rest > MOST_REST).then(|| Warning {
        code: "board-light".to_owned(),
        text: format!(
            "The light on the board {of} does not fall off smoothly: from place to place it differs by {:.0} % from what \
             slope and curve explain.",
            100.0 * rest
        ),
        remedy: "Move the lamps farther away, and take away what throws a shadow on the board or shines on it.".to_owned(),
    })
}

fn too_few(where_: &str, count: usize) -> Problem {
    Problem::new(
        format!(
            "The plain board is to be seen in {count} places of {where_}; at least {FEWEST_PLACES} are needed."
        ),
        "Let more of the board be seen between the parts, or outline it where the photo shows other things.",
    )
}

struct ReadPlaces {
    places: Vec<Patch>,
    burnt_out: usize,
}

fn read_places(raster: &Raster, facts: &PhotoFacts, places: &[Shape], cache: &mut AreaCache) -> ReadPlaces {
    let inset_px = if facts.chroma_subsampled { INSET_SUBSAMPLED_PX } else { INSET_PX };
    let options = AreaOptions { inset_px, white: [1.0; 3] };
    let mut read = ReadPlaces { places: Vec::with_capacity(places.len()), burnt_out: 0 };
    for place in places {
        match cache.read(raster, place, &options).and_then(not_burnt_out) {
            Ok(area) => read.places.push(patch_of(&area, Surface::Flat, raster)),
            Err(AreaProblem::TooFewPixels(_)) => read.burnt_out += 1,
            Err(AreaProblem::Shape(_)) => {}
        }
    }
    read
}

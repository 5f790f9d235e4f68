//! Text ↔ case, and what a case must obey to be opened at all.
//!
//! What is wrong with a single mark on its photo (outside it, crossing itself, too small) is no reason to
//! refuse the file: the measurement says so at the mark, where it can be put right.

use super::document::{CASE_VERSION, CaseDocument, Known, Surface};
use super::paths::{self, PathRule};
use crate::json::{self, Flaw, Kind, Step};
use crate::problem::Problem;
use crate::raster::Shape;

/// A case file has at most so many bytes.
pub const CASE_LIMIT_BYTES: u64 = 16_000_000;

/// A case has at most so many zones and readings together: all are solved in one matrix.
pub const MAX_MARKS: usize = 400;

/// A case names at most so many other photos.
pub const MAX_MORE_PHOTOS: usize = 7;

/// A polygon has at most so many corners.
pub const MAX_CORNERS: usize = 2_000;

/// Coordinates beyond this are a mistake on any photo.
const MAX_COORDINATE_PX: f64 = 1e6;

const KIND: Kind = Kind {
    name: "case",
    version_field: "sameshot_case",
    newest_version: CASE_VERSION,
    limit_bytes: CASE_LIMIT_BYTES,
};

/// Reads a case from the bytes of its file and checks it.
///
/// `rule` says whether its paths may leave the folder of the case.
pub fn parse(bytes: &[u8], rule: PathRule) -> Result<CaseDocument, Problem> {
    json::parse(bytes, &KIND, |case| check(case, rule))
}

/// The text of a case file. A case that could not be opened again is refused.
pub fn to_text(case: &CaseDocument) -> Result<String, Problem> {
    // A path chosen by hand may be saved; it is judged when the case is opened.
    check(case, PathRule::ChosenByHand)
        .map_err(|flaw| Problem::new(format!("The case cannot be saved: {}.", flaw.message), flaw.remedy))?;
    json::to_text(case, 2)
}

fn check(case: &CaseDocument, rule: PathRule) -> Result<(), Flaw> {
    check_paths(case, rule)?;
    if case.more_photos.len() > MAX_MORE_PHOTOS {
        return Err(Flaw::new(
            vec!["more_photos".into()],
            format!(
                "there are {} other photos; at most {MAX_MORE_PHOTOS} are read together with one",
                case.more_photos.len()
            ),
            "Keep the best of them.",
        ));
    }
    if let Some(hash) = &case.photo_sha256
        && (hash.len() != 64 || !hash.bytes().all(|byte| byte.is_ascii_hexdigit()))
    {
        return Err(Flaw::new(
            vec!["photo_sha256".into()],
            "a SHA-256 has 64 hexadecimal digits",
            "Correct it, or leave the field out.",
        ));
    }
    let marks = case.zones.len() + case.readings.len();
    if marks > MAX_MARKS {
        return Err(Flaw::new(
            vec![],
            format!("there are {marks} marks; a case has at most {MAX_MARKS} zones and readings together"),
            "Split it into several cases of the same photo.",
        ));
    }
    json::check_ids("zones", case.zones.iter().map(|zone| zone.id.as_str()))?;
    json::check_ids("readings", case.readings.iter().map(|reading| reading.id.as_str()))?;
    for (index, zone) in case.zones.iter().enumerate() {
        check_shape(&zone.shape, at("zones", index, "shape"))?;
        check_known(&zone.known, at("zones", index, "known"))?;
    }
    for (index, reading) in case.readings.iter().enumerate() {
        check_shape(&reading.shape, at("readings", index, "shape"))?;
    }
    if let Some(shape) = case.board.as_ref().and_then(|board| board.shape.as_ref()) {
        check_shape(shape, vec!["board".into(), "shape".into()])?;
    }
    super::loose::check(case)
}

fn at(list: &str, index: usize, field: &str) -> Vec<Step> {
    vec![list.into(), index.into(), field.into()]
}

fn check_paths(case: &CaseDocument, rule: PathRule) -> Result<(), Flaw> {
    let given = [
        ("photo", Some(&case.photo)),
        ("references", case.references.as_ref()),
        ("guide", case.guide.as_ref()),
        ("flat_field", case.flat_field.as_ref()),
    ];
    let more = case.more_photos.iter().map(|path| ("more_photos", Some(path)));
    for (field, path) in given.into_iter().chain(more) {
        let Some(path) = path else { continue };
        paths::check(path, rule)
            .map_err(|problem| Flaw::new(vec![field.into()], problem.message, problem.remedy))?;
    }
    Ok(())
}

fn check_shape(shape: &Shape, path: Vec<Step>) -> Result<(), Flaw> {
    if let Shape::Polygon(corners) = shape
        && corners.len() > MAX_CORNERS
    {
        return Err(Flaw::new(
            path,
            format!("the polygon has {} corners; at most {MAX_CORNERS} are allowed", corners.len()),
            "Draw it with fewer corners.",
        ));
    }
    let (low, high) = shape.bounds();
    let numbers: Vec<f64> = match shape {
        Shape::Circle { centre, radius } => vec![centre[0], centre[1], *radius],
        Shape::Polygon(corners) => corners.iter().flatten().copied().collect(),
        Shape::Rect { .. } => low.into_iter().chain(high).collect(),
    };
    match numbers.iter().find(|number| !(number.abs() <= MAX_COORDINATE_PX)) {
        Some(number) => Err(Flaw::new(
            path,
            format!("the coordinate {number} is no place on a photo"),
            "Write a number between -1000000 and 1000000, in pixels.",
        )),
        None => Ok(()),
    }
}

fn check_known(known: &Known, path: Vec<Step>) -> Result<(), Flaw> {
    let (field, flaw) = match known {
        Known::Shade { shade, .. } if shade.trim().is_empty() => (
            "shade",
            Some(("the shade's name is empty".into(), "Write the id of a shade of the references.".into())),
        ),
        Known::Shade { specimen: Some(specimen), .. } if specimen.trim().is_empty() => (
            "specimen",
            Some((
                "the specimen's name is empty".into(),
                "Write the id of a specimen of that shade, or leave it out.".into(),
            )),
        ),
        Known::Shade { .. } => return Ok(()),
        Known::Lab { lab, sd } => match json::check_lab(lab) {
            Some(flaw) => ("lab", Some(flaw)),
            None => ("sd", json::check_sd(sd)),
        },
    };
    let Some((message, remedy)) = flaw else { return Ok(()) };
    let path = path.into_iter().chain([Step::from(field)]).collect();
    Err(Flaw { path, message, remedy })
}

impl Surface {
    /// In words for a person.
    pub fn name(self) -> &'static str {
        match self {
            Surface::Flat => "flat",
            Surface::Rounded => "rounded",
        }
    }
}

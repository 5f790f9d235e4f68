//! A case and the files it names.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::case::{CaseDocument, PathRule};
use crate::figure::{Findings, PhotoShades, identify};
use crate::guide::Guide;
use crate::measure::{AreaCache, FlatField, Inputs, Options, OtherPhoto, Outcome, measure};
use crate::photo::{self, Limits, Photo};
use crate::problem::Problem;
use crate::shade::{Predictive, References};
use crate::storage::{open_case, open_references, resolve_inside};
use crate::tray::sort::marked_in;

/// A case and the files it names.
pub struct Loaded {
    /// The marks.
    pub case: CaseDocument,
    /// The photo.
    pub photo: Photo,
    /// The shades, where the case names some.
    pub references: Option<References>,
    /// The empty board, where the case names a photo of it.
    pub flat_field: Option<FlatField>,
    /// The other photos of the same parts that the case names.
    pub other_photos: Vec<Arc<OtherPhoto>>,
}

impl Loaded {
    /// What a measurement needs of it.
    pub fn inputs(&self) -> Inputs<'_> {
        Inputs {
            raster: &self.photo.raster,
            facts: &self.photo.facts,
            case: &self.case,
            references: self.references.as_ref(),
            flat_field: self.flat_field.as_ref(),
            other_photos: &self.other_photos,
        }
    }
}

/// Reads a case, its photo and its references. Paths in the case may not leave its folder.
pub fn load(path: &Path) -> Result<Loaded, Problem> {
    load_with(path, PathRule::InsideFolder, None)
}

/// The same with a rule for the paths, and with other references in the place of the case's own.
pub fn load_with(path: &Path, rule: PathRule, references: Option<&Path>) -> Result<Loaded, Problem> {
    let case = open_case(path, rule)?;
    let in_case = |problem: Problem| problem.in_file(path.display());
    let photo = photo_of(path, &case, rule)?;
    let references = match (references, &case.references) {
        (Some(file), _) => Some(open_references(file)?),
        (None, Some(inside)) => Some(open_references(&named(path, inside, rule)?).map_err(in_case)?),
        (None, None) => None,
    };
    let flat_field = flat_field_of(path, &case, rule)?;
    let other = |inside: &String| {
        Ok(Arc::new(open_other_photo(inside, &named(path, inside, rule)?, rule).map_err(in_case)?))
    };
    let other_photos = case.more_photos.iter().map(other).collect::<Result<_, Problem>>()?;
    Ok(Loaded { case, photo, references, flat_field, other_photos })
}

fn photo_of(path: &Path, case: &CaseDocument, rule: PathRule) -> Result<Photo, Problem> {
    let photo = named(path, &case.photo, rule)?;
    read_photo(&photo, case.photo_sha256.as_deref()).map_err(|problem| problem.in_file(path.display()))
}

fn flat_field_of(path: &Path, case: &CaseDocument, rule: PathRule) -> Result<Option<FlatField>, Problem> {
    let Some(inside) = &case.flat_field else { return Ok(None) };
    let field = open_flat_field(&named(path, inside, rule)?);
    field.map(Some).map_err(|problem| problem.in_file(path.display()))
}

/// Reads another photo of the parts of a case, which calls it `name`, from the case file of that photo.
pub fn open_other_photo(name: &str, path: &Path, rule: PathRule) -> Result<OtherPhoto, Problem> {
    let case = open_case(path, rule)?;
    let (photo, flat_field) = (photo_of(path, &case, rule)?, flat_field_of(path, &case, rule)?);
    let inputs = Inputs {
        raster: &photo.raster,
        facts: &photo.facts,
        case: &case,
        references: None,
        flat_field: flat_field.as_ref(),
        other_photos: &[],
    };
    Ok(OtherPhoto::of(name, &inputs, marked_in(&case)))
}

/// The guide's file that a case names, if it names one.
pub fn guide_file(path: &Path, case: &CaseDocument, rule: PathRule) -> Result<Option<PathBuf>, Problem> {
    case.guide.as_ref().map(|inside| named(path, inside, rule)).transpose()
}

/// The file that a path in a case means.
fn named(path: &Path, inside: &str, rule: PathRule) -> Result<PathBuf, Problem> {
    let folder = path.parent().unwrap_or(Path::new(""));
    resolve_inside(folder, inside, rule).map_err(|problem| problem.in_file(path.display()))
}

/// Measures a loaded case. The problem names all marks that had to be left out.
pub fn measure_loaded(loaded: &Loaded, options: &Options) -> (Outcome, Option<Problem>) {
    let options = Options { marked: marked_in(&loaded.case), ..*options };
    let outcome = measure(&loaded.inputs(), &options, &mut AreaCache::default());
    if outcome.problems.is_empty() {
        return (outcome, None);
    }
    let texts: Vec<&str> = outcome.problems.iter().map(|problem| problem.text.as_str()).collect();
    let mut remedies: Vec<&str> = outcome.problems.iter().map(|problem| problem.remedy.as_str()).collect();
    remedies.dedup();
    let problem = Problem::new(texts.join(" "), remedies.join(" "));
    (outcome, Some(problem))
}

/// Weighs what was measured and seen, the shades of one photo together.
pub fn weighed(loaded: &Loaded, outcome: &Outcome, guide: &Guide) -> Findings {
    let predictive = loaded.references.as_ref().and_then(|r| Predictive::from_references(r).ok());
    let photo = outcome.light.as_ref().zip(predictive.as_ref());
    let photo = photo.map(|(light, predictive)| PhotoShades { light, predictive });
    identify(&loaded.case, &outcome.measurement, photo, guide)
}

/// Reads a photo of the empty board.
pub fn open_flat_field(path: &Path) -> Result<FlatField, Problem> {
    let photo = read_photo(path, None)?;
    FlatField::of(&photo.raster, &photo.facts).map_err(|problem| problem.in_file(path.display()))
}

fn read_photo(path: &Path, expected_sha256: Option<&str>) -> Result<Photo, Problem> {
    let limits = Limits::default();
    let as_problem = |error: photo::PhotoError| Problem::new(format!("{error}."), error.remedy());
    let bytes = photo::read_bytes(path, &limits).map_err(as_problem)?;
    if let Some(expected) = expected_sha256
        && !photo::sha256_hex(&bytes).eq_ignore_ascii_case(expected)
    {
        return Err(Problem::new(
            format!("{} is not the photo that was marked: its SHA-256 is another one.", path.display()),
            "Put the right photo there, or open the case in the window, check the marks and save it again.",
        ));
    }
    photo::decode(&bytes, &limits).map_err(|error| as_problem(error.in_file(path)))
}

//! What is to be sorted, and by what.

use std::fs;
use std::path::{Path, PathBuf};

use crate::card::KnownSteps;
use crate::card::known::parse_card;
use crate::photo::sha256_hex;
use crate::problem::Problem;
use crate::shade::References;
use crate::storage::{open_references, read_limited};

/// What a person says of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Wanted {
    /// The folder with the photos.
    pub folder: PathBuf,
    /// Where the results go; a folder "sorted" inside it where nothing is said.
    pub out: Option<PathBuf>,
    /// The shades; the only `*.shades.json` of the folder where nothing is said.
    pub references: Option<PathBuf>,
    /// The calibrated greys of the card; the only `*.card.json` of the folder, else their nominal values.
    pub card: Option<PathBuf>,
    /// Shades of the parts in the boxes of the card from the left; a dash for an empty box.
    pub known: Vec<String>,
    /// A shade is called only when it is at least so probable.
    pub confidence: f64,
    /// Photos sorted at the same time; as many as there are cores, but not more than four, where nothing is said.
    pub threads: Option<usize>,
}

/// Everything ready to be sorted.
pub struct Order {
    /// The photos by name.
    pub photos: Vec<PathBuf>,
    /// Where the results go; it is there.
    pub out: PathBuf,
    pub(super) choice: Choice,
    pub(super) threads: Option<usize>,
}

/// All that is the same for every photo.
pub(super) struct Choice {
    pub references: Option<References>,
    pub steps: KnownSteps,
    pub known_parts: Vec<Option<String>>,
    pub confidence: f64,
    /// SHA-256 of all of that.
    pub settings: String,
}

/// A card file has at most so many bytes.
const CARD_LIMIT_BYTES: u64 = 1_000_000;

impl Order {
    /// Reads the folder, the shades and the card.
    ///
    /// # Errors
    /// Where the folder has no photo, or what is named cannot be read.
    pub fn of(wanted: &Wanted) -> Result<Self, Problem> {
        let files = files_in(&wanted.folder)?;
        let photos: Vec<PathBuf> = files.iter().filter(|path| is_photo(path)).cloned().collect();
        if photos.is_empty() {
            return Err(Problem::new(
                format!("There is no photo in the folder {}.", wanted.folder.display()),
                "Name a folder with JPEG, PNG, TIFF, WebP or HEIC files.",
            ));
        }
        let references = one_of(&files, ".shades.json", wanted.references.as_ref(), "--references")?;
        let card = one_of(&files, ".card.json", wanted.card.as_ref(), "--card")?;
        let references = references.map(|path| open_references(&path)).transpose()?;
        let steps = match &card {
            Some(path) => {
                let bytes = read_limited(path, CARD_LIMIT_BYTES)?;
                parse_card(&bytes).map_err(|problem| problem.in_file(path.display()))?.into()
            }
            None => KnownSteps::default(),
        };
        let known_parts = known_parts(&wanted.known, references.as_ref())?;
        let told = format!(
            "{references:?} {steps:?} {known_parts:?} {} {}",
            wanted.confidence,
            env!("CARGO_PKG_VERSION")
        );
        let settings = sha256_hex(told.as_bytes());
        let out = wanted.out.clone().unwrap_or_else(|| wanted.folder.join("sorted"));
        fs::create_dir_all(&out).map_err(|error| {
            Problem::new(
                format!("The folder {} cannot be made: {error}.", out.display()),
                "Choose a folder that can be written; on the command line --out DIR names another one.",
            )
        })?;
        let choice = Choice { references, steps, known_parts, confidence: wanted.confidence, settings };
        Ok(Self { photos, out, choice, threads: wanted.threads })
    }
}

fn known_parts(known: &[String], references: Option<&References>) -> Result<Vec<Option<String>>, Problem> {
    let known = known.iter().map(|shade| shade.trim());
    let parts: Vec<Option<String>> = known.map(|shade| (shade != "-").then(|| shade.to_owned())).collect();
    let all: Vec<&str> =
        references.iter().flat_map(|r| r.shades.iter().map(|shade| shade.id.as_str())).collect();
    match parts.iter().flatten().find(|shade| !all.contains(&shade.as_str())) {
        None => Ok(parts),
        Some(unknown) => Err(Problem::new(
            format!("\"{unknown}\", a part in a box of the card, is not among the shades."),
            format!("Name shades as the references do: {}.", all.join(", ")),
        )),
    }
}

fn files_in(folder: &Path) -> Result<Vec<PathBuf>, Problem> {
    let entries = fs::read_dir(folder).map_err(|error| {
        Problem::new(format!("The folder {} cannot be read: {error}.", folder.display()), "Check its name.")
    })?;
    let mut files: Vec<PathBuf> =
        entries.flatten().map(|entry| entry.path()).filter(|path| path.is_file()).collect();
    files.sort();
    Ok(files)
}

fn is_photo(path: &Path) -> bool {
    const ENDINGS: [&str; 8] = ["jpg", "jpeg", "png", "tif", "tiff", "webp", "heic", "heif"];
    let ending = path.extension().map(|ending| ending.to_string_lossy().to_lowercase());
    ending.is_some_and(|ending| ENDINGS.contains(&ending.as_str()))
}

/// The file that was named, else the only one of the folder with this ending.
fn one_of(
    files: &[PathBuf],
    ending: &str,
    named: Option<&PathBuf>,
    option: &str,
) -> Result<Option<PathBuf>, Problem> {
    if let Some(named) = named {
        return Ok(Some(named.clone()));
    }
    let is_such = |path: &&PathBuf| path.to_string_lossy().ends_with(ending);
    let found: Vec<&PathBuf> = files.iter().filter(is_such).collect();
    match found.as_slice() {
        [] => Ok(None),
        [one] => Ok(Some((*one).clone())),
        _ => Err(Problem::new(
            format!("There are {} files *{ending} in the folder.", found.len()),
            format!("Leave one there; on the command line {option} FILE chooses one."),
        )),
    }
}

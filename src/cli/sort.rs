//! `sameshot sort`: every photo of a folder sorted, on all cores, taken up again where it was left.

use std::collections::BTreeMap;
use std::fs;
use std::io::Cursor;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError};

use clap::Args;
use image::RgbImage;
use image::codecs::jpeg::JpegEncoder;
use serde::{Deserialize, Serialize};

use super::Ending;
use super::args::confidence;
use super::measure::line;
use super::output::{print, tell};
use crate::card::KnownSteps;
use crate::card::known::parse_card;
use crate::photo::{self, Limits};
use crate::problem::Problem;
use crate::report::{CSV_HEAD, SortedPhoto, contact_sheet, csv_rows, sorted_photo, tray_picture};
use crate::shade::References;
use crate::storage::{open_references, read_limited, save_atomically};
use crate::tray::sort::{SortInputs, sort_tray};

/// The options of `sameshot sort`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  sameshot sort trays/\n  sameshot sort trays/ --references green.shades.json --card laser.card.json --known green/light,green/medium,green/dark\n\nWrites sorted.csv, sorted.jsonl, a numbered picture of each photo and a contact sheet. A photo that was sorted before in the same way is not sorted again; stop it at any time and start it again.\n\nExit status: 0 all sorted, 1 some photo failed, 2 the call itself was wrong."
)]
pub(super) struct SortOptions {
    /// The folder with the photos.
    #[arg(value_name = "FOLDER")]
    pub folder: PathBuf,
    /// Where the results go; FOLDER/sorted without it.
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// The shades to sort by; the only *.shades.json of the folder without it.
    #[arg(long, value_name = "FILE")]
    pub references: Option<PathBuf>,
    /// The calibrated greys of the card; the only *.card.json of the folder, else their nominal values, without it.
    #[arg(long, value_name = "FILE")]
    pub card: Option<PathBuf>,
    /// Shades of the parts in the boxes of the card from the left, with commas; a dash for an empty box.
    #[arg(long, value_name = "SHADES", value_delimiter = ',')]
    pub known: Vec<String>,
    /// A shade is called only when it is at least so probable.
    #[arg(long, default_value_t = 0.95, value_name = "PROBABILITY", value_parser = confidence)]
    pub confidence: f64,
    /// Photos sorted at the same time; each takes about ten times the size of its pixels in memory.
    #[arg(long, value_name = "NUMBER", value_parser = clap::value_parser!(u8).range(1..=16))]
    pub threads: Option<u8>,
}

/// All that is the same for every photo.
struct Choice {
    references: Option<References>,
    steps: KnownSteps,
    known_parts: Vec<Option<String>>,
    confidence: f64,
    /// SHA-256 of all of that.
    settings: String,
}

/// A line of `sorted.jsonl`.
#[derive(Clone, Serialize, Deserialize)]
#[serde(untagged)]
enum Line {
    Sorted(Box<SortedPhoto>),
    Failed { sameshot_error: u32, photo: String, text: String },
}

/// Sorts the folder.
pub(super) fn run(options: &SortOptions) -> Ending {
    match prepared(options) {
        Ok((photos, out, choice)) => match sort_all(&photos, &out, &choice, options) {
            Ok(0) => Ending::Done,
            Ok(_) => Ending::SomeFailed,
            Err(problem) => {
                tell(&problem);
                Ending::SomeFailed
            }
        },
        Err(problem) => {
            tell(&problem);
            Ending::WrongCall
        }
    }
}

fn prepared(options: &SortOptions) -> Result<(Vec<PathBuf>, PathBuf, Choice), Problem> {
    let files = files_in(&options.folder)?;
    let photos: Vec<PathBuf> = files.iter().filter(|path| is_photo(path)).cloned().collect();
    if photos.is_empty() {
        return Err(Problem::new(
            format!("There is no photo in the folder {}.", options.folder.display()),
            "Name a folder with JPEG, PNG, TIFF, WebP or HEIC files.",
        ));
    }
    let references = one_of(&files, ".shades.json", options.references.as_ref(), "--references")?;
    let card = one_of(&files, ".card.json", options.card.as_ref(), "--card")?;
    let references = references.map(|path| open_references(&path)).transpose()?;
    let steps = match &card {
        Some(path) => {
            let bytes = read_limited(path, 1_000_000)?;
            parse_card(&bytes).map_err(|problem| problem.in_file(path.display()))?.into()
        }
        None => KnownSteps::default(),
    };
    let known_parts: Vec<Option<String>> =
        options.known.iter().map(|shade| (shade != "-").then(|| shade.trim().to_owned())).collect();
    let all: Vec<&str> =
        references.iter().flat_map(|r| r.shades.iter().map(|shade| shade.id.as_str())).collect();
    if let Some(unknown) = known_parts.iter().flatten().find(|shade| !all.contains(&shade.as_str())) {
        return Err(Problem::new(
            format!("--known: \"{unknown}\" is not among the shades."),
            format!("Name shades as the references do: {}.", all.join(", ")),
        ));
    }
    let told = format!(
        "{references:?} {steps:?} {known_parts:?} {} {}",
        options.confidence,
        env!("CARGO_PKG_VERSION")
    );
    let settings = photo::sha256_hex(told.as_bytes());
    let out = options.out.clone().unwrap_or_else(|| options.folder.join("sorted"));
    fs::create_dir_all(&out).map_err(|error| {
        Problem::new(
            format!("The folder {} cannot be made: {error}.", out.display()),
            "Name another with --out.",
        )
    })?;
    Ok((photos, out, Choice { references, steps, known_parts, confidence: options.confidence, settings }))
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
            format!("Choose one with {option} FILE."),
        )),
    }
}

/// Sorts what is not sorted yet and gives the number of photos that failed.
fn sort_all(
    photos: &[PathBuf],
    out: &Path,
    choice: &Choice,
    options: &SortOptions,
) -> Result<usize, Problem> {
    let before = lines_of_last_time(out);
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let threads = options.threads.map_or(cores.min(4), usize::from).min(photos.len());
    let next = AtomicUsize::new(0);
    let done = Mutex::new((BTreeMap::<usize, Line>::new(), None::<Problem>));
    std::thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                loop {
                    let index = next.fetch_add(1, Ordering::Relaxed);
                    let Some(path) = photos.get(index) else { break };
                    let line = line_of(path, out, choice, &before);
                    let mut done = done.lock().unwrap_or_else(PoisonError::into_inner);
                    print(&progress(&line, done.0.len() + 1, photos.len()));
                    done.0.insert(index, line);
                    let saved = save_tables(out, &done.0);
                    done.1 = done.1.take().or(saved.err());
                }
            });
        }
    });
    let (lines, problem) = done.into_inner().unwrap_or_else(PoisonError::into_inner);
    if let Some(problem) = problem {
        return Err(problem);
    }
    save_contact_sheet(photos, out)?;
    print(&format!("Results are in {}.\n", out.display()));
    Ok(lines.values().filter(|line| matches!(line, Line::Failed { .. })).count())
}

fn lines_of_last_time(out: &Path) -> Vec<SortedPhoto> {
    let text = fs::read_to_string(out.join("sorted.jsonl")).unwrap_or_default();
    let lines = text.lines().filter_map(|line| serde_json::from_str::<Line>(line).ok());
    lines
        .filter_map(|line| match line {
            Line::Sorted(sorted) if sorted.sameshot_sorted == 1 => Some(*sorted),
            _ => None,
        })
        .collect()
}

fn line_of(path: &Path, out: &Path, choice: &Choice, before: &[SortedPhoto]) -> Line {
    let sorted = catch_unwind(AssertUnwindSafe(|| sorted(path, out, choice, before))).unwrap_or_else(|_| {
        Err(Problem::new("The sorting broke down inside the program.", "Please report this with the photo."))
    });
    sorted.map_or_else(
        |problem| {
            tell(&problem.clone().in_file(path.display()));
            Line::Failed { sameshot_error: 1, photo: name_of(path), text: problem.to_string() }
        },
        |sorted| Line::Sorted(Box::new(sorted)),
    )
}

fn sorted(path: &Path, out: &Path, choice: &Choice, before: &[SortedPhoto]) -> Result<SortedPhoto, Problem> {
    let limits = Limits::default();
    let as_problem = |error: photo::PhotoError| Problem::new(format!("{error}."), error.remedy());
    let bytes = photo::read_bytes(path, &limits).map_err(as_problem)?;
    let (name, sha256) = (name_of(path), photo::sha256_hex(&bytes));
    let known = before
        .iter()
        .find(|old| old.photo == name && old.sha256 == sha256 && old.settings == choice.settings);
    if let Some(known) = known.filter(|_| picture_path(path, out).is_file()) {
        return Ok(known.clone());
    }
    let photo = photo::decode(&bytes, &limits).map_err(as_problem)?;
    let sorted = sort_tray(
        &SortInputs {
            raster: &photo.raster,
            facts: &photo.facts,
            references: choice.references.as_ref(),
            steps: &choice.steps,
            known_parts: &choice.known_parts,
            confidence: choice.confidence,
        },
        &name,
    )?;
    let picture =
        tray_picture(&photo.raster, &sorted, choice.references.as_ref(), &name).map_err(|error| {
            Problem::new(format!("The picture could not be drawn: {error}."), "Please report this.")
        })?;
    save_picture(&picture_path(path, out), &picture)?;
    Ok(sorted_photo(&sorted, &name, &sha256, &choice.settings))
}

fn name_of(path: &Path) -> String {
    path.file_name().unwrap_or_default().to_string_lossy().into_owned()
}

fn picture_path(photo: &Path, out: &Path) -> PathBuf {
    out.join(format!("{}.numbered.jpg", name_of(photo)))
}

fn save_picture(path: &Path, picture: &RgbImage) -> Result<(), Problem> {
    let mut bytes = Cursor::new(Vec::new());
    picture.write_with_encoder(JpegEncoder::new_with_quality(&mut bytes, 88)).map_err(|error| {
        Problem::new(format!("The picture could not be coded: {error}."), "Please report this.")
    })?;
    save_atomically(path, bytes.get_ref())
}

fn progress(line: &Line, done: usize, all: usize) -> String {
    match line {
        Line::Sorted(sorted) => {
            let called = sorted.parts.iter().filter(|part| {
                part.call.as_ref().is_some_and(|call| matches!(call, crate::measure::Call::Shade(_)))
            });
            let (parts, called) = (sorted.parts.len(), called.count());
            format!(
                "{done}/{all} {}: {parts} parts, {called} called, {} cards\n",
                sorted.photo,
                sorted.cards.len()
            )
        }
        Line::Failed { photo, .. } => format!("{done}/{all} {photo}: not sorted\n"),
    }
}

fn save_tables(out: &Path, lines: &BTreeMap<usize, Line>) -> Result<(), Problem> {
    let text: String = lines.values().map(line).collect();
    save_atomically(&out.join("sorted.jsonl"), text.as_bytes())?;
    let mut rows = csv::Writer::from_writer(Vec::new());
    let as_problem = |error: csv::Error| {
        Problem::new(format!("The table could not be written: {error}."), "Please report this.")
    };
    rows.write_record(CSV_HEAD).map_err(as_problem)?;
    for sorted in lines.values() {
        let Line::Sorted(sorted) = sorted else { continue };
        for row in csv_rows(sorted) {
            rows.write_record(row).map_err(as_problem)?;
        }
    }
    let bytes = rows.into_inner().map_err(|error| {
        Problem::new(format!("The table could not be written: {error}."), "Please report this.")
    })?;
    save_atomically(&out.join("sorted.csv"), &bytes)
}

/// All numbered pictures, small, on one sheet; a thousand photos are as many as a sheet can hold.
fn save_contact_sheet(photos: &[PathBuf], out: &Path) -> Result<(), Problem> {
    const MOST: usize = 60;
    let small = photos.iter().take(MOST).filter_map(|path| {
        let picture = image::open(picture_path(path, out)).ok()?.to_rgb8();
        Some((
            name_of(path),
            image::imageops::thumbnail(&picture, 640, 640 * picture.height() / picture.width()),
        ))
    });
    let small: Vec<(String, RgbImage)> = small.collect();
    if small.is_empty() {
        return Ok(());
    }
    let sheet = contact_sheet(&small).map_err(|error| {
        Problem::new(
            format!("The contact sheet could not be drawn: {error}."),
            "The tables are complete without it.",
        )
    })?;
    save_picture(&out.join("contact-sheet.jpg"), &sheet)
}

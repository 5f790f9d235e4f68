//! One photo sorted, or found to have been sorted before in the same way.

use std::io::Cursor;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};

use image::RgbImage;
use image::codecs::jpeg::JpegEncoder;
use serde::{Deserialize, Serialize};

use super::order::Choice;
use crate::photo::{self, Limits};
use crate::problem::Problem;
use crate::report::{SortedPhoto, sorted_photo, tray_picture};
use crate::storage::save_atomically;
use crate::tray::sort::{SortInputs, sort_tray};

/// A line of `sorted.jsonl`.
#[derive(Clone, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Line {
    /// A photo that was sorted.
    Sorted(Box<SortedPhoto>),
    /// One that could not be.
    Failed {
        /// Format version.
        sameshot_error: u32,
        /// Name of the photo.
        photo: String,
        /// What went wrong.
        text: String,
    },
}

/// What became of a photo.
pub(super) struct Outcome {
    /// Its line.
    pub line: Line,
    /// Its numbered picture, small, as a JPEG.
    pub small: Option<Vec<u8>>,
    /// What went wrong.
    pub problem: Option<Problem>,
    /// Whether it had been sorted before.
    pub was_known: bool,
}

/// Longest sides of a picture on the contact sheet.
pub(super) const SMALL_PX: [u32; 2] = [620, 380];

/// Sorts a photo; one that breaks down stops no other.
pub(super) fn outcome_of(path: &Path, out: &Path, choice: &Choice, before: &[SortedPhoto]) -> Outcome {
    let sorted = catch_unwind(AssertUnwindSafe(|| sorted(path, out, choice, before))).unwrap_or_else(|_| {
        Err(Problem::new("The sorting broke down inside the program.", "Please report this with the photo."))
    });
    match sorted {
        Ok((sorted, small, was_known)) => {
            let line = Line::Sorted(Box::new(sorted));
            Outcome { line, small: small_jpeg(&small), problem: None, was_known }
        }
        Err(problem) => {
            let line = Line::Failed { sameshot_error: 1, photo: name_of(path), text: problem.to_string() };
            let problem = Some(problem.in_file(path.display()));
            Outcome { line, small: None, problem, was_known: false }
        }
    }
}

fn sorted(
    path: &Path,
    out: &Path,
    choice: &Choice,
    before: &[SortedPhoto],
) -> Result<(SortedPhoto, RgbImage, bool), Problem> {
    let limits = Limits::default();
    let as_problem = |error: photo::PhotoError| Problem::new(format!("{error}."), error.remedy());
    let bytes = photo::read_bytes(path, &limits).map_err(as_problem)?;
    let (name, sha256) = (name_of(path), photo::sha256_hex(&bytes));
    let known = before
        .iter()
        .find(|old| old.photo == name && old.sha256 == sha256 && old.settings == choice.settings);
    // Without its picture, or with half of it, it is sorted again.
    if let Some((known, Ok(picture))) = known.map(|known| (known, image::open(picture_path(path, out)))) {
        return Ok((known.clone(), smaller(&picture.to_rgb8()), true));
    }
    let photo = photo::decode(&bytes, &limits).map_err(as_problem)?;
    drop(bytes);
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
    Ok((sorted_photo(&sorted, &name, &sha256, &choice.settings), smaller(&picture), false))
}

/// The name of a photo's file.
pub(super) fn name_of(path: &Path) -> String {
    path.file_name().unwrap_or_default().to_string_lossy().into_owned()
}

fn picture_path(photo: &Path, out: &Path) -> PathBuf {
    out.join(format!("{}.numbered.jpg", name_of(photo)))
}

fn smaller(picture: &RgbImage) -> RgbImage {
    let fit = SMALL_PX.iter().zip([picture.width(), picture.height()]);
    let fit = fit.map(|(most, side)| f64::from(*most) / f64::from(side.max(1))).fold(1.0, f64::min);
    let [width, height] =
        [picture.width(), picture.height()].map(|side| ((f64::from(side) * fit) as u32).max(1));
    image::imageops::thumbnail(picture, width, height)
}

fn small_jpeg(picture: &RgbImage) -> Option<Vec<u8>> {
    let mut bytes = Cursor::new(Vec::new());
    picture.write_with_encoder(JpegEncoder::new_with_quality(&mut bytes, 90)).ok()?;
    Some(bytes.into_inner())
}

/// Writes a JPEG.
pub(super) fn save_picture(path: &Path, picture: &RgbImage) -> Result<(), Problem> {
    let mut bytes = Cursor::new(Vec::new());
    picture.write_with_encoder(JpegEncoder::new_with_quality(&mut bytes, 88)).map_err(|error| {
        Problem::new(format!("The picture could not be coded: {error}."), "Please report this.")
    })?;
    save_atomically(path, bytes.get_ref())
}

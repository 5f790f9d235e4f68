//! Tables and contact sheets of a sorted folder.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use image::RgbImage;

use super::photo::{Line, Outcome, name_of, save_picture};
use crate::problem::Problem;
use crate::report::{CSV_HEAD, SortedPhoto, contact_sheet, csv_rows};
use crate::storage::save_atomically;

/// Pictures on one contact sheet.
const ON_A_SHEET: usize = 60;

/// The photos that were sorted by earlier runs.
pub(super) fn lines_of_last_time(out: &Path) -> Vec<SortedPhoto> {
    let text = fs::read_to_string(out.join("sorted.jsonl")).unwrap_or_default();
    let lines = text.lines().filter_map(|line| serde_json::from_str::<Line>(line).ok());
    lines
        .filter_map(|line| match line {
            Line::Sorted(sorted) if sorted.sameshot_sorted == 1 => Some(*sorted),
            _ => None,
        })
        .collect()
}

/// Writes both tables. A photo that this run has not come to keeps its line of last time, so that a run that is stopped
/// early loses nothing.
pub(super) fn save_tables(
    out: &Path,
    photos: &[PathBuf],
    outcomes: &BTreeMap<usize, Outcome>,
    before: &[SortedPhoto],
) -> Result<(), Problem> {
    let mut text = String::new();
    let as_problem = |error: csv::Error| {
        Problem::new(format!("The table could not be written: {error}."), "Please report this.")
    };
    let mut rows = csv::Writer::from_writer(Vec::new());
    rows.write_record(CSV_HEAD).map_err(as_problem)?;
    for (index, path) in photos.iter().enumerate() {
        let sorted = match outcomes.get(&index).map(|outcome| &outcome.line) {
            Some(own) => {
                text.push_str(&line(own));
                match own {
                    Line::Sorted(sorted) => Some(&**sorted),
                    Line::Failed { .. } => None,
                }
            }
            None => {
                let name = name_of(path);
                let old = before.iter().find(|old| old.photo == name);
                text.extend(old.map(line));
                old
            }
        };
        for row in sorted.iter().flat_map(|sorted| csv_rows(sorted)) {
            rows.write_record(row).map_err(as_problem)?;
        }
    }
    save_atomically(&out.join("sorted.jsonl"), text.as_bytes())?;
    let bytes = rows.into_inner().map_err(|error| {
        Problem::new(format!("The table could not be written: {error}."), "Please report this.")
    })?;
    save_atomically(&out.join("sorted.csv"), &bytes)
}

/// All numbered pictures, small, on sheets: `contact-sheet.jpg`, `contact-sheet-2.jpg` and so on.
pub(super) fn save_contact_sheets(
    photos: &[PathBuf],
    out: &Path,
    outcomes: &BTreeMap<usize, Outcome>,
) -> Result<(), Problem> {
    let small: Vec<(String, &[u8])> = outcomes
        .iter()
        .filter_map(|(index, outcome)| Some((name_of(photos.get(*index)?), outcome.small.as_deref()?)))
        .collect();
    for (n, some) in small.chunks(ON_A_SHEET).enumerate() {
        let decoded = some
            .iter()
            .filter_map(|(name, bytes)| Some((name.clone(), image::load_from_memory(bytes).ok()?.to_rgb8())));
        let pictures: Vec<(String, RgbImage)> = decoded.collect();
        let sheet = contact_sheet(&pictures).map_err(|error| {
            Problem::new(
                format!("The contact sheet could not be drawn: {error}."),
                "The tables are complete without it.",
            )
        })?;
        let number = if n == 0 { String::new() } else { format!("-{}", n + 1) };
        save_picture(&out.join(format!("contact-sheet{number}.jpg")), &sheet)?;
    }
    Ok(())
}

fn line(value: &impl serde::Serialize) -> String {
    // These plain structures cannot fail to become JSON.
    let mut text = serde_json::to_string(value).unwrap_or_default();
    text.push('\n');
    text
}

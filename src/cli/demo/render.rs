//! `sameshot demo --render`: the photos of the demo made anew.

use std::fs;
use std::path::Path;

use serde::Serialize;

use crate::case::to_text as case_to_text;
use crate::cli::output::print;
use crate::problem::Problem;
use crate::scene::demo::{NAMES, case_of, jpeg_of, references, remake, remake_tray};
use crate::storage::save_atomically;

/// Renders every photo and writes it with its truth, its case and the references.
pub(super) fn render_into(folder: &Path) -> Result<(), Problem> {
    fs::create_dir_all(folder).map_err(|error| failed(folder, &error.to_string()))?;
    save_json(&folder.join(super::files::SHADES_NAME), &references())?;
    let all = NAMES.join(", ");
    print(&format!("Rendering {all} and the tray; this takes some minutes.\n"));
    std::thread::scope(|scope| {
        let workers = NAMES.map(|name| scope.spawn(move || render_one(folder, name)));
        render_tray(folder)?;
        workers.into_iter().try_for_each(|worker| match worker.join() {
            Ok(result) => result,
            Err(_) => Err(failed(folder, "the renderer stopped")),
        })
    })
}

fn render_one(folder: &Path, name: &str) -> Result<(), Problem> {
    let photo = remake(name).ok_or_else(|| failed(folder, "no such photo"))?;
    let path = folder.join(format!("{name}.jpg"));
    let bytes = jpeg_of(&photo).map_err(|error| failed(&path, &error.to_string()))?;
    save_atomically(&path, &bytes)?;
    save_json(&folder.join(format!("{name}.truth.json")), &photo.truth)?;
    save_json(&folder.join(format!("{name}.case.json")), &case_of(&photo.truth))
}

fn render_tray(folder: &Path) -> Result<(), Problem> {
    let photo = remake_tray();
    let path = folder.join("tray.jpg");
    let bytes = jpeg_of(&photo).map_err(|error| failed(&path, &error.to_string()))?;
    save_atomically(&path, &bytes)?;
    save_json(&folder.join("tray.truth.json"), &photo.truth)?;
    let case = case_to_text(&super::tray::case_of_photo(&bytes, &photo.truth)?)?;
    save_atomically(&folder.join("tray.case.json"), case.as_bytes())?;
    Ok(())
}

fn save_json(path: &Path, value: &impl Serialize) -> Result<(), Problem> {
    let text = serde_json::to_string_pretty(value).map_err(|error| failed(path, &error.to_string()))?;
    save_atomically(path, format!("{text}\n").as_bytes())?;
    Ok(())
}

fn failed(path: &Path, reason: &str) -> Problem {
    Problem::new(
        format!("{} cannot be made: {reason}.", path.display()),
        "Name a folder that can be written: sameshot demo --render FOLDER.",
    )
}

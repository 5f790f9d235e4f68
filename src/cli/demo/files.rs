//! The demo's files, which are part of the program so that it works wherever it is installed.

use std::fs;
use std::path::Path;

use crate::problem::Problem;
use crate::scene::demo::Truth;
use crate::storage::save_atomically;

/// One photo of the demo.
pub(super) struct DemoPhoto {
    /// The stem of its files' names.
    pub name: &'static str,
    pub photo: &'static [u8],
    pub case: &'static str,
    truth: &'static str,
}

macro_rules! photo {
    ($name:literal) => {
        DemoPhoto {
            name: $name,
            photo: include_bytes!(concat!("../../../assets/demo/", $name, ".jpg")),
            case: include_str!(concat!("../../../assets/demo/", $name, ".case.json")),
            truth: include_str!(concat!("../../../assets/demo/", $name, ".truth.json")),
        }
    };
}

/// The photos in the order of the story: a good one, a hard light, an exchanged limb, a seller's picture.
pub(super) const PHOTOS: [&DemoPhoto; 4] =
    [&photo!("bench"), &photo!("lamp"), &photo!("exchanged"), &photo!("listing")];

/// The tray of loose limbs; its case was made by the program.
pub(super) const TRAY: DemoPhoto = photo!("tray");

pub(super) const SHADES_NAME: &str = "skerry-sea-green.shades.json";
const SHADES: &str = include_str!("../../../assets/demo/skerry-sea-green.shades.json");

const GUIDE_NAME: &str = "skerry-rescue.guide.json";
const GUIDE: &str = include_str!("../../../assets/demo/skerry-rescue.guide.json");

/// What is true of a photo.
pub(super) fn truth_of(photo: &DemoPhoto) -> Result<Truth, Problem> {
    serde_json::from_str(photo.truth).map_err(|error| damaged(photo.name, &error.to_string()))
}

/// Copies the demo's files into a folder, which is created where it is missing. A file of the same name but
/// another content is somebody's work and stops the copying before it begins.
pub(super) fn copy_into(folder: &Path) -> Result<(), Problem> {
    let mut files: Vec<(String, Vec<u8>)> =
        vec![(SHADES_NAME.into(), SHADES.into()), (GUIDE_NAME.into(), GUIDE.into())];
    for photo in PHOTOS.into_iter().chain([&TRAY]) {
        files.push((format!("{}.jpg", photo.name), photo.photo.into()));
        files.push((format!("{}.case.json", photo.name), photo.case.into()));
        files.push((format!("{}.truth.json", photo.name), photo.truth.into()));
    }
    fs::create_dir_all(folder).map_err(|error| {
        Problem::new(
            format!("The folder {} cannot be made: {error}.", folder.display()),
            "Name another folder: sameshot demo FOLDER.",
        )
    })?;
    for (name, content) in &files {
        let path = folder.join(name);
        if path.exists() && fs::read(&path).ok().as_ref() != Some(content) {
            return Err(Problem::new(
                format!("{} is there already and is not the demo's own.", path.display()),
                "Name another folder: sameshot demo FOLDER.",
            ));
        }
    }
    files.iter().try_for_each(|(name, content)| save_atomically(&folder.join(name), content))
}

fn damaged(name: &str, reason: &str) -> Problem {
    Problem::new(
        format!("The demo photo {name} that came with the program is damaged: {reason}."),
        "Install Sameshot again.",
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_shades_beside_the_photos_are_those_of_the_collection() {
        assert!(SHADES == include_str!("../../../reference-swatches/skerry-sea-green.shades.json"));
    }
}

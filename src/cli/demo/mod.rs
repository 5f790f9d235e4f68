//! `sameshot demo`: the main job on the photos that come with the program, beside what is true of them.

mod compare;
mod files;
mod render;
mod tray;

use std::io::Cursor;
use std::path::{Path, PathBuf};

use image::codecs::jpeg::JpegEncoder;

use super::Ending;
use super::args::DemoOptions;
use super::measure::{Loaded, load, measure_loaded};
use super::output::{print, tell};
use crate::measure::{Measurement, Options, Outcome};
use crate::problem::Problem;
use crate::report::{PictureInputs, result_picture};
use crate::storage::save_atomically;
use compare::{Score, findings, score, summary};
use files::{PHOTOS, truth_of};

/// Quality of the result pictures' JPEG: letters stay clean.
const JPEG_QUALITY: u8 = 92;

/// Copies the demo's files into the folder, measures them and prints the findings beside the truth.
pub(super) fn run(options: &DemoOptions) -> Ending {
    if options.render {
        return match render::render_into(&options.folder) {
            Ok(()) => Ending::Done,
            Err(problem) => {
                tell(&problem);
                Ending::SomeFailed
            }
        };
    }
    match demo(&options.folder) {
        Ok(score) if score.wrong == 0 => Ending::Done,
        Ok(_) => Ending::SomeFailed,
        Err(problem) => {
            tell(&problem);
            Ending::SomeFailed
        }
    }
}

fn demo(folder: &Path) -> Result<Score, Problem> {
    files::copy_into(folder)?;
    let mut total = Score::default();
    let mut pictures = Vec::new();
    for photo in PHOTOS {
        let path = folder.join(format!("{}.case.json", photo.name));
        let loaded = load(&path)?;
        let options = Options::default();
        let (Outcome { measurement, .. }, problem) = measure_loaded(&loaded, &options);
        if let Some(problem) = problem {
            return Err(problem.in_file(path.display()));
        }
        let truth = truth_of(photo)?;
        print(&findings(&measurement, loaded.references.as_ref(), &truth, &options));
        total.add(&score(&measurement, &truth));
        pictures.push(save_picture(folder, photo.name, &loaded, &measurement, &options)?);
    }
    print(&summary(&total));
    let (text, tray) = tray::findings(folder)?;
    print(&text);
    total.wrong += tray.wrong;
    print(&ending(folder, &pictures));
    Ok(total)
}

fn save_picture(
    folder: &Path,
    name: &str,
    loaded: &Loaded,
    measurement: &Measurement,
    options: &Options,
) -> Result<PathBuf, Problem> {
    let path = folder.join(format!("{name}.result.jpg"));
    let failed = |reason: String| {
        Problem::new(
            format!("The picture {} could not be made: {reason}.", path.display()),
            "The findings above are complete without it; please report this.",
        )
    };
    let picture = result_picture(&PictureInputs {
        raster: &loaded.photo.raster,
        case: &loaded.case,
        measurement,
        references: loaded.references.as_ref(),
        title: &loaded.case.photo,
        confidence: options.confidence,
    })
    .map_err(|error| failed(error.to_string()))?;
    let mut bytes = Cursor::new(Vec::new());
    picture
        .write_with_encoder(JpegEncoder::new_with_quality(&mut bytes, JPEG_QUALITY))
        .map_err(|error| failed(error.to_string()))?;
    save_atomically(&path, bytes.get_ref())?;
    Ok(path)
}

fn ending(folder: &Path, pictures: &[PathBuf]) -> String {
    let mut text = String::from("\nPictures with the marks and results drawn on:\n");
    for picture in pictures {
        text.push_str(&format!("  {}\n", picture.display()));
    }
    let first = PHOTOS.first().map_or("bench", |photo| photo.name);
    let case = folder.join(format!("{first}.case.json"));
    if cfg!(feature = "gui") {
        text.push_str(&format!("\nTo see it in the window, type:\n  {} {}\n", own_name(), quoted(&case)));
    } else {
        text.push_str(&format!(
            "\nThis Sameshot was built without its window; with it you would type:\n  sameshot {}\n",
            quoted(&case)
        ));
    }
    text
}

/// What was typed to start the program.
fn own_name() -> String {
    std::env::args_os().next().map_or("sameshot".into(), |name| quoted(Path::new(&name)))
}

/// A path as a shell takes it.
fn quoted(path: &Path) -> String {
    let text = path.to_string_lossy();
    let is_plain = |letter: char| letter.is_alphanumeric() || "/._-\\:".contains(letter);
    if !text.is_empty() && text.chars().all(is_plain) {
        return text.into_owned();
    }
    format!("'{}'", text.replace('\'', "'\\''"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn paths_are_quoted_for_a_shell() {
        assert_eq!(quoted(Path::new("demo/bench.case.json")), "demo/bench.case.json");
        assert_eq!(quoted(Path::new("my demo/it's.json")), "'my demo/it'\\''s.json'");
    }
}

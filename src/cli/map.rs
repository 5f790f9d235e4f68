//! `sameshot map`: a picture of a case's photo with the nearest shade painted over every pixel.

use std::io::Cursor;
use std::path::PathBuf;

use clap::Args;
use image::codecs::png::PngEncoder;

use super::Ending;
use super::measure::load;
use super::output::{print, tell};
use crate::problem::Problem;
use crate::report::shade_map_picture;
use crate::storage::{open_references, save_atomically};

/// The options of `sameshot map`.
#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  sameshot map bench.case.json --out bench-shades.png\n\nThe map is for looking: shading and glare are taken as colour, and it has no error bars. Go by “sameshot measure” for an answer.\n\nExit status: 0 done, 1 it failed, 2 the call itself was wrong."
)]
pub(super) struct MapOptions {
    /// The case: its photo, its known colours and its shades.
    #[arg(value_name = "CASE")]
    pub case: PathBuf,
    /// The picture to write (*.png).
    #[arg(long, value_name = "FILE")]
    pub out: PathBuf,
    /// Other shades than the case names.
    #[arg(long, value_name = "FILE")]
    pub references: Option<PathBuf>,
}

/// Draws the map.
pub(super) fn run(options: &MapOptions) -> Ending {
    if options.out.extension().is_none_or(|ending| !ending.eq_ignore_ascii_case("png")) {
        tell(&Problem::new(
            format!("{}: the map is a PNG picture.", options.out.display()),
            "Name a file that ends with .png.",
        ));
        return Ending::WrongCall;
    }
    match drawn(options) {
        Ok(text) => {
            print(&text);
            Ending::Done
        }
        Err(problem) => {
            tell(&problem.in_file(options.case.display()));
            Ending::SomeFailed
        }
    }
}

fn drawn(options: &MapOptions) -> Result<String, Problem> {
    let loaded = load(&options.case)?;
    let references = match &options.references {
        Some(path) => Some(open_references(path)?),
        None => loaded.references,
    };
    let references = references.ok_or_else(|| {
        Problem::new("The case names no shades to map.", "Name them with --references FILE.")
    })?;
    let (picture, from) = shade_map_picture(&loaded.photo.raster, &loaded.case, &references)?;
    let mut bytes = Cursor::new(Vec::new());
    picture.write_with_encoder(PngEncoder::new(&mut bytes)).map_err(|error| {
        Problem::new(format!("The picture could not be coded: {error}."), "Please report this.")
    })?;
    save_atomically(&options.out, bytes.get_ref())?;
    Ok(format!("{}\n{}\n", options.out.display(), from.words()))
}

//! What can be said after `sameshot references`.

use std::path::PathBuf;

use clap::{Args, Subcommand};

use crate::color::Illuminant;
use crate::shade::table::TableKind;
use crate::shade::{Condition, Method, Side};

/// The options of `sameshot references`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  sameshot references build bench.case.json \\\n    --part \"left arm=green/medium\" --out green.shades.json\n  sameshot references import lab.txt --family green\n  sameshot references export green.shades.json --out green.csv\n  sameshot references show green.shades.json --svg green.svg"
)]
pub(in crate::cli) struct ReferencesArguments {
    #[command(subcommand)]
    pub command: ReferencesCommand,
}

#[derive(Debug, Subcommand)]
pub(in crate::cli) enum ReferencesCommand {
    /// Makes shades of photographed parts whose shade is certain, or adds to them.
    Build(BuildOptions),
    /// Makes shades of a table of measured values: CGATS text or CSV with Lab, XYZ or spectra.
    Import(ImportArguments),
    /// Writes shades as a table.
    Export(ExportArguments),
    /// Shows a family: its shades, how often they would be confused, what does not fit.
    Show(ShowOptions),
}

/// The options of `sameshot references build`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  sameshot references build monday/*.case.json \\\n    --part \"torso=green/medium:torso 1\" --out green.shades.json\n  sameshot references build --out green.shades.json \\\n    --set-aside \"green/medium:torso 1@dusk.jpg=a lamp was on\"\n\nA reading whose mark has a field \"specimen\": {\"shade\": \"green/medium\", \"id\": \"torso 1\"} needs no --part. Several photos of one specimen are pooled: they make its colour surer, and it stays one specimen. What does not fit is named and never left out by itself.\n\nOld plastic and paint can hold cadmium, lead or bromine: do not sand, cut or dissolve parts to measure them; wash your hands; never force a brittle joint."
)]
pub(in crate::cli) struct BuildOptions {
    /// Case files (*.case.json), or folders of them.
    #[arg(value_name = "CASE")]
    pub cases: Vec<PathBuf>,
    /// The shades file; one that is there is added to.
    #[arg(long, value_name = "FILE.shades.json", required_unless_present = "card")]
    pub out: Option<PathBuf>,
    /// Which shade the part marked with that name is, and which specimen of it; without one the specimen has the mark's
    /// name. May be given several times.
    #[arg(long = "part", value_name = "READING=SHADE[:SPECIMEN]", value_parser = part)]
    pub parts: Vec<Part>,
    /// Writes the readings of the one case as the measured greys of a printed card, instead of shades: photograph the card
    /// beside a bought grey reference, mark that as known and the card's steps as parts. Its name is that of the family.
    #[arg(long, value_name = "FILE.card.json", conflicts_with_all = ["out", "parts", "set_aside"])]
    pub card: Option<PathBuf>,
    /// The measured greys of your print of the card, as made with --card: the zones "step 1", "step 2", … take these values
    /// instead of those in the cases.
    #[arg(long, value_name = "FILE.card.json", conflicts_with = "card")]
    pub card_values: Option<PathBuf>,
    /// Name of the family where the file is new.
    #[arg(long, value_name = "NAME")]
    pub family: Option<String>,
    /// The camera of these photos, where they do not say so themselves.
    #[arg(long, value_name = "NAME")]
    pub camera: Option<String>,
    /// What time has done to these parts: sound, faded or yellowed.
    #[arg(long, value_name = "CONDITION", value_parser = condition)]
    pub condition: Option<Condition>,
    /// Which side of the parts was measured: sheltered from light, or exposed to it.
    #[arg(long, value_name = "SIDE", value_parser = side)]
    pub side: Option<Side>,
    /// Sets a specimen or one of its photos aside; without a reason after the = it counts again.
    #[arg(long, value_name = "SHADE:SPECIMEN[@PHOTO]=REASON", value_parser = aside)]
    pub set_aside: Vec<Aside>,
}

/// A reading with the specimen that it is of.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::cli) struct Part {
    pub reading: String,
    pub shade: String,
    pub specimen: Option<String>,
}

/// A specimen, or one of its photos, that is not to count.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::cli) struct Aside {
    pub shade: String,
    pub specimen: String,
    pub photo: Option<String>,
    pub reason: String,
}

/// The options of `sameshot references import`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  sameshot references import greens.txt\n  sameshot references import greens.csv --illuminant D65 --sd 0.3,0.2,0.2 \\\n    --family green --out green.shades.json\n\nColumns of a CSV: name or shade, and L,a,b or X,Y,Z or wavelengths such as 380 to 730; optional id, label, sd_l, sd_a, sd_b, method, aged, note. A line such as \"# illuminant: D65\" says under which illuminant they stand."
)]
pub(in crate::cli) struct ImportArguments {
    /// The table.
    #[arg(value_name = "TABLE")]
    pub table: PathBuf,
    /// Where the shades go; without it beside the table.
    #[arg(long, value_name = "FILE.shades.json")]
    pub out: Option<PathBuf>,
    /// Replaces that file if it is there.
    #[arg(long)]
    pub replace: bool,
    /// Writes the rows as the measured greys of a printed card into this file instead of shades; its name is that of the
    /// family.
    #[arg(long, value_name = "FILE.card.json", conflicts_with = "out")]
    pub card: Option<PathBuf>,
    /// Name of the family; without it the table's own, else its file's name.
    #[arg(long, value_name = "NAME")]
    pub family: Option<String>,
    /// Illuminant of its Lab or XYZ, whatever the table says: A, C, D50, D65, F2 or F11.
    #[arg(long, value_name = "NAME", value_parser = illuminant)]
    pub illuminant: Option<Illuminant>,
    /// Standard deviations of L*, a*, b* where the table has none.
    #[arg(long, value_name = "L,a,b", value_parser = deviations)]
    pub sd: Option<Triple>,
    /// How it was measured, where the table does not say so: photo, spectrophotometer or published.
    #[arg(long, value_name = "METHOD", value_parser = method)]
    pub method: Option<Method>,
}

/// The options of `sameshot references export`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  sameshot references export green.shades.json --out green.csv\n  sameshot references export green.shades.json --kind cgats > green.txt\n\nLab stands under D50 for the 2 degree observer. Read in again the table gives the same values."
)]
pub(in crate::cli) struct ExportArguments {
    /// The shades.
    #[arg(value_name = "FILE.shades.json")]
    pub shades: PathBuf,
    /// Where the table goes; without it to standard output. A name that ends in .csv makes a CSV, any other CGATS text.
    #[arg(long, value_name = "TABLE")]
    pub out: Option<PathBuf>,
    /// cgats or csv, whatever the name.
    #[arg(long, value_name = "KIND", value_parser = kind)]
    pub kind: Option<TableKind>,
}

/// The options of `sameshot references show`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  sameshot references show green.shades.json\n  sameshot references show green.shades.json --specimens --svg green.svg\n  sameshot references show green.shades.json \\\n    --judge 52.6,-16,12 --reading-sd 1.2,1,1"
)]
pub(in crate::cli) struct ShowOptions {
    /// The shades.
    #[arg(value_name = "FILE.shades.json")]
    pub shades: PathBuf,
    /// Lists every specimen with its photos.
    #[arg(long)]
    pub specimens: bool,
    /// Draws the family into this file.
    #[arg(long, value_name = "FILE.svg")]
    pub svg: Option<PathBuf>,
    /// Standard deviations of a reading in L*, a*, b*; without it those of the set's own photos.
    #[arg(long, value_name = "L,a,b", value_parser = deviations)]
    pub reading_sd: Option<Triple>,
    /// Says which shade a reading of this Lab is, as moulded or yellowed, and what would settle it.
    #[arg(long, value_name = "L,a,b", value_parser = triple, allow_hyphen_values = true)]
    pub judge: Option<Triple>,
}

/// Three numbers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::cli) struct Triple(pub [f64; 3]);

fn triple(text: &str) -> Result<Triple, String> {
    let numbers: Vec<f64> = text.split(',').filter_map(|word| word.trim().parse().ok()).collect();
    match numbers.as_slice() {
        [l, a, b] if text.split(',').count() == 3 && numbers.iter().all(|v| v.is_finite()) => {
            Ok(Triple([*l, *a, *b]))
        }
        _ => Err("expected three numbers with commas, such as 52.5,-16,12".into()),
    }
}

fn deviations(text: &str) -> Result<Triple, String> {
    let found = triple(text)?;
    if found.0.iter().all(|sd| *sd > 0.0 && *sd <= 50.0) {
        return Ok(found);
    }
    Err("expected three numbers above 0 and at most 50, such as 0.3,0.2,0.2".into())
}

fn part(text: &str) -> Result<Part, String> {
    let wanted =
        || "expected READING=SHADE or READING=SHADE:SPECIMEN, such as \"left arm=green/medium\"".to_owned();
    let (reading, place) = text.split_once('=').ok_or_else(wanted)?;
    let (shade, specimen) =
        place.split_once(':').map_or((place, None), |(shade, specimen)| (shade, Some(specimen)));
    let [reading, shade] = [reading, shade].map(|word| word.trim().to_owned());
    if reading.is_empty() || shade.is_empty() {
        return Err(wanted());
    }
    Ok(Part { reading, shade, specimen: specimen.map(|word| word.trim().to_owned()) })
}

fn aside(text: &str) -> Result<Aside, String> {
    let wanted = || "expected SHADE:SPECIMEN=REASON or SHADE:SPECIMEN@PHOTO=REASON".to_owned();
    let (place, reason) = text.split_once('=').ok_or_else(wanted)?;
    let (shade, rest) = place.split_once(':').ok_or_else(wanted)?;
    let (specimen, photo) =
        rest.rsplit_once('@').map_or((rest, None), |(specimen, photo)| (specimen, Some(photo)));
    let [shade, specimen, reason] = [shade, specimen, reason].map(|word| word.trim().to_owned());
    Ok(Aside { shade, specimen, photo: photo.map(|word| word.trim().to_owned()), reason })
}

fn condition(text: &str) -> Result<Condition, String> {
    Condition::of_name(text).ok_or_else(|| "expected sound, faded or yellowed".into())
}

fn side(text: &str) -> Result<Side, String> {
    Side::of_name(text).ok_or_else(|| "expected sheltered or exposed".into())
}

fn method(text: &str) -> Result<Method, String> {
    Method::of_name(text).ok_or_else(|| "expected photo, spectrophotometer or published".into())
}

fn illuminant(text: &str) -> Result<Illuminant, String> {
    Illuminant::of_name(text).ok_or_else(|| "expected A, C, D50, D65, F2 or F11".into())
}

fn kind(text: &str) -> Result<TableKind, String> {
    match text {
        "cgats" => Ok(TableKind::Cgats),
        "csv" => Ok(TableKind::Csv),
        _ => Err("expected cgats or csv".into()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_of_specimens_are_read() {
        let found = part("left arm = green/medium : torso 1").unwrap();
        assert_eq!((found.reading.as_str(), found.shade.as_str()), ("left arm", "green/medium"));
        assert_eq!(found.specimen.as_deref(), Some("torso 1"));
        assert!(part("left arm").is_err() && part("=x").is_err());
        let found = aside("green/medium:torso 1@dusk.jpg=a lamp = on").unwrap();
        assert_eq!((found.photo.as_deref(), found.reason.as_str()), (Some("dusk.jpg"), "a lamp = on"));
        assert_eq!(aside("green/medium:torso 1=").unwrap().reason, "");
        assert_eq!(triple("52.5,-16,12"), Ok(Triple([52.5, -16.0, 12.0])));
        for text in ["1,2", "1,2,x", "1,2,3,4", "1,2,NaN", ""] {
            assert!(triple(text).is_err(), "{text}");
        }
        assert!(deviations("0.3,0,1").is_err());
    }
}

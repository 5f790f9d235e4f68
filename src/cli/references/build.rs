//! `sameshot references build`: cases of parts whose shade is certain in, a shades file out.

use std::path::{Path, PathBuf};

use super::args::{BuildOptions, Part};
use super::card::write_card;
use super::show::unusable;
use crate::card::known::KnownStep;
use crate::cli::Ending;
use crate::cli::measure::{all_cases, load, measure_loaded, with_card};
use crate::cli::output::{print, tell};
use crate::measure::{Options, specimen_readings};
use crate::problem::Problem;
use crate::report::{FamilyOptions, FamilyPicture, family_text, outliers_text};
use crate::shade::{
    Added, Belongs, References, add_reading, empty_references, outliers, pool, references_to_text, set_aside,
};
use crate::storage::{open_references, save_atomically};

/// Measures the cases in the order given, puts their readings in and pools. A case that fails is told, and the others go
/// in without it.
pub(super) fn run(options: &BuildOptions) -> Ending {
    let cases = match all_cases(&options.cases) {
        Ok(cases) if cases.is_empty() && options.set_aside.is_empty() => {
            tell(&Problem::new(
                "There is nothing to build from.",
                "Name cases, or something to set aside: sameshot references build --help.",
            ));
            return Ending::WrongCall;
        }
        Ok(cases) => cases,
        Err(problem) => {
            tell(&problem);
            return Ending::WrongCall;
        }
    };
    if let Some(card) = &options.card {
        return match measured_card(card, &cases, options) {
            Ok(()) => Ending::Done,
            Err(problem) => {
                tell(&problem);
                Ending::SomeFailed
            }
        };
    }
    let Some(out) = &options.out else { return Ending::WrongCall };
    let mut ending = Ending::Done;
    let mut references = match started(out, options) {
        Ok(references) => references,
        Err(problem) => {
            tell(&problem);
            return Ending::SomeFailed;
        }
    };
    for case in &cases {
        if let Err(problem) = one_case(&mut references, case, options) {
            tell(&problem);
            ending = Ending::SomeFailed;
        }
    }
    match finished(references, out, options) {
        Ok(()) => ending,
        Err(problem) => {
            tell(&problem);
            Ending::SomeFailed
        }
    }
}

/// A printed card's steps measured in a photo beside a bought grey reference.
fn measured_card(card: &Path, cases: &[PathBuf], options: &BuildOptions) -> Result<(), Problem> {
    let [case] = cases else {
        return Err(Problem::new("A card is measured from one case.", "Name the one case in which it lies."));
    };
    let loaded = load(case)?;
    let (outcome, problem) = measure_loaded(&loaded, &Options { remedies: false, ..Options::default() });
    if let Some(problem) = problem {
        return Err(problem.in_file(case.display()));
    }
    let sd = |cov: &[[f64; 3]; 3]| [0, 1, 2].map(|axis| cov[axis][axis].max(1e-4).sqrt());
    let readings = &outcome.measurement.readings;
    let steps = readings.iter().map(|reading| KnownStep { lab: reading.lab, sd: sd(&reading.cov) }).collect();
    write_card(card, options.family.as_deref().unwrap_or("my card"), steps, false)
}

fn started(out: &Path, options: &BuildOptions) -> Result<References, Problem> {
    if out.exists() {
        return open_references(out);
    }
    let of_shade =
        options.parts.first().and_then(|part| part.shade.split_once('/')).map(|(family, _)| family);
    Ok(empty_references(options.family.as_deref().or(of_shade).unwrap_or("shades")))
}

fn one_case(references: &mut References, path: &Path, options: &BuildOptions) -> Result<(), Problem> {
    let loaded = with_card(load(path)?, options.card_values.as_deref())
        .map_err(|problem| problem.in_file(path.display()))?;
    let (outcome, problem) = measure_loaded(&loaded, &Options { remedies: false, ..Options::default() });
    let mut said = String::new();
    for mut found in specimen_readings(&loaded.inputs(), &outcome) {
        let Some(belongs) = place_of(&found.id, found.belongs.take(), options) else {
            said += &format!("  {}: left out, no shade was named for it\n", found.id);
            continue;
        };
        found.reading.camera = options.camera.clone().or(found.reading.camera);
        let [l, a, b] = found.reading.lab;
        let added = add_reading(references, &belongs, found.reading)
            .map_err(|problem| problem.in_file(path.display()))?;
        let word = match added {
            Added::New => "added to",
            Added::Replaced => "measured again for",
        };
        said += &format!(
            "  {}: {word} {} of {} (L* {l:.1}, a* {a:.1}, b* {b:.1})\n",
            found.id, belongs.specimen, belongs.shade
        );
    }
    print(&format!("{}\n{said}", path.display()));
    problem.map_or(Ok(()), |problem| Err(problem.in_file(path.display())))
}

/// The command line's word counts before the mark's own.
fn place_of(reading: &str, own: Option<Belongs>, options: &BuildOptions) -> Option<Belongs> {
    let named = options.parts.iter().find(|part| part.reading == reading);
    let mut belongs = match (named, own) {
        (Some(Part { shade, specimen, .. }), own) => Belongs {
            shade: shade.clone(),
            specimen: specimen.clone().unwrap_or_else(|| reading.to_owned()),
            ..own.unwrap_or_default()
        },
        (None, own) => own?,
    };
    belongs.condition = options.condition.or(belongs.condition);
    belongs.side = options.side.or(belongs.side);
    Some(belongs)
}

fn finished(mut references: References, out: &Path, options: &BuildOptions) -> Result<(), Problem> {
    for aside in &options.set_aside {
        set_aside(&mut references, &aside.shade, &aside.specimen, aside.photo.as_deref(), &aside.reason)?;
    }
    if let Some(family) = &options.family {
        references.family.clone_from(family);
    }
    let pooling = pool(&mut references);
    if references.shades.is_empty() {
        return Err(Problem::new(
            "No reading went in, so nothing was written.",
            "Say which shade each reading is: --part \"left arm=green/medium\".",
        ));
    }
    save_atomically(out, references_to_text(&references)?.as_bytes())?;
    let picture = FamilyPicture::of(&references).map_err(|problem| unusable(&problem))?;
    print(&format!(
        "\n{} readings pooled into {} specimens.{}\n\n",
        pooling.readings,
        pooling.specimens,
        if pooling.photo_factor > 1.05 {
            format!(
                " Photos scatter {:.1} times as much as they say; the bars were widened.",
                pooling.photo_factor
            )
        } else {
            String::new()
        }
    ));
    print(&family_text(&references, &picture, &FamilyOptions { specimens: true }));
    print(&outliers_text(&outliers(&references)));
    print(&format!("Written to {}.\n", out.display()));
    Ok(())
}

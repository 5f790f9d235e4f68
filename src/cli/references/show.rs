//! `sameshot references show`: a family as text and as a picture, and what a reading of it would be.

use nalgebra::{Matrix3, Vector3};

use super::args::ShowOptions;
use crate::cli::output::print;
use crate::problem::Problem;
use crate::report::{
    FamilyOptions, FamilyPicture, confusion_text, family_svg, family_text, judgement_text, outliers_text,
};
use crate::shade::ageing::Ageing;
use crate::shade::{
    Predictive, References, ReferencesProblem, confusion, outliers, typical_reading_sd, what_helps,
};
use crate::stats::Mixture;
use crate::storage::{open_references, save_atomically};

pub(super) fn run(options: &ShowOptions) -> Result<(), Problem> {
    let references = open_references(&options.shades)?;
    let in_file = |problem: ReferencesProblem| unusable(&problem).in_file(options.shades.display());
    let reading_sd = options.reading_sd.map_or_else(|| typical_reading_sd(&references), |sd| sd.0);
    if let Some(lab) = options.judge {
        print(&judged(&references, lab.0, reading_sd).map_err(in_file)?);
        return Ok(());
    }
    let picture = FamilyPicture::of(&references).map_err(in_file)?;
    print(&family_text(&references, &picture, &FamilyOptions { specimens: options.specimens }));
    if let Some(path) = &options.svg {
        save_atomically(path, family_svg(&picture, &references.family).as_bytes())?;
        print(&format!("Drawn into {}.\n", path.display()));
    }
    let predictive = Predictive::from_references(&references).map_err(in_file)?;
    let table = confusion(&predictive, reading_sd);
    let helps = what_helps(&references, reading_sd).map_err(in_file)?;
    print(&confusion_text(&references, &table, reading_sd, &helps));
    print(&outliers_text(&outliers(&references)));
    Ok(())
}

pub(super) fn unusable(problem: &ReferencesProblem) -> Problem {
    Problem::new(format!("The shades cannot be used: {problem}."), "Mend the file or choose another one.")
}

fn judged(references: &References, lab: [f64; 3], sd: [f64; 3]) -> Result<String, ReferencesProblem> {
    let predictive = Predictive::from_references(references)?;
    let ageing = Ageing::of_references(references);
    let variance = Vector3::from(sd.map(|sd| sd * sd));
    let reading = Mixture::normal(Vector3::from(lab), Matrix3::from_diagonal(&variance));
    // A diagonal of positive numbers is a covariance.
    let hypotheses = ageing.judge(&reading, &predictive).unwrap_or_default();
    Ok(judgement_text(references, &hypotheses, &ageing))
}

//! `sameshot identify`: cases in, one line of JSON or one text each out.

use std::path::Path;

use super::Ending;
use super::args::IdentifyOptions;
use super::measure::{each_case, line, load, measure_loaded};
use crate::case::{CaseDocument, PathRule};
use crate::figure::{Findings, identify};
use crate::guide::Guide;
pub(super) use crate::keeping::weighed;
use crate::measure::{Measurement, Options};
use crate::problem::Problem;
use crate::storage::{open_case, open_guide, resolve_inside};

/// Weighs every case in the order given; a case that fails does not stop the others.
pub(super) fn run(options: &IdentifyOptions) -> Ending {
    each_case(&options.cases, options.json, |path| identified(path, options))
}

fn identified(path: &Path, options: &IdentifyOptions) -> Result<(String, Option<Problem>), Problem> {
    let case = open_case(path, PathRule::InsideFolder)?;
    let guide = guide_of(path, &case, options.guide.as_deref())?;
    let (findings, problem) = if case.readings.is_empty() {
        (identify(&case, &Measurement::default(), None, &guide), None)
    } else {
        from_photo(path, &guide)?
    };
    let problem = problem.map(|problem| problem.in_file(path.display()));
    if options.json {
        return problem.map_or_else(|| Ok((line(&findings), None)), Err);
    }
    Ok((format!("{}\n\n{}", path.display(), findings.text(&guide)), problem))
}

/// The guide named on the command line, else the case's own.
pub(super) fn guide_of(path: &Path, case: &CaseDocument, chosen: Option<&Path>) -> Result<Guide, Problem> {
    if let Some(chosen) = chosen {
        return open_guide(chosen);
    }
    let Some(inside) = &case.guide else {
        return Err(Problem::new(
            format!("{}: the case names no guide.", path.display()),
            "Name one with --guide FILE, or choose one in the window and save the case.",
        ));
    };
    let folder = path.parent().unwrap_or(Path::new(""));
    let file = resolve_inside(folder, inside, PathRule::InsideFolder);
    open_guide(&file.map_err(|problem| problem.in_file(path.display()))?)
        .map_err(|problem| problem.in_file(path.display()))
}

/// Measures the photo first. Marks that cannot be measured are left out and told.
fn from_photo(path: &Path, guide: &Guide) -> Result<(Findings, Option<Problem>), Problem> {
    let loaded = load(path)?;
    let (outcome, problem) = measure_loaded(&loaded, &Options::default());
    Ok((weighed(&loaded, &outcome, guide), problem))
}

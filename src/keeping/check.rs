//! What a record's case would say today: measured and weighed again, compared with the newest finding, and added to the
//! history only when the person says so.

use std::path::{Path, PathBuf};

use super::load::{guide_file, load_with, measure_loaded, weighed};
use super::other_files::OtherFiles;
use crate::case::{CaseDocument, PathRule, relative_to};
use crate::collection::{Made, RecordedFinding, Role, Source, changes, recorded};
use crate::guide::GUIDE_LIMIT_BYTES;
use crate::measure::{Measurement, Options};
use crate::photo::{Limits, sha256_hex};
use crate::problem::Problem;
use crate::storage::{
    copied_into, open_case, open_guide, open_record, read_limited, resolve_inside, save_case, save_record,
};

/// What a record is checked with.
#[derive(Debug, Clone)]
pub struct CheckWith<'a> {
    /// The collection's folder.
    pub folder: &'a Path,
    /// Whether paths may lead out of it.
    pub rule: PathRule,
    /// The day, year-month-day.
    pub date: &'a str,
    /// References in the place of those that the case names.
    pub references: Option<&'a Path>,
    /// A guide in the place of the one that the case names.
    pub guide: Option<&'a Path>,
}

/// A record checked; nothing is written yet.
#[derive(Debug, Clone, PartialEq)]
pub struct Checked {
    /// The record's file, relative to the collection.
    pub file: String,
    /// Its name.
    pub name: String,
    /// What would be said otherwise, in words; empty where nothing would.
    pub changes: Vec<String>,
    /// The finding of today.
    pub finding: RecordedFinding,
    /// The references and the guide that it was checked with, where they are not those of the case.
    pub other: [Option<PathBuf>; 2],
}

/// Measures and weighs the first case of a record again.
pub fn check(file: &str, with: &CheckWith) -> Result<Checked, Problem> {
    let record = open_record(&with.folder.join(file))?;
    let at = |problem: Problem| problem.in_file(file);
    let Some(inside) = record.cases.first() else {
        return Err(Problem::new(
            format!("{file}: the record has no case, so there is nothing to measure again."),
            "Add the figure anew from a marked photo.",
        ));
    };
    let case_inside = crate::collection::from_root(file, inside);
    let path = resolve_inside(with.folder, &case_inside, with.rule).map_err(at)?;
    let loaded = load_with(&path, with.rule, with.references).map_err(at)?;
    let (outcome, problem) = measure_loaded(&loaded, &Options::default());
    if let Some(problem) = problem.filter(|_| outcome.measurement.readings.is_empty()) {
        return Err(problem.in_file(file));
    }
    let guide = match with.guide {
        Some(guide) => Some(guide.to_owned()),
        None => guide_file(&path, &loaded.case, with.rule).map_err(at)?,
    };
    let findings = guide.as_ref().map(|guide| open_guide(guide)).transpose().map_err(at)?;
    let findings = findings.map(|guide| weighed(&loaded, &outcome, &guide));
    let sources = sources(file, &path, &loaded.case, guide.as_deref(), with).map_err(at)?;
    let nothing = Measurement::default();
    let made = Made {
        date: with.date,
        sources: &sources,
        case: &loaded.case,
        measurement: if loaded.case.readings.is_empty() { &nothing } else { &outcome.measurement },
        findings: findings.as_ref(),
    };
    let finding = recorded(&made);
    let changes = match record.finding() {
        Some(before) => changes(before, &finding),
        None => vec!["there was no finding before".into()],
    };
    let other = [with.references, with.guide].map(|file| file.map(Path::to_owned));
    Ok(Checked { file: file.to_owned(), name: record.name, changes, finding, other })
}

/// Adds the finding of today to the record's history, and keeps all that was there. Other references and another guide
/// are copied into the collection, and the case names them from then on.
pub fn keep_checked(folder: &Path, checked: &Checked) -> Result<(), Problem> {
    let path = folder.join(&checked.file);
    let mut record = open_record(&path)?;
    let mut finding = checked.finding.clone();
    if checked.other.iter().any(Option::is_some) {
        name_others(folder, checked, &mut finding)?;
    }
    record.findings.push(finding);
    save_record(&path, &record)
}

fn name_others(folder: &Path, checked: &Checked, finding: &mut RecordedFinding) -> Result<(), Problem> {
    let here = folder.join(&checked.file).parent().map(Path::to_owned).unwrap_or_default();
    let Some(case_source) = finding.sources.iter().position(|source| source.role == Role::Case) else {
        return Ok(());
    };
    let case_path = here.join(&finding.sources[case_source].file);
    let mut case = open_case(&case_path, PathRule::ChosenByHand)?;
    let absolute = |path: &Path| std::path::absolute(path).unwrap_or(path.to_owned());
    for (role, other) in [Role::References, Role::Guide].into_iter().zip(&checked.other) {
        let Some(other) = other else { continue };
        let name = other.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let bytes = read_limited(other, GUIDE_LIMIT_BYTES)?;
        let copy = absolute(&folder.join(copied_into(folder, other, &bytes, &name)?));
        let from_case = relative_to(&absolute(case_path.parent().unwrap_or(folder)), &copy);
        match role {
            Role::Guide => case.guide = Some(from_case),
            _ => case.references = Some(from_case),
        }
        for source in finding.sources.iter_mut().filter(|source| source.role == role) {
            source.file = relative_to(&absolute(&here), &copy);
        }
    }
    save_case(&case_path, &case)?;
    finding.sources[case_source].sha256 = sha256_hex(crate::case::to_text(&case)?.as_bytes());
    Ok(())
}

fn sources(
    file: &str,
    case_path: &Path,
    case: &CaseDocument,
    guide: Option<&Path>,
    with: &CheckWith,
) -> Result<Vec<Source>, Problem> {
    let folder = with.folder.join(file);
    let folder = folder.parent().unwrap_or(with.folder);
    let absolute = |path: &Path| std::path::absolute(path).unwrap_or(path.to_owned());
    let source = |role, path: &Path, limit| {
        let sha256 = sha256_hex(&read_limited(path, limit)?);
        Ok(Source { role, file: relative_to(&absolute(folder), &absolute(path)), sha256 })
    };
    let beside =
        |inside: &str| resolve_inside(case_path.parent().unwrap_or(Path::new("")), inside, with.rule);
    let photos = Limits::default().file_bytes;
    let mut out =
        vec![source(Role::Case, case_path, photos)?, source(Role::Photo, &beside(&case.photo)?, photos)?];
    let references = match (with.references, &case.references) {
        (Some(path), _) => Some(path.to_owned()),
        (None, Some(inside)) => Some(beside(inside)?),
        (None, None) => None,
    };
    if let Some(references) = references {
        out.push(source(Role::References, &references, crate::shade::SHADES_LIMIT_BYTES)?);
    }
    if let Some(guide) = guide {
        out.push(source(Role::Guide, guide, GUIDE_LIMIT_BYTES)?);
    }
    if let Some(inside) = &case.flat_field {
        out.push(source(Role::Photo, &beside(inside)?, photos)?);
    }
    for inside in &case.more_photos {
        let other = OtherFiles::of(&beside(inside)?, with.rule)?;
        out.push(source(Role::Case, &other.file, photos)?);
        for photo in other.photos() {
            out.push(source(Role::Photo, photo, photos)?);
        }
    }
    Ok(out)
}

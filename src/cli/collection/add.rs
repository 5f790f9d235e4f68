//! Cases measured and put into a collection.

use std::path::{Path, PathBuf};

use super::{CollectionOptions, rule};
use crate::case::PathRule;
use crate::cli::Ending;
use crate::cli::output::{print, tell};
use crate::collection::Holds;
use crate::keeping::{Addition, Details, Place, add, guide_file, load_with, measure_loaded, weighed};
use crate::measure::Options;
use crate::problem::Problem;
use crate::storage::{open_guide, resolve_inside, today};

pub(super) fn run(options: &CollectionOptions) -> Ending {
    let mut ending = Ending::Done;
    for case in &options.add {
        match added(case, options) {
            Ok(problem) => {
                if let Some(problem) = problem {
                    tell(&problem);
                    ending = Ending::SomeFailed;
                }
            }
            Err(problem) => {
                tell(&problem);
                ending = Ending::SomeFailed;
            }
        }
    }
    ending
}

/// Adds one case. The problem names marks that could not be measured; the record is made without them.
fn added(case: &Path, options: &CollectionOptions) -> Result<Option<Problem>, Problem> {
    let rule = rule(options);
    let loaded = load_with(case, rule, None)?;
    let (outcome, problem) = measure_loaded(&loaded, &Options::default());
    let guide = guide_file(case, &loaded.case, rule)?;
    let findings = guide.as_ref().map(|guide| open_guide(guide)).transpose()?;
    let findings = findings.map(|guide| weighed(&loaded, &outcome, &guide));
    let folder = case.parent().unwrap_or(Path::new(""));
    let file = |inside: &str| resolve_inside(folder, inside, PathRule::ChosenByHand);
    let references = loaded.case.references.as_deref().map(file).transpose()?;
    let flat_field = loaded.case.flat_field.as_deref().map(file).transpose()?;
    let more_photos: Vec<PathBuf> =
        loaded.case.more_photos.iter().map(|inside| file(inside)).collect::<Result<_, _>>()?;
    let name = case.file_name().unwrap_or_default().to_string_lossy();
    let name = name.strip_suffix(".case.json").unwrap_or(&name).to_owned();
    let said = |text: &Option<String>| text.clone().unwrap_or_default();
    let details = Details {
        name: options.name.clone().unwrap_or(name),
        holds: if options.loose || !loaded.case.loose_parts().is_empty() {
            Holds::LooseParts
        } else {
            Holds::Figure
        },
        condition: said(&options.condition),
        place: said(&options.bought),
        bought_on: String::new(),
        price: said(&options.price),
        notes: said(&options.notes),
    };
    let record = add(&Addition {
        folder: &options.folder,
        details: &details,
        place: if options.by_reference { Place::Left(case) } else { Place::Copied },
        date: &today(),
        case: &loaded.case,
        photo: &file(&loaded.case.photo)?,
        references: references.as_deref(),
        guide: guide.as_deref(),
        flat_field: flat_field.as_deref(),
        more_photos: &more_photos,
        measurement: &outcome.measurement,
        findings: findings.as_ref(),
    })?;
    print(&format!("{}\n", record.display()));
    Ok(problem.map(|problem| problem.in_file(case.display())))
}

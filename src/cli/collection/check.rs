//! What findings would say today, listed before anything is written.

use super::{CollectionOptions, rows_of, rule};
use crate::cli::Ending;
use crate::cli::output::{print, tell};
use crate::collection::{Role, Row};
use crate::keeping::{CheckWith, Checked, check, keep_checked};
use crate::storage::{Collection, outdated, today};

pub(super) fn run(options: &CollectionOptions, opened: &Collection) -> Ending {
    let rows = rows_of(opened);
    let date = today();
    let with = CheckWith {
        folder: &options.folder,
        rule: rule(options),
        date: &date,
        references: options.references.as_deref(),
        guide: options.guide.as_deref(),
    };
    let numbers = match (&options.references, &options.guide) {
        (None, None) => outdated(&options.folder, &rows, with.rule),
        _ => (0..rows.len()).filter(|i| rows.get(*i).is_some_and(|row| concerned(options, row))).collect(),
    };
    let mut ending = Ending::Done;
    let mut differ = 0;
    let mut checked: Vec<Checked> = Vec::new();
    for row in numbers.iter().filter_map(|i| rows.get(*i)) {
        match check(&row.file, &with) {
            Ok(one) => {
                if !one.changes.is_empty() {
                    differ += 1;
                    print(&format!("{} ({})\n", row.name, row.file));
                    one.changes.iter().for_each(|change| print(&format!("  {change}\n")));
                }
                checked.push(one);
            }
            Err(problem) => {
                tell(&problem);
                ending = Ending::SomeFailed;
            }
        }
    }
    print(&format!("{} findings looked at, {differ} would say something else today.\n", checked.len()));
    if !options.update {
        print("Nothing was written; --update adds the findings of today to the histories.\n");
        return ending;
    }
    for one in &checked {
        if let Err(problem) = keep_checked(&options.folder, one) {
            tell(&problem);
            ending = Ending::SomeFailed;
        }
    }
    ending
}

/// Whether a row rests on what is given anew.
fn concerned(options: &CollectionOptions, row: &Row) -> bool {
    let has = |role| row.sources.iter().any(|source| source.role == role);
    (options.references.is_some() && has(Role::References)) || (options.guide.is_some() && has(Role::Guide))
}

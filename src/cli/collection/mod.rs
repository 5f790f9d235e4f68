//! `sameshot collection`: what is in it, what is complete and wanted, adding a case, and what a new finding would change.

mod add;
mod args;
mod check;

pub(super) use args::CollectionOptions;

use serde::Serialize;

use super::Ending;
use super::measure::line;
use super::output::{line_width, print, tell};
use crate::case::PathRule;
use crate::collection::{Filter, Row, SortBy, Totals, index, name_slots, sort, totals};
use crate::problem::Problem;
use crate::report::{collection_table, totals_text};
use crate::storage::{Collection, collection_guides, open_collection, outdated};

/// What leaves the program as JSON.
#[derive(Serialize)]
struct Listing<'a> {
    sameshot_collection: u32,
    folder: String,
    /// The rows that agree with what was looked for.
    records: Vec<&'a Row>,
    /// Of the whole collection.
    totals: &'a Totals,
    /// Files whose finding rests on other references or another guide than there are now.
    outdated: Vec<&'a str>,
    problems: Vec<String>,
}

/// Does what the options say.
pub(super) fn run(options: &CollectionOptions) -> Ending {
    if !options.add.is_empty() {
        return add::run(options);
    }
    let opened = match open_collection(&options.folder) {
        Ok(opened) => opened,
        Err(problem) => {
            tell(&problem);
            return Ending::WrongCall;
        }
    };
    if options.check || options.update {
        return check::run(options, &opened);
    }
    show(options, &opened)
}

/// Whether files outside the folder may be read.
fn rule(options: &CollectionOptions) -> PathRule {
    if options.outside { PathRule::ChosenByHand } else { PathRule::InsideFolder }
}

fn rows_of(opened: &Collection) -> Vec<Row> {
    index(opened.records.iter().map(|(file, record)| (file.as_str(), record)))
}

/// The rows that were asked for, in their order.
fn chosen(options: &CollectionOptions, rows: &[Row]) -> Vec<usize> {
    let filter = Filter {
        text: options.find.clone().unwrap_or_default(),
        character: options.character.clone(),
        run: options.run.clone(),
        shade: options.shade.clone(),
        doubtful: options.doubtful,
        missing: options.missing,
        loose: options.loose_only,
    };
    let mut chosen = filter.of(rows);
    sort(rows, &mut chosen, SortBy::from(options.sort), options.backwards);
    chosen
}

fn show(options: &CollectionOptions, opened: &Collection) -> Ending {
    let rows = rows_of(opened);
    let (guides, unread) = collection_guides(&options.folder, &rows, rule(options));
    let totals = totals(opened.records.iter().map(|(file, record)| (file.as_str(), record)), &guides);
    let outdated = outdated(&options.folder, &rows, rule(options));
    let chosen = chosen(options, &rows);
    let problems: Vec<&Problem> = opened.problems.iter().chain(&unread).collect();
    if options.json {
        print(&line(&Listing {
            sameshot_collection: 1,
            folder: options.folder.display().to_string(),
            records: chosen.iter().filter_map(|i| rows.get(*i)).collect(),
            totals: &totals,
            outdated: outdated.iter().filter_map(|i| rows.get(*i)).map(|row| row.file.as_str()).collect(),
            problems: problems.iter().map(ToString::to_string).collect(),
        }));
    } else {
        let mut rows = rows.clone();
        name_slots(&mut rows, &guides);
        print(&collection_table(&rows, &chosen, line_width()));
        print(&format!("\n{} of {} records. {}", chosen.len(), rows.len(), totals_text(&totals)));
        if !outdated.is_empty() {
            print(&format!(
                "\n{} findings were made with other references or another guide than there are now; --check lists what \
                 they would say today.\n",
                outdated.len()
            ));
        }
    }
    problems.iter().for_each(|problem| tell(problem));
    if problems.is_empty() { Ending::Done } else { Ending::SomeFailed }
}

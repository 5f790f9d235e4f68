//! The open collection: its records, what is looked for in them, the record in hand, and what findings would say today.
//! No widget here; the page is `page`.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::taken_back::Change;
use super::totals::{Entry, entries};
use crate::case::PathRule;
use crate::collection::{Filter, Record, Row, SortBy, Totals, index, name_slots, sort, totals};
use crate::jobs::{Progress, Task, Wake};
use crate::keeping::{CheckWith, Checked, Details, check, keep_checked};
use crate::problem::Problem;
use crate::storage::{self, collection_guides, open_collection, outdated, resolve_inside};

/// What the page asks for.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::app) enum CollectionAction {
    /// Show the records of that folder.
    OpenFolder(PathBuf),
    /// Look for this.
    Find(Filter),
    /// Order by this; by the same again, the other way round.
    Sort(SortBy),
    /// Show records so.
    Lay(Layout),
    /// Take a record in hand, or put it away.
    Take(Option<String>),
    /// What was typed into the form.
    Form(Box<Details>),
    /// Leave the files of a new record where they are.
    ByReference(bool),
    /// Write what the form says.
    Keep,
    /// Take the last change of a record back.
    TakeBack,
    /// Show the photo of a record with its marks.
    OpenCase(String),
    /// Follow paths that lead out of the folder.
    Outside(bool),
    /// See what findings would say today.
    Check,
    /// Add the findings of today to the histories, or leave them.
    Decide(bool),
    /// Back to the photo.
    Close,
}

/// How records are shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::app) enum Layout {
    /// As pictures.
    Gallery,
    /// As lines.
    Table,
    /// What is complete and wanted.
    Totals,
}

/// A folder as it was read.
#[derive(Debug)]
pub(in crate::app) struct Seen {
    /// The folder.
    pub folder: PathBuf,
    /// Its records.
    pub records: Vec<(String, Record)>,
    /// A row of each.
    pub rows: Vec<Row>,
    /// Where the photo of each row lies, as far as it may be read.
    pub photos: Vec<Option<PathBuf>>,
    /// What it has and lacks.
    pub totals: Totals,
    /// The totals, line by line.
    pub lines: Vec<Entry>,
    /// Rows whose finding rests on files that are other ones by now.
    pub outdated: Vec<usize>,
    /// What could not be read.
    pub problems: Vec<Problem>,
    /// Whether some files lie outside the folder.
    pub leads_out: bool,
}

/// A record in hand.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::app) struct Form {
    /// Its file; `None` is a record that is yet to be made.
    pub file: Option<String>,
    /// What the person says of it.
    pub details: Details,
    /// The files of a new one stay where they are.
    pub by_reference: bool,
}

/// Findings looked at again.
#[derive(Debug, Default)]
pub(in crate::app) struct Checks {
    /// Those that would say something else.
    pub differ: Vec<Checked>,
    /// Those that would say the same, from the files of today.
    pub same: Vec<Checked>,
    /// What could not be looked at.
    pub problems: Vec<Problem>,
}

/// What was written.
pub(in crate::app) enum Written {
    /// What the form says, with the way back where there is one.
    Form(Option<Box<Change>>),
    /// Something else: what is in the form stays there.
    Other,
}

/// What has become of writing.
pub(in crate::app) type Kept = Result<Written, Problem>;

/// The page's state.
pub(in crate::app) struct CollectionPage {
    /// Whether it is in front of the photo.
    pub shown: bool,
    /// The chosen folder.
    pub folder: Option<PathBuf>,
    /// What is in it.
    pub seen: Option<Arc<Seen>>,
    /// Why it could not be read.
    pub trouble: Option<Problem>,
    /// Whether the folder is not there yet: it is made with the first record.
    pub to_be_made: bool,
    /// What is looked for.
    pub filter: Filter,
    /// The order, and whether it is turned round.
    pub order: (SortBy, bool),
    /// How records are shown.
    pub layout: Layout,
    /// The rows that agree, in their order.
    pub chosen: Vec<usize>,
    /// The record in hand.
    pub form: Option<Form>,
    /// The last change, while it can be taken back.
    pub change: Option<Change>,
    /// Whether paths may lead out of the folder.
    pub outside: bool,
    /// What findings would say today.
    pub checks: Option<Checks>,
    /// Being read.
    pub reading: Option<Task<Result<Option<Seen>, Problem>>>,
    /// Being written.
    pub keeping: Option<Task<Kept>>,
    /// Being looked at again.
    pub checking: Option<Task<Checks>>,
    wake: Wake,
}

impl CollectionPage {
    /// No folder yet.
    pub(in crate::app) fn new(wake: Wake) -> Self {
        Self {
            shown: false,
            folder: None,
            seen: None,
            trouble: None,
            to_be_made: false,
            filter: Filter::default(),
            order: (SortBy::Name, false),
            layout: Layout::Gallery,
            chosen: Vec::new(),
            form: None,
            change: None,
            outside: false,
            checks: None,
            reading: None,
            keeping: None,
            checking: None,
            wake,
        }
    }

    /// Whether files outside the folder may be read.
    pub(super) fn rule(&self) -> PathRule {
        if self.outside { PathRule::ChosenByHand } else { PathRule::InsideFolder }
    }

    /// Reads the folder, on a thread.
    pub(super) fn read(&mut self) {
        let Some(folder) = self.folder.clone() else { return };
        let rule = self.rule();
        let work = move |_: &_| look(&folder, rule);
        self.reading = Some(Task::start("Reading the collection".into(), self.wake.clone(), work));
    }

    /// Writes something, on a thread; the folder is read anew after it.
    pub(super) fn write(&mut self, work: impl FnOnce() -> Kept + Send + 'static) {
        self.keeping = Some(Task::start("Writing the record".into(), self.wake.clone(), |_| work()));
    }

    /// Looks for the rows that agree.
    pub(super) fn choose(&mut self) {
        let Some(seen) = &self.seen else { return };
        self.chosen = self.filter.of(&seen.rows);
        sort(&seen.rows, &mut self.chosen, self.order.0, self.order.1);
    }

    /// Takes a record in hand.
    pub(super) fn take(&mut self, file: &str) {
        let Some(seen) = &self.seen else { return };
        let record = seen.records.iter().find(|(path, _)| path == file).map(|(_, record)| record);
        self.form = record.map(|record| Form {
            file: Some(file.to_owned()),
            details: crate::keeping::details_of(record),
            by_reference: false,
        });
    }

    /// Looks at findings again that rest on files that are other ones by now.
    pub(super) fn check(&mut self) {
        let Some(seen) = self.seen.clone() else { return };
        let rule = self.rule();
        let label = format!("Looking at {} findings again", seen.outdated.len());
        let work = move |progress: &_| look_again(&seen, rule, progress);
        self.checking = Some(Task::start(label, self.wake.clone(), work));
    }

    /// Adds the findings of today to the histories.
    pub(super) fn keep_checks(&mut self) {
        let (Some(checks), Some(folder)) = (self.checks.take(), self.folder.clone()) else { return };
        self.write(move || {
            let mut all = checks.differ.iter().chain(&checks.same);
            all.try_for_each(|checked| keep_checked(&folder, checked)).map(|()| Written::Other)
        });
    }
}

/// What is in the folder; nothing where it is not there yet.
fn look(folder: &Path, rule: PathRule) -> Result<Option<Seen>, Problem> {
    if !folder.exists() {
        return Ok(None);
    }
    let opened = open_collection(folder)?;
    let records = || opened.records.iter().map(|(file, record)| (file.as_str(), record));
    let mut rows = index(records());
    let (guides, unread) = collection_guides(folder, &rows, rule);
    let totals = totals(records(), &guides);
    let outdated = outdated(folder, &rows, rule);
    name_slots(&mut rows, &guides);
    let leaves = |path: &str| path.starts_with("..") || Path::new(path).is_absolute();
    let leads_out = rows.iter().any(|row| {
        row.photo.as_deref().is_some_and(leaves) || row.sources.iter().any(|source| leaves(&source.file))
    });
    let folder = opened.folder;
    let photo = |row: &Row| resolve_inside(&folder, row.photo.as_ref()?, rule).ok();
    Ok(Some(Seen {
        photos: rows.iter().map(photo).collect(),
        lines: entries(&totals),
        problems: opened.problems.into_iter().chain(unread).collect(),
        folder,
        records: opened.records,
        rows,
        totals,
        outdated,
        leads_out,
    }))
}

fn look_again(seen: &Seen, rule: PathRule, progress: &Progress) -> Checks {
    let date = storage::today();
    let with = CheckWith { folder: &seen.folder, rule, date: &date, references: None, guide: None };
    let mut checks = Checks::default();
    for row in seen.outdated.iter().filter_map(|i| seen.rows.get(*i)) {
        if progress.cancelled() {
            break;
        }
        match check(&row.file, &with) {
            Ok(checked) if checked.changes.is_empty() => checks.same.push(checked),
            Ok(checked) => checks.differ.push(checked),
            Err(problem) => checks.problems.push(problem),
        }
    }
    checks
}

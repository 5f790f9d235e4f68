//! A row of each record: what is searched, sorted, shown and counted.

use serde::Serialize;

use crate::guide::{Guide, slot_words};

use super::record::{Holds, Record, RecordedWho, Role, SETTLED, Source};

/// One record in short.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Row {
    /// The record's file, relative to the collection, with forward slashes.
    pub file: String,
    /// What the person calls it.
    pub name: String,
    /// Whether it is a figure.
    pub holds: Holds,
    /// The likeliest character and run, where there is any.
    pub who: Option<RecordedWho>,
    /// Whether that is settled.
    pub settled: bool,
    /// The shades that were called, each once.
    pub shades: Vec<String>,
    /// Slots whose part is doubtful or does not belong.
    pub doubtful: Vec<String>,
    /// Slots without a part.
    pub missing: Vec<String>,
    /// Day of the newest finding.
    pub date: Option<String>,
    /// What was paid.
    pub price: Option<String>,
    /// References and guide that the newest finding rests on; paths relative to the collection.
    pub sources: Vec<Source>,
    /// The photo to show, relative to the collection.
    pub photo: Option<String>,
    /// Everything that a search looks through, in small letters.
    #[serde(skip)]
    pub(super) haystack: String,
}

impl Row {
    /// Whether something about it wants a look: who it is, or a part.
    pub fn is_doubtful(&self) -> bool {
        let unknown_figure = self.holds == Holds::Figure && !self.settled;
        unknown_figure || !self.doubtful.is_empty()
    }
}

/// The rows of records, in their order. Each record comes with its file's path relative to the collection.
pub fn index<'a>(records: impl IntoIterator<Item = (&'a str, &'a Record)>) -> Vec<Row> {
    records.into_iter().map(|(file, record)| row(file, record)).collect()
}

/// Puts the names for people in the place of the slots' ids, as the guides have them that the rows rest on.
pub fn name_slots(rows: &mut [Row], guides: &[(String, Guide)]) {
    for row in rows {
        let named = |file: &String| row.sources.iter().any(|source| source.file == *file);
        let guide = guides.iter().find(|(file, _)| named(file)).map(|(_, guide)| guide);
        for slot in row.missing.iter_mut().chain(&mut row.doubtful) {
            *slot = slot_words(guide, slot);
        }
    }
}

fn row(file: &str, record: &Record) -> Row {
    let finding = record.finding();
    let parts = finding.map(|f| f.parts.as_slice()).unwrap_or_default();
    let mut shades: Vec<String> = Vec::new();
    for call in parts.iter().filter_map(|part| part.call.as_ref()) {
        if !matches!(call.as_str(), "undecided" | "none") && !shades.contains(call) {
            shades.push(call.clone());
        }
    }
    let doubtful = parts.iter().filter(|part| part.belongs.is_some_and(|p| p < SETTLED));
    let who = finding.and_then(|f| f.ranking.first().cloned());
    let bought = record.bought.as_ref();
    let sources = finding.map(|f| f.sources.as_slice()).unwrap_or_default();
    let mut row = Row {
        file: file.into(),
        name: record.name.clone(),
        holds: record.holds,
        settled: finding.is_some_and(|f| f.settled().is_some()),
        shades,
        doubtful: doubtful.filter_map(|part| part.slot.clone()).collect(),
        missing: finding.map(|f| f.missing.clone()).unwrap_or_default(),
        date: finding.map(|f| f.date.clone()),
        price: bought.and_then(|b| b.price.clone()),
        sources: sources
            .iter()
            .filter(|source| matches!(source.role, Role::References | Role::Guide))
            .map(|source| Source { file: from_root(file, &source.file), ..source.clone() })
            .collect(),
        photo: record.photos.first().map(|photo| from_root(file, photo)),
        who,
        haystack: String::new(),
    };
    row.haystack = haystack(&row, record);
    row
}

/// A path that stands in the file `file` of a collection, as one that starts from the collection: "a/b.record.json" and
/// "../c.json" give "c.json". What leads out of the collection still does.
pub fn from_root(file: &str, path: &str) -> String {
    if path.starts_with('/') {
        return path.to_owned();
    }
    let folder = file.rsplit_once('/').map_or("", |(folder, _)| folder);
    let mut steps: Vec<&str> = Vec::new();
    for step in folder.split('/').chain(path.split('/')) {
        match step {
            "" | "." => {}
            ".." if steps.last().is_some_and(|last| *last != "..") => drop(steps.pop()),
            step => steps.push(step),
        }
    }
    steps.join("/")
}

fn haystack(row: &Row, record: &Record) -> String {
    let bought = record.bought.as_ref();
    let who = row.who.as_ref();
    let words = [Some(&row.name), record.condition.as_ref(), record.notes.as_ref()]
        .into_iter()
        .chain([bought.and_then(|b| b.place.as_ref()), bought.and_then(|b| b.date.as_ref())])
        .chain([row.price.as_ref(), row.date.as_ref(), Some(&row.file)])
        .chain(who.into_iter().flat_map(|who| [Some(&who.character), Some(&who.run)]))
        .chain(row.shades.iter().chain(&row.missing).chain(&row.doubtful).map(Some));
    let mut text = String::new();
    for word in words.flatten() {
        text.push_str(&word.to_lowercase());
        text.push('\n');
    }
    text
}

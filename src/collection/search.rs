//! Rows chosen and put in order.

use super::index::Row;
use super::record::Holds;

/// What is looked for; everything that is set must be so.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Filter {
    /// Words, each of which stands somewhere in the record, in small or large letters.
    pub text: String,
    /// The character's id.
    pub character: Option<String>,
    /// The run's id.
    pub run: Option<String>,
    /// A shade's id that a part was called.
    pub shade: Option<String>,
    /// Only where who it is, or a part, is doubtful.
    pub doubtful: bool,
    /// Only where parts are missing.
    pub missing: bool,
    /// Only loose parts.
    pub loose: bool,
}

impl Filter {
    /// The numbers of the rows that agree.
    pub fn of(&self, rows: &[Row]) -> Vec<usize> {
        let text = self.text.to_lowercase();
        let words: Vec<&str> = text.split_whitespace().collect();
        rows.iter().enumerate().filter(|(_, row)| self.agrees(row, &words)).map(|(i, _)| i).collect()
    }

    fn agrees(&self, row: &Row, words: &[&str]) -> bool {
        let who = row.who.as_ref();
        let is = |wanted: &Option<String>, found: Option<&String>| {
            wanted.as_ref().is_none_or(|wanted| found == Some(wanted))
        };
        words.iter().all(|word| row.haystack.contains(word))
            && is(&self.character, who.map(|who| &who.character))
            && is(&self.run, who.map(|who| &who.run))
            && self.shade.as_ref().is_none_or(|shade| row.shades.contains(shade))
            && (!self.doubtful || row.is_doubtful())
            && (!self.missing || !row.missing.is_empty())
            && (!self.loose || row.holds == Holds::LooseParts)
    }
}

/// What rows are ordered by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum SortBy {
    /// The person's name for it.
    #[default]
    Name,
    /// Character, then run.
    Character,
    /// How sure it is, the least sure first.
    Doubt,
    /// Missing parts, the most first.
    Missing,
    /// Doubtful parts, the most first.
    DoubtfulParts,
    /// Day of the newest finding, the latest first.
    Date,
}

/// Orders rows, given by their numbers. Names that are alike stay in the order of their files.
pub fn sort(rows: &[Row], chosen: &mut [usize], by: SortBy, backwards: bool) {
    let name = |row: &Row| (row.name.to_lowercase(), row.file.clone());
    let who = |row: &Row| {
        // Unknown ones come last.
        let who = row.who.as_ref().map(|who| (who.character.clone(), who.run.clone()));
        (who.is_none(), who, name(row))
    };
    let sure = |row: &Row| row.who.as_ref().map_or(0.0, |who| who.probability);
    match by {
        SortBy::Name => chosen.sort_by_cached_key(|i| rows.get(*i).map(name)),
        SortBy::Character => chosen.sort_by_cached_key(|i| rows.get(*i).map(who)),
        // A probability in millionths orders as it does itself.
        SortBy::Doubt => {
            chosen.sort_by_cached_key(|i| rows.get(*i).map(|row| ((sure(row) * 1e6) as u32, name(row))));
        }
        SortBy::Missing => chosen.sort_by_cached_key(|i| {
            rows.get(*i).map(|row| (std::cmp::Reverse(row.missing.len()), name(row)))
        }),
        SortBy::DoubtfulParts => chosen.sort_by_cached_key(|i| {
            rows.get(*i).map(|row| (std::cmp::Reverse(row.doubtful.len()), name(row)))
        }),
        SortBy::Date => chosen
            .sort_by_cached_key(|i| rows.get(*i).map(|row| (std::cmp::Reverse(row.date.clone()), name(row)))),
    }
    if backwards {
        chosen.reverse();
    }
}

#![doc = include_str!("FORMAT.md")]

mod change;
mod index;
mod record;
mod search;
#[cfg(test)]
mod tests;
mod totals;

pub use change::{Made, changes, recorded};
pub use index::{Row, from_root, index, name_slots};
pub use record::{
    Bought, Holds, RECORD_LIMIT_BYTES, RECORD_VERSION, Record, RecordedFinding, RecordedPart, RecordedWho,
    Role, SETTLED, Source, parse_record, record_to_text,
};
pub use search::{Filter, SortBy, sort};
pub use totals::{Fit, IssueState, IssueTotal, LineTotals, Spare, Totals, Want, Why, totals};

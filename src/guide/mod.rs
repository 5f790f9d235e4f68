#![doc = include_str!("FORMAT.md")]

mod document;
mod edit;
mod lint;
mod problem;
mod rates;
mod read;
mod slot_words;
mod validate;

#[cfg(test)]
mod tests;

pub use document::{
    Character, Choice, Feature, FeatureKind, GUIDE_LIMIT_BYTES, GUIDE_VERSION, Guide, GuideShade, Halves,
    Issue, Mould, NOTE, Part, Run, Slot,
};
pub use edit::{GuideEdit, IssueAt, IssueEdit, List, NumberField, Shift, TextField};
pub use lint::{Lint, LintCode, lint};
pub use problem::Problem;
pub use rates::{Rate, Rates};
pub use read::{parse_guide, read_guide, write_guide};
pub use slot_words::{slot_id, slot_words};
pub use validate::validate;

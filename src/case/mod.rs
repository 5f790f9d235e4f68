#![doc = include_str!("FORMAT.md")]
//!
//! # Here
//!
//! [`parse`] and [`to_text`] read and write it, [`Edit`] changes it, [`History`] undoes.

mod card_values;
mod document;
mod doubt;
mod edit;
mod history;
mod kept;
mod load;
mod loose;
mod paths;
mod plain_surfaces;
#[cfg(test)]
mod tests;

pub use card_values::card_values;
pub use document::{
    BoardMark, CASE_VERSION, CaseDocument, Known, Observation, ReadingMark, Surface, ZoneMark,
};
pub use doubt::Doubt;
pub use edit::{CONDITION, Edit, MarkKey, MarkKind, is_numbered, unused_id};
pub use history::History;
pub use load::{CASE_LIMIT_BYTES, MAX_CORNERS, MAX_MARKS, MAX_MORE_PHOTOS, parse, to_text};
pub use loose::{BodyElsewhere, BoxPlace, CardFound, LoosePart, TrayMarks};
pub use paths::{PathRule, check as check_path, relative_to, resolve};
pub use plain_surfaces::{PLAIN_SURFACES, PlainSurface};

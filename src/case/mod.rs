//! The document of one photo: which areas are known, which are to be read, what was seen on the parts.

mod document;

pub use document::{CASE_VERSION, CaseDocument, Known, Observation, ReadingMark, Surface, ZoneMark};

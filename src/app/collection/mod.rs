//! The collection in the window, and the reports written from it and from the photo.

pub(super) mod act;
pub(super) mod gallery;
pub(super) mod page;
pub(super) mod record;
pub(super) mod records;
pub(super) mod report;
pub(super) mod table;
mod taken_back;
mod totals;

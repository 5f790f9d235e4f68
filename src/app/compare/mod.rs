//! A second photo beside the first, for looking.

pub(super) mod act;
pub(super) mod beside;
pub(super) mod page;

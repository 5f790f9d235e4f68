//! Opening, saving, leaving, and what is found when the window opens.

pub(super) mod act;
pub(super) mod keeper;
pub(super) mod open;
pub(super) mod save;
pub(super) mod start;

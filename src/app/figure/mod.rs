//! The figure in the window: its slots, what is seen of them, who it is.

pub(super) mod act;
pub(super) mod body;
pub(super) mod drawing;
pub(super) mod finding;
pub(super) mod panel;
pub(super) mod pictures;
pub(super) mod slot;
pub(super) mod weighing;

//! Writing a guide in the window.

pub(super) mod act;
pub(super) mod action;
pub(super) mod character;
pub(super) mod editor;
pub(super) mod fields;
pub(super) mod forms;
pub(super) mod page;
pub(super) mod remarks;

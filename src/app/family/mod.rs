//! The shades in the window: the family as a picture and tables, and specimens put into it.

pub(super) mod act;
pub(super) mod action;
pub(super) mod gathering;
mod looking;
pub(super) mod panel;
pub(super) mod plot;
pub(super) mod seen;
pub(super) mod specimens;
pub(super) mod tables;
mod typed;

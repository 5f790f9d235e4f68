//! Loose parts in the window: found, numbered, piled by shade, matched with bodies.

pub(super) mod act;
pub(super) mod bodies;
mod boxes;
pub(super) mod drawing;
pub(super) mod folder;
mod matches;
pub(super) mod panel;
pub(super) mod part;
mod piles;
pub(super) mod work;

//! Loose parts in the window: found, numbered, piled by shade, matched with bodies.

pub(super) mod act;
pub(super) mod bodies;
pub(super) mod drawing;
pub(super) mod folder;
pub(super) mod panel;
pub(super) mod part;
pub(super) mod work;

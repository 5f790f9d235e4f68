//! The photo in the window: tiles, marks on it, and what mouse and keys do to them.

pub(super) mod drawing;
pub(super) mod grip;
pub(super) mod light_layer;
pub(super) mod light_lines;
pub(super) mod looking;
mod magnifier;
pub(super) mod nametags;
pub(super) mod outline;
pub(super) mod photo;
pub(super) mod pyramid;
pub(super) mod shade_drawing;
pub(super) mod shade_layer;
pub(super) mod tiles;
pub(super) mod view;

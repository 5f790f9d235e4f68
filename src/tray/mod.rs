//! Loose parts on a plain board: found, outlined, sized, sorted and matched with bodies.
//!
//! | topic | what it knows |
//! |---|---|
//! | [`board`] | the light on the plain board, and how far each pixel is from it |
//! | [`parts`] | the parts on it: outline, number, matt area, size |
//! | [`known`] | parts of known shade in the boxes of a card |
//! | [`outline`] | lengths, widths and likeness of outlines |
//! | [`pairs`] | which two may be left and right of one figure |
//! | [`shade_map`] | the nearest shade of every pixel, for looking |
//! | [`sort`] | card, parts and known parts as marks of a case; what was measured as piles and pairs |
//! | [`matching`] | limbs assigned to bodies |
//!
//! Finding is done in a picture made smaller; colours are read from the photo itself by [`crate::measure`].

pub mod board;
mod cutout;
pub mod known;
mod mask;
pub mod matching;
mod matt;
mod numbering;
pub mod outline;
pub mod pairs;
pub mod parts;
mod pieces;
pub mod shade_map;
pub mod sort;
mod split;

pub use outline::Extent;
pub use parts::{Doubt, FindOptions, FoundPart, FoundTray, find_parts};

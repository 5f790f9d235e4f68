//! Loose parts on a plain board: found, outlined, sized, sorted and matched with bodies.
//!
//! | topic | what it knows |
//! |---|---|
//! | [`parts`] | the parts on it: outline, number, matt area, size |
//! | [`change`] | parts split, merged, dropped, redrawn by a person |
//! | [`found`] | what was found as edits of a case |
//! | [`grow`] | an area grown from a click over the same plastic |
//! | [`known`] | parts of known shade in the boxes of a card |
//! | [`outline`] | lengths, widths and likeness of outlines |
//! | [`alike`] | parts of one form, whichever way they lie |
//! | [`pairs`] | which two may be left and right of one figure |
//! | [`shade_map`] | the nearest shade of every pixel, for looking |
//! | [`shade_gains`], [`shade_look`] | the light of the photo for that map; its colours and patterns |
//! | [`sort`] | card, parts and known parts as marks of a case; what was measured as piles and pairs |
//! | [`matching`] | limbs assigned to places so that the joint probability is greatest |
//! | [`bodies`] | which body each loose limb of a case fits, and why one is left open |
//! | [`overview`] | the parts of a case with size, pile, partner and body |
//!
//! Finding is done in a picture made smaller; colours are read from the photo itself by [`crate::measure`].

pub mod alike;
pub mod bodies;
pub mod change;
mod cutout;
mod form;
pub mod found;
pub mod grow;
pub mod known;
mod local;
mod mask;
pub mod matching;
mod matt;
mod numbering;
pub mod outline;
pub mod overview;
pub mod pairs;
pub mod parts;
mod pieces;
pub mod shade_gains;
pub mod shade_look;
pub mod shade_map;
pub mod shade_small;
pub mod sort;
mod split;
mod usual;

pub use crate::case::Doubt;
pub use outline::Extent;
pub use parts::{FindOptions, FoundPart, FoundTray, find_parts};

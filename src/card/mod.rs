//! The printed grey card: one layout serves the page to print, the finder in photos and invented photos, so
//! that the three cannot disagree.
//!
//! | topic | what it knows |
//! |---|---|
//! | [`layout`] | where everything lies on a card, in millimetres |
//! | [`codes`] | the patterns of the corner marks and how a damaged one is told |
//! | [`page`] | the PDF to print |
//! | [`find`] | cards in a photo, at any turn and a moderate tilt |
//! | [`homography`] | the plane of the card seen in perspective |
//! | [`known`] | what the printed greys are: nominal, or calibrated once in a `*.card.json` |

pub mod codes;
pub mod find;
pub mod homography;
pub mod known;
pub mod layout;
pub mod page;

pub use find::hull_of;
pub use find::{FoundCard, FoundStep, find_cards};
pub use homography::Homography;
pub use known::{CardFile, KnownSteps};
pub use layout::{CardLayout, Variant};

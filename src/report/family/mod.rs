//! A family of shades for people: as text, as a picture, and as the plain geometry of that picture.

mod geometry;
mod svg;
mod text;

pub use geometry::{Ellipse, FamilyPicture, Point, ShadePicture};
pub use svg::family_svg;
pub use text::{FamilyOptions, confusion_text, family_text, judgement_text, outliers_text};

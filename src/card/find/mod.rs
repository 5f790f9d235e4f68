//! Cards found in a photo.
//!
//! 1. `candidates`: dark spots with four straight sides in a picture made smaller, their corners refined
//!    on the lines of steepest change;
//! 2. `marks`: those whose rim is dark and whose 16 bits are those of a mark;
//! 3. `assemble`: marks that lie in one perspective as on one card;
//! 4. `sharpen`: the sides of the greys make that perspective exact;
//! 5. `ladder`: the greys seen there must fall as the ladder does, or it is no card.
//!
//! A wrong find is worse than none: two marks are the least, and the ladder must agree.

mod assemble;
mod candidates;
mod ladder;
mod marks;
mod sharpen;

pub use candidates::hull_of;

use super::homography::Homography;
use super::layout::{CardLayout, Variant};
use crate::raster::{Raster, Reduced, Shape};

/// A card in a photo.
#[derive(Debug, Clone, PartialEq)]
pub struct FoundCard {
    /// Which card.
    pub variant: Variant,
    /// Millimetres on the card → pixels of the photo.
    pub to_photo: Homography,
    /// How many of the four marks were seen.
    pub marks: usize,
    /// Root mean square distance of the marks' corners from their places, in mm.
    pub off_mm: f64,
    /// The greys that can be used: those in sight, even, and in their order of lightness.
    pub steps: Vec<FoundStep>,
    /// From 0 to 1: the share of marks seen, times the share of greys that can be used, less a tenth for each
    /// tenth of a millimetre that the marks lie off.
    pub quality: f64,
}

/// One grey of a card in a photo.
#[derive(Debug, Clone, PartialEq)]
pub struct FoundStep {
    /// Its number in the ladder, 1 the lightest.
    pub number: usize,
    /// Its inside, in pixels of the photo.
    pub shape: Shape,
    /// Its middle, in pixels of the photo.
    pub centre: [f64; 2],
}

impl FoundCard {
    /// The card's layout.
    pub fn layout(&self) -> CardLayout {
        self.variant.layout()
    }

    /// The outline of the card in the photo, with so many mm around it.
    pub fn outline(&self, margin_mm: f64) -> Shape {
        let [width, height] = self.layout().size_mm;
        let m = margin_mm;
        let corners = [[-m, -m], [width + m, -m], [width + m, height + m], [-m, height + m]];
        Shape::Polygon(corners.map(|corner| self.to_photo.map(corner)).into())
    }

    /// Pixels of the photo in a millimetre, in the middle of the card.
    pub fn px_per_mm(&self) -> f64 {
        let [width, height] = self.layout().size_mm;
        self.to_photo.area_scale([width / 2.0, height / 2.0]).max(0.0).sqrt()
    }
}

/// Longer side of the picture in which marks are sought, in pixels. A mark is found from about 16 pixels a side on,
/// that is a card across a ninth of the photo.
pub const SEARCH_PX: u32 = 1400;

/// The cards in a photo, best first.
pub fn find_cards(raster: &Raster) -> Vec<FoundCard> {
    find_cards_in(&Reduced::of(raster, SEARCH_PX))
}

/// The same in a picture already made smaller; results are in pixels of the photo.
pub fn find_cards_in(picture: &Reduced) -> Vec<FoundCard> {
    let grey = Grey::of(picture);
    let marks: Vec<marks::SeenMark> =
        candidates::quads(&grey).iter().filter_map(|quad| marks::read(&grey, quad)).collect();
    let mut cards: Vec<FoundCard> = assemble::cards(marks)
        .into_iter()
        .filter_map(|plane| sharpen::sharpened(&grey, plane))
        .filter_map(|plane| ladder::verified(picture, &plane))
        .collect();
    cards.sort_by(|a, b| b.quality.total_cmp(&a.quality));
    cards
}

/// Square root of luminance: near to even steps for the eye, and cheap.
pub(crate) struct Grey {
    pub(crate) width: usize,
    pub(crate) height: usize,
    pub(crate) values: Vec<f32>,
}

impl Grey {
    fn of(picture: &Reduced) -> Self {
        let values = picture.luminance().into_iter().map(|v| v.min(1.5).sqrt()).collect();
        Self { width: picture.width, height: picture.height, values }
    }

    /// Bilinear between pixel centres; `None` outside.
    fn at(&self, point: [f64; 2]) -> Option<f64> {
        let [x, y] = point.map(|v| v - 0.5);
        if !(x >= 0.0 && y >= 0.0) || x >= self.width as f64 - 1.0 || y >= self.height as f64 - 1.0 {
            return None;
        }
        let (column, row) = (x as usize, y as usize);
        let (u, v) = (x - column as f64, y - row as f64);
        let i = row * self.width + column;
        let value = |i: usize| self.values.get(i).copied().map(f64::from);
        let above = value(i)? * (1.0 - u) + value(i + 1)? * u;
        let below = value(i + self.width)? * (1.0 - u) + value(i + self.width + 1)? * u;
        Some(above * (1.0 - v) + below * v)
    }
}

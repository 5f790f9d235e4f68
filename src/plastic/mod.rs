//! An area of a picture → the body colour of the plastic there.
//!
//! A glossy part shows two lights at once (the dichromatic reflection model, S. A. Shafer, "Using color to
//! separate reflection components", Color Research and Application 10(4), 1985): the *body* light, which
//! went through the plastic and carries its colour, and the *surface* light, which has the colour of the
//! lamp. In linear RGB the pixels of one plastic under one lamp lie in the plane of those two directions:
//! shading moves a pixel along the body direction, glare pulls it towards the lamp's white. So clipped and
//! very dark pixels are dropped first, the robust middle of the rest gives the body direction, and pixels
//! that lie off it towards white, or off it in any other way (paint, print, dirt, a seam), are dropped too.
//! What remains gives the colour, its covariance and how far shading varied.

mod area;
mod sort;

pub use area::{Area, AreaOptions, AreaProblem, MIN_USED_PIXELS, read_area};
pub(crate) use area::{levelled, tint_across};

use serde::{Deserialize, Serialize};

/// What became of the pixels of an area. Used, glare, clipped and dark ones add up to `inside` less those at
/// the edge, which are never looked at.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct PixelCounts {
    /// Inside the whole shape as it was drawn, so far as it lies on the photo.
    pub inside: usize,
    /// Used for the body colour.
    pub used: usize,
    /// Dropped as glare or as another colour than the rest.
    pub glare: usize,
    /// Dropped as clipped or transparent.
    pub clipped: usize,
    /// Dropped as too dark.
    pub dark: usize,
}

impl PixelCounts {
    /// Those that were looked at: all but the edge.
    pub fn looked_at(&self) -> usize {
        self.used + self.glare + self.clipped + self.dark
    }

    /// Those of the edge, where colours from beside the area bleed in.
    pub fn edge(&self) -> usize {
        self.inside.saturating_sub(self.looked_at())
    }
}

//! Plastics, paints, woods and papers of the demo, as materials of a stage.

use crate::scene::pigment::{Pigment, Recipe};
use crate::scene::render::{Material, MaterialId};
use crate::scene::spectrum::Spectrum;

/// Materials being collected.
#[derive(Debug, Clone, Default)]
pub struct Shelf(pub Vec<Material>);

impl Shelf {
    /// Puts a material on the shelf.
    pub fn add(&mut self, body: Spectrum, gloss_rad: Option<f64>) -> MaterialId {
        self.0.push(Material { body, gloss_rad });
        self.0.len() - 1
    }

    /// Moulded plastic with a satin skin.
    pub fn plastic(&mut self, recipe: &Recipe) -> MaterialId {
        self.add(recipe.reflectance(), Some(0.17))
    }

    /// A dab of model paint.
    pub fn paint(&mut self, parts: &[(Pigment, f64)]) -> MaterialId {
        self.add(Recipe::of(parts).reflectance(), Some(0.22))
    }

    /// Wood or paper: matt, a mix of pigments standing for it.
    pub fn matt(&mut self, parts: &[(Pigment, f64)]) -> MaterialId {
        self.add(Recipe::of(parts).reflectance(), None)
    }
}

/// Reflectance of a printed grey of about the given L\*: black ink on white paper, a little warm, as a
/// printer's greys are. `lightness` in 5..=96.
pub fn printed_grey(lightness: f64) -> Spectrum {
    let wanted = if lightness > 8.0 { libm::pow((lightness + 16.0) / 116.0, 3.0) } else { lightness / 903.3 };
    // Ink leans by a few per cent over the spectrum; paper swallows violet.
    Spectrum::from_fn(|nm| {
        let ink = 1.0 + 0.035 * (nm - 560.0) / 200.0;
        let paper = 1.0 - 0.5 * libm::exp(-(nm - 380.0) / 22.0);
        wanted * ink * paper
    })
}

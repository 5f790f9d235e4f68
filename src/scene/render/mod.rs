//! A small renderer for photographs of parts on a table, spectral in its colours.
//!
//! Each lamp has a spectrum, each material a reflectance; their products are integrated over the camera's
//! sensitivities once, so that direct light is spectrally exact and metamerism is real, while a pixel costs
//! three numbers. Solids are distance functions ([`form`]), lamps are rectangles, lengths are millimetres;
//! x runs to the right, y up, z towards the viewer, and the table top is y = 0.
//!
//! What is left out: light that bounces more than once, and bounces between parts (the table's glow on
//! their undersides is in).

pub mod develop;
pub mod form;
pub mod lamp;
pub mod noise;
pub mod part;
pub mod plate;
pub mod top;
pub mod trace;

pub use form::{Form, Join};
pub use lamp::{Ambient, Lamp};
pub use part::{Coat, Part, Place};
pub use plate::{Lens, NO_PART, Plate, expose};
pub use top::Top;

use super::spectrum::Spectrum;

/// A point or direction in mm.
pub type V3 = nalgebra::Vector3<f64>;
/// A rotation.
pub type M3 = nalgebra::Matrix3<f64>;

/// Index of a material in [`Stage::materials`].
pub type MaterialId = usize;

/// What a surface is made of.
#[derive(Debug, Clone, PartialEq)]
pub struct Material {
    /// Reflectance of its body, gloss excluded.
    pub body: Spectrum,
    /// How rough its skin is: standard deviation of the reflected direction in radians (0.05 glossy, 0.3
    /// satin); `None` is matt.
    pub gloss_rad: Option<f64>,
}

/// Everything before the lens.
#[derive(Debug, Clone, PartialEq)]
pub struct Stage {
    /// Materials by their index.
    pub materials: Vec<Material>,
    /// Solids, at most 64.
    pub parts: Vec<Part>,
    /// The table top.
    pub top: Top,
    /// Lamps and windows.
    pub lamps: Vec<Lamp>,
    /// Light of the room from all sides.
    pub ambient: Ambient,
}

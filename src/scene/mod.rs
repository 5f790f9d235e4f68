//! Spectra, pigments, lamps and cameras: invented scenes whose truth is known.
//!
//! | topic | what it knows |
//! |---|---|
//! | [`spectrum`] | a function of wavelength on one fixed grid |
//! | [`tables`] | published data: observer, illuminants, cameras, the 24-patch chart |
//! | [`truth`] | the Lab D50 of a reflectance, the XYZ of a light |
//! | [`pigment`] | Kubelka–Munk mixes of pigments in a plastic base, ageing |
//! | [`family`] | rows of shades with a chosen CIEDE2000 from one to the next, and specimens of them |
//! | [`camera`] | sensitivities, white balance, matrix, tone curve, noise: reflectance → 8-bit code |
//! | [`render`] | a small renderer for parts on a table |
//! | [`demo`] | the demo photos and their truth |
//!
//! Reflectances, lights and cameras meet in [`camera::Camera::raw_of`]; everything before is spectral, all
//! behind is the rendering that a maker chose.

pub mod camera;
pub mod demo;
pub mod family;
pub mod pigment;
pub mod render;
pub mod tables;
pub mod truth;

pub(crate) mod draws;

pub use crate::color::spectrum;
pub use camera::Camera;
pub use pigment::{Pigment, Recipe};
pub use spectrum::Spectrum;
pub use truth::lab_in_d50_of;

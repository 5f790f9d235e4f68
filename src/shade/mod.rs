//! Reference shades: specimens of certain shade, and which shade a reading is.

mod references;

pub use references::{Method, References, SHADES_VERSION, Shade, Specimen};

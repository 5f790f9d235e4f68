//! Reference shades: specimens of certain shade, and which shade a reading is.

mod classify;
#[cfg(test)]
mod coverage_checks;
mod predictive;
mod references;

pub use classify::{
    Classification, DifferenceDraws, Priors, compare_pair, difference_to_shades, different_plastic,
};
pub use predictive::{PredictedShade, Predictive, ReferencesProblem};
pub use references::{
    Method, References, SHADES_LIMIT_BYTES, SHADES_VERSION, Shade, Specimen, parse_references,
    references_to_text,
};

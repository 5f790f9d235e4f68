//! Reference shades: specimens of certain shade, and which shade a reading is.
//!
//! [`table`] reads and writes measured values; [`pool`] makes one colour a specimen of its photos; the predictive
//! distributions say what the next part of a shade looks like; readings are classified with them, those
//! of a photo together, [`confusion`] counts how
//! well, [`outliers`] names what does not fit, [`ageing`] allows for yellowing.

pub mod ageing;
mod classify;
mod confusion;
mod covariance;
#[cfg(test)]
mod coverage_checks;
mod details;
mod gather;
mod known_part;
mod one_way;
mod outliers;
mod pool;
#[cfg(test)]
mod pool_checks;
mod predictive;
mod references;
pub mod table;
mod together;

pub use classify::{
    Classification, DifferenceDraws, Priors, compare_pair, difference_to_shades, different_plastic,
};
pub use confusion::{Confusion, Help, confusion, typical_reading_sd, what_helps};
pub(crate) use covariance::{parts as covariance_parts, positive};
pub use details::{Condition, Details, PhotoReading, Side};
pub use gather::{Added, Belongs, add_reading, add_specimens, empty_references, set_aside};
pub use known_part::KnownColour;
pub use one_way::OneWay;
pub use outliers::{Outlier, outliers};
pub use pool::{Pooling, pool};
pub use predictive::{PredictedShade, Predictive, ReferencesProblem};
pub use references::{
    Method, References, SHADES_LIMIT_BYTES, SHADES_VERSION, Shade, Specimen, parse_references,
    references_to_text,
};
pub use together::{Together, classify_together, log_likelihoods};

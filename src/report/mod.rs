//! Results as text for people.

mod axis;
mod text;
mod words;

pub use axis::Axis;
pub use text::{TextOptions, measurement_text};
pub use words::{Verdict, capital, percent, same_plastic, shade_name, verdict};

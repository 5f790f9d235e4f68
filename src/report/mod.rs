//! Results for people: as text, and as pictures with the marks drawn on.

mod axis;
mod picture;
mod text;
mod words;

pub use axis::Axis;
pub use picture::{PictureInputs, PictureProblem, result_picture};
pub use text::{TextOptions, measurement_text};
pub use words::{SamePlastic, Verdict, capital, percent, pixels_text, same_plastic, shade_name, verdict};

//! From a case file to all that follows from it (photo, result, finding), and from there into a collection and back:
//! what a record's case would say today.

mod add;
mod check;
mod load;

pub use add::{Addition, Details, Place, add};
pub use check::{CheckWith, Checked, check, keep_checked};
pub use load::{Loaded, guide_file, load, load_with, measure_loaded, weighed};

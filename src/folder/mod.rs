//! Every photo of a folder sorted: on several threads, taken up again where it was left, a bad photo stopping no other.
//!
//! | topic | what it knows |
//! |---|---|
//! | `order` | what is to be sorted, and by what |
//! | `photo` | one photo sorted, or found sorted before |
//! | `batch` | all of them, until done or stopped |
//! | `results` | tables and contact sheets |

mod batch;
mod order;
mod photo;
mod results;

pub use batch::{How, Told, sort_all};
pub use order::{Order, Wanted};
pub use photo::Line;

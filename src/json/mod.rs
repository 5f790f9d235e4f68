//! JSON documents of a stated kind and version: read with errors that name the line, the mark and the field,
//! and written so that a person can read them.

mod checks;
mod locate;
mod read;
mod write;

pub use checks::{check_ids, check_lab, check_sd};
pub use locate::{Flaw, Step};
pub(crate) use read::plain_words;
pub use read::{Kind, parse};
pub use write::to_text;

//! The only room that writes files: atomic save, autosave and recovery, recent files.

mod atomic;
mod folder;
mod journal;
mod open;
mod recent;
#[cfg(test)]
mod tests;

pub use atomic::save_atomically;
pub use folder::{DATA_FOLDER_VARIABLE, data_folder};
pub use journal::{Journal, Recoverable, recoverable};
pub use open::{open_case, open_guide, open_references, read_limited, resolve_inside, save_case};
pub use recent::{MAX_RECENT, add_recent, recent};

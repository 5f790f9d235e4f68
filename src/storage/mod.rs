//! The only room that writes files: atomic save, autosave and recovery, recent files, settings.

mod atomic;
mod collection;
mod day;
mod folder;
mod journal;
mod open;
mod recent;
mod settings;
#[cfg(test)]
mod tests;
mod unsaved;

pub use atomic::save_atomically;
pub use collection::{
    Collection, collection_guides, copied_into, make_collection, open_collection, open_record, outdated,
    save_record, unused_stem,
};
pub use day::today;
pub use folder::{DATA_FOLDER_VARIABLE, config_folder, data_folder};
pub use journal::{Journal, Recoverable, recoverable};
pub use open::{open_card, open_case, open_guide, open_references, read_limited, resolve_inside, save_case};
pub use recent::{MAX_RECENT, add_recent, recent, remember_collection, remembered_collection};
pub use settings::{Settings, ThemeChoice, save_settings, settings};
pub use unsaved::{TypedShade, Unsaved};

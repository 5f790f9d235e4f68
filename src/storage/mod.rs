//! The only room that writes files: atomic save, autosave, recent files.

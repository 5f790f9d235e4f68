//! Worker threads with progress and cancel.

//! The files of the demo as they lie in the repository.

use std::path::{Path, PathBuf};

/// One of them.
pub(crate) fn demo(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("assets/demo").join(name)
}

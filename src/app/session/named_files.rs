//! Files that a case has named so far and that were read: undo may name one again.

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::Arc;

/// Files of one kind, by the name in the case.
#[derive(Debug)]
pub(in crate::app) struct NamedFiles<T> {
    known: BTreeMap<String, (PathBuf, Option<Arc<T>>)>,
}

/// A file that a case names: the name, where it is, and what it holds if it could be read.
pub(in crate::app) type NamedFile<T> = (String, PathBuf, Option<Arc<T>>);

impl<T> NamedFiles<T> {
    /// Those of a case that was opened.
    pub(in crate::app) fn opened(files: impl IntoIterator<Item = NamedFile<T>>) -> Self {
        Self { known: files.into_iter().map(|(name, file, read)| (name, (file, read))).collect() }
    }

    /// What the file of that name holds, if it could be read.
    pub(in crate::app) fn read(&self, name: &str) -> Option<Arc<T>> {
        self.known.get(name)?.1.clone()
    }

    /// Where it is.
    pub(in crate::app) fn file(&self, name: &str) -> Option<PathBuf> {
        Some(self.known.get(name)?.0.clone())
    }

    /// A file that was read just now.
    pub(in crate::app) fn learn(&mut self, name: String, file: PathBuf, read: T) {
        self.known.insert(name, (file, Some(Arc::new(read))));
    }
}

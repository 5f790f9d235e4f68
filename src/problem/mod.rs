//! An error for people: what happened to which file or mark, and what to do about it.

use std::fmt::Display;

/// What went wrong and what to do. Both are full sentences.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{message} {remedy}")]
pub struct Problem {
    /// What happened, naming the file or the mark.
    pub message: String,
    /// What to do about it.
    pub remedy: String,
}

impl Problem {
    /// A problem from its two sentences.
    pub fn new(message: impl Into<String>, remedy: impl Into<String>) -> Self {
        Self { message: message.into(), remedy: remedy.into() }
    }

    /// The same problem, saying in which file.
    pub fn in_file(self, file: impl Display) -> Self {
        Self { message: format!("{file}: {}", self.message), remedy: self.remedy }
    }
}

//! What can be unsaved.

use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use crate::case::CaseDocument;
use crate::guide::Guide;
use crate::shade::References;

/// What can be unsaved.
#[derive(Debug, Clone, PartialEq)]
pub enum Unsaved {
    /// Marks on a photo.
    Case(Box<CaseDocument>),
    /// A guide being written, with faults and all.
    Guide(Box<Guide>),
    /// Shades being built.
    Shades {
        /// As they are now; `None` where nothing of them is unsaved.
        references: Option<Box<References>>,
        /// What was typed and is in no shades yet.
        typed: Vec<TypedShade>,
        /// The photo or case that was open beside them.
        beside: Option<PathBuf>,
    },
}

/// The shade that a person typed for a part of a photo.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct TypedShade {
    /// The photo.
    pub photo: PathBuf,
    /// The part's name.
    pub part: String,
    /// Its shade.
    pub shade: String,
    /// Its specimen; the part's name where empty.
    pub specimen: String,
}

impl TypedShade {
    /// Nothing typed yet.
    pub fn new(photo: &Path, part: &str) -> Self {
        Self { photo: photo.into(), part: part.into(), shade: String::new(), specimen: String::new() }
    }

    /// Whether it is of this part.
    pub fn is_for(&self, photo: &Path, part: &str) -> bool {
        self.photo == photo && self.part == part
    }

    /// Whether there is nothing in it.
    pub fn is_empty(&self) -> bool {
        self.shade.trim().is_empty() && self.specimen.trim().is_empty()
    }
}

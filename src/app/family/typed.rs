//! Names of shades as they were typed for the parts of photos. They stay with their photo until the parts are added.

use std::path::Path;

use crate::storage::TypedShade;

/// All that was typed.
#[derive(Debug, Default)]
pub(in crate::app) struct TypedShades(Vec<Typed>);

#[derive(Debug)]
struct Typed {
    shade: TypedShade,
    /// Whether the part went into the shades under these names.
    added: bool,
}

impl TypedShades {
    /// What was typed for a part of a photo, if anything.
    pub(super) fn of(&self, photo: &Path, part: &str) -> TypedShade {
        let found = self.0.iter().find(|typed| typed.shade.is_for(photo, part));
        found.map_or_else(|| TypedShade::new(photo, part), |typed| typed.shade.clone())
    }

    /// Whether any part of a photo has a shade.
    pub(super) fn any(&self, photo: &Path) -> bool {
        self.0.iter().any(|typed| typed.shade.photo == photo && !typed.shade.shade.trim().is_empty())
    }

    /// Notes what was typed.
    pub(super) fn note(&mut self, shade: TypedShade) {
        self.0.retain(|typed| !typed.shade.is_for(&shade.photo, &shade.part));
        self.0.push(Typed { shade, added: false });
    }

    /// A part went into the shades.
    pub(super) fn added(&mut self, photo: &Path, part: &str) {
        self.0
            .iter_mut()
            .filter(|typed| typed.shade.is_for(photo, part))
            .for_each(|typed| typed.added = true);
    }

    /// What is in no shades yet.
    pub(super) fn waiting(&self) -> Vec<TypedShade> {
        let waiting = self.0.iter().filter(|typed| !typed.added && !typed.shade.is_empty());
        waiting.map(|typed| typed.shade.clone()).collect()
    }

    /// Nobody wants it.
    pub(super) fn forget(&mut self) {
        self.0.clear();
    }
}

//! Readings put into a reference set, one after the other.

use serde_json::Map;

use super::details::{Condition, Details, PhotoReading, Side};
use super::references::{Method, References, SHADES_VERSION, Shade, Specimen};
use crate::problem::Problem;

/// Which specimen of which shade a reading is of.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Belongs {
    /// The shade's id.
    pub shade: String,
    /// The specimen's id within the shade.
    pub specimen: String,
    /// What time has done to it, where that was said.
    pub condition: Option<Condition>,
    /// Which side was measured, where that was said.
    pub side: Option<Side>,
    /// The real part, where two specimens are two places of one.
    pub part: Option<String>,
}

/// What became of a reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Added {
    /// It is new.
    New,
    /// The specimen had a reading of this mark of this photo, which it replaces; one that was set aside stays so.
    Replaced,
}

/// An empty reference set. It can be saved once it has a specimen.
pub fn empty_references(family: &str) -> References {
    References {
        sameshot_shades: SHADES_VERSION,
        family: family.into(),
        shades: Vec::new(),
        rest: Map::new(),
    }
}

/// Puts a reading into the set; the shade and the specimen are made where they are missing. Call [`super::pool`] when all
/// are in. A specimen that was measured otherwise is refused, since its values would be overwritten.
pub fn add_reading(
    references: &mut References,
    belongs: &Belongs,
    reading: PhotoReading,
) -> Result<Added, Problem> {
    let shade_at =
        references.shades.iter().position(|shade| shade.id == belongs.shade).unwrap_or_else(|| {
            let shade =
                Shade { id: belongs.shade.clone(), label: None, specimens: Vec::new(), rest: Map::new() };
            references.shades.push(shade);
            references.shades.len() - 1
        });
    let shade = &mut references.shades[shade_at];
    let at =
        shade.specimens.iter().position(|specimen| specimen.id == belongs.specimen).unwrap_or_else(|| {
            shade.specimens.push(empty_specimen(&belongs.specimen, &reading));
            shade.specimens.len() - 1
        });
    let specimen = &mut shade.specimens[at];
    let mut details = specimen.details();
    if specimen.method != Method::Photo || details.photos.is_empty() && !is_fresh(specimen, &reading) {
        return Err(Problem::new(
            format!(
                "Specimen \"{}\" of shade \"{}\" has values of its own ({}) that a photo would overwrite.",
                belongs.specimen,
                belongs.shade,
                specimen.method.name()
            ),
            "Give the photographed specimen another name.",
        ));
    }
    details.condition = belongs.condition.or(details.condition);
    details.side = belongs.side.or(details.side);
    details.part = belongs.part.clone().or(details.part);
    specimen.aged =
        matches!(details.condition, Some(Condition::Faded | Condition::Yellowed)) || specimen.aged;
    let same = |old: &&mut PhotoReading| old.photo == reading.photo && old.reading == reading.reading;
    let added = match details.photos.iter_mut().find(same) {
        Some(old) => {
            let set_aside = old.set_aside.take();
            *old = PhotoReading { set_aside, ..reading };
            Added::Replaced
        }
        None => {
            details.photos.push(reading);
            Added::New
        }
    };
    specimen.set_details(&details);
    Ok(added)
}

/// Adds the shades and specimens of another set; a specimen whose name is taken gets a number behind it. Answers how many
/// specimens were added.
pub fn add_specimens(references: &mut References, other: References) -> usize {
    let mut added = 0;
    for shade in other.shades {
        added += shade.specimens.len();
        let Some(own) = references.shades.iter_mut().find(|own| own.id == shade.id) else {
            references.shades.push(shade);
            continue;
        };
        for mut specimen in shade.specimens {
            let taken = |id: &str| own.specimens.iter().any(|other| other.id == id);
            if taken(&specimen.id) {
                let free = (2..).map(|n| format!("{} ({n})", specimen.id)).find(|id| !taken(id));
                specimen.id = free.unwrap_or_default();
            }
            own.specimens.push(specimen);
        }
    }
    added
}

fn empty_specimen(id: &str, reading: &PhotoReading) -> Specimen {
    Specimen {
        id: id.into(),
        lab: reading.lab,
        sd: reading.sd,
        method: Method::Photo,
        aged: false,
        note: None,
        rest: Map::new(),
    }
}

/// Whether a specimen without photos was made just now for this reading.
fn is_fresh(specimen: &Specimen, reading: &PhotoReading) -> bool {
    specimen.lab == reading.lab && specimen.sd == reading.sd && specimen.rest.is_empty()
}

/// Sets a specimen aside, or one of its photos, or takes it back in (`reason` empty). The reason stays in the file.
pub fn set_aside(
    references: &mut References,
    shade: &str,
    specimen: &str,
    photo: Option<&str>,
    reason: &str,
) -> Result<(), Problem> {
    let found = references
        .shades
        .iter_mut()
        .filter(|s| s.id == shade)
        .flat_map(|s| &mut s.specimens)
        .find(|s| s.id == specimen)
        .ok_or_else(|| {
            Problem::new(
                format!("There is no specimen \"{specimen}\" in a shade \"{shade}\"."),
                "Name it as the file does; sameshot references show lists them.",
            )
        })?;
    let reason = Some(reason.trim()).filter(|reason| !reason.is_empty()).map(str::to_owned);
    let mut details: Details = found.details();
    match photo {
        None => details.set_aside = reason,
        Some(photo) => {
            let mut readings = details.photos.iter_mut().filter(|reading| reading.photo == photo).peekable();
            if readings.peek().is_none() {
                return Err(Problem::new(
                    format!("Specimen \"{specimen}\" has no reading from a photo \"{photo}\"."),
                    "Name the photo as the file does; sameshot references show lists them.",
                ));
            }
            readings.for_each(|reading| reading.set_aside.clone_from(&reason));
        }
    }
    found.set_details(&details);
    Ok(())
}

//! Changes to a case as plain commands. Nothing here knows a window; [`super::History`] undoes them.

use std::collections::HashSet;

use super::document::{BoardMark, CaseDocument, Known, Observation, ReadingMark, Surface, ZoneMark};
use super::loose::{CardFound, TrayMarks};
use crate::guide::slot_words;
use crate::problem::Problem;
use crate::raster::Shape;

/// Which list a mark is in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum MarkKind {
    /// An area of known colour.
    Zone,
    /// An area to be measured.
    Reading,
}

/// Names one mark of a case.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct MarkKey {
    /// Its list.
    pub kind: MarkKind,
    /// Its id.
    pub id: String,
}

/// One change.
#[derive(Debug, Clone, PartialEq)]
pub enum Edit {
    /// A new zone, last in the list.
    AddZone(ZoneMark),
    /// A new reading, last in the list.
    AddReading(ReadingMark),
    /// A mark moved by so many pixels.
    Move(MarkKey, [f64; 2]),
    /// A mark with another outline.
    Reshape(MarkKey, Shape),
    /// A mark with another id.
    Rename(MarkKey, String),
    /// A mark taken away.
    Delete(MarkKey),
    /// A mark of another kind of surface.
    SetSurface(MarkKey, Surface),
    /// A zone of another colour.
    SetKnown(MarkKey, Known),
    /// The place of a reading in the figure.
    SetSlot(MarkKey, Option<String>),
    /// The shade references, as a path relative to the case.
    SetReferences(Option<String>),
    /// The guide, as a path relative to the case.
    SetGuide(Option<String>),
    /// The plain board under everything.
    SetBoard(Option<BoardMark>),
    /// The photo of the empty board, as a path relative to the case.
    SetFlatField(Option<String>),
    /// Reads other photos of the same parts with this one; see [`CaseDocument::more_photos`].
    SetMorePhotos(Vec<String>),
    /// The photo, as a path relative to the case, and its SHA-256.
    SetPhoto(String, Option<String>),
    /// Something seen on a part; replaces what was seen of that feature in that slot. States of a part
    /// ([`CONDITION`]) stand beside each other: one may be both worn and yellowed.
    Observe(Observation),
    /// Nothing was seen of this feature (second) in this slot (first).
    Forget(String, String),
    /// The loose parts of the photo.
    SetTray(Option<TrayMarks>),
    /// The card that was found.
    SetCardFound(Option<CardFound>),
    /// A part (first: its slot) is not in this state (second) after all.
    ForgetState(String, String),
}

/// The feature under which a case says what state a part is in.
pub const CONDITION: &str = "condition";

impl MarkKey {
    /// A zone's key.
    pub fn zone(id: impl Into<String>) -> Self {
        Self { kind: MarkKind::Zone, id: id.into() }
    }

    /// A reading's key.
    pub fn reading(id: impl Into<String>) -> Self {
        Self { kind: MarkKind::Reading, id: id.into() }
    }
}

impl Edit {
    /// What the change is called in the list of undo steps, such as "move left arm".
    pub fn label(&self) -> String {
        match self {
            Edit::AddZone(zone) => format!("add {}", zone.id),
            Edit::AddReading(reading) => format!("add {}", reading.id),
            Edit::Move(mark, _) => format!("move {}", mark.id),
            Edit::Reshape(mark, _) => format!("reshape {}", mark.id),
            Edit::Rename(mark, id) => format!("rename {} to {id}", mark.id),
            Edit::Delete(mark) => format!("delete {}", mark.id),
            Edit::SetSurface(mark, surface) => format!("make {} {}", mark.id, surface.name()),
            Edit::SetKnown(mark, _) => format!("set the colour of {}", mark.id),
            Edit::SetSlot(mark, Some(slot)) => format!("make {} the {}", mark.id, slot_words(None, slot)),
            Edit::SetSlot(mark, None) => format!("make {} no particular part", mark.id),
            Edit::SetReferences(Some(_)) => "choose references".into(),
            Edit::SetReferences(None) => "use no references".into(),
            Edit::SetGuide(Some(_)) => "choose a guide".into(),
            Edit::SetGuide(None) => "use no guide".into(),
            Edit::SetBoard(Some(_)) => "choose the board".into(),
            Edit::SetBoard(None) => "use no board".into(),
            Edit::SetFlatField(Some(_)) => "choose the empty board".into(),
            Edit::SetFlatField(None) => "use no empty board".into(),
            Edit::SetMorePhotos(_) => "choose other photos of the parts".into(),
            Edit::SetPhoto(..) => "choose the photo".into(),
            Edit::Observe(seen) => format!("note {} of {}", seen.feature, seen.slot),
            Edit::ForgetState(slot, state) => format!("forget that {slot} is {state}"),
            Edit::Forget(slot, feature) => format!("forget {feature} of {slot}"),
            Edit::SetTray(_) => "change the loose parts".into(),
            Edit::SetCardFound(_) => "find the card".into(),
        }
    }

    /// Makes the change. On an error the case is as it was.
    pub fn apply(&self, case: &mut CaseDocument) -> Result<(), Problem> {
        match self {
            Edit::AddZone(zone) => {
                check_new_id(case, MarkKind::Zone, &zone.id)?;
                case.zones.push(zone.clone());
            }
            Edit::AddReading(reading) => {
                check_new_id(case, MarkKind::Reading, &reading.id)?;
                case.readings.push(reading.clone());
            }
            Edit::Move(mark, offset_px) => {
                let shape = shape_of(case, mark)?;
                *shape = shape.moved_by(*offset_px);
            }
            Edit::Reshape(mark, shape) => *shape_of(case, mark)? = shape.clone(),
            Edit::Rename(mark, id) => rename(case, mark, id)?,
            Edit::Delete(mark) => delete(case, mark)?,
            Edit::SetSurface(mark, surface) => match mark.kind {
                MarkKind::Zone => zone_of(case, mark)?.surface = *surface,
                MarkKind::Reading => reading_of(case, mark)?.surface = *surface,
            },
            Edit::SetKnown(mark, known) => zone_of(case, mark)?.known = known.clone(),
            Edit::SetSlot(mark, slot) => reading_of(case, mark)?.slot = slot.clone(),
            Edit::SetReferences(path) => case.references = path.clone(),
            Edit::SetGuide(path) => case.guide = path.clone(),
            Edit::SetBoard(board) => case.board = board.clone(),
            Edit::SetFlatField(path) => case.flat_field = path.clone(),
            Edit::SetMorePhotos(paths) => case.more_photos = paths.clone(),
            Edit::SetPhoto(path, sha256) => {
                case.photo = path.clone();
                case.photo_sha256 = sha256.clone();
            }
            Edit::Observe(seen) => {
                let beside = |old: &Observation| seen.feature == CONDITION && old.value != seen.value;
                let same = |old: &&mut Observation| {
                    old.slot == seen.slot && old.feature == seen.feature && !beside(old)
                };
                match case.observations.iter_mut().find(same) {
                    Some(old) => *old = seen.clone(),
                    None => case.observations.push(seen.clone()),
                }
            }
            Edit::ForgetState(slot, state) => {
                let it = |seen: &Observation| {
                    seen.slot == *slot && seen.feature == CONDITION && seen.value == *state
                };
                case.observations.retain(|seen| !it(seen));
            }
            Edit::Forget(slot, feature) => {
                case.observations.retain(|seen| seen.slot != *slot || seen.feature != *feature);
            }
            Edit::SetTray(tray) => case.tray = tray.clone(),
            Edit::SetCardFound(card) => case.card_found = card.clone(),
        }
        Ok(())
    }
}

/// The first free id of the form "part 3", for a new mark.
pub fn unused_id(case: &CaseDocument, kind: MarkKind, stem: &str) -> String {
    let used: HashSet<&str> = ids_of(case, kind).collect();
    (1..).map(|n| format!("{stem} {n}")).find(|id| !used.contains(id.as_str())).unwrap_or_default()
}

/// Whether an id is one that [`unused_id`] gives: a number that says nothing of which part it is.
pub fn is_numbered(id: &str, stem: &str) -> bool {
    let number = id.strip_prefix(stem).and_then(|rest| rest.strip_prefix(' '));
    number.is_some_and(|number| !number.is_empty() && number.bytes().all(|byte| byte.is_ascii_digit()))
}

fn ids_of(case: &CaseDocument, kind: MarkKind) -> Box<dyn Iterator<Item = &str> + '_> {
    match kind {
        MarkKind::Zone => Box::new(case.zones.iter().map(|zone| zone.id.as_str())),
        MarkKind::Reading => Box::new(case.readings.iter().map(|reading| reading.id.as_str())),
    }
}

fn check_new_id(case: &CaseDocument, kind: MarkKind, id: &str) -> Result<(), Problem> {
    if id.trim().is_empty() {
        return Err(Problem::new("A mark needs a name.", "Type one."));
    }
    if ids_of(case, kind).any(|other| other == id) {
        return Err(Problem::new(format!("There is a mark \"{id}\" already."), "Choose another name."));
    }
    Ok(())
}

fn missing(mark: &MarkKey) -> Problem {
    Problem::new(format!("There is no mark \"{}\" any more.", mark.id), "Choose a mark and try again.")
}

fn zone_of<'a>(case: &'a mut CaseDocument, mark: &MarkKey) -> Result<&'a mut ZoneMark, Problem> {
    let is_zone = mark.kind == MarkKind::Zone;
    case.zones.iter_mut().find(|zone| is_zone && zone.id == mark.id).ok_or_else(|| missing(mark))
}

fn reading_of<'a>(case: &'a mut CaseDocument, mark: &MarkKey) -> Result<&'a mut ReadingMark, Problem> {
    let is_reading = mark.kind == MarkKind::Reading;
    case.readings.iter_mut().find(|reading| is_reading && reading.id == mark.id).ok_or_else(|| missing(mark))
}

fn shape_of<'a>(case: &'a mut CaseDocument, mark: &MarkKey) -> Result<&'a mut Shape, Problem> {
    match mark.kind {
        MarkKind::Zone => zone_of(case, mark).map(|zone| &mut zone.shape),
        MarkKind::Reading => reading_of(case, mark).map(|reading| &mut reading.shape),
    }
}

fn rename(case: &mut CaseDocument, mark: &MarkKey, id: &str) -> Result<(), Problem> {
    if mark.id != id {
        check_new_id(case, mark.kind, id)?;
    }
    match mark.kind {
        MarkKind::Zone => zone_of(case, mark)?.id = id.into(),
        MarkKind::Reading => {
            reading_of(case, mark)?.id = id.into();
            for part in case.tray.iter_mut().flat_map(|tray| &mut tray.parts) {
                if part.reading.as_ref() == Some(&mark.id) {
                    part.reading = Some(id.into());
                }
            }
        }
    }
    Ok(())
}

fn delete(case: &mut CaseDocument, mark: &MarkKey) -> Result<(), Problem> {
    shape_of(case, mark)?;
    match mark.kind {
        MarkKind::Zone => case.zones.retain(|zone| zone.id != mark.id),
        MarkKind::Reading => {
            case.readings.retain(|reading| reading.id != mark.id);
            if let Some(tray) = &mut case.tray {
                tray.parts.retain(|part| part.reading.as_ref() != Some(&mark.id));
            }
        }
    }
    Ok(())
}

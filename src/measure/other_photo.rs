//! Other photos of the same parts: what they show of what this photo shows.
//!
//! A second photo by the same camera, for which everything was laid anew, shows every part in other light and at another
//! angle: read together, these errors are averaged, while the camera's curve and colours and the card's own errors stay
//! (see `pooled.rs` of [`crate::light`]). Marks of one name are one thing.

use nalgebra::Vector2;

use super::areas::{Areas, ReadArea, ReadZone, known_colour, known_patch, read_marks};
use super::{AreaCache, Inputs, MarkProblem, Marked, Warning, board, warnings};
use crate::case::{Known, MAX_MARKS, ZoneMark, is_numbered};
use crate::light::{KnownPatch, Patch};
use crate::problem::Problem;
use crate::shade::Predictive;

/// The kind of a problem with another photo; its id is the name that the case has for it.
pub const OTHER_PHOTO: &str = "other photo";

/// Things that lie to each other as they did, give or take this share of how far they lie apart, were not laid anew.
const AS_BEFORE: f64 = 0.05;
/// Turned by less than this, in radians, the light falls on them from where it did.
const SAME_SIDE: f64 = 0.35;
/// With fewer things in common nobody can tell.
const FEWEST_TO_TELL: usize = 3;

/// What another photo shows, whatever is known of its colours.
#[derive(Debug, Clone)]
pub struct OtherPhoto {
    name: String,
    camera: Option<String>,
    zones: Vec<ReadZone>,
    readings: Vec<ReadArea>,
    alike: Vec<Vec<Patch>>,
    problems: Vec<MarkProblem>,
    /// Zones that it does not show well enough to be used.
    left_out: Vec<MarkProblem>,
}

/// What another photo shows of the things of this one.
#[derive(Debug, Clone)]
pub(super) struct ShownByOther {
    /// Areas of known colour; those that this photo shows too with their place among its zones.
    pub known: Vec<(Option<usize>, KnownPatch)>,
    /// For each reading of this photo, the same part there.
    pub readings: Vec<Option<Patch>>,
    pub alike: Vec<Vec<Patch>>,
}

impl ShownByOther {
    /// How many areas it adds.
    pub(super) fn count(&self) -> usize {
        self.known.len() + self.readings.iter().flatten().count()
    }
}

impl OtherPhoto {
    /// Reads the marks of a photo. `name` is what the case calls it; `inputs.references` do not matter.
    pub fn of(name: &str, inputs: &Inputs, marked: Marked) -> Self {
        let (mut cache, mut problems) = (AreaCache::default(), Vec::new());
        let colour = |zone| known_colour(zone, None).ok();
        let zones: Vec<_> = inputs.case.zones.iter().map(|zone| (zone, colour(zone))).collect();
        let read = read_marks(inputs, &zones, marked, &mut cache, &mut problems);
        let boards = board::read(inputs, &mut cache, &mut problems);
        Self {
            name: name.to_owned(),
            camera: inputs.facts.camera.clone(),
            zones: read.zones,
            readings: read.readings,
            alike: boards.places,
            problems,
            left_out: read.left_out,
        }
    }

    /// What the case calls it.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// What it shows of the things of a photo, as the one of that number; else why it is of no use beside it.
    fn shown(
        &self,
        number: usize,
        areas: &Areas,
        predictive: Option<&Predictive>,
    ) -> Result<ShownByOther, Problem> {
        let placed = |patch: &Patch| Patch { photo: number, ..patch.clone() };
        let known = |zone: &ReadZone| {
            let colour = known_colour(&zone.mark, predictive).ok()?;
            let same = areas.zones.iter().position(|here| is_same(&zone.mark.known, &zone.mark.id, here));
            Some((same, known_patch(placed(&zone.patch), colour)))
        };
        let known: Vec<_> = self.zones.iter().filter_map(known).collect();
        // A number says nothing of which part it is: in another photo it was given to another one.
        let is_named = |read: &&ReadArea| !is_numbered(&read.id, "part");
        let same_part =
            |read: &ReadArea| self.readings.iter().filter(is_named).find(|there| there.id == read.id);
        let readings: Vec<Option<Patch>> =
            areas.readings.iter().map(|read| Some(placed(&same_part(read)?.patch))).collect();
        if readings.iter().flatten().next().is_none() {
            return Err(Problem::new(
                format!("No part of {} has the name of a part of this photo, so it was left out.", self.name),
                "Give each part a name of its own, such as “left arm”, and the same one in every photo: “part 3” is only \
                 the third that was marked.",
            ));
        }
        if known.is_empty() {
            return Err(Problem::new(
                format!("Nothing that can be used in {} has a known colour, so it was left out.", self.name),
                "Mark the steps of its grey card, or a part whose shade is certain.",
            ));
        }
        let pair = |here: &Patch, there: &Patch| [here.at, there.at].map(Vector2::from);
        let parts = areas.readings.iter().zip(&readings);
        let parts: Vec<_> =
            parts.filter_map(|(read, there)| Some(pair(&read.patch, there.as_ref()?))).collect();
        let zones =
            known.iter().filter_map(|(same, there)| Some(pair(&areas.known[(*same)?].patch, &there.patch)));
        // Of one or two parts nobody can tell by themselves; with the card it can be told.
        let all: Vec<_> = parts.iter().copied().chain(zones).collect();
        if lie_as_before(&parts) || lie_as_before(&all) {
            return Err(Problem::new(
                format!(
                    "In {} the parts lie as they do in this photo, so it tells nothing new and was left out.",
                    self.name
                ),
                "Lay the parts down anew, at other places and turned otherwise, or turn the board by half a turn; then \
                 photograph again.",
            ));
        }
        let alike = self.alike.iter().map(|board| board.iter().map(placed).collect()).collect();
        Ok(ShownByOther { known, readings, alike })
    }
}

/// Whether a zone of another photo is the same thing as one of this photo.
fn is_same(known: &Known, id: &str, here: &ZoneMark) -> bool {
    here.id == id && here.known == *known
}

/// Adds what the other photos of the case show; gives what weakens it.
pub(super) fn add(
    areas: &mut Areas,
    inputs: &Inputs,
    predictive: Option<&Predictive>,
    problems: &mut Vec<MarkProblem>,
) -> Vec<Warning> {
    let mut warnings = Vec::new();
    let mut told = |id: &str, problem: Problem| {
        problems.push(MarkProblem {
            kind: OTHER_PHOTO,
            id: id.to_owned(),
            text: problem.message,
            remedy: problem.remedy,
        });
    };
    for name in &inputs.case.more_photos {
        if !inputs.other_photos.iter().any(|other| other.name == *name) {
            told(
                name,
                Problem::new(
                    format!("{name}, another photo of the same parts, could not be read and was left out."),
                    "Put it back where it was, or take it off the list of photos.",
                ),
            );
        }
    }
    for other in inputs.other_photos {
        for problem in &other.problems {
            told(&other.name, Problem::new(format!("In {}: {}", other.name, problem.text), &problem.remedy));
        }
        match (&other.camera, &inputs.facts.camera) {
            (Some(there), Some(here)) if there != here => told(
                &other.name,
                Problem::new(
                    format!(
                        "{} is from another camera ({there}) than this photo ({here}) and was left out.",
                        other.name
                    ),
                    "Take all photos of one figure with one camera.",
                ),
            ),
            _ => match other.shown(1 + areas.shown_by_others.len(), areas, predictive) {
                Ok(shown) if areas.count() + shown.count() > MAX_MARKS => told(
                    &other.name,
                    Problem::new(
                        format!(
                            "With {} there are more than {MAX_MARKS} marks, so it was left out: all are solved in one matrix.",
                            other.name
                        ),
                        "Read fewer photos together.",
                    ),
                ),
                Ok(shown) => {
                    areas.shown_by_others.push(shown);
                    let left_out = other.left_out.iter();
                    warnings.extend(left_out.map(|zone| warnings::zone_left_out(zone, Some(&other.name))));
                }
                Err(problem) => told(&other.name, problem),
            },
        }
    }
    warnings
}

/// Whether things lie to each other as they did, whatever the camera's distance, and get their light from the same side: the
/// best similarity in the plane between their places in both photos hardly leaves anything and hardly turns.
fn lie_as_before(both: &[[Vector2<f64>; 2]]) -> bool {
    if both.len() < FEWEST_TO_TELL {
        return false;
    }
    let middle =
        [0, 1].map(|photo| both.iter().map(|at| at[photo]).sum::<Vector2<f64>>() / both.len() as f64);
    // Seen from the middle: along and across the direction where it lay, and how far off.
    let (mut along, mut across, mut far, mut far_there) = (0.0, 0.0, 0.0, 0.0);
    for at in both {
        let [p, q] = [0, 1].map(|photo| at[photo] - middle[photo]);
        along += p.dot(&q);
        across += p.perp(&q);
        far += p.norm_squared();
        far_there += q.norm_squared();
    }
    let left = 1.0 - (along * along + across * across) / (far * far_there).max(f64::MIN_POSITIVE);
    left < AS_BEFORE * AS_BEFORE && libm::atan2(across, along).abs() < SAME_SIDE
}

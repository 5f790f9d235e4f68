//! Reads the pixels of every mark, from the cache where nothing changed.

use nalgebra::{Matrix3, Vector3};

use super::other_photo::ShownByOther;
use super::relief::set_reliefs;
use super::{Inputs, MarkProblem, Marked, PixelCounts};
use crate::case::{Known, ReadingMark, Surface, ZoneMark};
use crate::color::{lab_of, linear_srgb_from_lab_in_d50, srgb_decode, srgb_encode};
use crate::light::{Given, KnownPatch, Patch, Relief};
use crate::plastic::{Area, AreaOptions, AreaProblem, read_area};
use crate::raster::{Raster, Shape};
use crate::shade::{KnownColour, Predictive};

/// How far the edge of an area is taken off where colour was stored at a lower resolution: one 16×16 block
/// of a JPEG with 4:2:0 chroma bleeds over 8 pixels. Two pixels at such an edge are off by 3 to 4 CIEDE2000.
pub(super) const INSET_SUBSAMPLED_PX: f64 = 8.0;
/// How far it is taken off elsewhere: sharpening and lens blur.
pub(super) const INSET_PX: f64 = 2.0;

/// Areas already read, so that a changed mark costs one area and not all.
#[derive(Debug, Clone, Default)]
pub struct AreaCache {
    pub(super) board: Option<super::board::BoardSeen>,
    entries: Vec<(Shape, AreaOptions, Result<Area, AreaProblem>)>,
}

impl AreaCache {
    pub(super) fn read(
        &mut self,
        raster: &Raster,
        shape: &Shape,
        options: &AreaOptions,
    ) -> Result<Area, AreaProblem> {
        let found = self.entries.iter().find(|(known, how, _)| known == shape && how == options);
        if let Some((_, _, area)) = found {
            return area.clone();
        }
        let area = read_area(raster, shape, options);
        self.entries.push((shape.clone(), *options, area.clone()));
        area
    }

    /// Forgets what no mark asks for any more once that has grown to several times what is in use.
    fn tidy(&mut self, in_use: usize) {
        let surplus = self.entries.len().saturating_sub(4 * in_use + 64);
        self.entries.drain(..surplus);
    }
}

/// A reading's mark with its pixels.
#[derive(Debug, Clone)]
pub(super) struct ReadArea {
    pub id: String,
    pub area: Area,
    pub patch: Patch,
}

/// Zones with a larger share of clipped pixels are left out: what remains is the darker side of the scatter,
/// whose mean lies lower by 0.4 standard deviations when a quarter is cut off a normal distribution, and ever
/// faster beyond.
const MOST_CLIPPED: f64 = 0.25;

/// A zone with its pixels.
#[derive(Debug, Clone)]
pub(super) struct ReadZone {
    pub mark: ZoneMark,
    /// What is known of its colour so far.
    pub colour: Option<KnownColour>,
    pub area: Area,
    pub patch: Patch,
}

/// All marks of a case that could be read.
#[derive(Debug, Clone, Default)]
pub(super) struct Areas {
    pub known: Vec<KnownPatch>,
    /// The mark of each of `known`.
    pub zones: Vec<ZoneMark>,
    pub readings: Vec<ReadArea>,
    /// Surfaces of one colour that nobody knows, see [`super::board`].
    pub alike: Vec<Vec<Patch>>,
    /// What other photos show of the same things.
    pub shown_by_others: Vec<ShownByOther>,
    /// Zones whose pixels tell no colour: the photo's fault, no mistake in the case.
    pub left_out: Vec<MarkProblem>,
}

impl Areas {
    /// How many areas there are in all photos.
    pub(super) fn count(&self) -> usize {
        let others: usize = self.shown_by_others.iter().map(ShownByOther::count).sum();
        self.known.len() + self.readings.len() + others
    }

    /// Each reading as the photos show it.
    pub(super) fn patches(&self) -> Vec<Vec<Patch>> {
        let of = |(reading, read): (usize, &ReadArea)| {
            let others = self.shown_by_others.iter().filter_map(|other| other.readings[reading].as_ref());
            std::iter::once(&read.patch).chain(others).cloned().collect()
        };
        self.readings.iter().enumerate().map(of).collect()
    }

    /// What teaches the light.
    pub(super) fn given(&self) -> Given {
        let (mut known, mut alike) = (self.known.clone(), self.alike.clone());
        let mut shown_again: Vec<Vec<usize>> = (0..known.len()).map(|zone| vec![zone]).collect();
        for other in &self.shown_by_others {
            alike.extend(other.alike.iter().cloned());
            for (zone, there) in &other.known {
                if let Some(zone) = zone {
                    shown_again[*zone].push(known.len());
                }
                known.push(there.clone());
            }
        }
        Given { known, alike, shown_again }
    }
}

/// Reads zones, then readings. A zone whose pixels tell no colour is left out, as the others still tell the
/// light; mistakes in the case and readings that give no colour go to `problems`.
pub(super) fn read_all(
    inputs: &Inputs,
    marked: Marked,
    predictive: Option<&Predictive>,
    cache: &mut AreaCache,
    problems: &mut Vec<MarkProblem>,
) -> Areas {
    let mut colours = Vec::with_capacity(inputs.case.zones.len());
    for zone in &inputs.case.zones {
        match known_colour(zone, predictive) {
            Ok(colour) => colours.push((zone, Some(colour))),
            Err(problem) => problems.push(problem),
        }
    }
    let read = read_marks(inputs, &colours, marked, cache, problems);
    let mut areas = Areas { readings: read.readings, left_out: read.left_out, ..Areas::default() };
    for ReadZone { mark, colour, patch, .. } in read.zones {
        areas.known.extend(colour.map(|colour| known_patch(patch, colour)));
        areas.zones.push(mark);
    }
    areas
}

/// A patch with what is known of its colour.
pub(super) fn known_patch(patch: Patch, KnownColour { lab, cov, shared }: KnownColour) -> KnownPatch {
    KnownPatch { patch, lab, lab_cov: cov, shared }
}

/// What the marks of a photo show, whatever is known of their colours.
#[derive(Debug, Clone, Default)]
pub(super) struct ReadMarks {
    pub zones: Vec<ReadZone>,
    pub readings: Vec<ReadArea>,
    /// See [`Areas::left_out`].
    pub left_out: Vec<MarkProblem>,
}

/// Reads these zones, whose colours tell the light's white as far as they are known, then all readings.
pub(super) fn read_marks(
    inputs: &Inputs,
    zones: &[(&ZoneMark, Option<KnownColour>)],
    marked: Marked,
    cache: &mut AreaCache,
    problems: &mut Vec<MarkProblem>,
) -> ReadMarks {
    let mut marks = ReadMarks::default();
    let inset_px = if inputs.facts.chroma_subsampled { INSET_SUBSAMPLED_PX } else { INSET_PX };
    let flat = AreaOptions { inset_px, white: [1.0; 3] };
    let mut known = Vec::with_capacity(zones.len());
    for (zone, colour) in zones {
        match cache.read(inputs.raster, &zone.shape, &flat).and_then(not_burnt_out) {
            Ok(area) => {
                let patch = patch_of(&area, zone.surface, inputs.raster);
                known.extend(colour.map(|colour| (patch.coded, colour.lab)));
                marks.zones.push(ReadZone { mark: (*zone).clone(), colour: *colour, area, patch });
            }
            Err(problem) => {
                let list = match problem {
                    AreaProblem::Shape(_) => &mut *problems,
                    AreaProblem::TooFewPixels(_) => &mut marks.left_out,
                };
                list.push(mark_problem("zone", &zone.id, &problem));
            }
        }
    }
    let options = AreaOptions { inset_px, white: in_steps(white_of(&known)) };
    for reading in &inputs.case.readings {
        match read_reading(reading, inputs.raster, &options, cache) {
            Ok(read) => marks.readings.push(read),
            Err(problem) => problems.push(problem),
        }
    }
    let of_zones = marks.zones.iter_mut().map(|zone| (&mut zone.patch, &zone.area));
    let of_readings = marks.readings.iter_mut().map(|read| (&mut read.patch, &read.area));
    set_reliefs(&mut of_zones.chain(of_readings).collect::<Vec<_>>(), marked);
    cache.tidy(inputs.case.zones.len() + inputs.case.readings.len());
    marks
}

/// Refuses an area whose remaining pixels are a biased choice.
pub(super) fn not_burnt_out(area: Area) -> Result<Area, AreaProblem> {
    if is_burnt_out(&area.pixels) { Err(AreaProblem::TooFewPixels(area.pixels)) } else { Ok(area) }
}

fn is_burnt_out(pixels: &PixelCounts) -> bool {
    pixels.clipped as f64 > MOST_CLIPPED * pixels.looked_at() as f64
}

fn read_reading(
    mark: &ReadingMark,
    raster: &Raster,
    options: &AreaOptions,
    cache: &mut AreaCache,
) -> Result<ReadArea, MarkProblem> {
    let area = cache
        .read(raster, &mark.shape, options)
        .map_err(|problem| mark_problem("reading", &mark.id, &problem))?;
    let patch = patch_of(&area, mark.surface, raster);
    Ok(ReadArea { id: mark.id.clone(), area, patch })
}

/// An area as the light model sees it; centre in pixels → half photo widths from the middle.
pub(super) fn patch_of(area: &Area, surface: Surface, raster: &Raster) -> Patch {
    let half_width = f64::from(raster.width()) / 2.0;
    let half_height = f64::from(raster.height()) / 2.0;
    // By the width in y too, so that a slope means the same in both directions.
    let at = [(area.centre_px[0] - half_width) / half_width, (area.centre_px[1] - half_height) / half_width];
    patch_at(area, surface, at)
}

/// An area at a place in half photo widths; what a rounded surface adds is for [`set_reliefs`] to say.
pub(crate) fn patch_at(area: &Area, surface: Surface, at: [f64; 2]) -> Patch {
    let coded = area.linear.map(srgb_encode);
    let slope = Matrix3::from_diagonal(&area.linear.map(encoding_slope));
    let relief = (surface == Surface::Rounded).then(Relief::default);
    Patch { coded, coded_cov: slope * area.linear_cov * slope, at, relief, photo: 0 }
}

/// Slope of the sRGB encoding at a linear value, by differences.
fn encoding_slope(linear: f64) -> f64 {
    let step = 1e-4 * (linear.abs() + 0.01);
    (srgb_encode(linear + step) - srgb_encode(linear - step)) / (2.0 * step)
}

/// What is known of a zone's colour.
pub(super) fn known_colour(
    zone: &ZoneMark,
    predictive: Option<&Predictive>,
) -> Result<KnownColour, MarkProblem> {
    let problem =
        |text, remedy: &str| MarkProblem { kind: "zone", id: zone.id.clone(), text, remedy: remedy.into() };
    match &zone.known {
        Known::Lab { lab, sd, .. } => {
            let variances = Vector3::from(*sd).map(|sd| sd * sd);
            let cov = Matrix3::from_diagonal(&variances);
            Ok(KnownColour { lab: Vector3::from(*lab), cov, shared: None })
        }
        Known::Shade { shade, specimen: None } => {
            predictive.and_then(|predictive| predictive.colour_of(shade)).ok_or_else(|| {
                problem(
                    format!(
                        "Zone \"{}\" is said to be of shade \"{shade}\", of which the references hold no specimen.",
                        zone.id
                    ),
                    "Choose the references that hold this shade, or give the zone a known Lab.",
                )
            })
        }
        Known::Shade { shade, specimen: Some(specimen) } => {
            predictive.and_then(|predictive| predictive.colour_of_specimen(shade, specimen)).ok_or_else(|| {
                problem(
                    format!(
                        "Zone \"{}\" is said to be specimen \"{specimen}\" of shade \"{shade}\", on which the \
                         references do not rest: it is not there, was set aside, or is the exposed side of a part whose \
                         sheltered side is there.",
                        zone.id
                    ),
                    "Choose a specimen that counts, say only which shade the part is of, or choose other references.",
                )
            })
        }
    }
}

/// White in steps of 0.005 of the sum of its channels, a sixth of the least distance from white at which its
/// direction is used at all: with the exact value, a card step moved by a pixel would make every part be read
/// again, which takes longer than all the rest of a moved mark should.
fn in_steps(white: [f64; 3]) -> [f64; 3] {
    white.map(|share| (share * 200.0).round() / 200.0)
}

/// The lamp's white in the photo's own channels: what areas of known Lab show, coded, divided by what they are.
fn white_of(known: &[(Vector3<f64>, Vector3<f64>)]) -> [f64; 3] {
    let whites = known.iter().map(|(coded, lab)| {
        let true_light = Vector3::from(linear_srgb_from_lab_in_d50(lab_of(*lab)));
        let white = coded.map(srgb_decode).component_div(&true_light.map(|v| v.max(1e-4)));
        white / white.sum()
    });
    let sum = whites.fold(Vector3::zeros(), |sum, white| sum + white);
    if sum.sum() > 0.0 { (sum / sum.sum()).into() } else { [1.0 / 3.0; 3] }
}

fn mark_problem(kind: &'static str, id: &str, problem: &AreaProblem) -> MarkProblem {
    let name = if kind == "zone" { "Zone" } else { "Reading" };
    let (what, remedy) = match problem {
        AreaProblem::Shape(_) => (problem.to_string(), "Draw it again on the photo."),
        AreaProblem::TooFewPixels(pixels) if is_burnt_out(pixels) => (
            format!(
                "is burnt out or black: {} of {} pixels are at an end of the camera's scale",
                pixels.clipped,
                pixels.looked_at()
            ),
            "Photograph darker if it is white in the photo, brighter if it is black, or mark another place.",
        ),
        AreaProblem::TooFewPixels(_) => (
            problem.to_string(),
            "Draw it larger, or on a matt place that is neither burnt out nor in deep shadow.",
        ),
    };
    MarkProblem { kind, id: id.to_owned(), text: format!("{name} \"{id}\" {what}."), remedy: remedy.into() }
}

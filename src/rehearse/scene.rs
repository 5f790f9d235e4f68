//! A whole invented scene: references, card, a part of known shade, and parts to be read.

use nalgebra::{DMatrix, DVector, Matrix3, Vector3};
use rand::Rng;

use super::board::{Board, Boards};
use super::lighting::{Laid, Lighting};
use super::plastics::{Family, Part, below, shade_id, specimen_id};
use super::shot::{Shot, Surface};
use super::{Evenness, Known, KnownPart};
use crate::case;
use crate::color::column_of;
use crate::light::{Component, Drag, KnownPatch, Patch};
use crate::measure::{Marked, patch_at, set_reliefs};
use crate::plastic::Area;
use crate::scene::Spectrum;
use crate::scene::draws::{normal, uniform};
use crate::scene::lab_in_d50_of;
use crate::scene::tables::chart;
use crate::shade::{KnownColour, Predictive};

/// Share of parts that are of none of the shades: what is taken for granted of them.
const STRANGERS: f64 = 0.05;
/// How well the colour of a card is known: L\*, a\*, b\*.
const CARD_SD: [f64; 3] = [0.5, 0.3, 0.3];
/// Patches of the chart that make the ladder, from white to black, and the single grey step.
const LADDER: std::ops::Range<usize> = 18..24;
const ONE_GREY: usize = 21;
/// Independent looks at a patch of the card and at a part: some 2000 and 6000 pixels, as a card of the width of a
/// hand and a limb have them in a photo of 12 megapixels that shows little else.
const CARD_LOOKS: usize = 32;
const PART_LOOKS: usize = 96;
/// White light left over from gloss, evenly drawn for all parts of a photo, and how far one part's may lie from that, as a
/// share of it: 4 % of the luminance around them. See `measure` for why and for what it does.
const GLOSS: std::ops::Range<f64> = 0.002..0.012;
const GLOSS_APART: f64 = 0.5;
/// Most light that a coloured neighbour throws back on a part, over its own light, and how often one does.
const NEIGHBOUR_MOST: f64 = 0.04;
const NEIGHBOUR_SHARE: f64 = 0.3;

/// An area to be read, with the truth.
#[derive(Debug, Clone)]
pub(super) struct Reading {
    pub patch: Patch,
    pub part: Part,
}

/// One scene.
#[derive(Debug, Clone)]
pub(super) struct Scene {
    pub predictive: Predictive,
    /// All patches of the card; `None` where burnt out.
    card: Vec<Option<KnownPatch>>,
    /// The parts of known shade, with the colours that they really have.
    known_parts: Vec<(KnownPatch, Vector3<f64>)>,
    /// The part in question; the same plastic at another angle; a part of the neighbouring shade; two parts more of any
    /// shade. All but the neighbour may be strangers.
    pub readings: [Reading; 5],
    board: [Vec<Patch>; 2],
}

impl Scene {
    /// A scene of this family; `None` where the photo is unusable (an area burnt out).
    pub(super) fn drawn(family: &Family, evenness: Evenness, rng: &mut impl Rng) -> Option<Self> {
        let (references, specimens) = family.references(rng);
        let predictive = Predictive::from_references(&references).ok()?;
        let shot = Shot::drawn(Lighting::drawn(evenness, rng), rng);
        let places = Places::drawn(rng);
        let card = card(&shot, &places, rng);

        let gloss = GLOSS.start + (GLOSS.end - GLOSS.start) * uniform(rng);
        let shown = |part: Part, at: [f64; 2], laid: Laid, rng: &mut _| {
            part_patch(&shot, &part, (at, laid), gloss, rng)
                .map(|(patch, area)| (Reading { patch, part }, area))
        };
        let known_shades = match family.known_part {
            KnownPart::OfShade | KnownPart::Specimen => vec![below(family.shades.len(), rng)],
            KnownPart::SpecimenOfEach => (0..family.shades.len()).collect(),
        };
        let (mut known_parts, mut known_areas) = (Vec::new(), Vec::new());
        for (at, known) in places.known.into_iter().cycle().zip(known_shades) {
            let shade = shade_id(known);
            let (part, colour) = match family.known_part {
                KnownPart::OfShade => (Part::of_shade(family, known, rng), predictive.colour_of(&shade)?),
                KnownPart::Specimen | KnownPart::SpecimenOfEach => {
                    let number = below(specimens[known].len(), rng);
                    let part = Part::new(specimens[known][number], Some(known));
                    (part, predictive.colour_of_specimen(&shade, &specimen_id(known, number))?)
                }
            };
            let (Reading { patch, part }, area) = shown(part, at, Laid::Alike, rng)?;
            let KnownColour { lab, cov: lab_cov, shared } = colour;
            known_parts.push((KnownPatch { patch, lab, lab_cov, shared }, column_of(part.lab)));
            known_areas.push(area);
        }

        let shade = below(family.shades.len(), rng);
        let own = Part::of_shade(family, shade, rng);
        let neighbour = if shade + 1 < family.shades.len() { shade + 1 } else { shade - 1 };
        let other = Part::of_shade(family, neighbour, rng);
        let [any, another] = [(); 2].map(|()| Part::of_shade(family, below(family.shades.len(), rng), rng));
        let or_stranger = |part, rng: &mut _| {
            if uniform(rng) < STRANGERS { Part::new(family.stranger(rng), None) } else { part }
        };
        let [question, any, another] = [own, any, another].map(|part| or_stranger(part, rng));
        let seen = [
            shown(question, places.parts[0], Laid::Alike, rng)?,
            shown(question, places.parts[1], Laid::Otherwise, rng)?,
            shown(other, places.parts[2], Laid::Alike, rng)?,
            shown(any, places.parts[3], Laid::Alike, rng)?,
            shown(another, places.parts[4], Laid::Alike, rng)?,
        ];
        let areas = seen.each_ref().map(|(_, area)| area.clone());
        let mut readings = seen.map(|(reading, _)| reading);
        let known = known_parts.iter_mut().map(|(known, _)| &mut known.patch).zip(&known_areas);
        let read = readings.iter_mut().map(|reading| &mut reading.patch).zip(&areas);
        set_reliefs(&mut known.chain(read).collect::<Vec<_>>(), Marked::ByHand);
        // Last, so that scenes are the same with and without.
        let Board { seen, empty } = Board::drawn(&shot, rng);
        Some(Self { predictive, card, known_parts, readings, board: [seen, empty] })
    }

    /// What the photo knows.
    pub(super) fn known(&self, known: Known) -> Vec<KnownPatch> {
        let mut zones: Vec<KnownPatch> = match known {
            Known::OneGrey => self.card[ONE_GREY].iter().cloned().collect(),
            Known::Ladder | Known::LadderAndPart => self.card[LADDER].iter().flatten().cloned().collect(),
            Known::FullChart => self.card.iter().flatten().cloned().collect(),
            Known::PartOnly | Known::Nothing => Vec::new(),
        };
        if known.has_part() {
            zones.extend(self.known_parts.iter().map(|(zone, _)| zone.clone()));
        }
        zones
    }

    /// Places of the boards that teach.
    pub(super) fn alike(&self, boards: Boards) -> &[Vec<Patch>] {
        match boards {
            Boards::None => &[],
            Boards::Seen => &self.board[..1],
            Boards::Empty => &self.board[1..],
        }
    }

    /// What would be known of a colour if its differences to the parts of known shade were known exactly: the mean of what
    /// they say, each weighed by how well it is known.
    pub(super) fn beside_known_parts(&self, truth: &Vector3<f64>) -> Option<Component> {
        let inverses: Option<Vec<Matrix3<f64>>> =
            self.known_parts.iter().map(|(zone, _)| zone.lab_cov.try_inverse()).collect();
        let inverses = inverses?;
        let cov = inverses.iter().sum::<Matrix3<f64>>().try_inverse()?;
        let (mut mean, mut drags) = (Vector3::zeros(), Vec::new());
        for (inverse, (zone, known_truth)) in inverses.iter().zip(&self.known_parts) {
            let gain = cov * inverse;
            mean += gain * (zone.lab + truth - known_truth);
            let gain = DMatrix::from_column_slice(3, 3, gain.as_slice());
            drags.extend(zone.shared.map(|error| Drag { error, gain }));
        }
        let mean = DVector::from_column_slice(mean.as_slice());
        Some(Component { weight: 1.0, mean, cov: DMatrix::from_column_slice(3, 3, cov.as_slice()), drags })
    }

    /// The readings that are parts of their own.
    pub(super) fn parts(&self) -> [usize; 4] {
        [0, 2, 3, 4]
    }

    pub(super) fn patches(&self) -> Vec<Patch> {
        self.readings.iter().map(|reading| reading.patch.clone()).collect()
    }
}

/// Where things lie, in half photo widths.
struct Places {
    card: [f64; 2],
    /// Distance of neighbouring patches.
    step: f64,
    /// The readings.
    parts: [[f64; 2]; 5],
    /// The parts of known shade, beside the first reading.
    known: [[f64; 2]; 3],
}

impl Places {
    /// The card fills a fifth to two fifths of the width on one side of the parts, which lie in a group.
    fn drawn(rng: &mut impl Rng) -> Self {
        let step = 0.06 + 0.06 * uniform(rng);
        let side = if uniform(rng) < 0.5 { -1.0 } else { 1.0 };
        let card = [side * (0.35 + 0.2 * uniform(rng)), 0.3 * (uniform(rng) - 0.5)];
        let group = [-side * (0.1 + 0.3 * uniform(rng)), 0.4 * (uniform(rng) - 0.5)];
        let apart = 0.15 + 0.1 * uniform(rng);
        let turn = std::f64::consts::TAU * uniform(rng);
        let away = |from: [f64; 2], by: f64, quarter: f64| {
            let angle = turn + std::f64::consts::FRAC_PI_2 * quarter;
            [from[0] + by * libm::cos(angle), from[1] + by * libm::sin(angle)]
        };
        let [question, otherwise, other] = [0.0, 1.0, 2.0].map(|quarter| away(group, apart, quarter));
        let beside = away(question, 0.06 + 0.06 * uniform(rng), 1.0 + 2.0 * uniform(rng));
        let more = [3.0, 0.5].map(|quarter| away(group, apart, quarter));
        let [dx, dy] = [0, 1].map(|axis| beside[axis] - question[axis]);
        let known = [[dx, dy], [-dx, -dy], [-dy, dx]].map(|[x, y]| [question[0] + x, question[1] + y]);
        Self { card, step, parts: [question, otherwise, other, more[0], more[1]], known }
    }
}

fn card(shot: &Shot, places: &Places, rng: &mut impl Rng) -> Vec<Option<KnownPatch>> {
    let light = shot.lighting().on_card(rng);
    let patches = chart().iter().enumerate().map(|(index, reflectance)| {
        let (row, column) = (index / 6, index % 6);
        let at = [
            places.card[0] + places.step * (column as f64 - 2.5),
            places.card[1] + places.step * (row as f64 - 1.5),
        ];
        let surface = Surface { reflectance, at, spots: &[light; CARD_LOOKS], gloss: 0.0 };
        let area = shot.area(&surface, rng)?;
        let error = Vector3::from(CARD_SD.map(|sd| sd * normal(rng)));
        Some(KnownPatch {
            patch: patch_at(&area, case::Surface::Flat, at),
            lab: column_of(lab_in_d50_of(reflectance)) + error,
            lab_cov: Matrix3::from_diagonal(&Vector3::from(CARD_SD.map(|sd| sd * sd))),
            shared: None,
        })
    });
    patches.collect()
}

fn part_patch(
    shot: &Shot,
    part: &Part,
    (at, laid): ([f64; 2], Laid),
    gloss: f64,
    rng: &mut impl Rng,
) -> Option<(Patch, Area)> {
    let own = part.recipe.reflectance();
    let reflectance = if uniform(rng) < NEIGHBOUR_SHARE { beside_neighbour(&own, rng) } else { own };
    let spots = shot.lighting().on_part(laid, PART_LOOKS, rng);
    let gloss = gloss * (1.0 + GLOSS_APART * (2.0 * uniform(rng) - 1.0));
    let surface = Surface { reflectance: &reflectance, at, spots: &spots, gloss };
    let area = shot.area(&surface, rng)?;
    Some((patch_at(&area, case::Surface::Rounded, at), area))
}

/// Light that a neighbour of any colour throws on the part has that colour and comes back once more.
fn beside_neighbour(own: &Spectrum, rng: &mut impl Rng) -> Spectrum {
    let strength = NEIGHBOUR_MOST * uniform(rng);
    own.zip(&chart()[below(24, rng)], |own, neighbour| own * (1.0 + strength * neighbour))
}

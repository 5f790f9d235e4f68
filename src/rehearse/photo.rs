//! One photo of a scene: where things lie in it, and how it shows them.

use nalgebra::{Matrix3, Vector3};
use rand::Rng;

use super::board::Board;
use super::lighting::Laid;
use super::plastics::{Part, below};
use super::shot::{Shot, Surface};
use crate::case;
use crate::color::column_of;
use crate::light::{KnownPatch, Patch};
use crate::measure::{Marked, patch_at, set_reliefs};
use crate::plastic::Area;
use crate::scene::Spectrum;
use crate::scene::draws::{normal, uniform};
use crate::scene::lab_in_d50_of;
use crate::scene::tables::chart;

/// How well the colour of a card is known: L\*, a\*, b\*.
const CARD_SD: [f64; 3] = [0.5, 0.3, 0.3];
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
/// Another photo is exposed by up to so much more or less, as a logarithm.
const EXPOSURE_MOST: f64 = 0.25;

/// How a part is laid for each of the readings: the second is the first one again, at another angle.
pub(super) const LAID: [Laid; 5] = [Laid::Alike, Laid::Otherwise, Laid::Alike, Laid::Alike, Laid::Alike];

/// One photo as the light model takes it.
#[derive(Debug, Clone)]
pub(super) struct Photo {
    /// All patches of the card; `None` where burnt out.
    pub card: Vec<Option<KnownPatch>>,
    /// The parts of known shade.
    pub known_parts: Vec<Patch>,
    pub readings: [Patch; 5],
    /// The board between the parts, and empty in a photo of its own.
    pub board: [Vec<Patch>; 2],
}

/// A photo being taken: things are laid in it one by one.
#[derive(Debug, Clone)]
pub(super) struct Taken {
    shot: Shot,
    pub places: Places,
    card: Vec<Option<KnownPatch>>,
    gloss: f64,
    known: Vec<(Patch, Area)>,
    read: Vec<(Patch, Area)>,
}

impl Taken {
    pub(super) fn first(shot: Shot, rng: &mut impl Rng) -> Self {
        let places = Places::drawn(rng);
        let card = card(&shot, &places, |_, _| None, rng);
        let gloss = GLOSS.start + (GLOSS.end - GLOSS.start) * uniform(rng);
        Self { shot, places, card, gloss, known: Vec::new(), read: Vec::new() }
    }

    /// The same things in the same light, camera and lamps untouched, but all laid anew, and exposed otherwise.
    pub(super) fn again(&self, rng: &mut impl Rng) -> Self {
        let exposure = libm::exp(EXPOSURE_MOST * (2.0 * uniform(rng) - 1.0));
        let shot = self.shot.exposed(exposure).laid_anew(rng);
        let places = Places::drawn(rng);
        let known = |patch: usize, _: &mut _| self.card[patch].as_ref().map(|known| known.lab);
        let card = card(&shot, &places, known, rng);
        Self { shot, places, card, gloss: self.gloss, known: Vec::new(), read: Vec::new() }
    }

    /// Lays a part of known shade at the next of the places for them; `None` where it comes out burnt out.
    pub(super) fn lay_known(&mut self, part: &Part, rng: &mut impl Rng) -> Option<()> {
        let at = self.places.known[self.known.len() % self.places.known.len()];
        self.known.push(self.shown(part, at, Laid::Alike, rng)?);
        Some(())
    }

    /// Lays a part to be read at the next of the places for them.
    pub(super) fn lay(&mut self, part: &Part, rng: &mut impl Rng) -> Option<()> {
        let number = self.read.len();
        self.read.push(self.shown(part, *self.places.parts.get(number)?, LAID[number], rng)?);
        Some(())
    }

    /// The photo with all that was laid in it, as the one of that number.
    pub(super) fn done(mut self, number: usize, rng: &mut impl Rng) -> Option<Photo> {
        let patches = self.known.iter_mut().chain(&mut self.read).map(|(patch, area)| (patch, &*area));
        set_reliefs(&mut patches.collect::<Vec<_>>(), Marked::ByHand);
        // Last, so that scenes are the same with and without.
        let Board { seen, empty } = Board::drawn(&self.shot, rng);
        let of = |patches: Vec<(Patch, Area)>| patches.into_iter().map(|(patch, _)| patch);
        let mut photo = Photo {
            card: self.card,
            known_parts: of(self.known).collect(),
            readings: of(self.read).collect::<Vec<_>>().try_into().ok()?,
            board: [seen, empty],
        };
        let areas = photo.card.iter_mut().flatten().map(|known| &mut known.patch);
        let areas = areas.chain(&mut photo.known_parts).chain(&mut photo.readings);
        areas.chain(photo.board.iter_mut().flatten()).for_each(|patch| patch.photo = number);
        Some(photo)
    }

    fn shown(&self, part: &Part, at: [f64; 2], laid: Laid, rng: &mut impl Rng) -> Option<(Patch, Area)> {
        let own = part.recipe.reflectance();
        let reflectance = if uniform(rng) < NEIGHBOUR_SHARE { beside_neighbour(&own, rng) } else { own };
        let spots = self.shot.lighting().on_part(laid, PART_LOOKS, rng);
        let gloss = self.gloss * (1.0 + GLOSS_APART * (2.0 * uniform(rng) - 1.0));
        let surface = Surface { reflectance: &reflectance, at, spots: &spots, gloss };
        let area = self.shot.area(&surface, rng)?;
        Some((patch_at(&area, case::Surface::Rounded, at), area))
    }
}

/// Where things lie, in half photo widths.
#[derive(Debug, Clone)]
pub(super) struct Places {
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

/// The card with the colours that are stated of its patches, for one that was not shown before as somebody measured it.
fn card<R: Rng>(
    shot: &Shot,
    places: &Places,
    stated: impl Fn(usize, &mut R) -> Option<Vector3<f64>>,
    rng: &mut R,
) -> Vec<Option<KnownPatch>> {
    let light = shot.lighting().on_card(rng);
    let patches = chart().iter().enumerate().map(|(index, reflectance)| {
        let (row, column) = (index / 6, index % 6);
        let at = [
            places.card[0] + places.step * (column as f64 - 2.5),
            places.card[1] + places.step * (row as f64 - 1.5),
        ];
        let surface = Surface { reflectance, at, spots: &[light; CARD_LOOKS], gloss: 0.0 };
        let area = shot.area(&surface, rng)?;
        let measured = |rng: &mut R| {
            let error = Vector3::from(CARD_SD.map(|sd| sd * normal(rng)));
            column_of(lab_in_d50_of(reflectance)) + error
        };
        Some(KnownPatch {
            patch: patch_at(&area, case::Surface::Flat, at),
            lab: stated(index, rng).unwrap_or_else(|| measured(rng)),
            lab_cov: Matrix3::from_diagonal(&Vector3::from(CARD_SD.map(|sd| sd * sd))),
            shared: None,
        })
    });
    patches.collect()
}

/// Light that a neighbour of any colour throws on the part has that colour and comes back once more.
fn beside_neighbour(own: &Spectrum, rng: &mut impl Rng) -> Spectrum {
    let strength = NEIGHBOUR_MOST * uniform(rng);
    own.zip(&chart()[below(24, rng)], |own, neighbour| own * (1.0 + strength * neighbour))
}

//! A whole invented scene: references, card, parts of known shade and parts to be read, in one photo or several.

use nalgebra::{DMatrix, DVector, Matrix3, Vector3};
use rand::Rng;

use super::board::Boards;
use super::lighting::Lighting;
use super::photo::{Photo, Taken};
use super::plastics::{Family, Part, below, shade_id, specimen_id};
use super::shot::Shot;
use super::{Evenness, Known, KnownPart};
use crate::color::column_of;
use crate::light::{Component, Drag, Given, KnownPatch, Patch};
use crate::scene::draws::uniform;
use crate::shade::{KnownColour, Predictive};

/// Share of parts that are of none of the shades: what is taken for granted of them.
const STRANGERS: f64 = 0.05;
/// Patches of the chart that make the ladder, from white to black, and the single grey step.
const LADDER: std::ops::Range<usize> = 18..24;
const ONE_GREY: std::ops::Range<usize> = 21..22;

/// One scene.
#[derive(Debug, Clone)]
pub(super) struct Scene {
    pub predictive: Predictive,
    /// The parts of known shade: what is known of their colours, and those that they really have.
    known_parts: Vec<(KnownColour, Vector3<f64>)>,
    /// The part in question; the same plastic at another angle; a part of the neighbouring shade; two parts more of any
    /// shade. All but the neighbour may be strangers.
    pub parts: [Part; 5],
    photos: Vec<Photo>,
}

impl Scene {
    /// A scene of this family in so many photos; `None` where the first is unusable (an area burnt out). Of the others those
    /// that are unusable are left out.
    pub(super) fn drawn(
        family: &Family,
        evenness: Evenness,
        photos: usize,
        rng: &mut impl Rng,
    ) -> Option<Self> {
        let (references, specimens) = family.references(rng);
        let predictive = Predictive::from_references(&references).ok()?;
        let mut first = Taken::first(Shot::drawn(Lighting::drawn(evenness, rng), rng), rng);

        let known_shades = match family.known_part {
            KnownPart::OfShade | KnownPart::Specimen => vec![below(family.shades.len(), rng)],
            KnownPart::SpecimenOfEach => (0..family.shades.len()).collect(),
        };
        let (mut known_parts, mut colours) = (Vec::new(), Vec::new());
        for known in known_shades {
            let shade = shade_id(known);
            let (part, colour) = match family.known_part {
                KnownPart::OfShade => (Part::of_shade(family, known, rng), predictive.colour_of(&shade)?),
                KnownPart::Specimen | KnownPart::SpecimenOfEach => {
                    let number = below(specimens[known].len(), rng);
                    let part = Part::new(specimens[known][number], Some(known));
                    (part, predictive.colour_of_specimen(&shade, &specimen_id(known, number))?)
                }
            };
            first.lay_known(&part, rng)?;
            colours.push((colour, column_of(part.lab)));
            known_parts.push(part);
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
        let parts = [question, question, other, any, another];
        parts.iter().try_for_each(|part| first.lay(part, rng))?;
        let done = first.clone().done(0, rng)?;

        let mut scene = Self { predictive, known_parts: colours, parts, photos: vec![done] };
        for number in 1..photos {
            let mut again = first.again(rng);
            let laid = known_parts.iter().try_for_each(|part| again.lay_known(part, rng));
            let laid = laid.and_then(|()| parts.iter().try_for_each(|part| again.lay(part, rng)));
            scene.photos.extend(laid.and_then(|()| again.done(number, rng)));
        }
        Some(scene)
    }

    /// What the first photo knows.
    pub(super) fn known(&self, known: Known) -> Vec<KnownPatch> {
        self.things(known).into_iter().filter_map(|thing| thing.into_iter().next()?).collect()
    }

    /// Known things, each as the photos show it; `None` where one does not.
    fn things(&self, known: Known) -> Vec<Vec<Option<KnownPatch>>> {
        let steps = match known {
            Known::OneGrey => ONE_GREY,
            Known::Ladder | Known::LadderAndPart => LADDER,
            Known::FullChart => 0..24,
            Known::PartOnly | Known::Nothing => 0..0,
        };
        let step = |step: usize| self.photos.iter().map(|photo| photo.card[step].clone()).collect();
        let part = |(number, (colour, _)): (usize, &(KnownColour, Vector3<f64>))| {
            let KnownColour { lab, cov: lab_cov, shared } = *colour;
            let of =
                |photo: &Photo| KnownPatch { patch: photo.known_parts[number].clone(), lab, lab_cov, shared };
            self.photos.iter().map(|photo| Some(of(photo))).collect()
        };
        let parts = if known.has_part() { &self.known_parts[..] } else { &[] };
        steps.map(step).chain(parts.iter().enumerate().map(part)).collect()
    }

    /// What all photos teach.
    pub(super) fn given(&self, known: Known, boards: Boards) -> Given {
        let which = match boards {
            Boards::None => None,
            Boards::Seen => Some(0),
            Boards::Empty => Some(1),
        };
        let alike = self.photos.iter().filter_map(|photo| Some(photo.board[which?].clone()));
        let mut given = Given { alike: alike.collect(), ..Given::default() };
        for thing in self.things(known) {
            let first = given.known.len();
            given.known.extend(thing.into_iter().flatten());
            given.shown_again.push((first..given.known.len()).collect());
        }
        given
    }

    /// What would be known of a colour if its differences to the parts of known shade were known exactly: the mean of what
    /// they say, each weighed by how well it is known.
    pub(super) fn beside_known_parts(&self, truth: &Vector3<f64>) -> Option<Component> {
        let inverses: Option<Vec<Matrix3<f64>>> =
            self.known_parts.iter().map(|(known, _)| known.cov.try_inverse()).collect();
        let inverses = inverses?;
        let cov = inverses.iter().sum::<Matrix3<f64>>().try_inverse()?;
        let (mut mean, mut drags) = (Vector3::zeros(), Vec::new());
        for (inverse, (known, known_truth)) in inverses.iter().zip(&self.known_parts) {
            let gain = cov * inverse;
            mean += gain * (known.lab + truth - known_truth);
            let gain = DMatrix::from_column_slice(3, 3, gain.as_slice());
            drags.extend(known.shared.map(|error| Drag { error, gain }));
        }
        let mean = DVector::from_column_slice(mean.as_slice());
        Some(Component { weight: 1.0, mean, cov: DMatrix::from_column_slice(3, 3, cov.as_slice()), drags })
    }

    /// The readings that are parts of their own.
    pub(super) fn own_parts(&self) -> [usize; 4] {
        [0, 2, 3, 4]
    }

    /// Every reading as the photos show it.
    pub(super) fn patches(&self) -> Vec<Vec<Patch>> {
        let of = |reading: usize| self.photos.iter().map(|photo| photo.readings[reading].clone()).collect();
        (0..self.parts.len()).map(of).collect()
    }

    /// The first photo's area of the part in question.
    pub(super) fn question(&self) -> &Patch {
        &self.photos[0].readings[0]
    }
}

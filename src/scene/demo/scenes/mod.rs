//! What lies on the table in each photo, how it is lit and how it was shot.

mod bench;
mod exchanged;
mod lamp;
mod listing;
mod tables;
pub mod tray;

use super::card;
use super::figure::{Paints, Plastics};
use super::materials::Shelf;
use super::shades::Green;
use crate::scene::camera::{Camera, Noise, Tone};
use crate::scene::family::Hue;
use crate::scene::pigment::{Pigment::*, Recipe};
use crate::scene::render::develop::Shot;
use crate::scene::render::{Lens, MaterialId, Part, Place, Stage};
use crate::scene::spectrum::Spectrum;
use crate::scene::tables::mosaic_camera;

/// Everything behind one photo.
pub struct Scene {
    /// Its name, which is also its file's.
    pub name: &'static str,
    /// The light in words.
    pub light: &'static str,
    /// What lies there.
    pub stage: Stage,
    /// The parts that matter.
    pub subjects: Vec<Subject>,
    /// Material and reflectance of each step of the card, light to dark; empty where no card lies there.
    pub steps: Vec<(MaterialId, Spectrum)>,
    /// The camera.
    pub camera: Camera,
    /// Where it stands.
    pub lens: Lens,
    /// Its settings.
    pub shot: Shot,
    /// Pixels across and down.
    pub size: [usize; 2],
    /// Quality of the JPEG, 1..=100.
    pub quality: u8,
}

/// A part whose colour somebody wants to know.
pub struct Subject {
    /// Index among the stage's parts.
    pub part: usize,
    /// Its name in the photo.
    pub id: String,
    /// Its slot.
    pub slot: &'static str,
    /// Its shade.
    pub green: Green,
    /// What it was moulded from.
    pub recipe: Recipe,
    /// Whether its shade is known beforehand, so that it helps to read the others.
    pub known: bool,
}

/// Names of all photos.
pub const NAMES: [&str; 4] = ["bench", "lamp", "exchanged", "listing"];

/// The scene of a name.
pub fn scene(name: &str) -> Option<Scene> {
    match name {
        "bench" => Some(bench::scene()),
        "lamp" => Some(lamp::scene()),
        "exchanged" => Some(exchanged::scene()),
        "listing" => Some(listing::scene()),
        _ => None,
    }
}

/// 12 megapixels.
const FULL_SIZE: [usize; 2] = [4032, 3024];

/// A table being laid.
struct Setting {
    shelf: Shelf,
    paints: Paints,
    flesh: MaterialId,
    parts: Vec<Part>,
    subjects: Vec<Subject>,
    steps: Vec<(MaterialId, Spectrum)>,
}

impl Setting {
    fn new() -> Self {
        let mut shelf = Shelf::default();
        let paints = Paints {
            cap: shelf.paint(&[(White, 0.05), (Ultramarine, 0.6), (Black, 0.12)]),
            eyes: shelf.paint(&[(Black, 1.0), (White, 0.02)]),
            belt: shelf.paint(&[(White, 0.05), (Umber, 0.8), (Black, 0.15)]),
            brass: shelf.paint(&[(White, 0.3), (OxideYellow, 0.7), (Umber, 0.1)]),
            cuffs: shelf.paint(&[(White, 0.2), (Scarlet, 0.5), (Yellow, 0.3)]),
            boots: shelf.paint(&[(Black, 0.5), (White, 0.1)]),
            badge: shelf.paint(&[(White, 0.9), (OxideYellow, 0.05)]),
        };
        let flesh = shelf.plastic(&Hue::Flesh.recipe());
        Self { shelf, paints, flesh, parts: Vec::new(), subjects: Vec::new(), steps: Vec::new() }
    }

    /// A part moulded in a green; `seed` is its batch.
    fn plastic(&mut self, green: Green, seed: u64) -> (MaterialId, Recipe) {
        let recipe = green.moulded(seed);
        (self.shelf.plastic(&recipe), recipe)
    }

    /// Lays one part down.
    fn lay(&mut self, part: Part, id: &str, slot: &'static str, green: Green, recipe: Recipe) {
        self.subjects.push(Subject {
            part: self.parts.len(),
            id: id.to_owned(),
            slot,
            green,
            recipe,
            known: false,
        });
        self.parts.push(part);
    }

    /// A figure whose six body parts have these greens (torso, waist, arms, legs; left before right).
    fn lay_figure(
        &mut self,
        greens: [Green; 6],
        batch: u64,
        build: impl Fn(&Plastics, &Paints) -> Vec<Part>,
    ) {
        let moulded: Vec<(MaterialId, Recipe)> =
            greens.iter().zip(batch..).map(|(green, seed)| self.plastic(*green, seed)).collect();
        let mut plastics: Plastics = [self.flesh; 7];
        for (slot, (material, _)) in plastics.iter_mut().skip(1).zip(&moulded) {
            *slot = *material;
        }
        let first = self.parts.len();
        self.parts.extend(build(&plastics, &self.paints));
        // The waist is mostly belt: too small to be read, so it is no subject.
        for (n, slot, id) in [
            (0, "torso", "torso"),
            (2, "arm-left", "left arm"),
            (3, "arm-right", "right arm"),
            (4, "leg-left", "left leg"),
            (5, "leg-right", "right leg"),
        ] {
            let (part, green, recipe) = (first + 1 + n, greens[n], moulded[n].1);
            self.subjects.push(Subject { part, id: id.to_owned(), slot, green, recipe, known: false });
        }
    }

    /// A torso of certain shade, which helps to read the others.
    fn lay_own_torso(&mut self, green: Green, batch: u64, place: &Place) {
        let (plastic, recipe) = self.plastic(green, batch);
        let torso = crate::scene::demo::figure::torso(plastic, &self.paints).placed(place);
        self.lay(torso, "my own torso", "torso", green, recipe);
        if let Some(own) = self.subjects.last_mut() {
            own.known = true;
        }
    }

    fn lay_card(&mut self, place: &Place) {
        let laid = card::card(&mut self.shelf, place);
        self.parts.push(laid.part);
        self.steps = laid.steps;
    }
}

/// A telephone's camera: the measured mosaic sensitivities, a little boost, a gentle curve.
fn telephone() -> Camera {
    Camera {
        tone: Tone::GENTLE,
        saturation: 1.08,
        noise: Noise { electrons_at_white: 9000.0, read_electrons: 6.0 },
        flare: 0.006,
        ..Camera::faithful(mosaic_camera())
    }
}

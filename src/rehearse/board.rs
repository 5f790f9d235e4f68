//! A plain board under everything: seen between the parts, or by itself in a second photo of the same lighting.

use rand::Rng;

use super::lighting::HALF_HEIGHT;
use super::plastics::below;
use super::shot::{Shot, Spot, Surface};
use crate::case;
use crate::light::Patch;
use crate::measure::patch_at;
use crate::scene::Spectrum;
use crate::scene::draws::{normal, uniform};
use crate::scene::tables::chart;

/// Which boards teach the light of a scene.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Hash)]
pub enum Boards {
    /// None.
    #[default]
    None,
    /// The board of the photo, where nothing lies on it.
    Seen,
    /// The empty board in a second photo.
    Empty,
}

impl Boards {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::None, Self::Seen, Self::Empty];

    /// Its name in tables.
    pub fn name(self) -> &'static str {
        match self {
            Self::None => "none",
            Self::Seen => "seen",
            Self::Empty => "empty",
        }
    }
}

/// Columns and rows of places, and independent looks at each.
const PLACES: [usize; 2] = [4, 3];
const LOOKS: usize = 100;
/// Places in a photo that parts and card leave free.
const FREE: usize = 8;
/// Standard deviation of the logarithm of how light the board is, from place to place: pulp, dust, a bent corner.
const UNEVENNESS_SD: f64 = 0.01;
/// The second photo is exposed by up to so much more or less, as a logarithm.
const EXPOSURE_MOST: f64 = 0.25;

/// Places of the board in the photo, and in that of the empty board.
#[derive(Debug, Clone)]
pub(super) struct Board {
    pub seen: Vec<Patch>,
    pub empty: Vec<Patch>,
}

impl Board {
    /// A board of any grey, a little tinted.
    pub(super) fn drawn(shot: &Shot, rng: &mut impl Rng) -> Self {
        let grey = Spectrum::flat(0.12 + 0.4 * uniform(rng));
        let board = grey.plus(&chart()[below(24, rng)].scaled(0.1));
        let mut seen = places(shot, &board, rng);
        while seen.len() > FREE {
            seen.swap_remove(below(seen.len(), rng));
        }
        let exposure = libm::exp(EXPOSURE_MOST * (2.0 * uniform(rng) - 1.0));
        Self { seen, empty: places(&shot.exposed(exposure), &board, rng) }
    }
}

fn places(shot: &Shot, board: &Spectrum, rng: &mut impl Rng) -> Vec<Patch> {
    let [columns, rows] = PLACES;
    let cells = (0..rows).flat_map(|row| (0..columns).map(move |column| [column, row]));
    let mut patches = Vec::with_capacity(columns * rows);
    for cell in cells {
        let along = |axis: usize, rng: &mut _| {
            2.0 * (cell[axis] as f64 + 0.3 + 0.4 * uniform(rng)) / PLACES[axis] as f64 - 1.0
        };
        let at = [along(0, rng), HALF_HEIGHT * along(1, rng)];
        let light = libm::exp(UNEVENNESS_SD * normal(rng));
        let spot = Spot { place: [0.0; 2], lights: [light; 2] };
        let surface = Surface { reflectance: board, at, spots: &[spot; LOOKS], gloss: 0.0 };
        if let Some(area) = shot.area(&surface, rng) {
            patches.push(patch_at(&area, case::Surface::Flat, at));
        }
    }
    patches
}

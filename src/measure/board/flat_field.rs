//! The photo of the empty board.

use super::seen::BoardSeen;
use super::{FEWEST_PLACES, read_places, rest_warning, too_few, with_rest};
use crate::light::Patch;
use crate::measure::{AreaCache, Warning};
use crate::problem::Problem;
use crate::raster::{PhotoFacts, Raster};

/// An empty board is at least this share of its photo.
const EMPTY_SHARE: f64 = 0.85;

/// The empty board, as its photo shows it.
#[derive(Debug, Clone, PartialEq)]
pub struct FlatField {
    pub(super) places: Vec<Patch>,
    /// What slope and curve of the light leave, see `with_rest`.
    rest: f64,
    size: [u32; 2],
    camera: Option<String>,
    exposure: Option<String>,
    white_balance_automatic: Option<bool>,
}

impl FlatField {
    /// Reads a photo of the empty board.
    ///
    /// # Errors
    /// Where it is burnt out, or shows anything but a plain board.
    pub fn of(raster: &Raster, facts: &PhotoFacts) -> Result<Self, Problem> {
        let seen = BoardSeen::of(raster, None);
        if seen.share < EMPTY_SHARE {
            return Err(Problem::new(
                format!(
                    "The photo of the empty board is not even: only {:.0} % of it is one plain surface.",
                    100.0 * seen.share
                ),
                "Take everything off the board, let it fill the picture, and photograph it without moving camera or lamps.",
            ));
        }
        let mut cache = AreaCache::default();
        let mut read = read_places(raster, facts, &seen.places(&[]), &mut cache);
        if read.burnt_out > 0 {
            return Err(Problem::new(
                "The photo of the empty board is burnt out or black in places.",
                "Photograph the empty board darker if it is white in the photo, brighter if it is black.",
            ));
        }
        if read.places.len() < FEWEST_PLACES {
            return Err(too_few("the photo of the empty board", read.places.len()));
        }
        let rest = with_rest(&mut read.places);
        Ok(Self {
            places: read.places,
            rest,
            size: [raster.width(), raster.height()],
            camera: facts.camera.clone(),
            exposure: facts.exposure.clone(),
            white_balance_automatic: facts.white_balance_automatic,
        })
    }

    /// Why it cannot stand for the light of this photo.
    pub(super) fn unfit_for(&self, raster: &Raster, facts: &PhotoFacts) -> Option<Problem> {
        let size = [raster.width(), raster.height()];
        if self.size != size {
            return Some(Problem::new(
                format!(
                    "The photo of the empty board has {} by {} pixels, this one {} by {}.",
                    self.size[0], self.size[1], size[0], size[1]
                ),
                "Take both with the same camera held the same way, and crop neither.",
            ));
        }
        match (&self.camera, &facts.camera) {
            (Some(of_field), Some(of_photo)) if of_field != of_photo => Some(Problem::new(
                format!(
                    "The photo of the empty board is from another camera ({of_field}) than this one ({of_photo})."
                ),
                "Take both with one camera that stays where it is.",
            )),
            _ => None,
        }
    }

    /// What weakens it beside this photo.
    pub(super) fn warnings(&self, facts: &PhotoFacts) -> Vec<Warning> {
        let mut warnings: Vec<Warning> = rest_warning(self.rest, "in its own photo").into_iter().collect();
        let mut warn = |code: &str, text: String, remedy: &str| {
            warnings.push(Warning { code: code.to_owned(), text, remedy: remedy.to_owned() });
        };
        match (&self.exposure, &facts.exposure) {
            (Some(of_field), Some(of_photo)) if of_field != of_photo => warn(
                "flat-field-exposure",
                format!(
                    "The photo of the empty board was exposed otherwise ({of_field}) than this one ({of_photo}): only how \
                     the light falls off was taken from it, as if aperture and curve were the same."
                ),
                "Set exposure and aperture by hand and take both photos with them.",
            ),
            _ => {}
        }
        if self.white_balance_automatic == Some(true)
            || self.white_balance_automatic != facts.white_balance_automatic
        {
            warn(
                "flat-field-white-balance",
                "The camera may have chosen another white balance for the photo of the empty board."
                    .to_owned(),
                "Set the white balance by hand and take both photos with it.",
            );
        }
        warnings
    }
}

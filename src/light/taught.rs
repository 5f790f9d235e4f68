//! What a photo teaches the model with: areas of known colour, and areas of one colour that nobody knows.
//!
//! A plain board says nothing of what colours are, but all places of it have the same: where it looks lighter or warmer
//! the light is. Each place is a known area whose Lab is the colour of the board, of which next to nothing is known
//! before ([`BOARD_SD`]) and which all places share, and a little of its own ([`PLACE_SDS`]). What is left after the
//! common colour is taken out teaches slopes and curve of the light, against the noise that every area has. Another
//! photo of the same board is another surface: its own colour takes in whatever exposure and white balance were then.

use std::collections::BTreeSet;

use nalgebra::{DMatrix, DVector, Matrix3, Vector3};

use super::areas::Areas;
use super::{Given, KnownPatch, SharedError};

/// Standard deviation of the colour of a board in each of L\*, a\* and b\*: none is further from mid grey.
const BOARD_SD: f64 = 100.0;
/// How the places of one board differ, in L\*, a\* and b\*: as the steps of a card that was measured once.
const PLACE_SDS: [f64; 3] = [0.5, 0.3, 0.3];

/// Known colours of less chroma are greys, a printer's tinted ones among them.
const GREY_CHROMA: f64 = 10.0;

/// Everything that teaches, in the order in which it is weighed: places of boards, greys, all others.
#[derive(Debug, Clone)]
pub(super) struct Taught {
    /// All areas; those of a board with the middle of what is thought of its colour.
    pub areas: Vec<KnownPatch>,
    /// What each shows; areas of one number show one thing in several photos.
    things: Vec<usize>,
    /// Covariance of the Lab of all areas.
    pub lab_cov: DMatrix<f64>,
    /// Number of places of boards.
    pub alike: usize,
    /// Number of greys.
    pub greys: usize,
}

impl Taught {
    pub(super) fn of(given: &Given) -> Self {
        let places = given.alike.iter().enumerate().flat_map(|(board, patches)| {
            let cov = Matrix3::identity() * (BOARD_SD * BOARD_SD);
            // Counted from the end: shades are counted from the beginning.
            let colour = SharedError { group: usize::MAX - board, cov };
            let own = Matrix3::from_diagonal(&Vector3::from(PLACE_SDS).map(|sd| sd * sd));
            patches.iter().map(move |patch| KnownPatch {
                patch: patch.clone(),
                lab: Vector3::new(50.0, 0.0, 0.0),
                lab_cov: cov + own,
                shared: Some(colour),
            })
        });
        let (greys, others): (Vec<usize>, Vec<usize>) =
            (0..given.known.len()).partition(|zone| is_grey(&given.known[*zone]));
        let (alike, greys_count) = (given.alike.iter().map(Vec::len).sum(), greys.len());
        let order: Vec<usize> = greys.into_iter().chain(others).collect();
        let first_shown = |zone: &usize| {
            given
                .shown_again
                .iter()
                .find(|thing| thing.contains(zone))
                .and_then(|thing| thing.first().copied())
        };
        let thing_of = |zone: &usize| alike + first_shown(zone).unwrap_or(*zone);
        let things: Vec<usize> = (0..alike).chain(order.iter().map(thing_of)).collect();
        let known = order.iter().map(|zone| given.known[*zone].clone());
        let areas: Vec<KnownPatch> = places.chain(known).collect();
        let lab_cov = stated_cov(&areas, &things);
        Self { areas, things, lab_cov, alike, greys: greys_count }
    }

    /// Of the greys and of all others, what share they would be if each thing were shown once.
    pub(super) fn shown_once(&self) -> [f64; 2] {
        let (greys, others) = self.things[self.alike..].split_at(self.greys);
        [greys, others].map(|things| {
            let distinct: BTreeSet<&usize> = things.iter().collect();
            distinct.len() as f64 / things.len().max(1) as f64
        })
    }

    pub(super) fn len(&self) -> usize {
        self.areas.len()
    }

    /// Those whose colour is known.
    pub(super) fn coloured(&self) -> &[KnownPatch] {
        &self.areas[self.alike..]
    }

    /// Lab of all areas, three entries each.
    pub(super) fn target(&self) -> DVector<f64> {
        DVector::from_iterator(3 * self.len(), self.areas.iter().flat_map(|area| area.lab.data.0[0]))
    }

    /// Middle of a photo's areas of known colour, from which its slopes are measured; its centre where there are none.
    pub(super) fn middle(&self, photo: usize) -> [f64; 2] {
        middle_of(self.coloured(), photo)
    }

    /// Adds the covariance of the areas that no common scale scales: of their own Lab, and of relief.
    pub(super) fn add_unscaled(&self, cov: &mut DMatrix<f64>, areas: &Areas) {
        *cov += &self.lab_cov;
        areas.add_relief(cov, 0..self.len(), 0..self.len());
    }
}

/// Middle of the areas of a photo; its centre where there are none.
pub(super) fn middle_of(known: &[KnownPatch], photo: usize) -> [f64; 2] {
    let there = || known.iter().filter(|zone| zone.patch.photo == photo);
    let n = there().count().max(1) as f64;
    [0, 1].map(|axis| there().map(|zone| zone.patch.at[axis]).sum::<f64>() / n)
}

/// Covariance of the stated colours of known areas. One thing is as far from what is stated of it wherever it is shown.
fn stated_cov(known: &[KnownPatch], things: &[usize]) -> DMatrix<f64> {
    let mut cov = DMatrix::zeros(3 * known.len(), 3 * known.len());
    for (i, zone) in known.iter().enumerate() {
        for (j, other) in known.iter().enumerate().filter(|(j, _)| things[*j] == things[i]) {
            let of_both = if other.lab_cov.trace() < zone.lab_cov.trace() { other } else { zone };
            cov.fixed_view_mut::<3, 3>(3 * i, 3 * j).copy_from(&of_both.lab_cov);
        }
        let Some(error) = zone.shared else { continue };
        let others = known.iter().enumerate().filter(|(j, _)| things[*j] != things[i]);
        let others =
            others.filter_map(|(j, other)| Some((j, other.shared.filter(|o| o.group == error.group)?)));
        for (j, other) in others {
            let mut block = cov.fixed_view_mut::<3, 3>(3 * i, 3 * j);
            block += error.common_with(other).cov;
        }
    }
    cov
}

/// Whether a known area is a grey step of a card, rather than a coloured one or a part.
fn is_grey(zone: &KnownPatch) -> bool {
    zone.patch.relief.is_none() && libm::hypot(zone.lab[1], zone.lab[2]) < GREY_CHROMA
}

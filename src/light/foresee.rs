//! What a better photo would give: the model asked about areas that are not there yet.
//!
//! An invented area is put where it would lie, with the coded values that the light as fitted would give it, and the fit is
//! done again with it. As its residual is zero under the likeliest coding, the readings hardly move and their covariance
//! shrinks to what the next photo can be expected to leave; codings that would have shown the area otherwise lose weight, as
//! they will if the photo comes out as expected.

use nalgebra::{Matrix3, Vector3};

use super::constants::Constants;
use super::forward::{Theta, channels, forward, veiled};
use super::linearise::place;
use super::solve::{Light, fit_given};
use super::taught::middle_of;
use super::{Given, KnownPatch, Patch, Relief};

/// A step that a person can take.
#[derive(Debug, Clone, PartialEq)]
pub enum Step {
    /// A ladder of greys right beside the readings.
    Ladder,
    /// Parts of certain shade right beside the readings.
    KnownParts(Vec<KnownPart>),
    /// A plain board under everything, seen between the parts.
    Board,
    /// Another photo of all that is marked, laid anew.
    AnotherPhoto,
}

/// A part to be laid there.
#[derive(Debug, Clone, PartialEq)]
pub struct KnownPart {
    /// Its Lab D50.
    pub lab: Vector3<f64>,
    /// How well that is known.
    pub lab_cov: Matrix3<f64>,
    /// Its surface, as [`Patch::relief`].
    pub relief: Option<Relief>,
}

/// L\* of the steps of a usual printed ladder.
const LADDER: [f64; 6] = [20.0, 35.0, 50.0, 60.0, 75.0, 90.0];
/// Standard deviations of a card's steps that were measured once.
const LADDER_SDS: [f64; 3] = [0.5, 0.3, 0.3];
/// Lab of a plain board, and how many of its places are seen, across and down.
const BOARD: [f64; 3] = [50.0, 0.0, 0.0];
const BOARD_PLACES: [usize; 2] = [5, 4];

/// Covariance of each reading's Lab as it would be known after a step in the first photo. `light` is that of `given` and
/// `readings`.
/// `None` where there is nothing to read or the model cannot be solved.
pub fn foresee(
    step: &Step,
    given: &Given,
    readings: &[Vec<Patch>],
    light: &Light,
    constants: &Constants,
) -> Option<Vec<Matrix3<f64>>> {
    let (given, shown) = with_step(step, given, readings, light)?;
    let then = fit_given(&given, &shown, constants)?;
    Some((0..readings.len()).map(|index| then.reading(index).1).collect())
}

/// What teaches and what is read, with what the step adds to the first photo: known areas right beside the readings, a board
/// around everything; or all of it in one photo more.
fn with_step(
    step: &Step,
    given: &Given,
    readings: &[Vec<Patch>],
    light: &Light,
) -> Option<(Given, Vec<Vec<Patch>>)> {
    let there = || readings.iter().flatten().filter(|patch| patch.photo == 0);
    let beside = middle(there())?;
    let patch = |lab: &Vector3<f64>, at: [f64; 2], relief| {
        let coded = coded_of(lab, place(at, middle_of(&given.known, 0)), &veiled(&light.theta, relief))?;
        Some(Patch { coded, coded_cov: Matrix3::zeros(), at, relief, photo: 0 })
    };
    let beside = |lab: Vector3<f64>, lab_cov, relief| {
        Some(KnownPatch { patch: patch(&lab, beside, relief)?, lab, lab_cov, shared: None })
    };
    let mut then = given.clone();
    match step {
        Step::AnotherPhoto => return Some(shown_again(given, readings)),
        Step::Ladder => {
            let cov = Matrix3::from_diagonal(&Vector3::from(LADDER_SDS).map(|sd| sd * sd));
            then.known.extend(LADDER.iter().filter_map(|l| beside(Vector3::new(*l, 0.0, 0.0), cov, None)));
        }
        Step::KnownParts(parts) => {
            for part in parts {
                then.known.push(beside(part.lab, part.lab_cov, part.relief)?);
            }
        }
        Step::Board => {
            let colour = Vector3::from(BOARD);
            let known = given.known.iter().map(|zone| &zone.patch).filter(|patch| patch.photo == 0);
            let places = places_of_a_board(&known.chain(there()).collect::<Vec<_>>());
            then.alike.push(places.iter().filter_map(|at| patch(&colour, *at, None)).collect());
        }
    }
    Some((then, readings.to_vec()))
}

/// What the first photo shows, shown by one more.
fn shown_again(given: &Given, readings: &[Vec<Patch>]) -> (Given, Vec<Vec<Patch>>) {
    let known = given.known.iter().map(|zone| zone.patch.photo);
    let photo = 1 + known.chain(readings.iter().flatten().map(|patch| patch.photo)).max().unwrap_or(0);
    let again = |patch: &Patch| (patch.photo == 0).then(|| Patch { photo, ..patch.clone() });
    let mut then = given.clone();
    for (number, zone) in given.known.iter().enumerate() {
        let Some(patch) = again(&zone.patch) else { continue };
        let place = then.known.len();
        then.known.push(KnownPatch { patch, ..zone.clone() });
        match then.shown_again.iter_mut().find(|thing| thing.contains(&number)) {
            Some(thing) => thing.push(place),
            None => then.shown_again.push(vec![number, place]),
        }
    }
    then.alike.extend(given.alike.iter().map(|board| board.iter().filter_map(again).collect::<Vec<_>>()));
    then.alike.retain(|board| !board.is_empty());
    let with_another =
        |shown: &Vec<Patch>| shown.iter().cloned().chain(shown.iter().filter_map(again)).collect();
    (then, readings.iter().map(with_another).collect())
}

/// Places of a board, evenly over all that is marked.
fn places_of_a_board(marked: &[&Patch]) -> Vec<[f64; 2]> {
    let [columns, rows] = BOARD_PLACES;
    let along = |axis: usize, number: usize, of: usize| {
        let least = marked.iter().map(|patch| patch.at[axis]).fold(f64::INFINITY, f64::min);
        let most = marked.iter().map(|patch| patch.at[axis]).fold(f64::NEG_INFINITY, f64::max);
        least + (most - least) * number as f64 / (of - 1) as f64
    };
    let place = |n: usize| [along(0, n % columns, columns), along(1, n / columns, rows)];
    (0..columns * rows).map(place).collect()
}

/// Middle of the readings; none without readings.
fn middle<'a>(readings: impl Iterator<Item = &'a Patch> + Clone) -> Option<[f64; 2]> {
    let n = readings.clone().count() as f64;
    (n > 0.0).then(|| [0, 1].map(|axis| readings.clone().map(|patch| patch.at[axis]).sum::<f64>() / n))
}

/// Coded values that the fitted light gives a colour: Newton's method from mid scale. `None` for a colour
/// that the photo could not have coded.
fn coded_of(lab: &Vector3<f64>, at: [f64; 2], theta: &Theta) -> Option<Vector3<f64>> {
    let mut coded = Vector3::repeat(0.5);
    for _ in 0..40 {
        let here = forward(theta, &channels(&coded), at);
        let step = here.by_coded.try_inverse()? * (lab - here.lab);
        // Half of full scale at most: the curve is far from straight.
        coded += step * (0.2 / step.amax().max(1e-12)).min(1.0);
        coded.apply(|c| *c = c.clamp(0.003, 1.2));
        if step.amax() < 1e-6 {
            break;
        }
    }
    let miss = (forward(theta, &channels(&coded), at).lab - lab).norm();
    (miss < 0.5 && coded.max() < 0.98).then_some(coded)
}

#[cfg(test)]
mod tests {
    use super::super::forward::linear_of_lab;
    use super::*;
    use crate::color::{srgb_decode, srgb_encode};

    /// What a plain camera under even light makes of a colour.
    fn patch(lab: [f64; 3], at: [f64; 2]) -> Patch {
        let coded = linear_of_lab(&Vector3::from(lab)).map(srgb_encode);
        Patch { coded, coded_cov: Matrix3::zeros(), at, relief: None, photo: 0 }
    }

    /// A ladder on the left.
    fn ladder() -> Vec<KnownPatch> {
        let cov = Matrix3::from_diagonal(&Vector3::from(LADDER_SDS).map(|sd| sd * sd));
        let step = |(n, l): (usize, f64)| {
            let (lab, at) = ([l, 0.0, 0.0], [-0.7, 0.1 * n as f64 - 0.25]);
            KnownPatch { patch: patch(lab, at), lab: lab.into(), lab_cov: cov, shared: None }
        };
        LADDER.into_iter().enumerate().map(step).collect()
    }

    /// Readings far to the right of it.
    fn readings() -> Vec<Vec<Patch>> {
        [0.5, 0.6, 0.7].map(|x| vec![patch([50.0, -15.0, 8.0], [x, 0.1])]).into()
    }

    /// Bars as foreseen, and as they are once the step is taken, agree to a tenth where all is as the light had it.
    fn agree(step: &Step, given: &Given) -> f64 {
        let (known, readings, constants) = (ladder(), readings(), Constants::learned());
        let now = Given { known, ..Given::default() };
        let before = fit_given(&now, &readings, constants).unwrap();
        let foreseen = foresee(step, &now, &readings, &before, constants).unwrap();
        let after = fit_given(given, &readings, constants).unwrap();
        for (index, cov) in foreseen.iter().enumerate() {
            let (sd_foreseen, sd_after) = (cov.trace().sqrt(), after.reading(index).1.trace().sqrt());
            println!("{step:?}: foreseen {sd_foreseen:.2}, then {sd_after:.2}");
            assert!((sd_foreseen / sd_after - 1.0).abs() < 0.1, "{step:?}: {sd_foreseen}, {sd_after}");
        }
        foreseen[1].trace().sqrt() / before.reading(1).1.trace().sqrt()
    }

    #[test]
    fn a_board_gives_what_was_foreseen() {
        let known = ladder();
        let readings = readings();
        let marked: Vec<&Patch> =
            known.iter().map(|zone| &zone.patch).chain(readings.iter().flatten()).collect();
        let places = places_of_a_board(&marked);
        assert_eq!(places.len(), 20);
        let board = vec![places.into_iter().map(|at| patch(BOARD, at)).collect()];
        let shorter = agree(&Step::Board, &Given { known, alike: board, ..Given::default() });
        assert!(shorter < 0.95, "{shorter}");
    }

    #[test]
    fn another_photo_gives_what_was_foreseen() {
        let (known, constants) = (ladder(), Constants::learned());
        let given = Given { known, ..Given::default() };
        let relief = Relief { gloss_sd: 0.004, ..Relief::default() };
        let part = |patch: &Patch| Patch { relief: Some(relief), ..patch.clone() };
        let readings: Vec<Vec<Patch>> = readings().iter().map(|shown| vec![part(&shown[0])]).collect();
        let before = fit_given(&given, &readings, constants).unwrap();
        let foreseen = foresee(&Step::AnotherPhoto, &given, &readings, &before, constants).unwrap();
        // The same things at other places, half a stop darker.
        let (mut then, mut shown) = shown_again(&given, &readings);
        let later = then.known.iter_mut().map(|zone| &mut zone.patch).chain(shown.iter_mut().flatten());
        for patch in later.filter(|patch| patch.photo == 1) {
            patch.coded.apply(|code| *code = srgb_encode(srgb_decode(*code) * 0.7));
            patch.at = patch.at.map(|along| -along);
        }
        let after = fit_given(&then, &shown, constants).unwrap();
        for (index, cov) in foreseen.iter().enumerate() {
            let [now, foreseen, then] =
                [before.reading(index).1, *cov, after.reading(index).1].map(|cov| cov.trace().sqrt());
            assert!((foreseen / then - 1.0).abs() < 0.1 && foreseen < now, "{now}, {foreseen}, {then}");
        }
    }

    #[test]
    fn parts_of_certain_shade_give_what_was_foreseen() {
        let parts = [[55.0, -16.0, 8.0], [45.0, -15.0, 8.0]];
        let cov = Matrix3::identity() * 0.2;
        let part = |lab: [f64; 3]| KnownPart { lab: lab.into(), lab_cov: cov, relief: None };
        let mut known = ladder();
        known.extend(parts.map(|lab| {
            let patch = patch(lab, [0.6, 0.1]);
            KnownPatch { patch, lab: lab.into(), lab_cov: cov, shared: None }
        }));
        let step = Step::KnownParts(parts.map(part).into());
        let shorter = agree(&step, &Given { known, ..Given::default() });
        assert!(shorter < 0.6, "{shorter}");
    }
}

//! Limbs assigned to bodies so that the joint probability is greatest.
//!
//! The assignment problem, solved by the Hungarian method (Kuhn 1955, Munkres 1957) of the `pathfinding` crate. What a
//! limb gains over staying without a body is weighed as the logarithm of odds.

use pathfinding::kuhn_munkres::kuhn_munkres;
use pathfinding::matrix::Matrix;

/// Where a limb goes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Assigned {
    /// Index of the place, or none.
    pub place: Option<usize>,
    /// How much more probable the best joint assignment is than the best one in which this limb goes elsewhere.
    pub odds: f64,
    /// Where it would go instead.
    pub instead: Option<usize>,
}

/// Logarithms are rounded to so many parts of one.
const SCALE: f64 = 1e6;
/// Probabilities are kept at least so far from 0 and 1.
const LEAST: f64 = 1e-12;

/// Assigns limbs to places (a slot of a body, such as the left arm of the torso in case 3), each place to at most one
/// limb. `probability[limb][place]` is how probable it is that the limb belongs there, 0 where it cannot fit;
/// `unmatched` that a limb belongs to no body at hand, in 0..1.
pub fn assign(probability: &[Vec<f64>], unmatched: f64) -> Vec<Assigned> {
    let places = probability.first().map_or(0, Vec::len);
    assign_to_bodies(probability, &(0..places).collect::<Vec<_>>(), unmatched)
}

/// The same where places of one body are alike for a limb whose side is not known: `body[place]` says which body a place
/// is of, and the odds are those against every other body.
pub fn assign_to_bodies(probability: &[Vec<f64>], body: &[usize], unmatched: f64) -> Vec<Assigned> {
    if probability.is_empty() {
        return Vec::new();
    }
    let best = solve(probability, body, unmatched, None);
    (0..probability.len())
        .map(|limb| {
            let to = best.1[limb].and_then(|place| body.get(place).copied());
            let other = solve(probability, body, unmatched, Some((limb, to)));
            let odds = libm::exp((best.0 - other.0) as f64 / SCALE);
            Assigned { place: best.1[limb], odds, instead: other.1[limb] }
        })
        .collect()
}

/// The greatest sum of logarithms and each limb's place; for one limb a body, or staying without one, may be forbidden.
fn solve(
    probability: &[Vec<f64>],
    body: &[usize],
    unmatched: f64,
    forbidden: Option<(usize, Option<usize>)>,
) -> (i64, Vec<Option<usize>>) {
    let (limbs, places) = (probability.len(), body.len());
    const NEVER: i64 = -1_000_000_000_000;
    let log = |p: f64| (libm::log(p.clamp(LEAST, 1.0)) * SCALE).round() as i64;
    // Beside the places each limb has a column of its own for staying without one.
    let weight = |limb: usize, column: usize| {
        let to = body.get(column).copied();
        if forbidden == Some((limb, to)) && (to.is_some() || column == places + limb) {
            return NEVER;
        }
        match to {
            Some(_) => match probability[limb].get(column).copied().unwrap_or(0.0) {
                p if p > 0.0 => log(p),
                _ => NEVER,
            },
            None if column == places + limb => log(unmatched),
            None => NEVER,
        }
    };
    let weights = Matrix::from_fn(limbs, places + limbs, |(limb, column)| weight(limb, column));
    let (_, columns) = kuhn_munkres(&weights);
    let sum = columns.iter().enumerate().map(|(limb, column)| weight(limb, *column)).sum();
    (sum, columns.into_iter().map(|column| (column < places).then_some(column)).collect())
}

#[cfg(test)]
mod tests {
    use rand::{RngExt, SeedableRng};
    use rand_xoshiro::Xoshiro256PlusPlus;

    use super::*;

    /// The greatest joint probability over all assignments, one after another.
    fn brute(probability: &[Vec<f64>], unmatched: f64, limb: usize, taken: &mut Vec<bool>) -> f64 {
        if limb == probability.len() {
            return 1.0;
        }
        let mut best = unmatched * brute(probability, unmatched, limb + 1, taken);
        for place in 0..taken.len() {
            if !taken[place] && probability[limb][place] > 0.0 {
                taken[place] = true;
                let rest = brute(probability, unmatched, limb + 1, taken);
                best = best.max(probability[limb][place] * rest);
                taken[place] = false;
            }
        }
        best
    }

    fn value(probability: &[Vec<f64>], unmatched: f64, assigned: &[Assigned]) -> f64 {
        let of =
            |(limb, to): (usize, &Assigned)| to.place.map_or(unmatched, |place| probability[limb][place]);
        assigned.iter().enumerate().map(of).product()
    }

    #[test]
    fn the_assignment_equals_brute_force() {
        let mut rng = Xoshiro256PlusPlus::seed_from_u64(3);
        for _ in 0..200 {
            let limbs = 1 + (rng.random::<f64>() * 5.0) as usize;
            let places = (rng.random::<f64>() * 5.0) as usize;
            let cell = |rng: &mut Xoshiro256PlusPlus| {
                let p = rng.random::<f64>();
                if p < 0.25 { 0.0 } else { p * p }
            };
            let probability: Vec<Vec<f64>> =
                (0..limbs).map(|_| (0..places).map(|_| cell(&mut rng)).collect()).collect();
            let unmatched = 0.02 + 0.3 * rng.random::<f64>();
            let assigned = assign(&probability, unmatched);
            let truth = brute(&probability, unmatched, 0, &mut vec![false; places]);
            let own = value(&probability, unmatched, &assigned);
            assert!((own / truth - 1.0).abs() < 1e-4, "{own} {truth} {probability:?}");
            let mut taken: Vec<usize> = assigned.iter().filter_map(|to| to.place).collect();
            let all = taken.len();
            taken.sort_unstable();
            taken.dedup();
            assert_eq!(taken.len(), all, "a place was given twice");
        }
    }

    #[test]
    fn odds_say_how_doubtful_a_place_is() {
        // Two limbs, two places: as given 0.9 · 0.8, exchanged 0.1 · 0.2; one left out 0.9 · 0.05.
        let assigned = assign(&[vec![0.9, 0.1], vec![0.2, 0.8]], 0.05);
        assert_eq!((assigned[0].place, assigned[1].place), (Some(0), Some(1)));
        assert!((assigned[0].odds - 0.72 / 0.04).abs() < 1e-3, "{assigned:?}");
        assert!((assigned[1].odds - 0.72 / 0.045).abs() < 1e-3, "{assigned:?}");
        // Two places of one body are no doubt; a body as good is.
        let sides = assign_to_bodies(&[vec![0.9, 0.9, 0.1]], &[0, 0, 1], 0.05);
        assert!(sides[0].place < Some(2) && (sides[0].odds - 9.0).abs() < 1e-3, "{sides:?}");
        let alike = assign_to_bodies(&[vec![0.9, 0.9, 0.9]], &[0, 0, 1], 0.05);
        assert!((alike[0].odds - 1.0).abs() < 1e-3, "{alike:?}");
        assert!(assign(&[], 0.1).is_empty());
        let alone = assign(&[vec![]], 0.1);
        assert_eq!(alone[0].place, None);
    }
}

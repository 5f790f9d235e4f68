//! Spots of several parts that touch, taken apart where shape, shade or the dark seam between them allows.
//!
//! | topic | what it knows |
//! |---|---|
//! | `labels` | pieces as labels of pixels: grown from seeds, joined, measured |
//! | `plastics` | two plastics in one spot |
//! | `seams` | the dark line between two parts side by side |
//! | `halves` | a piece too wide for one part, taken in two |
//! | `notches` | straight cuts between two notches of the outline |

mod halves;
mod labels;
mod notches;
mod plastics;
mod seams;

pub(super) use halves::halves;
pub(super) use notches::{Ends, Outline, area_of, filled, notch_cuts, notch_halves};

use self::labels::{contacts, grown, seeds_at, solidity, without_crumbs};
use self::plastics::plastics;
use self::seams::along_seams;
use super::mask::{Size, depth};

/// What is known of each pixel of a spot: how light it is and how it is tinted against the board, as differences of
/// logarithms.
pub(in crate::tray) struct Looks<'a> {
    pub light: &'a [f32],
    pub tint: &'a [[f32; 2]],
}

/// The pieces of a spot.
pub(in crate::tray) struct Pieces {
    /// For each pixel of the picture cut out, its piece from 1 on; 0 outside.
    pub label: Vec<u8>,
    /// How many there are.
    pub count: usize,
    /// Whether a neck that is too wide to cut hints at more.
    pub maybe_more: bool,
}

/// Seeds are what is at least so deep, as a share of the greatest depth in the spot: two parts that touch are joined
/// by less than half of their width, while no limb thins so much between its ends.
const SEED_SHARE: f32 = 0.52;
/// Cores parted by a neck wider than that but narrower than this are one limb or several, as their outline says.
const DOUBT_SHARE: f32 = 0.74;
/// A bent arm or a leg with its foot fills so much of its convex hull, and two limbs that touch at a slant do not.
const ONE_LIMB_SOLIDITY: f64 = 0.68;
/// A part that fills less of its hull than this may be several.
const DOUBTFUL_SOLIDITY: f64 = 0.66;

/// Takes a spot apart. `least_px` is the area of the smallest part.
pub(in crate::tray) fn pieces(inside: &[bool], looks: &Looks, size: Size, least_px: f64) -> Pieces {
    let masks = plastics(inside, looks, size);
    let depths: Vec<Vec<f32>> = masks.iter().map(|mask| depth(mask, size)).collect();
    let deepest = depths.iter().flatten().copied().fold(0.0, f32::max);
    let mut seeds = seeds_at(&depths, deepest * SEED_SHARE, size, least_px);
    let more = seeds_at(&depths, deepest * DOUBT_SHARE, size, least_px);
    if seeds.len() < 2 && masks.len() == 1 {
        seeds = more;
    }
    let (label, count) = grown(inside, &seeds, size);
    let (label, count) = if masks.len() == 1 { bulges_joined(label, count, size) } else { (label, count) };
    let (label, count) = without_crumbs(label, count, size, least_px);
    let (label, count) = along_seams(label, count, looks, size, least_px);
    let maybe_more = (1..=count).any(|piece| solidity(&label, &[piece], size) < DOUBTFUL_SOLIDITY);
    Pieces { label, count, maybe_more }
}

/// Joins cores that make one limb together: the pair whose union is fullest first, as long as it fills its hull as well
/// as a bent limb does.
fn bulges_joined(mut label: Vec<u8>, mut count: usize, size: Size) -> (Vec<u8>, usize) {
    while count > 1 {
        let contact = contacts(&label, count, size);
        let mut best: Option<(f64, usize, usize)> = None;
        for a in 1..=count {
            for b in (a + 1..=count).filter(|b| contact[a * (count + 1) + b] > 0) {
                let union = solidity(&label, &[a, b], size);
                if best.is_none_or(|best| union > best.0) {
                    best = Some((union, a, b));
                }
            }
        }
        let Some((_, a, b)) = best.filter(|best| best.0 >= ONE_LIMB_SOLIDITY) else { break };
        for l in &mut label {
            if usize::from(*l) == b {
                *l = a as u8;
            } else if usize::from(*l) > b {
                *l -= 1;
            }
        }
        count -= 1;
    }
    (label, count)
}

#[cfg(test)]
mod tests {
    use super::*;

    const SIZE: Size = Size { width: 120, height: 60 };

    fn painted(shapes: &[([f64; 2], [f64; 2], f64)]) -> Vec<bool> {
        (0..SIZE.pixels())
            .map(|i| {
                let p = SIZE.centre(i);
                shapes.iter().any(|(a, b, radius)| {
                    let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
                    let t = ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / (dx * dx + dy * dy).max(1e-9);
                    let t = t.clamp(0.0, 1.0);
                    (p[0] - a[0] - t * dx).hypot(p[1] - a[1] - t * dy) < *radius
                })
            })
            .collect()
    }

    fn count(inside: &[bool], light: Vec<f32>, tint: Vec<[f32; 2]>) -> (usize, bool) {
        let pieces = pieces(inside, &Looks { light: &light, tint: &tint }, SIZE, 120.0);
        assert!(pieces.label.iter().zip(inside).all(|(label, inside)| (*label > 0) == *inside));
        (pieces.count, pieces.maybe_more)
    }

    #[test]
    fn limbs_that_touch_at_a_tip_are_taken_apart_and_one_that_tapers_is_not() {
        let plain = (vec![0.0; SIZE.pixels()], vec![[0.3, 0.1]; SIZE.pixels()]);
        let t = painted(&[([20.0, 14.0], [100.0, 14.0], 9.0), ([60.0, 32.0], [60.0, 50.0], 9.5)]);
        assert_eq!(count(&t, plain.0.clone(), plain.1.clone()).0, 2);
        let tapering = painted(&[([20.0, 30.0], [60.0, 30.0], 10.0), ([55.0, 30.0], [100.0, 30.0], 7.0)]);
        assert_eq!(count(&tapering, plain.0, plain.1), (1, false));
    }

    #[test]
    fn side_by_side_the_seam_or_the_shade_takes_them_apart() {
        let inside = painted(&[([20.0, 22.0], [100.0, 22.0], 9.0), ([20.0, 38.0], [100.0, 38.0], 9.0)]);
        let row = |i: usize| SIZE.centre(i)[1];
        let even = vec![0.0; SIZE.pixels()];
        let one_tint = vec![[0.3, 0.1]; SIZE.pixels()];
        assert_eq!(count(&inside, even.clone(), one_tint.clone()).0, 1, "nothing tells them apart");
        let seam = (0..SIZE.pixels()).map(|i| if (row(i) - 30.0).abs() < 1.6 { -1.2 } else { 0.0 }).collect();
        assert_eq!(count(&inside, seam, one_tint).0, 2);
        let two = (0..SIZE.pixels()).map(|i| if row(i) < 30.0 { [0.3, 0.1] } else { [-0.6, 0.1] }).collect();
        assert_eq!(count(&inside, even, two).0, 2);
    }
}

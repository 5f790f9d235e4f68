//! Two plastics in one spot.

use super::Looks;
use crate::tray::mask::{Size, depth, spots};

/// In one piece, each of two plastics fills at least this share of a spot.
const LEAST_PLASTIC_SHARE: f64 = 0.25;
/// Two plastics in one spot differ by at least so much in tint (logarithm).
const TINT_APART: f32 = 0.7;

/// The spot, or its two plastics where it plainly has two and each makes a core of its own.
pub(super) fn plastics(inside: &[bool], looks: &Looks, size: Size) -> Vec<Vec<bool>> {
    let whole = vec![inside.to_vec()];
    let Some(second) = second_plastic(inside, looks) else { return whole };
    let masks = [false, true].map(|which| -> Vec<bool> {
        inside.iter().zip(&second).map(|(inside, second)| *inside && *second == which).collect()
    });
    // Compared where they are deepest: a shaded side has a tint of its own, but no core.
    let cores = masks.each_ref().map(|mask| {
        let depth = depth(mask, size);
        let deepest = depth.iter().copied().fold(0.0, f32::max);
        let core: Vec<usize> = (0..mask.len()).filter(|n| depth[*n] > 0.5 * deepest).collect();
        let tint = [0, 1].map(|axis| median(core.iter().map(|n| looks.tint[*n][axis]).collect()));
        let largest = spots(mask, size).iter().map(Vec::len).max().unwrap_or(0);
        (deepest, tint, largest)
    });
    let [(first_deep, first, first_px), (second_deep, other, second_px)] = cores;
    let whole_px = inside.iter().filter(|inside| **inside).count();
    let is_apart = libm::hypotf(first[0] - other[0], first[1] - other[1]) >= TINT_APART;
    // A boot in black paint with the shaded side of its leg is no part: it is small or shallow.
    let both_have_cores = first_deep.min(second_deep) > 0.6 * first_deep.max(second_deep)
        && first_px.min(second_px) as f64 > LEAST_PLASTIC_SHARE * whole_px as f64;
    if is_apart && both_have_cores { masks.into() } else { whole }
}

/// Which pixels are of a second plastic, where there is one: two means in tint (Lloyd 1982), taken only where they lie
/// far apart and both are common.
fn second_plastic(inside: &[bool], looks: &Looks) -> Option<Vec<bool>> {
    let own: Vec<[f32; 2]> =
        inside.iter().zip(looks.tint).filter(|(inside, _)| **inside).map(|(_, tint)| *tint).collect();
    let far = |a: &[f32; 2], b: &[f32; 2]| libm::hypotf(a[0] - b[0], a[1] - b[1]);
    let first = *own.first()?;
    let a = *own.iter().max_by(|p, q| far(p, &first).total_cmp(&far(q, &first)))?;
    let b = *own.iter().max_by(|p, q| far(p, &a).total_cmp(&far(q, &a)))?;
    let mut centres = [a, b];
    let mut shares = [0usize; 2];
    for _ in 0..12 {
        let mut sums = [[0.0f32; 2]; 2];
        shares = [0; 2];
        for tint in &own {
            let which = usize::from(far(tint, &centres[1]) < far(tint, &centres[0]));
            sums[which][0] += tint[0];
            sums[which][1] += tint[1];
            shares[which] += 1;
        }
        for which in 0..2 {
            if shares[which] > 0 {
                centres[which] = sums[which].map(|v| v / shares[which] as f32);
            }
        }
    }
    let is_common = shares.iter().all(|n| n * 6 >= own.len());
    (is_common && far(&centres[0], &centres[1]) >= TINT_APART)
        .then(|| looks.tint.iter().map(|tint| far(tint, &centres[1]) < far(tint, &centres[0])).collect())
}

fn median(mut values: Vec<f32>) -> f32 {
    if values.is_empty() {
        return 0.0;
    }
    let middle = values.len() / 2;
    *values.select_nth_unstable_by(middle, f32::total_cmp).1
}

//! The dark seam between parts that lie side by side.

use super::labels::{MOST_PIECES, contacts, grown, seeds_at, without_crumbs};
use super::{Looks, SEED_SHARE};
use crate::tray::mask::{Size, depth, ranged};

/// Between parts that lie side by side runs a seam this much darker than what is beside it (logarithm).
const SEAM_DARKER: f32 = 0.35;
/// A seam is a border between two parts where it is longer than this many widths of a part.
const LONG_SEAM: f32 = 2.2;

/// Parts on either side of a seam are each at least this share of both: a boot in black paint is no part.
pub(super) const LEAST_SIDE_SHARE: f64 = 0.2;

/// Takes pieces apart along dark seams that are long for the pieces' width: a fold across a limb is short.
pub(super) fn along_seams(
    label: Vec<u8>,
    count: usize,
    looks: &Looks,
    size: Size,
    least_px: f64,
) -> (Vec<u8>, usize) {
    let mut all = vec![0u8; label.len()];
    let mut total = 0;
    for piece in 1..=count {
        let inside: Vec<bool> = label.iter().map(|l| usize::from(*l) == piece).collect();
        let width = depth(&inside, size).into_iter().fold(0.0, f32::max);
        let seam = seams(&inside, looks.light, size, libm::roundf(0.28 * width).max(2.0) as usize);
        let clear: Vec<bool> = inside.iter().zip(&seam).map(|(inside, seam)| *inside && !seam).collect();
        let cleared = depth(&clear, size);
        let deepest = cleared.iter().copied().fold(0.0, f32::max);
        let seeds = seeds_at(&[cleared], deepest * SEED_SHARE, size, least_px);
        let (cut, pieces) = grown(&inside, &seeds, size);
        let (cut, pieces) = short_seams_healed(cut, pieces, size);
        let own_px = inside.iter().filter(|inside| **inside).count() as f64;
        let (cut, pieces) = without_crumbs(cut, pieces, size, least_px.max(LEAST_SIDE_SHARE * own_px));
        for (all, cut) in all.iter_mut().zip(&cut).filter(|(_, cut)| **cut > 0) {
            *all = cut + total as u8;
        }
        total += pieces;
        if total + MOST_PIECES > usize::from(u8::MAX) {
            break;
        }
    }
    (all, total)
}

/// Dark lines narrower than twice the radius: where a grey closing (the lightest around, then the darkest of those;
/// Serra 1982) lifts the picture. Beyond the spot it is dark, so that its shaded rim is no line.
pub(super) fn seams(inside: &[bool], light: &[f32], size: Size, radius_px: usize) -> Vec<bool> {
    const OUTSIDE: f32 = -4.0;
    let own: Vec<f32> = inside
        .iter()
        .zip(light)
        .map(|(inside, light)| if *inside { light.max(OUTSIDE) } else { OUTSIDE })
        .collect();
    let lifted = ranged(&ranged(&own, size, radius_px, f32::max), size, radius_px, f32::min);
    (0..own.len()).map(|n| inside[n] && lifted[n] - own[n] > SEAM_DARKER).collect()
}

/// Joins pieces again whose border is no longer than a limb is wide.
fn short_seams_healed(mut label: Vec<u8>, count: usize, size: Size) -> (Vec<u8>, usize) {
    if count < 2 {
        return (label, count);
    }
    let contact = contacts(&label, count, size);
    let widths: Vec<f32> = (0..=count)
        .map(|piece| {
            let own: Vec<bool> = label.iter().map(|l| usize::from(*l) == piece).collect();
            2.0 * depth(&own, size).into_iter().fold(0.0, f32::max)
        })
        .collect();
    let mut group: Vec<usize> = (0..=count).collect();
    for a in 1..=count {
        for b in a + 1..=count {
            let length = contact[a * (count + 1) + b] as f32;
            // Steps of a slanting border are counted on both sides, up to 1.4 times its length.
            if length > 0.0 && length / 1.2 < LONG_SEAM * widths[a].max(widths[b]) {
                let (from, to) = (group[b], group[a]);
                group.iter_mut().filter(|g| **g == from).for_each(|g| *g = to);
            }
        }
    }
    let mut closed = vec![0u8; count + 1];
    let mut left = 0;
    for piece in 1..=count {
        if group[piece] == piece {
            left += 1;
            closed[piece] = left;
        }
    }
    label.iter_mut().for_each(|l| *l = closed[group[usize::from(*l)]]);
    (label, usize::from(left))
}

//! A piece that is too wide for one part, taken in two.

use super::Looks;
use super::labels::{contacts, grown, solidity};
use super::seams::{LEAST_SIDE_SHARE, seams};
use crate::tray::mask::{Size, depth, spots};

/// Fragments of a piece that is too wide are parted by less than this share of its greatest depth.
const FRAGMENT_SHARE: f32 = 0.66;
/// More fragments are not tried: the ways to share them out double with each.
const MOST_FRAGMENTS: usize = 9;
/// Two halves have to fill their hulls by so much more than the whole filled its own.
const LEAST_GAIN: f64 = 0.10;

/// Takes a piece that is too wide for one part into two, where that makes both plainly fuller than it was: of all ways
/// to give its fragments to two sides, the one whose two hulls are filled best.
pub(in crate::tray) fn halves(
    inside: &[bool],
    looks: &Looks,
    size: Size,
    least_px: f64,
) -> Option<[Vec<bool>; 2]> {
    let whole = depth(inside, size);
    let deepest = whole.iter().copied().fold(0.0, f32::max);
    let seam = seams(inside, looks.light, size, libm::roundf(0.28 * deepest).max(2.0) as usize);
    let clear: Vec<bool> = inside.iter().zip(&seam).map(|(inside, seam)| *inside && !seam).collect();
    let cleared = depth(&clear, size);
    let top = cleared.iter().copied().fold(0.0, f32::max);
    let deep: Vec<bool> = cleared.iter().map(|d| *d > FRAGMENT_SHARE * top).collect();
    let mut seeds = spots(&deep, size);
    seeds.sort_by_key(|seed| std::cmp::Reverse(seed.len()));
    seeds.truncate(MOST_FRAGMENTS);
    if seeds.len() < 2 {
        return None;
    }
    let (label, count) = grown(inside, &seeds, size);
    let contact = contacts(&label, count, size);
    let united = solidity(&label, &(1..=count).collect::<Vec<_>>(), size);
    let mut best: Option<(f64, u32)> = None;
    for side in 1..1u32 << (count - 1) {
        let [a, b] = [true, false]
            .map(|which| (1..=count).filter(|n| (side >> (n - 1) & 1 == 1) == which).collect::<Vec<_>>());
        if !is_one_piece(&a, &contact, count) || !is_one_piece(&b, &contact, count) {
            continue;
        }
        let area =
            |pieces: &[usize]| label.iter().filter(|l| pieces.contains(&usize::from(**l))).count() as f64;
        let (area_a, area_b) = (area(&a), area(&b));
        if area_a.min(area_b) < least_px.max(LEAST_SIDE_SHARE * (area_a + area_b)) {
            continue;
        }
        let hulls = area_a / solidity(&label, &a, size) + area_b / solidity(&label, &b, size);
        let filled = (area_a + area_b) / hulls;
        if best.is_none_or(|best| filled > best.0) {
            best = Some((filled, side));
        }
    }
    let (_, side) = best.filter(|best| best.0 >= united + LEAST_GAIN)?;
    let is_on = |l: &u8, which: bool| *l > 0 && (side >> (l - 1) & 1 == 1) == which;
    Some([true, false].map(|which| label.iter().map(|l| is_on(l, which)).collect()))
}

/// Whether pieces hang together.
fn is_one_piece(pieces: &[usize], contact: &[usize], count: usize) -> bool {
    let mut reached: Vec<usize> = pieces.first().copied().into_iter().collect();
    let mut next = 0;
    while let Some(a) = reached.get(next).copied() {
        for b in pieces {
            if !reached.contains(b) && contact[a.min(*b) * (count + 1) + a.max(*b)] > 0 {
                reached.push(*b);
            }
        }
        next += 1;
    }
    reached.len() == pieces.len()
}

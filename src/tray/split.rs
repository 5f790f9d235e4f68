//! Spots of several parts that touch, taken apart where shape, shade or the dark seam between them allows.

use super::mask::{Size, depth, spots};
use crate::card::hull_of;

/// What is known of each pixel of a spot: how light it is and how it is tinted against the board, as differences of
/// logarithms.
pub(super) struct Looks<'a> {
    pub light: &'a [f32],
    pub tint: &'a [[f32; 2]],
}

/// The pieces of a spot.
pub(super) struct Pieces {
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
/// Between parts that lie side by side runs a seam this much darker than what is beside it (logarithm).
const SEAM_DARKER: f32 = 0.35;
/// A seam is a border between two parts where it is longer than this many widths of a part.
const LONG_SEAM: f32 = 2.2;
/// Parts on either side of a seam are each at least this share of both: a boot in black paint is no part.
const LEAST_SIDE_SHARE: f64 = 0.2;
/// In one piece, each of two plastics fills at least this share of a spot.
const LEAST_PLASTIC_SHARE: f64 = 0.25;
/// Two plastics in one spot differ by at least so much in tint (logarithm).
const TINT_APART: f32 = 0.7;
/// Fragments of a piece that is too wide are parted by less than this share of its greatest depth.
const FRAGMENT_SHARE: f32 = 0.66;
/// More fragments are not tried: the ways to share them out double with each.
const MOST_FRAGMENTS: usize = 9;
/// Two halves have to fill their hulls by so much more than the whole filled its own.
const LEAST_GAIN: f64 = 0.10;
/// Most pieces of a spot.
const MOST_PIECES: usize = 60;

/// Takes a spot apart. `least_px` is the area of the smallest part.
pub(super) fn pieces(inside: &[bool], looks: &Looks, size: Size, least_px: f64) -> Pieces {
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

/// Takes a piece that is too wide for one part into two, where that makes both plainly fuller than it was: of all ways
/// to give its fragments to two sides, the one whose two hulls are filled best.
pub(super) fn halves(inside: &[bool], looks: &Looks, size: Size, least_px: f64) -> Option<[Vec<bool>; 2]> {
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

/// Area over that of the convex hull, for some pieces together.
fn solidity(label: &[u8], pieces: &[usize], size: Size) -> f64 {
    let is_own = |i: usize| pieces.contains(&usize::from(label[i]));
    let mut area = 0usize;
    let mut ends = Vec::new();
    for y in 0..size.height {
        let row = || (0..size.width).filter(|x| is_own(y * size.width + x));
        let Some(first) = row().next() else { continue };
        let last = row().next_back().unwrap_or(first);
        area += row().count();
        let (left, right, top) = (first as f64, last as f64 + 1.0, y as f64);
        ends.extend([[left, top], [left, top + 1.0], [right, top], [right, top + 1.0]]);
    }
    let hull = hull_of(&ends);
    let next = hull.iter().cycle().skip(1);
    let twice: f64 = hull.iter().zip(next).map(|(p, q)| p[0] * q[1] - q[0] * p[1]).sum();
    area as f64 / (twice.abs() / 2.0).max(1.0)
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

/// How many pairs of neighbouring pixels lie on either side of the border of two pieces.
fn contacts(label: &[u8], count: usize, size: Size) -> Vec<usize> {
    let mut contact = vec![0usize; (count + 1) * (count + 1)];
    for i in 0..label.len() {
        for j in size.neighbours(i).filter(|j| *j > i) {
            let (a, b) = (usize::from(label[i].min(label[j])), usize::from(label[i].max(label[j])));
            contact[a * (count + 1) + b] += 1;
        }
    }
    contact
}

/// The spot, or its two plastics where it plainly has two and each makes a core of its own.
fn plastics(inside: &[bool], looks: &Looks, size: Size) -> Vec<Vec<bool>> {
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

/// Takes pieces apart along dark seams that are long for the pieces' width: a fold across a limb is short.
fn along_seams(label: Vec<u8>, count: usize, looks: &Looks, size: Size, least_px: f64) -> (Vec<u8>, usize) {
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
fn seams(inside: &[bool], light: &[f32], size: Size, radius_px: usize) -> Vec<bool> {
    const OUTSIDE: f32 = -4.0;
    let own: Vec<f32> = inside
        .iter()
        .zip(light)
        .map(|(inside, light)| if *inside { light.max(OUTSIDE) } else { OUTSIDE })
        .collect();
    let lifted = ranged(&ranged(&own, size, radius_px, f32::max), size, radius_px, f32::min);
    (0..own.len()).map(|n| inside[n] && lifted[n] - own[n] > SEAM_DARKER).collect()
}

/// The largest or smallest value in a square around each pixel; what lies beyond the picture is not looked at.
fn ranged(values: &[f32], size: Size, radius: usize, pick: fn(f32, f32) -> f32) -> Vec<f32> {
    let Size { width, height } = size;
    let of = |line: &dyn Fn(usize) -> f32, at: usize, length: usize| {
        (at.saturating_sub(radius)..(at + radius + 1).min(length)).map(line).reduce(pick).unwrap_or(0.0)
    };
    let rows: Vec<f32> =
        (0..values.len()).map(|i| of(&|x| values[i / width * width + x], i % width, width)).collect();
    (0..values.len()).map(|i| of(&|y| rows[y * width + i % width], i / width, height)).collect()
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

/// Deep places, each large enough to be the core of a part.
fn seeds_at(depths: &[Vec<f32>], least: f32, size: Size, least_px: f64) -> Vec<Vec<usize>> {
    let of_mask = |depth: &Vec<f32>| {
        let deep: Vec<bool> = depth.iter().map(|d| *d > least).collect();
        spots(&deep, size)
    };
    let mut seeds: Vec<Vec<usize>> = depths.iter().flat_map(of_mask).collect();
    seeds.retain(|seed| seed.len() as f64 >= 0.08 * least_px);
    seeds.sort_by_key(|seed| std::cmp::Reverse(seed.len()));
    // A core much smaller than the largest is a bulge of a part, unless it stands alone in its own plastic.
    let largest = seeds.first().map_or(0, Vec::len);
    seeds.retain(|seed| seed.len() * 14 >= largest);
    seeds.truncate(MOST_PIECES);
    seeds
}

/// Gives every pixel to the seed that reaches it first through the spot.
fn grown(inside: &[bool], seeds: &[Vec<usize>], size: Size) -> (Vec<u8>, usize) {
    let mut label = vec![0u8; inside.len()];
    if seeds.len() < 2 {
        label.iter_mut().zip(inside).for_each(|(label, inside)| *label = u8::from(*inside));
        return (label, 1);
    }
    let mut front: Vec<usize> = Vec::new();
    for (n, seed) in seeds.iter().enumerate() {
        for i in seed {
            label[*i] = n as u8 + 1;
        }
        front.extend(seed);
    }
    let mut next = 0;
    while next < front.len() {
        let i = front[next];
        for j in size.neighbours(i) {
            if inside[j] && label[j] == 0 {
                label[j] = label[i];
                front.push(j);
            }
        }
        next += 1;
    }
    (label, seeds.len())
}

/// A piece smaller than the smallest part goes to its largest neighbour; labels are closed up.
fn without_crumbs(mut label: Vec<u8>, count: usize, size: Size, least_px: f64) -> (Vec<u8>, usize) {
    let mut areas = vec![0usize; count + 1];
    label.iter().for_each(|l| areas[usize::from(*l)] += 1);
    let mut target: Vec<u8> = (0..=count as u8).collect();
    for piece in 1..=count {
        if count == 1 || areas[piece] as f64 >= least_px {
            continue;
        }
        let mut contact = vec![0usize; count + 1];
        for i in (0..label.len()).filter(|i| usize::from(label[*i]) == piece) {
            size.neighbours(i).for_each(|j| contact[usize::from(label[j])] += 1);
        }
        contact[0] = 0;
        contact[piece] = 0;
        if let Some(best) = (1..=count).max_by_key(|n| contact[*n]).filter(|n| contact[*n] > 0) {
            target[piece] = best as u8;
        }
    }
    label.iter_mut().for_each(|l| *l = target[usize::from(*l)]);
    let mut closed = vec![0u8; count + 1];
    let mut left = 0;
    for piece in 1..=count {
        if label.iter().any(|l| usize::from(*l) == piece) {
            left += 1;
            closed[piece] = left as u8;
        }
    }
    label.iter_mut().for_each(|l| *l = closed[usize::from(*l)]);
    (label, left)
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

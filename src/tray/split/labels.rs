//! Pieces of a spot as labels of its pixels: 0 outside, pieces from 1 on.

use crate::card::hull_of;
use crate::tray::mask::{Size, spots};

/// Most pieces of a spot.
pub(super) const MOST_PIECES: usize = 60;

/// Deep places, each large enough to be the core of a part.
pub(super) fn seeds_at(depths: &[Vec<f32>], least: f32, size: Size, least_px: f64) -> Vec<Vec<usize>> {
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
pub(super) fn grown(inside: &[bool], seeds: &[Vec<usize>], size: Size) -> (Vec<u8>, usize) {
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

/// How many pairs of neighbouring pixels lie on either side of the border of two pieces.
pub(super) fn contacts(label: &[u8], count: usize, size: Size) -> Vec<usize> {
    let mut contact = vec![0usize; (count + 1) * (count + 1)];
    for i in 0..label.len() {
        for j in size.neighbours(i).filter(|j| *j > i) {
            let (a, b) = (usize::from(label[i].min(label[j])), usize::from(label[i].max(label[j])));
            contact[a * (count + 1) + b] += 1;
        }
    }
    contact
}

/// Area over that of the convex hull, for some pieces together.
pub(super) fn solidity(label: &[u8], pieces: &[usize], size: Size) -> f64 {
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

/// A piece smaller than the smallest part goes to its largest neighbour; labels are closed up.
pub(super) fn without_crumbs(
    mut label: Vec<u8>,
    count: usize,
    size: Size,
    least_px: f64,
) -> (Vec<u8>, usize) {
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

//! Rays through a scene: what they hit, how much of a lamp they see, how open the surroundings are.
//!
//! Solids are found by sphere tracing (Hart 1996); parts whose ball a ray misses are left out at once.

use super::V3;
use super::part::Part;

/// A ray: a point and a unit direction.
#[derive(Debug, Clone, Copy)]
pub struct Ray {
    /// Where it starts, in mm.
    pub from: V3,
    /// Where it goes.
    pub along: V3,
}

impl Ray {
    /// The point after so many mm.
    pub fn at(&self, mm: f64) -> V3 {
        self.from + self.along * mm
    }
}

/// What a ray hit among the parts.
#[derive(Debug, Clone, Copy)]
pub struct Hit {
    /// Index of the part.
    pub part: usize,
    /// How far along the ray, in mm.
    pub mm: f64,
}

/// Parts that matter to a ray or a point, by index; scenes have at most 64.
type Few = u64;

fn members(few: Few) -> impl Iterator<Item = usize> {
    let mut left = few;
    std::iter::from_fn(move || {
        (left != 0).then(|| {
            let index = left.trailing_zeros() as usize;
            left &= left - 1;
            index
        })
    })
}

/// The nearest part along a ray within `limit_mm`.
pub fn first_hit(parts: &[Part], ray: &Ray, limit_mm: f64) -> Option<Hit> {
    let mut few: Few = 0;
    let (mut start, mut end): (f64, f64) = (f64::INFINITY, 0.0);
    for (index, part) in parts.iter().enumerate().take(64) {
        if let Some((enter, leave)) = part.crossing(&ray.from, &ray.along, 0.0) {
            few |= 1 << index;
            start = start.min(enter);
            end = end.max(leave);
        }
    }
    let end = end.min(limit_mm);
    let mut mm = start.max(0.0);
    for _ in 0..160 {
        if few == 0 || mm > end {
            return None;
        }
        let (distance, part) = nearest(parts, few, &ray.at(mm), 1.0);
        if distance < 2e-4 * mm.max(1.0) * 0.2 {
            return Some(Hit { part, mm });
        }
        mm += distance;
    }
    None
}

/// Distance to the nearest of some parts, and which it is. Beyond `exact_mm` from a part's ball or box the distance
/// to that stands for it.
fn nearest(parts: &[Part], few: Few, p: &V3, exact_mm: f64) -> (f64, usize) {
    let mut best = (f64::INFINITY, 0);
    for index in members(few) {
        let (middle, reach) = parts[index].ball();
        let to_ball = (p - middle).norm() - reach;
        let distance = if to_ball > exact_mm { to_ball } else { parts[index].distance_within(p, exact_mm) };
        if distance < best.0 {
            best = (distance, index);
        }
    }
    best
}

/// Outward unit normal of a part at a point on it (central differences on a tetrahedron).
pub fn normal(part: &Part, p: &V3) -> V3 {
    const STEP_MM: f64 = 0.02;
    let corners = [
        V3::new(1.0, -1.0, -1.0),
        V3::new(-1.0, -1.0, 1.0),
        V3::new(-1.0, 1.0, -1.0),
        V3::new(1.0, 1.0, 1.0),
    ];
    let sum: V3 = corners.iter().map(|corner| corner * part.distance(&(p + corner * STEP_MM))).sum();
    sum.try_normalize(1e-12).unwrap_or(V3::y())
}

/// How much of a lamp of angular radius `spread` (as a tangent) a point sees along a ray, 0..=1: one march
/// that keeps the narrowest passage (after Quilez, "soft shadows in raymarched SDFs").
pub fn lamp_seen(parts: &[Part], ray: &Ray, spread: f64, limit_mm: f64) -> f64 {
    let mut few: Few = 0;
    let (mut start, mut end): (f64, f64) = (f64::INFINITY, 0.0);
    for (index, part) in parts.iter().enumerate().take(64) {
        if part.is_flat() {
            continue;
        }
        let (middle, reach) = part.ball();
        let to = middle - ray.from;
        let along = to.dot(&ray.along);
        // Nearest to the ball at `ahead`; a ball behind still stands in a wide cone near its tip.
        let ahead = along.max(0.0);
        let off2 = (to.norm_squared() - 2.0 * along * ahead + ahead * ahead).max(0.0);
        let margin = spread * (ahead + reach);
        if off2 > (reach + margin) * (reach + margin) {
            continue;
        }
        if let Some((enter, leave)) = part.crossing(&ray.from, &ray.along, margin) {
            few |= 1 << index;
            start = start.min(enter);
            end = end.max(leave);
        }
    }
    if few == 0 {
        return 1.0;
    }
    let end = end.min(limit_mm);
    let mut mm = start.max(0.1);
    let mut passage: f64 = 1.0;
    for _ in 0..90 {
        let (distance, _) = nearest(parts, few, &ray.at(mm), spread * mm + 0.3);
        passage = passage.min(distance / (spread * mm));
        if passage < -1.0 || mm > end {
            break;
        }
        mm += (distance.abs() * 0.8).clamp(0.12 + 0.012 * mm, 25.0);
    }
    let passage = passage.clamp(-1.0, 1.0);
    0.25 * (1.0 + passage) * (1.0 + passage) * (2.0 - passage)
}

/// How open the half space above a point is, 0..=1: distances along the normal against free ones.
pub fn openness(parts: &[Part], p: &V3, normal: &V3, ground_y: f64) -> f64 {
    const TAPS_MM: [f64; 7] = [0.3, 0.7, 1.5, 3.2, 7.0, 14.0, 26.0];
    let mut few: Few = 0;
    for (index, part) in parts.iter().enumerate().take(64) {
        let (middle, reach) = part.ball();
        if (p - middle).norm() - reach < 30.0 {
            few |= 1 << index;
        }
    }
    let mut open = 1.0;
    for tap in TAPS_MM {
        let at = p + normal * tap;
        let solid = if few == 0 { f64::INFINITY } else { nearest(parts, few, &at, tap).0 };
        let free = solid.min(at.y - ground_y).clamp(0.0, tap);
        open *= 1.0 - 0.28 * (1.0 - free / tap);
    }
    open
}

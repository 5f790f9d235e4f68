//! Table tops: wood, a cutting mat, a painted board. Invented patterns of two or three reflectances.

use super::noise::{fractal, hash, step_between, value};
use super::{MaterialId, V3};

/// The table top at y = 0.
#[derive(Debug, Clone, PartialEq)]
pub enum Top {
    /// Boards with grain along x.
    Wood(Wood),
    /// A cutting mat with a grid of 10 mm.
    Mat {
        /// The mat.
        ground: MaterialId,
        /// Its lines.
        lines: MaterialId,
        /// Directions of the grid against x, in degrees.
        turn_degrees: f64,
    },
}

/// Wood of a table.
#[derive(Debug, Clone, PartialEq)]
pub struct Wood {
    /// Early wood.
    pub pale: MaterialId,
    /// Late wood.
    pub deep: MaterialId,
    /// Pores and gaps between boards.
    pub dark: MaterialId,
    /// Width of a board in mm.
    pub board_mm: f64,
    /// How strongly late wood shows, 0..1.
    pub contrast: f64,
    /// Direction of the grain against x, in degrees.
    pub turn_degrees: f64,
    /// Chooses the tree.
    pub seed: u64,
    /// Where the far edge is (z in mm; the table ends beyond), if it is in sight.
    pub far_edge_z: Option<f64>,
}

/// What the top looks like at a place.
#[derive(Debug, Clone, Copy)]
pub struct Skin {
    /// Materials and their shares, which add up to 1.
    pub mix: [(MaterialId, f64); 3],
    /// How the normal leans along x and z.
    pub lean: [f64; 2],
}

impl Top {
    /// The skin at a point of the table.
    pub fn skin_at(&self, p: &V3) -> Skin {
        match self {
            Top::Wood(wood) => wood.skin_at(p),
            Top::Mat { ground, lines, turn_degrees } => {
                let [u, v] = turned(p, *turn_degrees);
                let line = |w: f64, every: f64, half: f64| {
                    let off = (w - libm::round(w / every) * every).abs();
                    1.0 - step_between(half * 0.7, half * 1.3, off)
                };
                let thin = line(u, 10.0, 0.11).max(line(v, 10.0, 0.11)) * 0.55;
                let bold = line(u, 50.0, 0.22).max(line(v, 50.0, 0.22)) * 0.8;
                // Worn in places, with knife scars.
                let worn = 0.75 + 0.25 * fractal(u / 23.0, v / 23.0, 4, 11);
                let scar = scar(u, v);
                let ink = (thin.max(bold) * worn).clamp(0.0, 1.0) * (1.0 - scar);
                let dust = 0.05 * step_between(0.15, 0.6, fractal(u / 1.3, v / 1.3, 4, 5)) + 0.10 * scar;
                let share = (ink + dust).min(1.0);
                Skin {
                    mix: [(*ground, 1.0 - share), (*lines, share), (*ground, 0.0)],
                    lean: [0.02 * fractal(u * 4.0, v * 4.0, 2, 3), 0.02 * fractal(u * 4.0, v * 4.0, 2, 4)],
                }
            }
        }
    }

    /// Where the table ends, if it does.
    pub fn far_edge_z(&self) -> Option<f64> {
        match self {
            Top::Wood(wood) => wood.far_edge_z,
            Top::Mat { .. } => None,
        }
    }
}

impl Wood {
    fn skin_at(&self, p: &V3) -> Skin {
        let [u, v] = turned(p, self.turn_degrees);
        let board = libm::floor(v / self.board_mm);
        let seed = self.seed.wrapping_add((board as i64 as u64).wrapping_mul(7919));
        let own = |n: i64| hash(n, board as i64, self.seed);
        // The board is a cut through a trunk: distance from a wavering pith gives the rings.
        let along = u / 420.0 + 10.0 * own(1);
        let pith = (own(2) - 0.5) * 1.6 * self.board_mm + 9.0 * fractal(along * 2.0, 0.0, 3, seed);
        let depth = 6.0 + 22.0 * own(3) + 16.0 * fractal(along, 3.0, 3, seed.wrapping_add(1));
        let across = v - (board + 0.5) * self.board_mm - pith;
        let wobble = 1.6 * fractal(u / 38.0, v / 7.0, 4, seed.wrapping_add(2));
        let radius = libm::sqrt(across * across + depth * depth) + wobble;
        let ring = radius / (2.3 + 0.9 * own(4));
        let phase = ring - libm::floor(ring);
        let late = step_between(0.25, 0.88, phase) * (1.0 - step_between(0.90, 1.0, phase));
        let strength = 0.5 + 0.5 * hash(libm::floor(ring) as i64, 3, seed);
        let fibre = fractal(u / 14.0, v * 2.6, 4, seed.wrapping_add(3));
        let blotch = fractal(u / 90.0, v / 35.0, 3, seed.wrapping_add(4));
        let deep = (self.contrast * (0.10 + 0.85 * late * strength)
            + 0.22 * fibre
            + 0.20 * blotch
            + 0.16 * (own(5) - 0.5))
            .clamp(0.0, 1.0);
        let pore = step_between(0.50, 0.72, value(u / 5.5, v * 4.2, seed.wrapping_add(5)))
            * step_between(0.0, 0.6, value(u / 2.0, v * 1.1, seed.wrapping_add(6)));
        let edge = (v / self.board_mm - libm::round(v / self.board_mm)).abs() * self.board_mm;
        let gap = 1.0 - step_between(0.12, 0.35, edge);
        let dark = (0.30 * pore + 0.9 * gap).min(1.0);
        Skin {
            mix: [
                (self.pale, (1.0 - dark) * (1.0 - deep)),
                (self.deep, (1.0 - dark) * deep),
                (self.dark, dark),
            ],
            lean: [
                0.012 * fractal(u * 0.8, v * 3.0, 3, seed),
                0.035 * fractal(u * 0.5, v * 3.5, 3, seed ^ 9),
            ],
        }
    }
}

/// Knife scars: a few straight fine lines, each over part of the mat.
fn scar(u: f64, v: f64) -> f64 {
    let mut deepest: f64 = 0.0;
    for n in 0..14 {
        let at = |m| hash(n, m, 77) - 0.5;
        let (s, c) = libm::sincos(at(1) * 6.0);
        let (du, dv) = (u - 260.0 * at(2), v - 200.0 * at(3));
        let (along, off) = (du * c + dv * s, (dv * c - du * s).abs());
        let within = 1.0 - step_between(15.0, 45.0, along.abs());
        deepest = deepest.max(within * (1.0 - step_between(0.04, 0.12, off)));
    }
    deepest
}

fn turned(p: &V3, degrees: f64) -> [f64; 2] {
    let (s, c) = libm::sincos(degrees.to_radians());
    [p.x * c + p.z * s, p.z * c - p.x * s]
}

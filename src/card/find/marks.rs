//! Four-sided spots that carry the bits of a mark.

use super::Grey;
use super::candidates::Quad;
use crate::card::codes::{self, BIT_CELLS, CELLS, bit_of};
use crate::card::homography::Homography;

/// A mark in the picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct SeenMark {
    /// Index of the variant among the patterns.
    pub variant: usize,
    /// Corner of the card, clockwise from the upper left.
    pub corner: usize,
    /// Its corners in the picture, from its own upper left clockwise.
    pub corners: Quad,
}

/// Reads a candidate; `None` where it is no mark.
pub(super) fn read(grey: &Grey, quad: &Quad) -> Option<SeenMark> {
    let side = CELLS as f64;
    let square = [[0.0, 0.0], [side, 0.0], [side, side], [0.0, side]];
    let pairs: Vec<([f64; 2], [f64; 2])> = square.into_iter().zip(*quad).collect();
    let plane = Homography::through(&pairs)?;
    let cell = |row: f64, column: f64| {
        const OFFSETS: [f64; 3] = [0.25, 0.5, 0.75];
        let mut sum = 0.0;
        for v in OFFSETS {
            for u in OFFSETS {
                sum += grey.at(plane.map([column + u, row + v]))?;
            }
        }
        Some(sum / 9.0)
    };
    let mut rim = Vec::new();
    let mut paper = Vec::new();
    for n in 0..CELLS {
        let n = n as f64;
        rim.extend([cell(0.0, n)?, cell(side - 1.0, n)?, cell(n, 0.0)?, cell(n, side - 1.0)?]);
        // The white margin, one cell wide; a little nearer than its middle, where blur lets it be white.
        for around in [[-1.0, n], [side, n], [n, -1.0], [n, side]] {
            paper.push(cell(around[0], around[1])?);
        }
    }
    let (black, white) = (median(&mut rim), median(&mut paper));
    if white < 0.1 || white - black < 0.25 * white {
        return None;
    }
    let threshold = (black + white) / 2.0;
    let wrong = |values: &[f64], is_wrong: fn(f64, f64) -> bool| {
        values.iter().filter(|v| is_wrong(**v, threshold)).count()
    };
    // A rim or margin with more than a sixth of its cells wrong is none: a shadow's edge may cross a few.
    if wrong(&rim, |v, t| v >= t) * 6 > rim.len() || wrong(&paper, |v, t| v < t) * 6 > paper.len() {
        return None;
    }
    let mut word = 0u16;
    for row in 0..BIT_CELLS {
        for column in 0..BIT_CELLS {
            let value = cell(row as f64 + 1.0, column as f64 + 1.0)?;
            word |= u16::from(value > threshold) << bit_of(row, column);
        }
    }
    let code = codes::decoded(word)?;
    let corners = [0, 1, 2, 3].map(|n| quad[(n + code.turns) % 4]);
    Some(SeenMark { variant: code.variant, corner: code.corner, corners })
}

fn median(values: &mut [f64]) -> f64 {
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}

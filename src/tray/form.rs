//! The form of an outline, compared whichever way it lies.

/// Cells of the grid in which forms are compared, along and across.
const GRID: [usize; 2] = [60, 30];

/// An outline laid along its longest direction and scaled by its length, in a grid.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Form(Vec<bool>);

/// Turned over along its length, across it, or both, which is half a turn.
pub(super) const AS_IT_IS: [bool; 2] = [false, false];
pub(super) const HALF_TURN: [bool; 2] = [true, true];
pub(super) const MIRRORED: [[bool; 2]; 2] = [[true, false], [false, true]];

impl Form {
    /// `None` for what spans no area.
    pub(super) fn of(outline: &[[f64; 2]]) -> Option<Self> {
        let (middle, direction) = axis_of(outline)?;
        let (s, c) = libm::sincos(direction);
        let laid = |p: &[f64; 2]| {
            let d = [p[0] - middle[0], p[1] - middle[1]];
            [d[0] * c + d[1] * s, d[1] * c - d[0] * s]
        };
        let turned: Vec<[f64; 2]> = outline.iter().map(laid).collect();
        let ends = |axis: usize| {
            let values = turned.iter().map(|p| p[axis]);
            [values.clone().fold(f64::INFINITY, f64::min), values.fold(f64::NEG_INFINITY, f64::max)]
        };
        let ([left, right], [top, low]) = (ends(0), ends(1));
        let length = right - left;
        if !(length > 0.0) {
            return None;
        }
        // Centred by its box, so that a mirrored form falls on its like.
        let middle = [(left + right) / 2.0, (top + low) / 2.0];
        let cells =
            |v: f64, axis: usize| (v - middle[axis]) / length * GRID[0] as f64 + GRID[axis] as f64 / 2.0;
        let corners: Vec<[f64; 2]> = turned.iter().map(|p| [cells(p[0], 0), cells(p[1], 1)]).collect();
        let grid = (0..GRID[1]).flat_map(|row| row_of(&corners, row as f64 + 0.5)).collect();
        Some(Self(grid))
    }

    /// Common over joint area with another one turned over along the axes named.
    pub(super) fn cover(&self, other: &Self, over: [bool; 2]) -> f64 {
        let (mut both, mut either) = (0usize, 0usize);
        for (i, own) in self.0.iter().enumerate() {
            let (x, y) = (i % GRID[0], i / GRID[0]);
            let x = if over[0] { GRID[0] - 1 - x } else { x };
            let y = if over[1] { GRID[1] - 1 - y } else { y };
            let other = other.0[y * GRID[0] + x];
            both += usize::from(*own && other);
            either += usize::from(*own || other);
        }
        both as f64 / either.max(1) as f64
    }

    /// The same, whichever way both lie.
    pub(super) fn likeness(&self, other: &Self) -> f64 {
        let ways = [AS_IT_IS, HALF_TURN].into_iter().chain(MIRRORED);
        ways.map(|over| self.cover(other, over)).fold(0.0, f64::max)
    }
}

/// Which cells of a row at this height have their middles inside (even-odd rule).
fn row_of(corners: &[[f64; 2]], y: f64) -> Vec<bool> {
    let sides = corners.iter().zip(corners.iter().cycle().skip(1));
    let crossed = sides.filter(|(p, q)| (p[1] <= y) != (q[1] <= y));
    let at: Vec<f64> = crossed.map(|(p, q)| p[0] + (y - p[1]) / (q[1] - p[1]) * (q[0] - p[0])).collect();
    let inside = |x: f64| at.iter().filter(|crossing| **crossing < x).count() % 2 == 1;
    (0..GRID[0]).map(|column| inside(column as f64 + 0.5)).collect()
}

/// Middle of an outline's area and the direction in which that is longest, from its second moments (Steger 1996).
fn axis_of(outline: &[[f64; 2]]) -> Option<([f64; 2], f64)> {
    let start = *outline.first()?;
    // Against the first corner, where the moments are not differences of large numbers.
    let corners = || outline.iter().map(|p| [p[0] - start[0], p[1] - start[1]]);
    let (mut twice, mut x, mut y, mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0);
    for (p, q) in corners().zip(corners().cycle().skip(1)) {
        let a = p[0] * q[1] - q[0] * p[1];
        twice += a;
        x += a * (p[0] + q[0]);
        y += a * (p[1] + q[1]);
        xx += a * (p[0] * p[0] + p[0] * q[0] + q[0] * q[0]);
        xy += a * (2.0 * p[0] * p[1] + p[0] * q[1] + q[0] * p[1] + 2.0 * q[0] * q[1]);
        yy += a * (p[1] * p[1] + p[1] * q[1] + q[1] * q[1]);
    }
    if !(twice.abs() > 0.0) {
        return None;
    }
    let [x, y] = [x / (3.0 * twice), y / (3.0 * twice)];
    let [xx, xy, yy] = [xx / (6.0 * twice) - x * x, xy / (12.0 * twice) - x * y, yy / (6.0 * twice) - y * y];
    Some(([x + start[0], y + start[1]], 0.5 * libm::atan2(2.0 * xy, xx - yy)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_foot_turned_or_mirrored_covers_itself_however_its_corners_are_spread() {
        let foot = [[0.0, 0.0], [100.0, 0.0], [100.0, 34.0], [86.0, 34.0], [84.0, 18.0], [0.0, 20.0]];
        let mut dense = foot.to_vec();
        // The same outline with twenty corners more along one side.
        dense.splice(1..1, (1..20).map(|n| [f64::from(n) * 5.0, 0.0]));
        let (s, c) = libm::sincos(0.7);
        let turned: Vec<[f64; 2]> =
            dense.iter().map(|[x, y]| [x * c - y * s + 300.0, x * s + y * c]).collect();
        let mirrored: Vec<[f64; 2]> = foot.iter().map(|[x, y]| [x + 9.0, 400.0 - y]).collect();
        let [foot, turned, mirrored] = [&foot[..], &turned, &mirrored].map(|o| Form::of(o).unwrap());
        assert!(foot.likeness(&turned) > 0.9 && foot.likeness(&mirrored) > 0.9);
        let as_is = foot.cover(&mirrored, AS_IT_IS).max(foot.cover(&mirrored, HALF_TURN));
        assert!(as_is < 0.75, "{as_is}: the mirror image is not the foot itself");
        assert_eq!(Form::of(&[[1.0, 1.0], [2.0, 2.0], [3.0, 3.0]]), None);
    }
}

//! Where a photo shows nothing but board, and places spread over that.

use crate::raster::{Raster, Reduced, Shape, board_of};

/// Longer side of the picture in which the board is looked for.
const LOOK_PX: u32 = 480;
/// Cells along the longer and the shorter side of a photo, with one place in each.
const CELLS: [usize; 2] = [4, 3];
/// Sides of a place that are tried, as shares of its cell.
const SIDES: [f64; 3] = [0.3, 0.2, 0.12];
/// Farther than this from the board's light (logarithm) something else is there, or a shadow.
const OFF_LIGHT: f32 = 0.06;
/// The same of the tint.
const OFF_TINT: f32 = 0.05;
/// A place keeps so far from a mark, as a share of the photo's longer side.
const MARK_MARGIN: f64 = 0.01;

/// Where a photo shows nothing but board.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::measure) struct BoardSeen {
    pub(super) inside: Option<Shape>,
    size: [usize; 2],
    factor: f64,
    /// For every pixel of the smaller picture; empty where no board was found.
    on_board: Vec<bool>,
    pub(super) share: f64,
}

impl BoardSeen {
    pub(super) fn of(raster: &Raster, inside: Option<&Shape>) -> Self {
        let picture = Reduced::of(raster, LOOK_PX);
        let factor = picture.factor as f64;
        let size = [picture.width, picture.height];
        let outside = |i: usize| inside.is_some_and(|shape| !shape.contains(middle_px(i, size[0], factor)));
        let board = board_of(&picture, outside);
        let share = board.as_ref().map_or(0.0, |board| board.share);
        let off = board.map(|board| board.off).unwrap_or_default();
        let is_board = |(i, [r, g, b]): (usize, &[f32; 3])| {
            let light = (r + g + b) / 3.0;
            light.abs() < OFF_LIGHT && (r - g).abs().max((b - g).abs()) < OFF_TINT && !outside(i)
        };
        let on_board = off.iter().enumerate().map(is_board).collect();
        Self { inside: inside.cloned(), size, factor, on_board, share }
    }

    /// One place in each cell that has one, away from marks.
    pub(super) fn places(&self, marks: &[&Shape]) -> Vec<Shape> {
        if self.on_board.is_empty() {
            return Vec::new();
        }
        let free = self.free_of(marks);
        let taken = Sums::of(&free, self.size);
        let [width, height] = self.size;
        let [columns, rows] = if width >= height { CELLS } else { [CELLS[1], CELLS[0]] };
        let cell = [width as f64 / columns as f64, height as f64 / rows as f64];
        let cells = (0..rows).flat_map(|row| (0..columns).map(move |column| [column, row]));
        cells
            .filter_map(|at| self.place_in([at[0] as f64 * cell[0], at[1] as f64 * cell[1]], cell, &taken))
            .collect()
    }

    /// The place nearest to the middle of a cell, of the largest side that fits.
    fn place_in(&self, corner: [f64; 2], cell: [f64; 2], taken: &Sums) -> Option<Shape> {
        SIDES.iter().find_map(|share| {
            let side = (share * cell[0].min(cell[1])).round().max(3.0) as usize;
            let reach = |axis: usize| {
                let first = corner[axis].ceil() as usize;
                first..((corner[axis] + cell[axis]) as usize).saturating_sub(side).max(first)
            };
            let middle = [0, 1].map(|axis| corner[axis] + (cell[axis] - side as f64) / 2.0);
            let distance = |[x, y]: [usize; 2]| libm::hypot(x as f64 - middle[0], y as f64 - middle[1]);
            let free = reach(1)
                .step_by(2)
                .flat_map(|y| reach(0).step_by(2).map(move |x| [x, y]))
                .filter(|at| taken.is_free(*at, side));
            let [x, y] = free.min_by(|p, q| distance(*p).total_cmp(&distance(*q)))?;
            let min = [x, y].map(|v| v as f64 * self.factor);
            Some(Shape::Rect { min, max: min.map(|v| v + side as f64 * self.factor) })
        })
    }

    /// Pixels of the board that no mark covers.
    fn free_of(&self, marks: &[&Shape]) -> Vec<bool> {
        let [width, height] = self.size;
        let mut free = self.on_board.clone();
        let margin = MARK_MARGIN * width.max(height) as f64 * self.factor;
        for mark in marks {
            let (low, high) = mark.bounds();
            let range = |axis: usize, size: usize| {
                let at = |px: f64| (px / self.factor).max(0.0) as usize;
                at(low[axis] - margin).min(size)..(at(high[axis] + margin) + 1).min(size)
            };
            for i in range(1, height).flat_map(|y| range(0, width).map(move |x| y * width + x)) {
                free[i] &= mark.depth_px(middle_px(i, width, self.factor)) < -margin;
            }
        }
        free
    }
}

/// The middle of a pixel of the smaller picture, in pixels of the photo.
fn middle_px(i: usize, width: usize, factor: f64) -> [f64; 2] {
    [(i % width) as f64, (i / width) as f64].map(|v| (v + 0.5) * factor)
}

/// Numbers of pixels that are not free, left of and above each corner between pixels.
struct Sums {
    sums: Vec<u32>,
    width: usize,
}

impl Sums {
    fn of(free: &[bool], [width, height]: [usize; 2]) -> Self {
        let across = width + 1;
        let mut sums = vec![0_u32; across * (height + 1)];
        for (y, row) in free.chunks_exact(width).enumerate() {
            let mut in_row = 0;
            for (x, free) in row.iter().enumerate() {
                in_row += u32::from(!free);
                sums[(y + 1) * across + x + 1] = sums[y * across + x + 1] + in_row;
            }
        }
        Self { sums, width: across }
    }

    /// Whether a square with this upper left pixel is free.
    fn is_free(&self, [x, y]: [usize; 2], side: usize) -> bool {
        let at = |x: usize, y: usize| self.sums[y * self.width + x];
        at(x + side, y + side) + at(x, y) == at(x + side, y) + at(x, y + side)
    }
}

//! Pictures for the finder: cards in perspective, and things that are none.

use rand::RngExt;
use rand_xoshiro::Xoshiro256PlusPlus;
use sameshot::card::layout::{CardLayout, LADDER, Tone};
use sameshot::card::{Homography, Variant};
use sameshot::raster::{Coding, Raster, Samples};

/// A card before a pinhole camera.
#[derive(Debug, Clone)]
pub(crate) struct View {
    /// Which card.
    pub variant: Variant,
    /// Its middle in the picture.
    pub middle_px: [f64; 2],
    /// Pixels in a millimetre at its middle.
    pub px_per_mm: f64,
    /// Turn in the picture, tilt and the direction of the tilt, in degrees.
    pub turn: f64,
    pub tilt: f64,
    pub toward: f64,
    /// Distance of the camera in mm.
    pub far_mm: f64,
    /// Blur in mm.
    pub blur_mm: f64,
    /// Light at the right and lower end of the picture as a share of that at the left and upper.
    pub light: [f64; 2],
    /// Where something lies on a corner: a disc in mm on the card.
    pub cover: Option<([f64; 2], f64)>,
    /// Luminance of the board and of white paper in full light.
    pub board: f64,
    pub white: f64,
}

impl View {
    /// A random view: kind 0 with a corner covered, 1 with one cropped away, 2 whole.
    pub(crate) fn drawn(rng: &mut Xoshiro256PlusPlus, kind: usize) -> Self {
        let mut between = |low: f64, high: f64| low + (high - low) * rng.random::<f64>();
        let variant = if between(0.0, 1.0) < 0.5 { Variant::Plain } else { Variant::WithStrip };
        let width = between(200.0, 900.0);
        let mut view = Self {
            variant,
            middle_px: [500.0, 375.0],
            px_per_mm: 1.0,
            turn: between(0.0, 360.0),
            tilt: between(0.0, 45.0),
            toward: between(0.0, 360.0),
            far_mm: between(250.0, 700.0),
            blur_mm: between(0.0, 0.35),
            light: [between(0.5, 1.0), between(0.5, 1.0)],
            cover: None,
            board: between(0.03, 0.6),
            white: between(0.5, 0.95),
        };
        let free = [between(-1.0, 1.0), between(-1.0, 1.0)];
        let corner = between(0.0, 4.0) as usize % 4;
        view.place(500.0, 375.0, width);
        let corners = view.corners();
        let [low, high] = [f64::min, f64::max]
            .map(|pick| [0, 1].map(|axis| corners.iter().map(|p| p[axis]).reduce(pick).unwrap()));
        let room = [(1000.0 - (high[0] - low[0])) / 2.0 - 6.0, (750.0 - (high[1] - low[1])) / 2.0 - 6.0];
        for axis in 0..2 {
            let middle = [500.0, 375.0][axis] - ((low[axis] + high[axis]) / 2.0 - view.middle_px[axis]);
            view.middle_px[axis] = middle + free[axis] * room[axis].max(0.0);
        }
        if kind == 0 {
            let layout = view.variant.layout();
            view.cover = Some((layout.marks[corner].square.centre(), between(4.0, 9.0)));
        }
        if kind == 1 {
            view.crop_a_corner(corner);
        }
        view
    }

    /// Moves it until half of the mark of one corner, and no other mark, is beyond the edge of the picture; covers
    /// that corner where it lies so straight that two would be.
    fn crop_a_corner(&mut self, corner: usize) {
        let layout = self.variant.layout();
        let lost = |view: &Self, n: usize| {
            let out = |p: [f64; 2]| p[0] < 0.0 || p[1] < 0.0 || p[0] > 1000.0 || p[1] > 750.0;
            layout.marks[n].square.corners().iter().any(|p| out(view.project(*p)))
        };
        let start = self.middle_px;
        for (axis, end) in [(0, 0.0), (0, 1000.0), (1, 0.0), (1, 750.0)] {
            self.middle_px = start;
            self.middle_px[axis] += end - self.project(layout.marks[corner].square.centre())[axis];
            if (0..4).filter(|n| lost(self, *n)).count() == 1 {
                return;
            }
        }
        self.middle_px = start;
        self.cover = Some((layout.marks[corner].square.centre(), 7.0));
    }

    /// Puts its middle somewhere and makes it so many pixels wide at most.
    pub(crate) fn place(&mut self, x: f64, y: f64, width_px: f64) {
        self.middle_px = [x, y];
        self.px_per_mm = 1.0;
        let corners = self.corners();
        let span = |axis: usize| {
            let values = corners.iter().map(|p| p[axis]);
            values.clone().fold(f64::NEG_INFINITY, f64::max) - values.fold(f64::INFINITY, f64::min)
        };
        self.px_per_mm = (width_px / span(0)).min(width_px * 0.75 / span(1));
    }

    fn corners(&self) -> Vec<[f64; 2]> {
        let [w, h] = self.variant.layout().size_mm;
        [[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]].iter().map(|p| self.project(*p)).collect()
    }

    /// Card in mm → picture in pixels.
    pub(crate) fn project(&self, mm: [f64; 2]) -> [f64; 2] {
        let [w, h] = self.variant.layout().size_mm;
        let (s, c) = self.turn.to_radians().sin_cos();
        let p = [mm[0] - w / 2.0, mm[1] - h / 2.0];
        let p = [p[0] * c - p[1] * s, p[0] * s + p[1] * c];
        let (ts, tc) = self.toward.to_radians().sin_cos();
        let along = p[0] * tc + p[1] * ts;
        let (sin, cos) = self.tilt.to_radians().sin_cos();
        let depth = along * sin;
        let squeezed = along * cos - along;
        let q = [p[0] + squeezed * tc, p[1] + squeezed * ts];
        let scale = self.px_per_mm * self.far_mm / (self.far_mm + depth);
        [self.middle_px[0] + q[0] * scale, self.middle_px[1] + q[1] * scale]
    }

    /// Pixels in a mm at a point of the card, square root of the area's scale.
    pub(crate) fn px_per_mm_at(&self, mm: [f64; 2]) -> f64 {
        let d = 0.01;
        let [a, b, c] = [mm, [mm[0] + d, mm[1]], [mm[0], mm[1] + d]].map(|p| self.project(p));
        (((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])).abs()).sqrt() / d
    }

    /// Picture → card.
    fn back(&self) -> Homography {
        let [w, h] = self.variant.layout().size_mm;
        let pairs = [[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]].map(|p| (self.project(p), p));
        Homography::through(&pairs).unwrap()
    }
}

/// Dots of the printed card in a millimetre.
const DOTS: f64 = 12.0;

/// The printed card as luminance, dot by dot.
fn print_of(layout: &CardLayout) -> (Vec<f64>, usize, usize) {
    let luminance = |lightness: f64| ((lightness + 16.0) / 116.0f64).powi(3);
    let dots = |mm: f64| (mm * DOTS).round() as usize;
    let [width, height] = layout.size_mm.map(dots);
    let mut print = vec![luminance(95.0); width * height];
    for (rect, tone) in layout.fills() {
        let lightness = match tone {
            Tone::Black => 20.0,
            Tone::Step(number) => LADDER[number - 1],
        };
        let [x, y] = rect.min.map(dots);
        let [right, low] = [0, 1].map(|n| dots(rect.min[n] + rect.size[n]));
        for row in y..low {
            print[row * width + x..row * width + right].fill(luminance(lightness));
        }
    }
    (print, width, height)
}

/// Paints views on a board.
pub(crate) fn painted(views: &[&View], size: [usize; 2], rng: &mut Xoshiro256PlusPlus) -> Raster {
    let [width, height] = size;
    let (board, white) = (views[0].board, views[0].white);
    let mut light = vec![board; width * height];
    for view in views {
        let (print, across, down) = print_of(&view.variant.layout());
        let back = view.back();
        let corners = view.corners();
        let range = |axis: usize, end: usize| {
            let values = corners.iter().map(|p| p[axis].clamp(0.0, end as f64));
            let low = values.clone().fold(f64::INFINITY, f64::min) as usize;
            low..(values.fold(0.0, f64::max).ceil() as usize).min(end)
        };
        for y in range(1, height) {
            for x in range(0, width) {
                let i = y * width + x;
                let (mut sum, mut hits) = (0.0, 0.0);
                for n in 0..9 {
                    let [dx, dy] = [n % 3, n / 3].map(|k| (k as f64 + 0.5) / 3.0);
                    let mm = back.map([x as f64 + dx, y as f64 + dy]);
                    let [u, v] = mm.map(|mm| mm * DOTS);
                    if !(u >= 0.0 && v >= 0.0) || u >= across as f64 || v >= down as f64 {
                        continue;
                    }
                    let covered =
                        view.cover.is_some_and(|(at, radius)| (mm[0] - at[0]).hypot(mm[1] - at[1]) < radius);
                    sum += if covered { 0.12 } else { print[v as usize * across + u as usize] };
                    hits += 1.0;
                }
                light[i] = (sum + light[i] * (9.0 - hits)) / 9.0;
            }
        }
    }
    let sd_px = views[0].blur_mm * views[0].px_per_mm;
    blur(&mut light, width, height, sd_px);
    let [right, low] = views[0].light;
    let mut samples = Vec::with_capacity(width * height * 3);
    for y in 0..height {
        for x in 0..width {
            let [u, v] = [x as f64 / width as f64, y as f64 / height as f64];
            let fall = (1.0 - (1.0 - right) * u) * (1.0 - (1.0 - low) * v);
            let value = light[y * width + x] * white / 0.876 * fall;
            let noisy = value + 0.004 * (rng.random::<f64>() + rng.random::<f64>() - 1.0) * 2.0;
            let code = (sameshot::color::srgb_encode(noisy.clamp(0.0, 1.0)) * 255.0).round() as u8;
            samples.extend([code; 3]);
        }
    }
    Raster::new(width as u32, height as u32, Samples::U8(samples), Coding::srgb(256), None).unwrap()
}

fn blur(light: &mut [f64], width: usize, height: usize, sd_px: f64) {
    if sd_px < 0.2 {
        return;
    }
    let reach = (3.0 * sd_px).ceil() as isize;
    let weights: Vec<f64> = (-reach..=reach).map(|d| (-0.5 * (d as f64 / sd_px).powi(2)).exp()).collect();
    let total: f64 = weights.iter().sum();
    let fold = |line: &[f64], i: usize| {
        let at = |d: isize| line[(i as isize + d).clamp(0, line.len() as isize - 1) as usize];
        weights.iter().zip(-reach..).map(|(w, d)| w * at(d)).sum::<f64>() / total
    };
    for row in light.chunks_exact_mut(width) {
        let line = row.to_vec();
        row.iter_mut().enumerate().for_each(|(x, v)| *v = fold(&line, x));
    }
    for x in 0..width {
        let line: Vec<f64> = (0..height).map(|y| light[y * width + x]).collect();
        (0..height).for_each(|y| light[y * width + x] = fold(&line, y));
    }
}

/// A picture with no card in it, of one of six kinds.
pub(crate) fn without_card(rng: &mut Xoshiro256PlusPlus, kind: usize) -> Raster {
    let [width, height] = [640usize, 480];
    let mut light = vec![0.55f64; width * height];
    let mut rect = |x: usize, y: usize, w: usize, h: usize, value: f64| {
        for row in y..(y + h).min(height) {
            for column in x..(x + w).min(width) {
                light[row * width + column] = value;
            }
        }
    };
    match kind % 6 {
        0 => (0..width * height).for_each(|i| rect(i % width, i / width, 1, 1, rng.random::<f64>())),
        // Squares with a dark rim and random bits on white, as a mark has them.
        1 | 2 => {
            let cell = 4 + kind % 5;
            for row in 0..height / (9 * cell) {
                for column in 0..width / (9 * cell) {
                    let (x, y) = (column * 9 * cell + cell, row * 9 * cell + cell);
                    rect(x - cell, y - cell, 8 * cell, 8 * cell, 0.9);
                    rect(x, y, 6 * cell, 6 * cell, 0.05);
                    for n in 0..16 {
                        if rng.random::<bool>() {
                            rect(x + (1 + n % 4) * cell, y + (1 + n / 4) * cell, cell, cell, 0.9);
                        }
                    }
                }
            }
        }
        // A chart: squares of random tone in a dark frame.
        3 => {
            rect(60, 60, 500, 340, 0.04);
            for n in 0..24 {
                rect(75 + (n % 6) * 80, 72 + (n / 6) * 80, 64, 64, rng.random::<f64>());
            }
        }
        // A chessboard.
        4 => {
            let side = 12 + kind % 40;
            for n in 0..(width / side) * (height / side) {
                let (column, row) = (n % (width / side), n / (width / side));
                rect(column * side, row * side, side, side, if (column + row) % 2 == 0 { 0.05 } else { 0.9 });
            }
        }
        // Boxes anywhere.
        _ => {
            for _ in 0..150 {
                let (w, h) =
                    (8 + (rng.random::<f64>() * 60.0) as usize, 8 + (rng.random::<f64>() * 60.0) as usize);
                let (x, y) = ((rng.random::<f64>() * 600.0) as usize, (rng.random::<f64>() * 440.0) as usize);
                rect(x, y, w, h, rng.random::<f64>());
            }
        }
    }
    blur(&mut light, width, height, 0.7);
    let samples = light.iter().flat_map(|v| [(sameshot::color::srgb_encode(*v) * 255.0) as u8; 3]).collect();
    Raster::new(width as u32, height as u32, Samples::U8(samples), Coding::srgb(256), None).unwrap()
}

/// A photo whole and in four quarters.
pub(crate) fn pieces(raster: &Raster) -> Vec<Raster> {
    let (w, h) = (raster.width(), raster.height());
    let cut = |x0: u32, y0: u32, width: u32, height: u32| {
        let mut samples = Vec::with_capacity((width * height * 3) as usize);
        for y in y0..y0 + height {
            for x in x0..x0 + width {
                samples.extend(raster.linear_at(x, y));
            }
        }
        let coding = Coding { curves: [vec![], vec![], vec![]], to_srgb: None };
        Raster::new(width, height, Samples::Linear(samples), coding, None).unwrap()
    };
    let mut pieces = vec![raster.clone()];
    for (x, y) in [(0, 0), (w / 2, 0), (0, h / 2), (w / 2, h / 2)] {
        pieces.push(cut(x, y, w / 2, h / 2));
    }
    pieces
}

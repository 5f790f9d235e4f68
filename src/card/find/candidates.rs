//! Dark spots with four straight sides.

use super::Grey;

/// Corners of a four-sided spot, clockwise as seen in the picture.
pub(super) type Quad = [[f64; 2]; 4];

/// Smaller spots cannot be read.
const LEAST_SIDE_PX: f64 = 12.0;
/// A pixel is dark below this share of the mean around it.
const DARK_SHARE: f32 = 0.80;
/// The mean is taken over squares of these half sides, as shares of the picture's longer side: marks that fill the
/// picture and marks in a corner of it ask for different ones.
const WINDOWS: [usize; 2] = [24, 90];

/// All candidates of a picture.
pub(super) fn quads(grey: &Grey) -> Vec<Quad> {
    let sums = integral(grey);
    let mut found: Vec<Quad> = Vec::new();
    for window in WINDOWS {
        let half = (grey.width.max(grey.height) / window).max(6);
        let dark = dark_pixels(grey, &sums, half);
        for spot in spots(&dark, grey.width, grey.height) {
            let Some(quad) = quad_of(&spot).and_then(|quad| refined(grey, quad)) else { continue };
            if !found.iter().any(|other| is_same(other, &quad)) {
                found.push(quad);
            }
        }
    }
    found
}

fn is_same(a: &Quad, b: &Quad) -> bool {
    let middle = |quad: &Quad| [0, 1].map(|axis| quad.iter().map(|p| p[axis]).sum::<f64>() / 4.0);
    let (p, q) = (middle(a), middle(b));
    libm::hypot(p[0] - q[0], p[1] - q[1]) < 0.2 * libm::hypot(a[0][0] - a[2][0], a[0][1] - a[2][1])
}

/// Sums over the rectangle above and left of each pixel corner.
fn integral(grey: &Grey) -> Vec<f64> {
    let stride = grey.width + 1;
    let mut sums = vec![0.0; stride * (grey.height + 1)];
    for (y, row) in grey.values.chunks_exact(grey.width).enumerate() {
        let mut line = 0.0;
        for (x, value) in row.iter().enumerate() {
            line += f64::from(*value);
            sums[(y + 1) * stride + x + 1] = sums[y * stride + x + 1] + line;
        }
    }
    sums
}

fn dark_pixels(grey: &Grey, sums: &[f64], half: usize) -> Vec<bool> {
    let stride = grey.width + 1;
    let mut dark = vec![false; grey.values.len()];
    for y in 0..grey.height {
        let (top, low) = (y.saturating_sub(half), (y + half + 1).min(grey.height));
        for x in 0..grey.width {
            let (left, right) = (x.saturating_sub(half), (x + half + 1).min(grey.width));
            let sum = sums[low * stride + right] - sums[top * stride + right] - sums[low * stride + left]
                + sums[top * stride + left];
            let mean = (sum / ((low - top) * (right - left)) as f64) as f32;
            let i = y * grey.width + x;
            dark[i] = grey.values[i] < DARK_SHARE * mean;
        }
    }
    dark
}

/// Left and right ends of each row of a connected spot, as points on pixel corners.
fn spots(dark: &[bool], width: usize, height: usize) -> Vec<Vec<[f64; 2]>> {
    let mut seen = vec![false; dark.len()];
    let mut stack = Vec::new();
    let mut found = Vec::new();
    for start in 0..dark.len() {
        if !dark[start] || seen[start] {
            continue;
        }
        seen[start] = true;
        stack.push(start);
        let mut pixels = Vec::new();
        let (mut left, mut right, mut top, mut low) = (width, 0, height, 0);
        while let Some(i) = stack.pop() {
            pixels.push(i as u32);
            let (x, y) = (i % width, i / width);
            (left, right) = (left.min(x), right.max(x));
            (top, low) = (top.min(y), low.max(y));
            let mut visit = |j: usize| {
                if dark[j] && !seen[j] {
                    seen[j] = true;
                    stack.push(j);
                }
            };
            if x > 0 {
                visit(i - 1);
            }
            if x + 1 < width {
                visit(i + 1);
            }
            if y > 0 {
                visit(i - width);
            }
            if y + 1 < height {
                visit(i + width);
            }
        }
        let (across, down) = ((right + 1).saturating_sub(left), (low + 1).saturating_sub(top));
        let touches_edge = left == 0 || top == 0 || right + 1 == width || low + 1 == height;
        let is_small = (across.max(down) as f64) < LEAST_SIDE_PX || across.min(down) < 6;
        let is_thin = pixels.len() * 6 < across * down;
        let is_huge = across.max(down) * 2 > width.max(height);
        if touches_edge || is_small || is_thin || is_huge {
            continue;
        }
        let mut ends = vec![(usize::MAX, 0); down];
        for i in pixels {
            let (x, y) = (i as usize % width, i as usize / width);
            let end = &mut ends[y - top];
            *end = (end.0.min(x), end.1.max(x));
        }
        let points = ends.iter().enumerate().flat_map(|(row, (first, last))| {
            let (y, l, r) = ((row + top) as f64, *first as f64, *last as f64 + 1.0);
            [[l, y], [l, y + 1.0], [r, y], [r, y + 1.0]]
        });
        found.push(points.collect());
    }
    found
}

/// The four corners of a spot whose hull has four sides: the ends of the longest diagonal and the points farthest
/// from it on either side. `None` where the hull is no such thing.
fn quad_of(points: &[[f64; 2]]) -> Option<Quad> {
    let hull = hull_of(points);
    if hull.len() < 4 {
        return None;
    }
    let mut ends = (0, 0, 0.0);
    for a in 0..hull.len() {
        for b in 0..a {
            let far = libm::hypot(hull[a][0] - hull[b][0], hull[a][1] - hull[b][1]);
            if far > ends.2 {
                ends = (b, a, far);
            }
        }
    }
    let (a, c) = (hull[ends.0], hull[ends.1]);
    let off = |p: &[f64; 2]| (c[0] - a[0]) * (p[1] - a[1]) - (c[1] - a[1]) * (p[0] - a[0]);
    let b = hull.iter().copied().min_by(|p, q| off(p).total_cmp(&off(q)))?;
    let d = hull.iter().copied().max_by(|p, q| off(p).total_cmp(&off(q)))?;
    let quad = [a, b, c, d];
    let (own, whole) = (area_of(&quad).abs(), area_of(&hull).abs());
    let shortest = (0..4)
        .map(|n| libm::hypot(quad[n][0] - quad[(n + 1) % 4][0], quad[n][1] - quad[(n + 1) % 4][1]))
        .fold(f64::INFINITY, f64::min);
    if own < 0.80 * whole || shortest < 0.35 * ends.2 / std::f64::consts::SQRT_2 || shortest < 7.0 {
        return None;
    }
    // Clockwise with y down is a positive area by the shoelace formula.
    Some(if area_of(&quad) > 0.0 { quad } else { [a, d, c, b] })
}

fn area_of(points: &[[f64; 2]]) -> f64 {
    let next = points.iter().cycle().skip(1);
    points.iter().zip(next).map(|(p, q)| p[0] * q[1] - q[0] * p[1]).sum::<f64>() / 2.0
}

/// Convex hull (Andrew's monotone chain, 1979).
pub fn hull_of(points: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let mut sorted = points.to_vec();
    sorted.sort_by(|p, q| p[0].total_cmp(&q[0]).then(p[1].total_cmp(&q[1])));
    sorted.dedup();
    let chain = |points: &mut dyn Iterator<Item = [f64; 2]>| {
        let mut chain: Vec<[f64; 2]> = Vec::new();
        for p in points {
            while let [.., a, b] = chain[..] {
                if (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]) > 0.0 {
                    break;
                }
                chain.pop();
            }
            chain.push(p);
        }
        chain.pop();
        chain
    };
    let mut hull = chain(&mut sorted.iter().copied());
    hull.extend(chain(&mut sorted.iter().rev().copied()));
    hull
}

/// The corners where lines through the places of steepest change meet.
pub(super) fn refined(grey: &Grey, quad: Quad) -> Option<Quad> {
    let mut lines = [[0.0; 3]; 4];
    for side in 0..4 {
        lines[side] = steepest_line(grey, quad[side], quad[(side + 1) % 4])?;
    }
    let mut corners = quad;
    for n in 0..4 {
        let (p, q) = (lines[(n + 3) % 4], lines[n]);
        let cross = p[0] * q[1] - p[1] * q[0];
        if cross.abs() < 0.2 {
            return None;
        }
        corners[n] = [(p[1] * q[2] - p[2] * q[1]) / cross, (p[2] * q[0] - p[0] * q[2]) / cross];
        let side = libm::hypot(quad[n][0] - quad[(n + 1) % 4][0], quad[n][1] - quad[(n + 1) % 4][1]);
        if libm::hypot(corners[n][0] - quad[n][0], corners[n][1] - quad[n][1]) > 0.25 * side {
            return None;
        }
    }
    Some(corners)
}

/// A line a·x + b·y + c = 0 (a, b of length 1) along a side, dark on its right hand going clockwise.
fn steepest_line(grey: &Grey, from: [f64; 2], to: [f64; 2]) -> Option<[f64; 3]> {
    let length = libm::hypot(to[0] - from[0], to[1] - from[1]);
    let along = [(to[0] - from[0]) / length, (to[1] - from[1]) / length];
    let outward = [along[1], -along[0]];
    // A cell is a sixth of the side; the next edge lies one cell in and one and a half out.
    let reach = (length / 9.0).clamp(1.5, 6.0);
    let probes = (length / 1.5).clamp(8.0, 40.0) as usize;
    let mut places = Vec::with_capacity(probes);
    for n in 0..probes {
        let t = 0.12 + 0.76 * (n as f64 + 0.5) / probes as f64;
        let at = [0, 1].map(|axis| from[axis] + (to[axis] - from[axis]) * t);
        let mut best = (0.0, 0.0);
        let value = |d: f64| grey.at([at[0] + outward[0] * d, at[1] + outward[1] * d]);
        let mut weighted = (0.0, 0.0);
        let mut d = -reach;
        while d <= reach {
            let rise = value(d + 0.5)? - value(d - 0.5)?;
            if rise > best.0 {
                best = (rise, d);
            }
            let weight = rise.max(0.0) * rise.max(0.0);
            weighted = (weighted.0 + weight * d, weighted.1 + weight);
            d += 0.25;
        }
        if best.0 > 0.02 && weighted.1 > 0.0 {
            let d = weighted.0 / weighted.1;
            places.push([at[0] + outward[0] * d, at[1] + outward[1] * d]);
        }
    }
    if places.len() * 2 < probes {
        return None;
    }
    let first = fitted_line(&places, along);
    let off = |line: &[f64; 3], p: &[f64; 2]| (line[0] * p[0] + line[1] * p[1] + line[2]).abs();
    let mut offs: Vec<f64> = places.iter().map(|p| off(&first, p)).collect();
    offs.sort_by(f64::total_cmp);
    let limit = (2.5 * offs[offs.len() / 2]).max(0.3);
    places.retain(|p| off(&first, p) <= limit);
    Some(fitted_line(&places, along))
}

/// Total least squares.
fn fitted_line(places: &[[f64; 2]], along: [f64; 2]) -> [f64; 3] {
    let n = places.len() as f64;
    let [cx, cy] = [0, 1].map(|axis| places.iter().map(|p| p[axis]).sum::<f64>() / n);
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for p in places {
        let (dx, dy) = (p[0] - cx, p[1] - cy);
        xx += dx * dx;
        xy += dx * dy;
        yy += dy * dy;
    }
    let turn = 0.5 * libm::atan2(2.0 * xy, xx - yy);
    let (s, c) = libm::sincos(turn);
    let direction = if c * along[0] + s * along[1] >= 0.0 { [c, s] } else { [-c, -s] };
    let normal = [direction[1], -direction[0]];
    [normal[0], normal[1], -(normal[0] * cx + normal[1] * cy)]
}

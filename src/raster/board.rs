//! The light on a plain board, and how far each pixel is from it.
//!
//! The board is one material under light that varies smoothly, so the logarithm of each channel is a smooth surface:
//! a cubic polynomial in x and y, fitted to most of the picture by reweighting what lies off it (parts, shadows)
//! down to nothing. Against that surface a shadow is darker in all channels alike, while a part differs in the
//! ratio of its channels, or is lighter, or is much darker with a sharp edge.

use nalgebra::{DMatrix, DVector};

use super::Reduced;

/// The board of a picture.
#[derive(Debug, Clone)]
pub struct Board {
    /// For every pixel, how the logarithms of red, green and blue differ from the board's.
    pub off: Vec<[f32; 3]>,
    /// Robust standard deviation of `red − green` and `blue − green` on the board itself.
    pub tint_sd: f32,
    /// Robust standard deviation of the mean of the three on the board itself.
    pub light_sd: f32,
    /// Share of the pixels that are board.
    pub share: f64,
}

/// Light below this is mostly noise; added before taking logarithms.
const DARK: f32 = 0.003;
/// Terms of the cubic.
const TERMS: usize = 10;
/// A board has to fill at least this share of what is looked at.
const LEAST_SHARE: f64 = 0.25;

/// Fits the board of a picture, leaving out pixels where `skip` says so. `None` where no plain board fills a quarter
/// of it.
pub fn board_of(picture: &Reduced, skip: impl Fn(usize) -> bool) -> Option<Board> {
    let logs: Vec<[f32; 3]> =
        picture.linear.iter().map(|p| p.map(|v| libm::logf(v.max(0.0) + DARK))).collect();
    let stride = ((picture.linear.len() as f64 / 24_000.0).sqrt().ceil() as usize).max(1);
    let sample: Vec<usize> = (0..picture.linear.len())
        .filter(|i| {
            (i % picture.width).is_multiple_of(stride)
                && (i / picture.width).is_multiple_of(stride)
                && !skip(*i)
        })
        .collect();
    if sample.len() < 200 {
        return None;
    }
    let start = most_common(&logs, &sample);
    let surfaces = fitted(&logs, &sample, start, picture)?;
    let off: Vec<[f32; 3]> = (0..logs.len())
        .map(|i| {
            let terms = terms_at(i, picture);
            std::array::from_fn(|channel| {
                let board: f64 = terms.iter().zip(&surfaces[channel]).map(|(t, c)| t * c).sum();
                logs[i][channel] - board as f32
            })
        })
        .collect();
    let near: Vec<&[f32; 3]> =
        sample.iter().map(|i| &off[*i]).filter(|off| off.iter().all(|v| v.abs() < 0.12)).collect();
    let share = near.len() as f64 / sample.len() as f64;
    if share < LEAST_SHARE {
        return None;
    }
    let tint = near.iter().flat_map(|o| [(o[0] - o[1]).abs(), (o[2] - o[1]).abs()]).collect();
    let light = near.iter().map(|o| ((o[0] + o[1] + o[2]) / 3.0).abs()).collect();
    Some(Board { tint_sd: 1.4826 * median(tint), light_sd: 1.4826 * median(light), share, off })
}

/// The fullest place of a coarse histogram over lightness and the two tints, and its middle.
fn most_common(logs: &[[f32; 3]], sample: &[usize]) -> [f32; 3] {
    let key = |log: &[f32; 3]| {
        [log[1] / 0.5, (log[0] - log[1]) / 0.08, (log[2] - log[1]) / 0.08].map(|v| v.round() as i32)
    };
    let mut counts = std::collections::BTreeMap::<[i32; 3], (usize, [f32; 3])>::new();
    for i in sample {
        let entry = counts.entry(key(&logs[*i])).or_default();
        entry.0 += 1;
        for channel in 0..3 {
            entry.1[channel] += logs[*i][channel];
        }
    }
    let best = counts.values().max_by_key(|(count, _)| *count);
    best.map_or([0.0; 3], |(count, sum)| sum.map(|v| v / *count as f32))
}

/// Coefficients of each channel's cubic, by reweighted least squares with Tukey's biweight (Beaton and Tukey 1974).
fn fitted(logs: &[[f32; 3]], sample: &[usize], start: [f32; 3], picture: &Reduced) -> Option<[Vec<f64>; 3]> {
    let mut surfaces: [Vec<f64>; 3] = std::array::from_fn(|channel| {
        let mut surface = vec![0.0; TERMS];
        surface[0] = f64::from(start[channel]);
        surface
    });
    let basis: Vec<[f64; TERMS]> = sample.iter().map(|i| terms_at(*i, picture)).collect();
    // From wide, when only the level is known, to narrow; higher terms come in one after another.
    for (width, terms) in
        [(0.9, 3), (0.6, 3), (0.4, 6), (0.25, 6), (0.15, TERMS), (0.10, TERMS), (0.08, TERMS)]
    {
        let mut normal = DMatrix::<f64>::zeros(terms, terms);
        let mut right = [0, 1, 2].map(|_| DVector::<f64>::zeros(terms));
        for (i, row) in sample.iter().zip(&basis) {
            let value =
                |channel: usize| -> f64 { row.iter().zip(&surfaces[channel]).map(|(t, c)| t * c).sum() };
            let off: [f64; 3] = std::array::from_fn(|c| f64::from(logs[*i][c]) - value(c));
            let light = (off[0] + off[1] + off[2]) / 3.0;
            // Tints of the board hardly vary: they tell it from parts while its light is still unknown.
            let tint = (off[0] - off[1]).abs().max((off[2] - off[1]).abs()).max(0.0);
            let far = (light.abs() / width).max(tint / (0.3 * width).max(0.05));
            if far >= 1.0 {
                continue;
            }
            let weight = (1.0 - far * far) * (1.0 - far * far);
            for a in 0..terms {
                for b in 0..=a {
                    normal[(a, b)] += weight * row[a] * row[b];
                }
                for channel in 0..3 {
                    right[channel][a] += weight * row[a] * f64::from(logs[*i][channel]);
                }
            }
        }
        for a in 0..terms {
            normal[(a, a)] += 1e-6 * normal[(0, 0)].max(1e-9);
            for b in 0..a {
                normal[(b, a)] = normal[(a, b)];
            }
        }
        let root = normal.cholesky()?;
        for channel in 0..3 {
            let solved = root.solve(&right[channel]);
            surfaces[channel] = (0..TERMS).map(|n| if n < terms { solved[n] } else { 0.0 }).collect();
        }
    }
    Some(surfaces)
}

fn terms_at(i: usize, picture: &Reduced) -> [f64; TERMS] {
    let half = picture.width.max(picture.height) as f64 / 2.0;
    let x = (i % picture.width) as f64 / half - picture.width as f64 / 2.0 / half;
    let y = (i / picture.width) as f64 / half - picture.height as f64 / 2.0 / half;
    [1.0, x, y, x * x, x * y, y * y, x * x * x, x * x * y, x * y * y, y * y * y]
}

fn median(mut values: Vec<f32>) -> f32 {
    if values.is_empty() {
        return 0.0;
    }
    let middle = values.len() / 2;
    *values.select_nth_unstable_by(middle, f32::total_cmp).1
}

//! From the exposed sensor to 8-bit sRGB: lens blur, flare, noise, white balance, rendering, sharpening.

use rand::SeedableRng;
use rand_xoshiro::Xoshiro256PlusPlus;

use super::Plate;
use crate::scene::camera::balance::Automatic;
use crate::scene::camera::noise::with_flare;
use crate::scene::camera::{Camera, Gains, to_8_bit};

/// Settings of one shot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shot {
    /// Mean green of the picture after exposure, in linear light.
    pub mean_level: f64,
    /// How the white balance was found.
    pub balance: Balance,
    /// Lens blur, standard deviation in pixels.
    pub blur_px: f64,
    /// Distance in focus in mm, and blur in pixels at infinity.
    pub focus: Option<(f64, f64)>,
    /// How strongly the picture was sharpened, 0 and up.
    pub sharpening: f64,
    /// Seed of the noise.
    pub seed: u64,
}

/// Where white balance comes from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Balance {
    /// From a neutral of this raw colour, as a setting for one light does.
    Fixed([f64; 3]),
    /// Found by the camera: raw of a white in the true light, of a white in daylight, its habits.
    Automatic([f64; 3], [f64; 3], Automatic),
}

/// 8-bit sRGB, interleaved.
pub fn develop(mut plate: Plate, camera: &Camera, shot: &Shot) -> Vec<u8> {
    let (width, height) = (plate.width, plate.height);
    blur(&mut plate.raw, width, height, shot.blur_px);
    if let Some((focus_mm, far_blur_px)) = shot.focus {
        defocus(&mut plate, focus_mm, far_blur_px);
    }
    let pixels = plate.raw.len() as f64;
    let mut mean = [0.0; 3];
    for raw in &plate.raw {
        for channel in 0..3 {
            mean[channel] += f64::from(raw[channel]) / pixels;
        }
    }
    let gains = match shot.balance {
        Balance::Fixed(neutral) => Gains::from_neutral(neutral),
        Balance::Automatic(neutral, daylight, habits) => Gains::automatic(neutral, mean, daylight, habits),
    };
    let exposure = shot.mean_level / mean[1].max(1e-9);
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(shot.seed);
    for raw in &mut plate.raw {
        let lit = with_flare(raw.map(f64::from), mean, camera.flare);
        let exposed = lit.map(|v| v * exposure);
        *raw = camera.noise.added(exposed, &mut rng).map(|v| v as f32);
    }
    // Demosaicing spreads noise over neighbours.
    blur(&mut plate.raw, width, height, 0.6);
    for raw in &mut plate.raw {
        *raw = camera.coded(raw.map(f64::from), gains).map(|v| v as f32);
    }
    if shot.sharpening > 0.0 {
        sharpen(&mut plate.raw, width, height, shot.sharpening);
    }
    plate.raw.iter().flat_map(|coded| to_8_bit(coded.map(f64::from))).collect()
}

/// Gaussian blur in place; edges are held.
pub fn blur(picture: &mut [[f32; 3]], width: usize, height: usize, sd_px: f64) {
    if sd_px <= 0.0 {
        return;
    }
    let reach = libm::ceil(sd_px * 3.0) as isize;
    let weights: Vec<f32> =
        (-reach..=reach).map(|d| libm::exp(-0.5 * (d as f64 / sd_px) * (d as f64 / sd_px)) as f32).collect();
    let total: f32 = weights.iter().sum();
    let weights: Vec<f32> = weights.iter().map(|w| w / total).collect();
    let fold = |line: &[[f32; 3]], i: usize| {
        let mut sum = [0.0f32; 3];
        for (weight, d) in weights.iter().zip(-reach..) {
            let from = &line[(i as isize + d).clamp(0, line.len() as isize - 1) as usize];
            for channel in 0..3 {
                sum[channel] += weight * from[channel];
            }
        }
        sum
    };
    for row in picture.chunks_exact_mut(width) {
        let line = row.to_vec();
        for (x, pixel) in row.iter_mut().enumerate() {
            *pixel = fold(&line, x);
        }
    }
    // Columns in strips, so that the cache is used.
    const STRIP: usize = 16;
    for left in (0..width).step_by(STRIP) {
        let strip = STRIP.min(width - left);
        let lines: Vec<Vec<[f32; 3]>> =
            (0..strip).map(|s| (0..height).map(|y| picture[y * width + left + s]).collect()).collect();
        for y in 0..height {
            for s in 0..strip {
                picture[y * width + left + s] = fold(&lines[s], y);
            }
        }
    }
}

/// Blurs what is far from the distance in focus, by mixing a few blurred copies.
fn defocus(plate: &mut Plate, focus_mm: f64, far_blur_px: f64) {
    let steps: Vec<f64> = (1..=4).map(|n| far_blur_px * libm::pow(0.5, f64::from(4 - n))).collect();
    let mut below = plate.raw.clone();
    let mut low_px = 0.0;
    let mut out = plate.raw.clone();
    for step_px in steps {
        let mut above = below.clone();
        blur(&mut above, plate.width, plate.height, libm::sqrt(step_px * step_px - low_px * low_px));
        for (i, pixel) in out.iter_mut().enumerate() {
            let wanted_px = far_blur_px * (1.0 - focus_mm / f64::from(plate.far_mm[i])).abs();
            if wanted_px > low_px {
                let share = ((wanted_px - low_px) / (step_px - low_px)).min(1.0) as f32;
                *pixel = std::array::from_fn(|c| below[i][c] + share * (above[i][c] - below[i][c]));
            }
        }
        below = above;
        low_px = step_px;
    }
    plate.raw = out;
}

/// Unsharp mask on the code.
fn sharpen(picture: &mut [[f32; 3]], width: usize, height: usize, amount: f64) {
    let mut soft = picture.to_vec();
    blur(&mut soft, width, height, 1.4);
    for (pixel, soft) in picture.iter_mut().zip(&soft) {
        for channel in 0..3 {
            pixel[channel] += amount as f32 * (pixel[channel] - soft[channel]);
        }
    }
}

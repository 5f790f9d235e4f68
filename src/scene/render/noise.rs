//! Smooth random fields for wood, scratches and skins: value noise on a lattice, the same on every machine.

/// A number in 0..1 for a lattice point (mix of Steele, Lea and Flood 2014, SplitMix64).
pub fn hash(x: i64, y: i64, seed: u64) -> f64 {
    let mut h = seed
        .wrapping_add((x as u64).wrapping_mul(0x9E37_79B9_7F4A_7C15))
        .wrapping_add((y as u64).wrapping_mul(0xD1B5_4A32_D192_ED03));
    h = (h ^ (h >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    h = (h ^ (h >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    h ^= h >> 31;
    (h >> 11) as f64 / (1u64 << 53) as f64
}

/// Value noise, −1..1, one lattice point a unit.
pub fn value(x: f64, y: f64, seed: u64) -> f64 {
    let (cell_x, cell_y) = (libm::floor(x), libm::floor(y));
    let (u, v) = (smooth(x - cell_x), smooth(y - cell_y));
    let (i, j) = (cell_x as i64, cell_y as i64);
    let low = hash(i, j, seed) * (1.0 - u) + hash(i + 1, j, seed) * u;
    let high = hash(i, j + 1, seed) * (1.0 - u) + hash(i + 1, j + 1, seed) * u;
    2.0 * (low * (1.0 - v) + high * v) - 1.0
}

/// Octaves of [`value`], each half as strong and twice as fine; within about −1..1.
pub fn fractal(x: f64, y: f64, octaves: u32, seed: u64) -> f64 {
    let (mut sum, mut strength, mut scale) = (0.0, 0.5, 1.0);
    for octave in 0..octaves {
        sum += strength * value(x * scale, y * scale, seed.wrapping_add(u64::from(octave) * 977));
        strength *= 0.5;
        scale *= 2.03;
    }
    sum
}

/// 0 below `low`, 1 above `high`, smooth between.
pub fn step_between(low: f64, high: f64, v: f64) -> f64 {
    smooth(((v - low) / (high - low)).clamp(0.0, 1.0))
}

fn smooth(t: f64) -> f64 {
    t * t * (3.0 - 2.0 * t)
}

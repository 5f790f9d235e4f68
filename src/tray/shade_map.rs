//! A picture's shades at a glance: for every pixel the nearest shade and how clearly it is the nearest.
//!
//! Most pixels of a photo share their code with others, so each code is judged once, exactly, and looked up for the
//! rest. This is for looking, not for measuring: shading and glare are taken as colour, and there are no error bars.

use crate::color::{Lab, ciede2000, lab_in_d50_from_linear_srgb};
use crate::raster::{Raster, Samples};

/// The nearest shade of every pixel.
#[derive(Debug, Clone, PartialEq)]
pub struct ShadeMap {
    /// Pixels across.
    pub width: usize,
    /// Pixels down.
    pub height: usize,
    /// What each code of the photo was judged to be.
    judged: Vec<Judged>,
    /// For each pixel, its place in `judged`.
    places: Vec<u32>,
}

/// What is said of a pixel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Judged {
    /// Index of the nearest shade.
    pub nearest: u8,
    /// CIEDE2000 to it.
    pub de00: f32,
    /// CIEDE2000 by which the next nearest shade is farther; infinite with one shade.
    pub lead: f32,
}

impl ShadeMap {
    /// What is said of a pixel; `None` beyond the picture.
    pub fn at(&self, x: usize, y: usize) -> Option<Judged> {
        let inside = x < self.width && y < self.height;
        let place = if inside { self.places.get(y * self.width + x) } else { None };
        place.and_then(|place| self.judged.get(*place as usize)).copied()
    }
}

/// Judges every pixel against at most 255 shades. `gains` multiply the photo's linear red, green and blue, so that its
/// card looks as it is. `None` without shades.
pub fn shade_map(raster: &Raster, gains: [f64; 3], shades: &[Lab]) -> Option<ShadeMap> {
    let judge = |linear: [f32; 3]| {
        let light = [0, 1, 2].map(|channel| f64::from(linear[channel]) * gains[channel]);
        judged(lab_in_d50_from_linear_srgb(light), shades)
    };
    let shades_fit = (1..=255).contains(&shades.len());
    let (width, height) = (raster.width() as usize, raster.height() as usize);
    let mut map = ShadeMap { width, height, judged: Vec::new(), places: Vec::with_capacity(width * height) };
    let pixel = |i: usize| raster.linear_at((i % width) as u32, (i / width) as u32);
    match raster.samples() {
        _ if !shades_fit => return None,
        Samples::U8(codes) => {
            // One place for each of the 2^24 codes; 0 for one not met yet.
            let mut known = vec![0u32; 1 << 24];
            for (i, code) in codes.chunks_exact(3).enumerate() {
                let key = usize::from(code[0]) << 16 | usize::from(code[1]) << 8 | usize::from(code[2]);
                if known[key] == 0 {
                    map.judged.push(judge(pixel(i)));
                    known[key] = map.judged.len() as u32;
                }
                map.places.push(known[key] - 1);
            }
        }
        Samples::U16(_) | Samples::Linear(_) => {
            for i in 0..width * height {
                map.judged.push(judge(pixel(i)));
                map.places.push(i as u32);
            }
        }
    }
    Some(map)
}

fn judged(lab: Lab, shades: &[Lab]) -> Judged {
    let mut best = Judged { nearest: 0, de00: f32::INFINITY, lead: f32::INFINITY };
    let mut second = f32::INFINITY;
    for (n, shade) in shades.iter().enumerate() {
        let de00 = ciede2000(lab, *shade) as f32;
        if de00 < best.de00 {
            second = best.de00;
            best = Judged { nearest: n as u8, de00, lead: 0.0 };
        } else {
            second = second.min(de00);
        }
    }
    Judged { lead: second - best.de00, ..best }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::raster::Coding;

    /// Against the exact formula on every pixel: the table changes nothing.
    #[test]
    fn every_pixel_is_judged_by_the_exact_formula() {
        let samples: Vec<u8> =
            (0..90 * 40).flat_map(|i| [i % 90 + 60, i / 90 * 3 + 80, 90].map(|v| v as u8)).collect();
        let raster = Raster::new(90, 40, Samples::U8(samples), Coding::srgb(256), None).unwrap();
        let shades = [Lab::new(56.0, -16.0, 7.0), Lab::new(52.0, -17.5, 7.5), Lab::new(47.0, -17.0, 8.0)];
        let gains = [1.1, 1.0, 0.9];
        let map = shade_map(&raster, gains, &shades).unwrap();
        for (x, y) in (0..40).flat_map(|y| (0..90).map(move |x| (x, y))) {
            let linear = raster.linear_at(x, y);
            let light = [0, 1, 2].map(|c| f64::from(linear[c]) * gains[c]);
            let lab = lab_in_d50_from_linear_srgb(light);
            let mut far: Vec<(f64, u8)> =
                shades.iter().zip(0..).map(|(s, n)| (ciede2000(lab, *s), n)).collect();
            far.sort_by(|a, b| a.0.total_cmp(&b.0));
            let own = map.at(x as usize, y as usize).unwrap();
            assert_eq!(own.nearest, far[0].1);
            assert!((f64::from(own.de00) - far[0].0).abs() < 1e-4);
            assert!((f64::from(own.lead) - (far[1].0 - far[0].0)).abs() < 1e-4);
        }
        assert_eq!(map.at(90, 0), None);
        assert!(shade_map(&raster, gains, &[]).is_none());
    }
}

//! The photo in tiles for the screen: level 0 has the photo's own pixels, each further level half of them.
//!
//! Tiles are built one by one from the coded samples when they come into sight; averages are taken in
//! linear light, since averages of coded values come out too dark. What is on the screen is never measured.

use crate::color::srgb_encode;
use crate::raster::Raster;

/// Pixels of a tile's side, at every level.
pub(super) const TILE_SIDE: u32 = 1024;

/// Which tile.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(super) struct TileKey {
    /// 0 is full size, each further level halves it.
    pub level: u8,
    /// Tiles from the left.
    pub column: u32,
    /// Tiles from the top.
    pub row: u32,
}

/// How carefully a tile is averaged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(super) enum Care {
    /// One sample a pixel: at once, and coarse.
    Quick,
    /// Every sample.
    Full,
}

/// A tile for the screen: sRGB with alpha, not premultiplied, row by row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Tile {
    /// Pixels across.
    pub width: usize,
    /// Pixels down.
    pub height: usize,
    /// Four bytes a pixel.
    pub rgba: Vec<u8>,
}

/// The coarsest level: the first in which the photo fits into one tile.
pub(super) fn top_level(width_px: u32, height_px: u32) -> u8 {
    (0..32).find(|level| scaled(width_px.max(height_px), *level) <= TILE_SIDE).unwrap_or(31)
}

/// The level to show when one pixel of the photo takes so many physical pixels of the screen.
pub(super) fn level_for(screen_px_per_px: f64, top: u8) -> u8 {
    let halvings = -libm::log2(screen_px_per_px.max(1e-9));
    halvings.round().clamp(0.0, f64::from(top)) as u8
}

/// The tiles of a level that cover a box of the photo (corners in pixels), those nearest its middle first.
pub(super) fn tiles_covering(
    photo_px: (u32, u32),
    level: u8,
    low_px: [f64; 2],
    high_px: [f64; 2],
) -> Vec<TileKey> {
    let side = f64::from(TILE_SIDE) * f64::from(1u32 << level);
    let range = |low: f64, high: f64, size: u32| {
        let last = scaled(size, level).div_ceil(TILE_SIDE).saturating_sub(1);
        let first = (low / side).floor().max(0.0) as u32;
        let end = ((high / side).ceil().max(0.0) as u32).min(last + 1);
        first..end
    };
    let columns = range(low_px[0], high_px[0], photo_px.0);
    let rows = range(low_px[1], high_px[1], photo_px.1);
    let mut keys: Vec<TileKey> =
        rows.flat_map(|row| columns.clone().map(move |column| TileKey { level, column, row })).collect();
    let middle = [(low_px[0] + high_px[0]) / 2.0 / side, (low_px[1] + high_px[1]) / 2.0 / side];
    keys.sort_by(|a, b| distance(a, middle).total_cmp(&distance(b, middle)));
    keys
}

fn distance(key: &TileKey, middle: [f64; 2]) -> f64 {
    libm::hypot(f64::from(key.column) + 0.5 - middle[0], f64::from(key.row) + 0.5 - middle[1])
}

/// The box of the photo that a tile shows, corners in pixels.
pub(super) fn area_of(photo_px: (u32, u32), key: TileKey) -> ([f64; 2], [f64; 2]) {
    let step = 1u64 << key.level;
    let edge = |index: u32, size: u32| (u64::from(index) * u64::from(TILE_SIDE) * step).min(u64::from(size));
    let low = [edge(key.column, photo_px.0), edge(key.row, photo_px.1)];
    let high = [edge(key.column + 1, photo_px.0), edge(key.row + 1, photo_px.1)];
    (low.map(|v| v as f64), high.map(|v| v as f64))
}

/// Builds a tile, its linear light multiplied by the gains of red, green and blue. `cancelled` is asked once a row; a
/// cancelled tile is `None`.
pub(super) fn build(
    raster: &Raster,
    key: TileKey,
    care: Care,
    gains: [f64; 3],
    cancelled: &dyn Fn() -> bool,
) -> Option<Tile> {
    let photo_px = (raster.width(), raster.height());
    let (low, high) = area_of(photo_px, key);
    let step = 1u32 << key.level;
    let (x0, y0) = (low[0] as u32, low[1] as u32);
    let (x1, y1) = (high[0] as u32, high[1] as u32);
    let width = (x1 - x0).div_ceil(step) as usize;
    let height = (y1 - y0).div_ceil(step) as usize;
    let encode = Encoder::new(gains);
    let mut rgba = Vec::with_capacity(width * height * 4);
    let mut sums = vec![[0.0f32; 4]; width];
    for row in 0..height as u32 {
        if cancelled() {
            return None;
        }
        sums.fill([0.0; 4]);
        let top = y0 + row * step;
        let rows = match care {
            Care::Full => top..(top + step).min(y1),
            Care::Quick => {
                let middle = (top + step / 2).min(y1 - 1);
                middle..middle + 1
            }
        };
        for y in rows {
            add_row(raster, y, x0..x1, step, care, &mut sums);
        }
        rgba.extend(sums.iter().flat_map(|sum| encode.rgba(sum)));
    }
    Some(Tile { width, height, rgba })
}

/// Adds one row of the photo to the sums of linear light; the fourth sum counts opaque pixels.
fn add_row(
    raster: &Raster,
    y: u32,
    columns: std::ops::Range<u32>,
    step: u32,
    care: Care,
    sums: &mut [[f32; 4]],
) {
    let add = |sum: &mut [f32; 4], x: u32| {
        if !raster.is_opaque(x, y) {
            return;
        }
        let light = raster.linear_at(x, y);
        for (sum, value) in sum.iter_mut().zip([light[0], light[1], light[2], 1.0]) {
            *sum += value;
        }
    };
    for (sum, left) in sums.iter_mut().zip(columns.clone().step_by(step as usize)) {
        let right = left.saturating_add(step).min(columns.end);
        match care {
            Care::Full => (left..right).for_each(|x| add(sum, x)),
            Care::Quick => add(sum, (left + step / 2).min(right - 1)),
        }
    }
}

/// A table from linear light to 8-bit sRGB: the curve itself costs too much for every pixel.
struct Encoder {
    codes: Vec<u8>,
    gains: [f32; 3],
}

const ENCODER_STEPS: usize = 16_384;

impl Encoder {
    fn new(gains: [f64; 3]) -> Self {
        let code = |i: usize| (srgb_encode(i as f64 / (ENCODER_STEPS - 1) as f64) * 255.0).round() as u8;
        Self { codes: (0..ENCODER_STEPS).map(code).collect(), gains: gains.map(|gain| gain as f32) }
    }

    fn rgba(&self, sum: &[f32; 4]) -> [u8; 4] {
        let [red, green, blue, count] = *sum;
        let [by_red, by_green, by_blue] = self.gains;
        if count <= 0.0 {
            return [0; 4];
        }
        let code = |total: f32| {
            let index = (total / count).clamp(0.0, 1.0) * (ENCODER_STEPS - 1) as f32;
            self.codes.get(index.round() as usize).copied().unwrap_or(u8::MAX)
        };
        [code(red * by_red), code(green * by_green), code(blue * by_blue), u8::MAX]
    }
}

fn scaled(size_px: u32, level: u8) -> u32 {
    u64::from(size_px).div_ceil(1u64 << level) as u32
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::raster::{Coding, Samples};

    const AS_IT_IS: [f64; 3] = [1.0; 3];

    fn checkerboard(width: u32, height: u32) -> Raster {
        let codes =
            (0..height).flat_map(|y| (0..width).map(move |x| if (x + y) % 2 == 0 { 255u8 } else { 0 }));
        let samples = codes.flat_map(|code| [code; 3]).collect();
        Raster::new(width, height, Samples::U8(samples), Coding::srgb(256), None).unwrap()
    }

    /// Half of the light is coded 188 in sRGB (IEC 61966-2-1: 1.055 × 0.5^(1/2.4) − 0.055 = 0.7354); the
    /// mean of the codes would be 128.
    #[test]
    fn half_black_and_half_white_is_half_of_the_light() {
        let tile = build(
            &checkerboard(64, 64),
            TileKey { level: 1, column: 0, row: 0 },
            Care::Full,
            AS_IT_IS,
            &|| false,
        )
        .unwrap();
        assert_eq!((tile.width, tile.height), (32, 32));
        assert!(tile.rgba.chunks(4).all(|p| p == [188, 188, 188, 255]));
    }

    #[test]
    fn gains_multiply_light_and_stop_at_full_scale() {
        let key = TileKey { level: 1, column: 0, row: 0 };
        let tile = build(&checkerboard(64, 64), key, Care::Full, [0.5, 1.0, 3.0], &|| false).unwrap();
        // A quarter of the light: 1.055 × 0.25^(1/2.4) − 0.055 = 0.5371.
        assert!(tile.rgba.chunks(4).all(|p| p == [137, 188, 255, 255]));
    }

    #[test]
    fn level_0_shows_every_code_as_it_is() {
        let samples: Vec<u8> = (0..=255u8).flat_map(|code| [code; 3]).collect();
        let ramp = Raster::new(256, 1, Samples::U8(samples), Coding::srgb(256), None).unwrap();
        let tile =
            build(&ramp, TileKey { level: 0, column: 0, row: 0 }, Care::Full, AS_IT_IS, &|| false).unwrap();
        let shown: Vec<u8> = tile.rgba.chunks(4).map(|p| p[0]).collect();
        assert_eq!(shown, (0..=255u8).collect::<Vec<_>>());
    }

    #[test]
    fn odd_sizes_lose_no_edge_and_transparent_pixels_stay_out() {
        let mut opaque = vec![true; 5 * 3];
        opaque[14] = false;
        let samples = Samples::U8(vec![255; 5 * 3 * 3]);
        let raster = Raster::new(5, 3, samples, Coding::srgb(256), Some(opaque)).unwrap();
        for care in [Care::Quick, Care::Full] {
            let tile =
                build(&raster, TileKey { level: 1, column: 0, row: 0 }, care, AS_IT_IS, &|| false).unwrap();
            assert_eq!((tile.width, tile.height), (3, 2));
            assert_eq!(tile.rgba[5 * 4..], [0, 0, 0, 0], "the last pixel is the transparent one");
            assert_eq!(tile.rgba[..4], [255; 4]);
        }
    }

    #[test]
    fn tiles_cover_a_photo_of_50_megapixels_without_gap_or_overlap() {
        let photo = (8660, 5773);
        assert_eq!(top_level(photo.0, photo.1), 4);
        for level in 0..=4u8 {
            let all = tiles_covering(photo, level, [0.0, 0.0], [8660.0, 5773.0]);
            let area: f64 = all
                .iter()
                .map(|key| area_of(photo, *key))
                .map(|(low, high)| (high[0] - low[0]) * (high[1] - low[1]))
                .sum();
            assert!((area - 8660.0 * 5773.0).abs() < 0.5, "level {level}: {area}");
        }
    }

    #[test]
    fn only_what_is_in_sight_is_asked_for() {
        let keys = tiles_covering((8660, 5773), 0, [1000.0, 1000.0], [1100.0, 1030.0]);
        assert_eq!(keys.len(), 4);
        assert_eq!(
            keys[0],
            TileKey { level: 0, column: 1, row: 0 },
            "the one with the largest part comes first"
        );
        assert!(tiles_covering((8660, 5773), 0, [-900.0, -900.0], [-1.0, -1.0]).is_empty());
    }

    #[test]
    fn the_level_follows_the_screen() {
        assert_eq!(level_for(1.0, 4), 0);
        assert_eq!(level_for(8.0, 4), 0);
        assert_eq!(level_for(0.25, 4), 2);
        assert_eq!(level_for(0.001, 4), 4);
    }

    #[test]
    fn a_cancelled_tile_is_none() {
        let key = TileKey { level: 0, column: 0, row: 0 };
        assert_eq!(build(&checkerboard(8, 8), key, Care::Full, AS_IT_IS, &|| true), None);
    }
}

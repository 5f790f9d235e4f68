//! Traces of an earlier compression in a picture's samples: edges of 8×8 blocks.

use super::Raster;

/// How much larger the steps between neighbouring pixels are where blocks meet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BlockTraces {
    /// Mean step at the edges of blocks over that elsewhere, less 1; near 0 without blocks.
    pub excess: f64,
    /// Column of the first edge, 0..8: 0 for blocks that begin at the picture's left, else it was cut since.
    pub offset: u32,
}

/// From here on blocks are there. Of the pictures in this room's test, those never compressed stay below 0.03 and JPEG
/// of quality 75 reaches 0.08; at 90 and above blocks cannot be told from the picture.
pub const BLOCKS_FROM: f64 = 0.06;

/// At most so many rows are looked at.
const ROWS: u32 = 240;
/// Larger steps are the picture's own edges, in codes of 8 bit.
const LARGEST_STEP: f32 = 24.0;

/// Looks for vertical edges of blocks; `None` for pictures too small to say. JPEG works on 8×8 blocks, so that at its edges
/// the steps between pixels are larger than within (S. Wang et al., "No-reference perceptual quality assessment of JPEG
/// compressed images", ICIP 2002, use the same). A picture that was resized since keeps no such edges.
pub fn block_traces(raster: &Raster) -> Option<BlockTraces> {
    let (width, height) = (raster.width(), raster.height());
    if width < 128 || height < 32 {
        return None;
    }
    let mut sums = [0.0; 8];
    let mut counts = [0.0; 8];
    for row in (0..height).step_by((height / ROWS).max(1) as usize) {
        let mut before = raster.coded_luma_at(0, row);
        let (mut row_sums, mut row_counts) = ([0.0_f32; 8], [0_u32; 8]);
        for x in 1..width {
            let now = raster.coded_luma_at(x, row);
            let step = (now - before).abs();
            if step < LARGEST_STEP {
                row_sums[(x % 8) as usize] += step;
                row_counts[(x % 8) as usize] += 1;
            }
            before = now;
        }
        for phase in 0..8 {
            sums[phase] += f64::from(row_sums[phase]);
            counts[phase] += f64::from(row_counts[phase]);
        }
    }
    let means: Vec<f64> = sums.iter().zip(counts).map(|(sum, count)| sum / f64::max(count, 1.0)).collect();
    let offset = (0..8).max_by(|i, j| means[*i].total_cmp(&means[*j])).unwrap_or(0);
    let others = (means.iter().sum::<f64>() - means[offset]) / 7.0;
    // A picture without any texture has no steps to compare.
    (others > 0.05).then(|| BlockTraces { excess: means[offset] / others - 1.0, offset: offset as u32 })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::raster::{Coding, Samples};
    use crate::stats::Draws;

    /// A picture of soft shapes with a little noise.
    fn picture(width: u32, height: u32) -> Vec<u8> {
        let mut source = Draws::seeded(9);
        let mut samples = Vec::new();
        for y in 0..height {
            for x in 0..width {
                let (fx, fy) = (f64::from(x), f64::from(y));
                let base = 120.0 + 50.0 * libm::sin(fx / 37.0) * libm::cos(fy / 23.0) + 3.0 * source.normal();
                for tint in [-10.0, 10.0, 0.0] {
                    samples.push((base + tint).clamp(0.0, 255.0) as u8);
                }
            }
        }
        samples
    }

    fn compressed(samples: &[u8], width: u16, height: u16, quality: u8) -> Vec<u8> {
        let mut bytes = Vec::new();
        let encoder = jpeg_encoder::Encoder::new(&mut bytes, quality);
        encoder.encode(samples, width, height, jpeg_encoder::ColorType::Rgb).unwrap();
        image::load_from_memory(&bytes).unwrap().to_rgb8().into_raw()
    }

    fn traces(samples: Vec<u8>, width: u32, height: u32) -> BlockTraces {
        let raster = Raster::new(width, height, Samples::U8(samples), Coding::srgb(256), None).unwrap();
        block_traces(&raster).unwrap()
    }

    #[test]
    fn blocks_are_found_where_there_are_some() {
        let fresh = picture(512, 384);
        let none = traces(fresh.clone(), 512, 384);
        assert!(none.excess < 0.03, "{none:?}");
        for (quality, least) in [(75, BLOCKS_FROM), (50, 0.15), (25, 0.3)] {
            let found = traces(compressed(&fresh, 512, 384, quality), 512, 384);
            println!("quality {quality}: {found:?}");
            assert!(found.excess > least && found.offset == 0, "quality {quality}: {found:?}");
        }
        // Cut by three columns since.
        let whole = compressed(&fresh, 512, 384, 50);
        let cut: Vec<u8> = whole.chunks(3 * 512).flat_map(|row| row[9..].to_vec()).collect();
        let found = traces(cut, 509, 384);
        assert!(found.excess > 0.15 && found.offset == 5, "{found:?}");
    }
}

//! Sets of pixels: neighbours, distances to the edge, connected spots.

/// Width and height of a picture in pixels.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Size {
    pub width: usize,
    pub height: usize,
}

impl Size {
    pub(super) fn pixels(self) -> usize {
        self.width * self.height
    }

    /// Middle of a pixel.
    pub(super) fn centre(self, i: usize) -> [f64; 2] {
        [(i % self.width) as f64 + 0.5, (i / self.width) as f64 + 0.5]
    }

    /// Neighbours left, right, above and below.
    pub(super) fn neighbours(self, i: usize) -> impl Iterator<Item = usize> {
        let (x, y) = (i % self.width, i / self.width);
        [
            (x > 0).then(|| i - 1),
            (x + 1 < self.width).then(|| i + 1),
            (y > 0).then(|| i - self.width),
            (y + 1 < self.height).then(|| i + self.width),
        ]
        .into_iter()
        .flatten()
    }
}

/// Spots of pixels that touch with their sides, each as its pixels.
pub(super) fn spots(inside: &[bool], size: Size) -> Vec<Vec<usize>> {
    let mut seen = vec![false; inside.len()];
    let mut found = Vec::new();
    for start in 0..inside.len() {
        if !inside[start] || seen[start] {
            continue;
        }
        seen[start] = true;
        let mut spot = vec![start];
        let mut next = 0;
        while next < spot.len() {
            for j in size.neighbours(spot[next]) {
                if inside[j] && !seen[j] {
                    seen[j] = true;
                    spot.push(j);
                }
            }
            next += 1;
        }
        found.push(spot);
    }
    found
}

/// The largest spot alone.
pub(super) fn largest(inside: &[bool], size: Size) -> Vec<bool> {
    let mut own = vec![false; inside.len()];
    for i in spots(inside, size).into_iter().max_by_key(Vec::len).unwrap_or_default() {
        own[i] = true;
    }
    own
}

/// Distance of each inside pixel to the nearest outside one, in pixels, by two passes (Borgefors 1986, up to 8 % too
/// long on slants); what lies beyond the picture counts as outside.
pub(super) fn depth(inside: &[bool], size: Size) -> Vec<f32> {
    const DIAGONAL: f32 = std::f32::consts::SQRT_2;
    let Size { width, height } = size;
    // One pixel of outside around everything.
    let stride = width + 2;
    let mut far = vec![0.0f32; stride * (height + 2)];
    for y in 0..height {
        for x in 0..width {
            if inside[y * width + x] {
                let i = (y + 1) * stride + x + 1;
                far[i] = (far[i - 1] + 1.0)
                    .min(far[i - stride] + 1.0)
                    .min(far[i - stride - 1] + DIAGONAL)
                    .min(far[i - stride + 1] + DIAGONAL);
            }
        }
    }
    let mut depth = vec![0.0; inside.len()];
    for y in (0..height).rev() {
        for x in (0..width).rev() {
            let i = (y + 1) * stride + x + 1;
            if inside[y * width + x] {
                far[i] = far[i]
                    .min(far[i + 1] + 1.0)
                    .min(far[i + stride] + 1.0)
                    .min(far[i + stride + 1] + DIAGONAL)
                    .min(far[i + stride - 1] + DIAGONAL);
            }
            depth[y * width + x] = far[i];
        }
    }
    depth
}

/// Fills holes of fewer than `most_px` pixels: glare and print. A larger one is board seen between parts.
pub(super) fn filled(inside: &[bool], size: Size, most_px: f64) -> Vec<bool> {
    let holes: Vec<bool> = inside.iter().map(|inside| !inside).collect();
    let mut full = inside.to_vec();
    for hole in spots(&holes, size).into_iter().filter(|hole| (hole.len() as f64) < most_px) {
        hole.into_iter().for_each(|i| full[i] = true);
    }
    full
}

/// The largest or smallest value in a square around each pixel; what lies beyond the picture is not looked at.
pub(super) fn ranged(values: &[f32], size: Size, radius: usize, pick: fn(f32, f32) -> f32) -> Vec<f32> {
    let Size { width, height } = size;
    let of = |line: &dyn Fn(usize) -> f32, at: usize, length: usize| {
        (at.saturating_sub(radius)..(at + radius + 1).min(length)).map(line).reduce(pick).unwrap_or(0.0)
    };
    let rows: Vec<f32> =
        (0..values.len()).map(|i| of(&|x| values[i / width * width + x], i % width, width)).collect();
    (0..values.len()).map(|i| of(&|y| rows[y * width + i % width], i / width, height)).collect()
}

/// What squares of 3 by 3 pixels that lie wholly inside cover (opening; Serra 1982).
pub(super) fn opened(inside: &[bool], size: Size) -> Vec<bool> {
    let values: Vec<f32> = inside.iter().map(|inside| f32::from(u8::from(*inside))).collect();
    let cores = ranged(&values, size, 1, f32::min);
    ranged(&cores, size, 1, f32::max).into_iter().map(|v| v > 0.5).collect()
}

/// A pixel is kept where at least `votes` of the 9 around it are inside.
pub(super) fn smoothed(inside: &[bool], size: Size, votes: u32) -> Vec<bool> {
    let Size { width, height } = size;
    let mut kept = inside.to_vec();
    for y in 1..height.saturating_sub(1) {
        for x in 1..width.saturating_sub(1) {
            let i = y * width + x;
            let count: u32 = [i - width, i, i + width]
                .iter()
                .map(|j| (j - 1..=j + 1).map(|k| u32::from(inside[k])).sum::<u32>())
                .sum();
            kept[i] = count >= votes;
        }
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::*;

    const SIZE: Size = Size { width: 12, height: 8 };

    fn rect(x: std::ops::Range<usize>, y: std::ops::Range<usize>) -> Vec<bool> {
        (0..SIZE.pixels()).map(|i| x.contains(&(i % 12)) && y.contains(&(i / 12))).collect()
    }

    #[test]
    fn depths_are_those_of_a_rectangle() {
        let depth = depth(&rect(2..9, 1..6), SIZE);
        assert_eq!(depth[3 * 12 + 5], 3.0);
        assert_eq!(depth[12 + 2], 1.0);
        assert_eq!(depth[12 + 1], 0.0);
        // The picture's edge counts as outside.
        let whole = super::depth(&vec![true; SIZE.pixels()], SIZE);
        assert_eq!((whole[0], whole[3 * 12 + 5]), (1.0, 4.0));
    }

    #[test]
    fn holes_are_filled_and_spots_told_apart() {
        let mut ring = rect(1..6, 1..6);
        ring[3 * 12 + 3] = false;
        let mut two = filled(&ring, SIZE, 5.0);
        assert!(!filled(&ring, SIZE, 1.0)[3 * 12 + 3]);
        assert!(two[3 * 12 + 3]);
        two[4 * 12 + 9] = true;
        let spots = spots(&two, SIZE);
        assert_eq!(spots.iter().map(Vec::len).collect::<Vec<_>>(), [25, 1]);
        assert!(!smoothed(&two, SIZE, 5)[4 * 12 + 9]);
    }
}

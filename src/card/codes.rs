//! The patterns of the corner marks.
//!
//! A mark is a square of 6 × 6 cells: a black rim of one cell around 4 × 4 cells that carry 16 bits, row by
//! row from the upper left, most significant bit first, 1 for white. Eight patterns are in use: four corners
//! of each of two variants of the card. Read in any of the four turns they make 32 words, any two of which
//! differ in at least [`LEAST_DISTANCE`] bits; so a word with up to [`MOST_WRONG_BITS`] wrong bits still
//! has one nearest pattern, and anything farther off is no mark. Found by a random search for such a set;
//! a test counts the distances again.

/// Cells of a mark along a side, its rim included.
pub const CELLS: usize = 6;
/// Cells along a side that carry bits.
pub const BIT_CELLS: usize = 4;
/// Any two words, turns included, differ in at least so many bits.
pub const LEAST_DISTANCE: u32 = 6;
/// A word with more wrong bits than this is no mark. Two could be put right; a wrong find is worse than none.
pub const MOST_WRONG_BITS: u32 = 1;

/// Patterns by variant and corner (upper left, upper right, lower right, lower left).
pub const PATTERNS: [[u16; 4]; 2] = [[0x91ee, 0x3d36, 0xb360, 0xf49a], [0x4e5e, 0xc3c8, 0x983a, 0xc545]];

/// What a word says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Decoded {
    /// Index of the variant in [`PATTERNS`].
    pub variant: usize,
    /// Corner of the card, from the upper left clockwise.
    pub corner: usize,
    /// Quarter turns clockwise by which the mark is turned in the picture.
    pub turns: usize,
    /// Bits that were wrong.
    pub wrong_bits: u32,
}

/// The mark of a word, if it is one.
pub fn decoded(word: u16) -> Option<Decoded> {
    let mut best: Option<Decoded> = None;
    for (variant, corners) in PATTERNS.iter().enumerate() {
        for (corner, pattern) in corners.iter().enumerate() {
            let mut turned = *pattern;
            for turns in 0..4 {
                let wrong_bits = (turned ^ word).count_ones();
                if wrong_bits <= MOST_WRONG_BITS && best.is_none_or(|best| wrong_bits < best.wrong_bits) {
                    best = Some(Decoded { variant, corner, turns, wrong_bits });
                }
                turned = turned_clockwise(turned);
            }
        }
    }
    best
}

/// Whether the cell of a pattern is white; row and column of all [`CELLS`], the rim being black.
pub fn is_white(pattern: u16, row: usize, column: usize) -> bool {
    let inside = |n: usize| (1..=BIT_CELLS).contains(&n);
    inside(row) && inside(column) && pattern >> bit_of(row - 1, column - 1) & 1 == 1
}

/// The word after a quarter turn clockwise.
pub fn turned_clockwise(word: u16) -> u16 {
    let mut turned = 0;
    for row in 0..BIT_CELLS {
        for column in 0..BIT_CELLS {
            turned |= (word >> bit_of(row, column) & 1) << bit_of(column, BIT_CELLS - 1 - row);
        }
    }
    turned
}

/// Which bit of a word a cell is.
pub fn bit_of(row: usize, column: usize) -> usize {
    15 - (row * BIT_CELLS + column)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn words() -> Vec<u16> {
        let mut words = Vec::new();
        for pattern in PATTERNS.into_iter().flatten() {
            let mut turned = pattern;
            for _ in 0..4 {
                words.push(turned);
                turned = turned_clockwise(turned);
            }
            assert_eq!(turned, pattern, "four quarter turns are none");
        }
        words
    }

    #[test]
    fn any_two_words_differ_in_enough_bits() {
        let words = words();
        let distances = (0..words.len()).flat_map(|a| (0..a).map(move |b| (a, b)));
        let least = distances.map(|(a, b)| (words[a] ^ words[b]).count_ones()).min();
        assert_eq!(least, Some(LEAST_DISTANCE));
    }

    /// Exhaustive: of all 65536 words, those within one bit of a pattern are marks (32 × 17 = 544) and no other.
    #[test]
    fn exactly_the_words_near_a_pattern_are_marks() {
        let accepted = (0..=u16::MAX).filter(|word| decoded(*word).is_some()).count();
        assert_eq!(accepted, 32 * 17);
        for (n, word) in words().into_iter().enumerate() {
            let exact = decoded(word).unwrap();
            assert_eq!(
                (exact.variant, exact.corner, exact.turns, exact.wrong_bits),
                (n / 16, n / 4 % 4, n % 4, 0)
            );
            for bit in 0..16 {
                let damaged = decoded(word ^ 1 << bit).unwrap();
                assert_eq!(damaged, Decoded { wrong_bits: 1, ..exact });
            }
        }
    }
}

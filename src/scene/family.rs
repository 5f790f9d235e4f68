//! Rows of shades of one hue, with a chosen CIEDE2000 from one to the next, and specimens of a shade.

use rand::Rng;

use super::pigment::{Pigment, Recipe};
use super::truth::lab_in_d50_of;
use crate::color::ciede2000;

/// Base colours in which such toys are moulded; each is the recipe of a family's middle.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Hue {
    /// A cool mid green.
    Green,
    /// A military olive.
    Olive,
    /// A mid blue.
    Blue,
    /// A near-neutral grey.
    Grey,
    /// A sandy tan.
    Tan,
    /// A warm brown.
    Brown,
    /// Flesh.
    Flesh,
}

impl Hue {
    /// All of them.
    pub const ALL: [Self; 7] =
        [Self::Green, Self::Olive, Self::Blue, Self::Grey, Self::Tan, Self::Brown, Self::Flesh];

    /// The recipe in the middle of the family.
    pub fn recipe(self) -> Recipe {
        use Pigment::*;
        Recipe::of(match self {
            Self::Green => {
                &[(White, 0.62), (PhthaloGreen, 0.17), (OxideYellow, 0.14), (OxideRed, 0.02), (Black, 0.024)]
            }
            Self::Olive => &[(White, 0.3), (OxideYellow, 0.5), (PhthaloGreen, 0.05), (Black, 0.05)],
            Self::Blue => &[(White, 0.6), (PhthaloBlue, 0.1), (Ultramarine, 0.25), (Black, 0.01)],
            Self::Grey => &[(White, 0.8), (Black, 0.05), (Ultramarine, 0.02), (OxideYellow, 0.01)],
            Self::Tan => &[(White, 0.7), (OxideYellow, 0.35), (OxideRed, 0.05), (Black, 0.01)],
            Self::Brown => &[(White, 0.3), (OxideRed, 0.25), (OxideYellow, 0.25), (Black, 0.04)],
            Self::Flesh => &[(White, 0.9), (Scarlet, 0.045), (OxideYellow, 0.09), (OxideRed, 0.03)],
        })
    }
}

/// How the shades of a family differ.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spacing {
    /// How many shades.
    pub shades: usize,
    /// CIEDE2000 from each to the next.
    pub de00: f64,
}

/// A row of shades from pale to deep around a middle recipe, each `de00` (below about 15) from the next.
/// The middle recipe is the shade at index `shades / 2`.
pub fn shades(middle: &Recipe, spacing: Spacing) -> Vec<Recipe> {
    let below = spacing.shades / 2;
    let mut row = vec![*middle; spacing.shades];
    for step in (0..below).rev() {
        row[step] = neighbour(&row[step + 1], spacing.de00, -1.0);
    }
    for step in below + 1..spacing.shades {
        row[step] = neighbour(&row[step - 1], spacing.de00, 1.0);
    }
    row
}

/// The recipe whose colourants are stronger (direction 1) or weaker (−1) by just so much that its colour lies
/// `de00` away. Bisection on the logarithm of the factor, which is at most e².
fn neighbour(recipe: &Recipe, de00: f64, direction: f64) -> Recipe {
    let start = lab_in_d50_of(&recipe.reflectance());
    let tinted = |log_factor: f64| recipe.tinted(libm::exp(direction * log_factor));
    let (mut low, mut high) = (0.0, 2.0);
    for _ in 0..50 {
        let mid = (low + high) / 2.0;
        if ciede2000(start, lab_in_d50_of(&tinted(mid).reflectance())) < de00 {
            low = mid;
        } else {
            high = mid;
        }
    }
    tinted((low + high) / 2.0)
}

/// Relative scatter of each pigment's amount from batch to batch that spreads specimens of a shade by 0.4 to 0.6
/// Lab units an axis, so that two of them differ by about 1 CIEDE2000: batches of one nominal colour did by 1 to
/// 2 (common practice of colour moulding, no source).
pub const BATCH_SD: f64 = 0.045;

/// One part moulded in a shade, from a batch of its own.
pub fn specimen(shade: &Recipe, rng: &mut impl Rng) -> Recipe {
    shade.jittered(BATCH_SD, rng)
}

#[cfg(test)]
mod tests {
    use rand::SeedableRng;
    use rand_xoshiro::Xoshiro256PlusPlus;

    use super::*;

    #[test]
    fn neighbours_have_the_spacing_asked_for() {
        for hue in Hue::ALL {
            for de00 in [2.0, 4.5, 8.0] {
                let row = shades(&hue.recipe(), Spacing { shades: 3, de00 });
                let labs: Vec<_> = row.iter().map(|recipe| lab_in_d50_of(&recipe.reflectance())).collect();
                for pair in labs.windows(2) {
                    assert!((ciede2000(pair[0], pair[1]) - de00).abs() < 1e-6, "{hue:?} {pair:?}");
                    assert!(pair[0].l > pair[1].l, "pale to deep: {hue:?} {pair:?}");
                }
            }
        }
    }

    #[test]
    fn specimens_scatter_as_stated() {
        let mut rng = Xoshiro256PlusPlus::seed_from_u64(1);
        let shade = Hue::Green.recipe();
        let labs: Vec<[f64; 3]> = (0..400)
            .map(|_| lab_in_d50_of(&specimen(&shade, &mut rng).reflectance()))
            .map(|lab| [lab.l, lab.a, lab.b])
            .collect();
        for axis in 0..3 {
            let mean = labs.iter().map(|lab| lab[axis]).sum::<f64>() / 400.0;
            let sd = libm::sqrt(labs.iter().map(|lab| (lab[axis] - mean).powi(2)).sum::<f64>() / 399.0);
            assert!((0.3..0.75).contains(&sd), "axis {axis}: sd {sd}");
        }
    }
}

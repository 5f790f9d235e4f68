//! Noise of a sensor and light that strays in the lens.

use rand::Rng;

use crate::scene::draws::normal;

/// Noise of the raw signal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Noise {
    /// Electrons collected at raw 1; shot noise has the square root of it.
    pub electrons_at_white: f64,
    /// Standard deviation of the read-out in electrons.
    pub read_electrons: f64,
}

impl Noise {
    /// No noise at all.
    pub const NONE: Self = Self { electrons_at_white: f64::INFINITY, read_electrons: 0.0 };

    /// Standard deviation at a raw signal (0 and up). Shot noise is taken as normal, as it is above some tens of
    /// electrons.
    pub fn sd(&self, raw: f64) -> f64 {
        if self.electrons_at_white.is_infinite() {
            return 0.0;
        }
        let electrons = raw.max(0.0) * self.electrons_at_white;
        libm::sqrt(electrons + self.read_electrons * self.read_electrons) / self.electrons_at_white
    }

    /// A noisy copy of a raw colour.
    pub fn added(&self, raw: [f64; 3], rng: &mut impl Rng) -> [f64; 3] {
        raw.map(|v| v + self.sd(v) * normal(rng))
    }
}

/// Raw with the share `flare` of the picture's mean light strewn over it.
pub fn with_flare(raw: [f64; 3], mean_raw: [f64; 3], flare: f64) -> [f64; 3] {
    std::array::from_fn(|channel| raw[channel] * (1.0 - flare) + mean_raw[channel] * flare)
}

#[cfg(test)]
mod tests {
    use rand::SeedableRng;
    use rand_xoshiro::Xoshiro256PlusPlus;

    use super::*;

    #[test]
    fn spread_of_many_draws_is_the_stated_one() {
        let noise = Noise { electrons_at_white: 8000.0, read_electrons: 6.0 };
        let mut rng = Xoshiro256PlusPlus::seed_from_u64(7);
        let draws: Vec<f64> = (0..20_000).map(|_| noise.added([0.2; 3], &mut rng)[1]).collect();
        let mean = draws.iter().sum::<f64>() / 20_000.0;
        let sd = libm::sqrt(draws.iter().map(|d| (d - mean) * (d - mean)).sum::<f64>() / 19_999.0);
        // √(1600 + 36) / 8000
        assert!((sd / 0.005_056 - 1.0).abs() < 0.03 && (mean - 0.2).abs() < 2e-4, "{mean} {sd}");
    }
}

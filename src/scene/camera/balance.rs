//! White balance: gains of the raw channels, and how a camera comes to choose them.

/// Factors of the raw channels, exposure included.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gains(pub [f64; 3]);

/// How a camera's automatic white balance errs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Automatic {
    /// How much it trusts the mean of the picture to be grey, 0 (knows the light) to 1 (grey world).
    pub grey_world: f64,
    /// How far it corrects a coloured light: 1 wholly, less leaves a warm lamp warm.
    pub completeness: f64,
}

impl Gains {
    /// Gains that make this raw value neutral and keep its green.
    pub fn from_neutral(raw: [f64; 3]) -> Self {
        let safe = raw.map(|v| v.max(1e-9));
        Self([safe[1] / safe[0], 1.0, safe[1] / safe[2]])
    }

    /// Gains that bring this raw value, of a white, to 1 in all channels.
    pub fn from_white(raw: [f64; 3]) -> Self {
        Self(raw.map(|v| 1.0 / v.max(1e-9)))
    }

    /// What an automatic camera would choose. `neutral` is the raw of a white in the scene's light, `mean` the
    /// picture's mean raw, `daylight` the raw of a white in daylight, to which nothing is corrected.
    pub fn automatic(neutral: [f64; 3], mean: [f64; 3], daylight: [f64; 3], habits: Automatic) -> Self {
        let [true_gains, grey, day] = [neutral, mean, daylight].map(|raw| Self::from_neutral(raw).0);
        Self(std::array::from_fn(|channel| {
            let guess = libm::pow(true_gains[channel], 1.0 - habits.grey_world)
                * libm::pow(grey[channel], habits.grey_world);
            libm::pow(guess, habits.completeness) * libm::pow(day[channel], 1.0 - habits.completeness)
        }))
    }

    /// The same balance at `factor` times the exposure.
    pub fn exposed(self, factor: f64) -> Self {
        Self(self.0.map(|gain| gain * factor))
    }

    /// Balanced raw.
    pub fn applied(self, raw: [f64; 3]) -> [f64; 3] {
        std::array::from_fn(|channel| raw[channel] * self.0[channel])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn automatic_balance_runs_from_the_true_light_to_grey_world() {
        let (neutral, mean, day) = ([0.9, 1.0, 0.3], [0.5, 0.4, 0.1], [0.6, 1.0, 0.8]);
        let with = |grey_world, completeness| {
            Gains::automatic(neutral, mean, day, Automatic { grey_world, completeness }).0
        };
        let close = |a: [f64; 3], b: [f64; 3]| a.iter().zip(b).all(|(x, y)| (x - y).abs() < 1e-12);
        assert!(close(with(0.0, 1.0), Gains::from_neutral(neutral).0));
        assert!(close(with(1.0, 1.0), Gains::from_neutral(mean).0));
        assert!(close(with(0.5, 0.0), Gains::from_neutral(day).0));
    }
}

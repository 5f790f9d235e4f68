//! Tone curves: linear light → code.

use crate::color::srgb_encode;

/// How a camera bends tones. All keep black at 0 and white at 1 and rise throughout.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Tone {
    /// The sRGB curve and nothing else.
    Straight,
    /// sRGB with an S of the given strength on the code: 0.3 is gentle, 1 hard.
    Curved(f64),
    /// Coded almost linearly: code = light^(1/1.15), as some converters leave it.
    NearLinear,
}

impl Tone {
    /// A gentle S.
    pub const GENTLE: Self = Self::Curved(0.3);
    /// A hard S.
    pub const HARD: Self = Self::Curved(0.9);

    /// Code 0..1 of linear light; light outside 0..1 is clipped.
    pub fn coded(self, linear: f64) -> f64 {
        let light = linear.clamp(0.0, 1.0);
        match self {
            Self::Straight => srgb_encode(light),
            Self::Curved(strength) => {
                let code = srgb_encode(light);
                code + strength * (smoothstep(code) - code)
            }
            Self::NearLinear => libm::pow(light, 1.0 / 1.15),
        }
    }
}

fn smoothstep(t: f64) -> f64 {
    t * t * (3.0 - 2.0 * t)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn curves_keep_the_ends_and_rise() {
        for tone in [Tone::Straight, Tone::GENTLE, Tone::HARD, Tone::NearLinear] {
            assert!(tone.coded(-0.1).abs() < 1e-12 && (tone.coded(1.5) - 1.0).abs() < 1e-12);
            let codes: Vec<f64> = (0..=100).map(|i| tone.coded(f64::from(i) / 100.0)).collect();
            assert!(codes.windows(2).all(|pair| pair[0] < pair[1]), "{tone:?}");
        }
    }
}

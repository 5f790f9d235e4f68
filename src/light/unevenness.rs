//! How strong and how warm the light is across the photo, as far as the known areas tell.
//!
//! Slopes and curve of the fitted parameters θ are linear in the logarithm of the light: with g(x, y) the row that
//! picks them at a place, the logarithm of the strength there is −g·θ (the parameters undo the light), its variance
//! g·Σ·gᵀ with Σ the covariance of θ given the known areas (GUM, JCGM 100:2008, 5.2.2).

use nalgebra::{SMatrix, SVector, Vector2};

use super::forward::{CURVE, LUMINANCE, PARAMETERS, SLOPE_X, SLOPE_Y, Theta};
use super::linearise::place;

/// x and y for strength and for warmth, x², xy and y² for strength.
const TERMS: usize = 7;

/// The light over the photo, against that at the middle of the known areas.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Unevenness {
    middle: [f64; 2],
    mean: SVector<f64, TERMS>,
    cov: SMatrix<f64, TERMS, TERMS>,
}

/// The light at one place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LightThere {
    /// Natural logarithm of its strength (luminance) over that at the middle of the known areas.
    pub log_strength: f64,
    /// Standard deviation of that.
    pub log_strength_sd: f64,
    /// Natural logarithm of red over blue against the middle of the known areas: above zero is warmer.
    pub log_warmth: f64,
    /// Standard deviation of that.
    pub log_warmth_sd: f64,
}

impl Unevenness {
    /// From the parameters and their covariance given the known areas; `middle` in half photo widths.
    pub(super) fn of(theta: &Theta, cov: &SMatrix<f64, PARAMETERS, PARAMETERS>, middle: [f64; 2]) -> Self {
        let mut terms = SMatrix::<f64, TERMS, PARAMETERS>::zeros();
        for (axis, first) in [SLOPE_X, SLOPE_Y].into_iter().enumerate() {
            for channel in 0..3 {
                terms[(axis, first + channel)] = -LUMINANCE[channel];
            }
            terms[(2 + axis, first)] = -1.0;
            terms[(2 + axis, first + 2)] = 1.0;
        }
        for term in 0..3 {
            terms[(4 + term, CURVE + term)] = -1.0;
        }
        Self { middle, mean: terms * theta, cov: terms * cov * terms.transpose() }
    }

    /// The light at a place, in half photo widths from the photo's centre.
    pub fn at(&self, at: [f64; 2]) -> LightThere {
        let [x, y] = place(at, self.middle);
        let strength = SVector::from([x, y, 0.0, 0.0, x * x, x * y, y * y]);
        let warmth = SVector::from([0.0, 0.0, x, y, 0.0, 0.0, 0.0]);
        let [strength, warmth] = [strength, warmth].map(|g: SVector<f64, TERMS>| {
            Vector2::new(g.dot(&self.mean), g.dot(&(self.cov * g)).max(0.0).sqrt())
        });
        LightThere {
            log_strength: strength[0],
            log_strength_sd: strength[1],
            log_warmth: warmth[0],
            log_warmth_sd: warmth[1],
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Constants, KnownPatch, Patch, fit};
    use nalgebra::{Matrix3, Vector3};

    /// Three ladders of four greys on a photo without a tone curve whose light falls by a fifth from left to right: the
    /// fitted light falls so, and far from the greys it is known less well.
    #[test]
    fn a_falling_light_is_found_and_is_less_sure_far_away() {
        let coded = |lightness: f64, x: f64| {
            let linear = libm::pow((lightness + 16.0) / 116.0, 3.0) * libm::exp(-0.2 * (x + 0.5));
            1.055 * libm::pow(linear, 1.0 / 2.4) - 0.055
        };
        let known: Vec<KnownPatch> = (0..12)
            .map(|i| {
                let at = [-0.5 + f64::from(i % 3) / 2.0, 0.2 * f64::from(i / 3) - 0.3];
                let lightness = 25.0 + 20.0 * f64::from((i / 3 + 2 * (i % 3)) % 4);
                KnownPatch {
                    patch: Patch {
                        coded: Vector3::repeat(coded(lightness, at[0])),
                        coded_cov: Matrix3::zeros(),
                        at,
                        relief: None,
                        photo: 0,
                    },
                    lab: Vector3::new(lightness, 0.0, 0.0),
                    lab_cov: Matrix3::identity() * 0.01,
                    shared: None,
                }
            })
            .collect();
        let light = fit(&known, &[], Constants::learned()).expect("a light");
        let (left, right) = (light.unevenness.at([-0.5, 0.0]), light.unevenness.at([0.5, 0.0]));
        assert!((left.log_strength - right.log_strength - 0.2).abs() < 0.03, "{left:?} {right:?}");
        assert!(left.log_strength_sd < 0.03 && left.log_warmth.abs() < 0.02, "{left:?}");
        let far = light.unevenness.at([1.0, 0.75]);
        assert!(far.log_strength_sd > 2.0 * right.log_strength_sd, "{far:?} {right:?}");
        let nothing = fit(&[], &[], Constants::learned()).expect("a light");
        assert!(nothing.unevenness.at([1.0, 0.0]).log_strength_sd > 0.1);
    }
}

//! How large the errors of a reading are if its part has the colour that is supposed.
//!
//! What a photo does to saturation is a factor: it moves a strong colour far and a grey hardly. The light's covariance is that
//! at the colours as they were read. For the likelihood that a part of a supposed colour was read so, it must be that at the
//! supposed colour. Else one scale of all chroma that is off by all of itself, a thing unlikely once, explains away every
//! difference, and a photo with little saturation makes sure that all its parts are grey.
//!
//! On the 17 sources of charts (`tests/charts/today.rs`), whose 24 colours are the shades, judging together with the
//! covariance as read called 28 % of the decided patches wrongly after one grey and 24 % after six, in most of these photos
//! everything grey; at the supposed colour 9.5 and 0.1 %. In the rehearsal, where shades are near, it hardly matters: after a
//! ladder 40 % of the greens are decided and not 38, 3.5 % of these wrongly and not 2.6; beside a known part nothing changes.

use nalgebra::{Matrix3, Vector3};

/// Chroma below which errors no longer fall with it: what white point, tint and noise do to a grey. Of 12, 20 and 30, 20 is
/// the best compromise of charts after one grey (6.8, 9.5 and 15 % wrong) and after six (1.1, 0.1 and 16 %), and in the
/// rehearsal after a ladder (4.1 and 3.3 % wrong for 12 and 20, 3.1 without any of this).
const GREY_CHROMA: f64 = 20.0;
/// Least and most factor: beyond, a colour is strange anyway.
const FACTORS: (f64, f64) = (0.25, 4.0);

/// How many times as large errors of L\*, a\* and b\* are at the colour that is supposed as at the one that was read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Supposed(f64);

impl Supposed {
    /// For a part of none of the shades, of which no colour is supposed.
    pub(super) const NOTHING: Self = Self(1.0);

    /// For Lab supposed and read.
    pub(super) fn colour(supposed: &Vector3<f64>, read: &Vector3<f64>) -> Self {
        let chroma = |lab: &Vector3<f64>| libm::hypot(GREY_CHROMA, libm::hypot(lab[1], lab[2]));
        Self((chroma(supposed) / chroma(read)).clamp(FACTORS.0, FACTORS.1))
    }

    /// The factors as a matrix.
    pub(super) fn scale(self) -> Matrix3<f64> {
        Matrix3::from_diagonal(&Vector3::new(1.0, self.0, self.0))
    }

    /// Its inverse.
    pub(super) fn back(self) -> Matrix3<f64> {
        Matrix3::from_diagonal(&Vector3::new(1.0, 1.0 / self.0, 1.0 / self.0))
    }

    /// What must be added to the logarithm of a density with the scaled covariance. The error is one for all readings, a
    /// single scale, so that the volume that it fills changes once for the photo and not with every reading: the factor
    /// 1/g² of each density is taken back.
    pub(super) fn log_volume(self) -> f64 {
        2.0 * libm::log(self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn errors_grow_with_the_chroma_supposed_and_near_shades_hardly_differ() {
        let grey = Vector3::new(50.0, 0.0, 0.0);
        let pale = Vector3::new(50.0, -9.0, 6.0);
        let green = Vector3::new(50.0, -30.0, 20.0);
        let near = Vector3::new(46.0, -31.0, 21.0);
        let of = |supposed, read| Supposed::colour(supposed, read).0;
        assert!(of(&green, &pale) > 1.8 && of(&grey, &pale) < 0.9);
        assert!((of(&near, &green) - 1.0).abs() < 0.04);
        assert!(
            (Supposed::colour(&green, &pale).scale() * Supposed::colour(&green, &pale).back()
                - Matrix3::identity())
            .norm()
                < 1e-12
        );
        let strong = Vector3::new(50.0, 90.0, 90.0);
        assert_eq!(of(&strong, &grey), FACTORS.1);
    }
}

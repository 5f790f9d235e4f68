//! How large the errors of a reading are if its part has the colour that is supposed.
//!
//! What a photo does to colours is for the most part a factor: it moves a strong colour far and a grey hardly, and a colour
//! far from a known one far and a near one hardly. The light's covariance is that at the colours as they were read. For the
//! likelihood that a part of a supposed colour was read so, it must be that at the supposed colour. Else one scale that is
//! off by all of itself, a thing unlikely once, explains away every difference: a photo with little saturation makes sure
//! that all its parts are grey, and one with little contrast that they are all of the shade that is known beside them.
//!
//! Errors grow from what is known: from the part of certain shade that is nearest, and where there is none from grey.
//!
//! On the 17 sources of charts (`tests/charts/today.rs`), whose 24 colours are the shades, judging together with the
//! covariance as read called 28 % of the decided patches wrongly after one grey and 24 % after six, in most of these photos
//! everything grey; at the supposed colour 9.5 and 0.1 %. In the rehearsal, where shades are near, the chroma hardly matters,
//! but the distance from a known part does: where nothing else was known, 60 of 61 wrong calls among 5000 scenes were too near
//! the known part (1 of 61 too far), with this 40 of 43.

use nalgebra::{Matrix3, Vector3};

/// Chroma below which errors no longer fall with it: what white point, tint and noise do to a grey. Of 12, 20 and 30, 20 is
/// the best compromise of charts after one grey (6.8, 9.5 and 15 % wrong) and after six (1.1, 0.1 and 16 %), and in the
/// rehearsal after a ladder (4.1 and 3.3 % wrong for 12 and 20, 3.1 without any of this).
const GREY_CHROMA: f64 = 20.0;
/// Distance in Lab from a known part below which errors no longer fall with it: what the light on each part, its gloss and
/// noise do to parts of one plastic. Of 4, 8, 12, 16 and none in the rehearsal (2500 scenes a kind of light, seed 19): beside
/// a part alone 1.4, 1.0, 1.5, 1.8 and 3.0 % of the calls are wrong and 50, 58, 56, 53 and 51 % decided; with a ladder
/// besides 1.8, 0.8, 0.8, 0.7 and 0.8 % wrong and 62, 74, 76, 76 and 74 % decided. At 16 wrong calls beside ladder and part
/// are as often too near the part as too far (10 and 10); less would be better where there is no card.
const PART_DISTANCE: f64 = 16.0;
/// Least and most factor: beyond, a colour is strange anyway.
const FACTORS: (f64, f64) = (0.25, 4.0);

/// What is known in a photo, from which errors grow.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Anchors {
    /// Lab of the parts of known shade.
    pub parts: Vec<Vector3<f64>>,
}

impl Anchors {
    /// For Lab supposed and read.
    pub(super) fn supposed(&self, supposed: &Vector3<f64>, read: &Vector3<f64>) -> Supposed {
        let ratio = |error: &dyn Fn(&Vector3<f64>) -> f64| {
            (error(supposed) / error(read)).clamp(FACTORS.0, FACTORS.1)
        };
        let distance = |part: &Vector3<f64>| (part - read).norm();
        let nearest = self.parts.iter().min_by(|p, q| distance(p).total_cmp(&distance(q)));
        Supposed(match nearest {
            Some(part) => Vector3::repeat(ratio(&|lab| libm::hypot(PART_DISTANCE, (lab - part).norm()))),
            None => {
                let factor = ratio(&|lab| libm::hypot(GREY_CHROMA, libm::hypot(lab[1], lab[2])));
                Vector3::new(1.0, factor, factor)
            }
        })
    }
}

/// How many times as large errors of L\*, a\* and b\* are at the colour that is supposed as at the one that was read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Supposed(Vector3<f64>);

impl Supposed {
    /// For a part of none of the shades, of which no colour is supposed.
    pub(super) const NOTHING: Self = Self(Vector3::new(1.0, 1.0, 1.0));

    /// The factors as a matrix.
    pub(super) fn scale(self) -> Matrix3<f64> {
        Matrix3::from_diagonal(&self.0)
    }

    /// Its inverse.
    pub(super) fn back(self) -> Matrix3<f64> {
        Matrix3::from_diagonal(&self.0.map(|factor| 1.0 / factor))
    }

    /// What must be added to the logarithm of a density with the scaled covariance. The error is one for all readings, a
    /// single scale, so that the volume that it fills changes once for the photo and not with every reading: the
    /// reciprocal of the factors in each density is taken back.
    pub(super) fn log_volume(self) -> f64 {
        self.0.iter().map(|factor| libm::log(*factor)).sum()
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
        let anchors = Anchors { parts: Vec::new() };
        let of = |supposed, read| anchors.supposed(supposed, read).0;
        assert!(of(&green, &pale)[1] > 1.8 && of(&grey, &pale)[1] < 0.9);
        assert_eq!(of(&green, &pale)[0], 1.0);
        assert!((of(&near, &green)[2] - 1.0).abs() < 0.04);
        let supposed = anchors.supposed(&green, &pale);
        assert!((supposed.scale() * supposed.back() - Matrix3::identity()).norm() < 1e-12);
        let strong = Vector3::new(50.0, 90.0, 90.0);
        assert_eq!(of(&strong, &grey)[1], FACTORS.1);
    }

    /// By hand: hypot(16, 12) = 20 against 16.
    #[test]
    fn errors_grow_with_the_distance_from_the_nearest_known_part() {
        let part = Vector3::new(50.0, -30.0, 20.0);
        let far = Vector3::new(20.0, 0.0, 0.0);
        let anchors = Anchors { parts: vec![far, part] };
        let supposed = anchors.supposed(&Vector3::new(38.0, -30.0, 20.0), &part);
        assert!((supposed.0 - Vector3::repeat(20.0 / 16.0)).norm() < 1e-12, "{supposed:?}");
        assert!((supposed.log_volume() - 3.0 * (20.0_f64 / 16.0).ln()).abs() < 1e-12);
        assert!(anchors.supposed(&part, &Vector3::new(38.0, -30.0, 20.0)).0[0] < 1.0);
    }
}

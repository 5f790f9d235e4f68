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
//! # Scale
//!
//! A photo that makes colours s times as strong reads x as m = s x, and s is as likely twice what it should be as half of it.
//! So what is even is the error of ln d, d the distance from what is known; near it the errors that are no factor rule, and
//! below a distance c that of asinh(d / c) is even, of slope 1 / hypot(c, d). The light's covariance has the slope at
//! the colour read; between that and a supposed colour lies the chord, and errors count as
//!
//! factor = (d′ − d) / (hypot(c, d) (asinh(d′ / c) − asinh(d / c)))
//!
//! times as large. As the likelihood of one scale for the whole photo, a function of the supposed colours, it has no other
//! volume than that at the colours read ([`Supposed::log_volume`]).
//!
//! # Checks
//!
//! On the 17 sources of charts (`tests/charts/today.rs`), whose 24 colours are the shades, judging together with the
//! covariance as read called 28 % of the decided patches wrongly after one grey and 24 % after six, in most of these photos
//! everything grey; so 0.1 and 0.1 %. In the rehearsal, where shades are near, the chroma hardly matters, but the distance from
//! a known part does: where nothing else was known, 60 of 61 wrong calls among 5000 scenes were too near the known part and 3 %
//! of the calls wrong; so 1.8 %, of a tenth more calls.

use nalgebra::{Matrix3, Vector3};

/// Chroma below which errors are even: what white point and tint do to a grey. Of 5, 8, 12 and 20 the charts have 0.1, 6.2, 9.2
/// and 15 % wrong after one grey and 0.1, 0.1, 2.8 and 8.9 % after six; the rehearsal hardly tells them apart.
const GREY_CHROMA: f64 = 5.0;
/// Distance in Lab from a known part below which errors are even: what the light on each part, its gloss and noise do to parts
/// of one plastic. Of 5, 8 and 12 in the rehearsal (2000 scenes a kind of light, seed 19) beside a part alone 1.4, 1.8 and
/// 2.3 % of the calls are wrong and 58, 55 and 52 % decided, and with a ladder besides 0.8, 0.7 and 0.7 % and 76, 77 and 76 %.
const PART_DISTANCE: f64 = 8.0;
/// Least and most factor: beyond, a colour is strange anyway.
const FACTORS: (f64, f64) = (0.25, 4.0);
/// Chords shorter than this are slopes.
const LEAST_APART: f64 = 1e-6;

/// What is known in a photo, from which errors grow.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Anchors {
    /// Lab of the parts of known shade.
    pub parts: Vec<Vector3<f64>>,
}

impl Anchors {
    /// For Lab supposed and read.
    pub(super) fn supposed(&self, supposed: &Vector3<f64>, read: &Vector3<f64>) -> Supposed {
        let distance = |part: &Vector3<f64>| (part - read).norm();
        let nearest = self.parts.iter().min_by(|p, q| distance(p).total_cmp(&distance(q)));
        Supposed(match nearest {
            Some(part) => Vector3::repeat(factor(distance(part), (supposed - part).norm(), PART_DISTANCE)),
            None => {
                let chroma = |lab: &Vector3<f64>| libm::hypot(lab[1], lab[2]);
                let factor = factor(chroma(read), chroma(supposed), GREY_CHROMA);
                Vector3::new(1.0, factor, factor)
            }
        })
    }
}

/// The chord between two distances from what is known, beside the slope at the one that was read.
fn factor(read: f64, supposed: f64, even: f64) -> f64 {
    let apart = libm::asinh(supposed / even) - libm::asinh(read / even);
    if apart.abs() < LEAST_APART {
        return 1.0;
    }
    ((supposed - read) / (libm::hypot(even, read) * apart)).clamp(FACTORS.0, FACTORS.1)
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
        assert!(of(&green, &pale)[1] > 1.7 && of(&grey, &pale)[1] < 0.7, "{}", of(&green, &pale));
        assert_eq!(of(&green, &pale)[0], 1.0);
        assert!((of(&near, &green)[2] - 1.0).abs() < 0.04);
        assert_eq!(of(&green, &green)[1], 1.0);
        let supposed = anchors.supposed(&green, &pale);
        assert!((supposed.scale() * supposed.back() - Matrix3::identity()).norm() < 1e-12);
        let strong = Vector3::new(50.0, 90.0, 90.0);
        assert_eq!(of(&strong, &grey)[1], FACTORS.1);
    }

    /// By hand, with c = 8: from 0 to 15 the chord is 15 / (8 asinh 1.875) = 15 / (8 ln 4), as 1.875 + hypot(1, 1.875) = 4; back
    /// it is 15 / (17 ln 4).
    #[test]
    fn errors_grow_with_the_distance_from_the_nearest_known_part() {
        let part = Vector3::new(50.0, -30.0, 20.0);
        let away = Vector3::new(35.0, -30.0, 20.0);
        let far = Vector3::new(20.0, 0.0, 0.0);
        let anchors = Anchors { parts: vec![far, part] };
        let supposed = anchors.supposed(&away, &part);
        let by_hand = 15.0 / (8.0 * 4.0_f64.ln());
        assert!((supposed.0 - Vector3::repeat(by_hand)).norm() < 1e-12, "{supposed:?}");
        assert!((supposed.log_volume() - 3.0 * by_hand.ln()).abs() < 1e-12);
        let back = anchors.supposed(&part, &away).0[0];
        assert!((back - 15.0 / (17.0 * 4.0_f64.ln())).abs() < 1e-12, "{back}");
    }

    /// Far from what is known a scale of two one way is as likely as the other.
    #[test]
    fn twice_as_strong_and_half_as_strong_are_as_unlikely() {
        let in_bars = |read: f64, supposed: f64| {
            (supposed - read) / (libm::hypot(8.0, read) * factor(read, supposed, 8.0))
        };
        assert!((in_bars(80.0, 160.0) + in_bars(160.0, 80.0)).abs() < 1e-12);
    }
}

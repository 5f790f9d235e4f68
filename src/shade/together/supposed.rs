//! How large the errors of a reading are if its part has the colour that is supposed.
//!
//! What a photo does to colours is for the most part a factor: it moves a strong colour far and a grey hardly, and a colour
//! far from a known one far and a near one hardly. The light's covariance is that at the colours as they were read. For the
//! likelihood that a part of a supposed colour was read so, it must be that at the supposed colour. Else one scale that is
//! off by all of itself, a thing unlikely once, explains away every difference: a photo with little saturation makes sure
//! that all its parts are grey, and one with little contrast that they are all of the shade that is known beside them.
//!
//! Errors grow from what is known: from the part of certain shade that is nearest, and where there is none from grey. What
//! is left of a reading's error once those before it are supposed to be of some shades grows from the nearest of these: two
//! parts that are supposed to have nearly one colour cannot have been read far apart.
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
//! volume than that at the colours read ([`ErrorScale::log_volume`]).
//!
//! # Checks
//!
//! On the 17 sources of charts (`tests/charts/today.rs`), whose 24 colours are the shades, judging with the covariance as read
//! calls 28 % of the decided patches wrongly after one grey and 24 % after six, in most of these photos everything grey; with
//! errors that grow from grey alone 0.1 and 0.1 %, from parts already judged too 0.6 and 0.1 % (with the whole evidence for
//! the light, see the room, and errors that are even below 5). In the rehearsal (3000 scenes, seed 101) the latter decides
//! more: after one grey 26 % where it were 17, after a ladder 41 and 36, with as many wrong calls, since a part of no shade is
//! seen to be too far from the others. How it stands now is in the README.

use nalgebra::{Matrix3, Vector3};

/// [`crate::shade::Priors::even`] where a part of known shade lies in the photo: it pins the camera for all that is near it,
/// and what the light does to each part by itself is most of what is left. In the rehearsal 6 and 8 decide 70 and 71 % beside
/// such a part and a ladder (0.4 % wrong either way), 48 and 47 % beside the part alone (0.6 and 0.8 % wrong; 1400 photos with
/// four parts each, seed 505); of the demo's 21 parts, whose photos have another geometry, 5 and 8 call 11 and 15, of the 40 on
/// its tray 36 and 39, all rightly.
const EVEN_BESIDE_KNOWN: f64 = 8.0;
/// Least and most factor: beyond, a colour is strange anyway.
const FACTORS: (f64, f64) = (0.25, 4.0);
/// Chords shorter than this are slopes.
const LEAST_APART: f64 = 1e-6;

/// The Lab that a part is supposed to have, and the one that was read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Supposed {
    pub lab: Vector3<f64>,
    pub read: Vector3<f64>,
}

/// What is known in a photo: grey always, and parts of known shade.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Known {
    /// Lab of the parts.
    parts: Vec<Vector3<f64>>,
    /// Distance in Lab below which errors are even.
    even: f64,
}

impl Known {
    /// For the Lab of the parts; `even` is that where there are none.
    pub(super) fn of(parts: Vec<Vector3<f64>>, even: f64) -> Self {
        let even = if parts.is_empty() { even } else { EVEN_BESIDE_KNOWN };
        Self { parts, even }
    }

    /// As if errors did not depend on what is supposed.
    #[cfg(test)]
    pub(super) fn nowhere() -> Self {
        Self { parts: Vec::new(), even: f64::INFINITY }
    }

    /// What errors of a colour that was read grow from: the nearest of the known parts and of others that are judged; grey
    /// where there is none of either.
    pub(super) fn nearest(
        &self,
        read: &Vector3<f64>,
        judged: impl Iterator<Item = Supposed>,
    ) -> Option<Supposed> {
        let known = self.parts.iter().map(|part| Supposed { lab: *part, read: *part });
        let apart = |other: Supposed| ((read - other.read).norm_squared(), other);
        known.chain(judged).map(apart).min_by(|p, q| p.0.total_cmp(&q.0)).map(|(_, nearest)| nearest)
    }

    /// Errors of a reading that grow from there.
    pub(super) fn scale(&self, of: &Supposed, from: Option<&Supposed>) -> ErrorScale {
        match from {
            Some(from) => {
                let (read, supposed) = ((of.read - from.read).norm(), (of.lab - from.lab).norm());
                ErrorScale(Vector3::repeat(factor(read, supposed, self.even)))
            }
            None => {
                let chroma = |lab: &Vector3<f64>| libm::hypot(lab[1], lab[2]);
                let factor = factor(chroma(&of.read), chroma(&of.lab), self.even);
                ErrorScale(Vector3::new(1.0, factor, factor))
            }
        }
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
pub(super) struct ErrorScale(Vector3<f64>);

impl ErrorScale {
    /// For a part of none of the shades, of which no colour is supposed.
    pub(super) const NONE: Self = Self(Vector3::new(1.0, 1.0, 1.0));

    /// The factors as a matrix.
    pub(super) fn matrix(self) -> Matrix3<f64> {
        Matrix3::from_diagonal(&self.0)
    }

    /// Its inverse.
    pub(super) fn inverse(self) -> Matrix3<f64> {
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
    use std::iter;

    use super::*;

    const EVEN: f64 = 5.0;
    const NOTHING_KNOWN: Known = Known { parts: Vec::new(), even: EVEN };

    fn supposed(lab: [f64; 3], read: [f64; 3]) -> Supposed {
        Supposed { lab: lab.into(), read: read.into() }
    }

    #[test]
    fn errors_grow_with_the_chroma_supposed_and_near_shades_hardly_differ() {
        let (grey, pale) = ([50.0, 0.0, 0.0], [50.0, -9.0, 6.0]);
        let (green, near) = ([50.0, -30.0, 20.0], [46.0, -31.0, 21.0]);
        let of = |lab, read| NOTHING_KNOWN.scale(&supposed(lab, read), None).0;
        assert!(of(green, pale)[1] > 1.7 && of(grey, pale)[1] < 0.7, "{}", of(green, pale));
        assert_eq!(of(green, pale)[0], 1.0);
        assert!((of(near, green)[2] - 1.0).abs() < 0.04);
        assert_eq!(of(green, green)[1], 1.0);
        let scale = NOTHING_KNOWN.scale(&supposed(green, pale), None);
        assert!((scale.matrix() * scale.inverse() - Matrix3::identity()).norm() < 1e-12);
        assert_eq!(of([50.0, 90.0, 90.0], grey)[1], FACTORS.1);
    }

    /// By hand, with c = 8: from 0 to 15 the chord is 15 / (8 asinh 1.875) = 15 / (8 ln 4), as 1.875 + hypot(1, 1.875) = 4; back
    /// it is 15 / (17 ln 4).
    #[test]
    fn errors_grow_with_the_distance_from_the_nearest_known_part() {
        let (part, away) = ([50.0, -30.0, 20.0], [35.0, -30.0, 20.0]);
        let known = Known::of(vec![[20.0, 0.0, 0.0].into(), part.into()], EVEN);
        let from = known.nearest(&away.into(), iter::empty());
        let scale = known.scale(&supposed(away, part), from.as_ref());
        let by_hand = 15.0 / (8.0 * 4.0_f64.ln());
        assert!((scale.0 - Vector3::repeat(by_hand)).norm() < 1e-12, "{scale:?}");
        assert!((scale.log_volume() - 3.0 * by_hand.ln()).abs() < 1e-12);
        let back = known.scale(&supposed(part, away), from.as_ref()).0[0];
        assert!((back - 15.0 / (17.0 * 4.0_f64.ln())).abs() < 1e-12, "{back}");
    }

    /// By hand, with c = 5: two parts of one colour read 12 apart. From 12 back to 0 the chord is 12 / (13 asinh 2.4) =
    /// 12 / (13 ln 5), as 2.4 + hypot(1, 2.4) = 5. One that lies farther away says nothing.
    #[test]
    fn what_is_left_grows_with_the_distance_from_the_nearest_other_part() {
        let other = supposed([50.0, -30.0, 20.0], [60.0, -15.0, 10.0]);
        let same = supposed([50.0, -30.0, 20.0], [48.0, -15.0, 10.0]);
        let far = supposed([20.0, 0.0, 0.0], [20.0, 0.0, 0.0]);
        let from = NOTHING_KNOWN.nearest(&same.read, [far, other].into_iter());
        assert_eq!(from, Some(other));
        let left = NOTHING_KNOWN.scale(&same, from.as_ref()).0[0];
        assert!((left - 12.0 / (13.0 * 5.0_f64.ln())).abs() < 1e-12, "{left}");
    }

    /// Far from what is known a scale of two one way is as likely as the other.
    #[test]
    fn twice_as_strong_and_half_as_strong_are_as_unlikely() {
        let in_bars = |read: f64, supposed: f64| {
            (supposed - read) / (libm::hypot(EVEN, read) * factor(read, supposed, EVEN))
        };
        assert!((in_bars(80.0, 160.0) + in_bars(160.0, 80.0)).abs() < 1e-12);
    }
}

//! What makes up the error bar of a reading.

use nalgebra::{DMatrix, Matrix3};

use super::constants::Constants;
use super::forward::Forward;
use super::linearise::{Linear, Placed};
use super::prior::Prior;
use super::{KnownPatch, Patch, misfit};

/// One cause of error, a line of the budget.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Source {
    /// How bright the photo was made.
    Exposure,
    /// What the camera took for white.
    WhitePoint,
    /// The curve from light to code, and which kind of curve it is.
    ToneCurve,
    /// Saturation, hue and cross terms of the camera's colours.
    CameraColours,
    /// Strength of the light across the photo.
    UnevenLight,
    /// Tint of the light across the photo.
    UnevenTint,
    /// Stray light over the whole photo.
    Flare,
    /// What the camera does to a colour besides, alike for near colours.
    Misfit,
    /// The angle of a rounded surface to the light.
    Angle,
    /// Gloss and haze left over on the part.
    Gloss,
    /// Uncertainty of the known colours themselves.
    KnownColours,
    /// Scatter of the pixels and what no other part explains.
    Noise,
}

impl Source {
    /// Every part, in the order of the method.
    pub const ALL: [Source; 12] = [
        Source::Exposure,
        Source::WhitePoint,
        Source::ToneCurve,
        Source::CameraColours,
        Source::UnevenLight,
        Source::UnevenTint,
        Source::Flare,
        Source::Misfit,
        Source::Angle,
        Source::Gloss,
        Source::KnownColours,
        Source::Noise,
    ];

    /// The part's name for people.
    pub fn name(self) -> &'static str {
        match self {
            Source::Exposure => "exposure",
            Source::WhitePoint => "white point",
            Source::ToneCurve => "tone curve",
            Source::CameraColours => "camera colours",
            Source::UnevenLight => "uneven light",
            Source::UnevenTint => "uneven tint",
            Source::Flare => "flare",
            Source::Misfit => "camera misfit",
            Source::Angle => "angle of the surface",
            Source::Gloss => "gloss left over",
            Source::KnownColours => "the known colours themselves",
            Source::Noise => "noise",
        }
    }
}

/// For each reading, each source's share of the trace of its covariance.
///
/// The error of reading i is e = own error − weights × errors of the known areas; as the sources are
/// independent, the variance of e is the sum over the sources of each one's propagated variance.
pub(super) fn budgets_of(
    weights: &DMatrix<f64>,
    prior: &Prior,
    linear: &Linear,
    areas: &[Placed],
    known: &[KnownPatch],
    scales: Scales,
    constants: &Constants,
) -> Vec<Vec<(Source, f64)>> {
    let context = Context { prior, linear, areas, known, scales, constants };
    (0..areas.len() - known.len())
        .map(|reading| {
            let rows = weights.rows(3 * reading, 3);
            let blocks: Vec<Matrix3<f64>> =
                (0..known.len()).map(|i| rows.fixed_view::<3, 3>(0, 3 * i).into_owned()).collect();
            let mut budget = context.variances(reading, &blocks);
            let all: f64 = budget.iter().map(|(_, variance)| variance).sum();
            budget.iter_mut().for_each(|(_, variance)| *variance /= all.max(f64::MIN_POSITIVE));
            budget
        })
        .collect()
}

/// Scales of trouble of one component of the mixture.
#[derive(Debug, Clone, Copy)]
pub(super) struct Scales {
    pub common: f64,
    pub chroma: f64,
}

struct Context<'a> {
    prior: &'a Prior,
    linear: &'a Linear,
    areas: &'a [Placed<'a>],
    known: &'a [KnownPatch],
    scales: Scales,
    constants: &'a Constants,
}

impl Context<'_> {
    /// Trace of the propagated covariance of every source; `weights` holds a 3×3 block a known area.
    fn variances(&self, reading: usize, weights: &[Matrix3<f64>]) -> Vec<(Source, f64)> {
        let own = self.known.len() + reading;
        Source::ALL
            .iter()
            .map(|&source| {
                let variance = match source {
                    Source::Misfit => self.misfit(own, weights),
                    Source::Angle => self
                        .correlated(own, weights, |i, j| misfit::angle(self.area(i), self.area(j), i == j)),
                    Source::Gloss => self
                        .correlated(own, weights, |i, j| misfit::gloss(self.area(i), self.area(j), i == j)),
                    Source::Noise => self.independent(own, weights, |i| {
                        let patch = self.areas[i].patch;
                        let scale = if patch.relief.is_none() { self.scales.common } else { 1.0 };
                        misfit::private(patch, &self.linear.areas[i], self.constants) * (scale * scale)
                    }),
                    Source::KnownColours => weights
                        .iter()
                        .zip(self.known)
                        .map(|(w, zone)| (w * zone.lab_cov * w.transpose()).trace())
                        .sum(),
                    _ => self.parameters(source, own, weights),
                };
                let scale = match source {
                    Source::KnownColours | Source::Angle | Source::Gloss | Source::Noise => 1.0,
                    _ => self.scales.common * self.scales.common,
                };
                (source, variance * scale)
            })
            .collect()
    }

    fn parameters(&self, source: Source, own: usize, weights: &[Matrix3<f64>]) -> f64 {
        let left = weights
            .iter()
            .enumerate()
            .fold(self.linear.areas[own].by_theta, |left, (i, w)| left - w * self.linear.areas[i].by_theta);
        self.prior
            .directions
            .iter()
            .filter(|(of, _)| *of == source)
            .map(|(_, direction)| (left * direction).norm_squared())
            .sum()
    }

    fn area(&self, i: usize) -> (&Patch, &Forward) {
        (self.areas[i].patch, &self.linear.areas[i])
    }

    fn misfit(&self, own: usize, weights: &[Matrix3<f64>]) -> f64 {
        self.correlated(own, weights, |i, j| {
            let (p, q) = (self.area(i), self.area(j));
            misfit::shared(p, q, self.scales.chroma, self.constants)
                + misfit::coding(p, q, i == j, self.constants)
        })
    }

    fn correlated(
        &self,
        own: usize,
        weights: &[Matrix3<f64>],
        shared: impl Fn(usize, usize) -> Matrix3<f64>,
    ) -> f64 {
        let mut variance = shared(own, own).trace();
        for (i, w) in weights.iter().enumerate() {
            variance -= 2.0 * (w * shared(i, own)).trace();
            for (j, v) in weights.iter().enumerate() {
                variance += (w * shared(i, j) * v.transpose()).trace();
            }
        }
        variance.max(0.0)
    }

    fn independent(&self, own: usize, weights: &[Matrix3<f64>], of: impl Fn(usize) -> Matrix3<f64>) -> f64 {
        let carried: f64 = weights.iter().enumerate().map(|(i, w)| (w * of(i) * w.transpose()).trace()).sum();
        of(own).trace() + carried
    }
}

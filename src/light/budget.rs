//! What makes up the error bar of a reading.

use std::ops::Range;

use nalgebra::{DMatrix, DVector};

use super::areas::Areas;
use super::constants::Constants;
use super::prior::Prior;
use super::taught::Taught;

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

    /// Whether it is the camera's, and so the same in all photos that are read together.
    pub(super) fn is_of_camera(self) -> bool {
        matches!(self, Source::ToneCurve | Source::CameraColours)
    }

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

/// Scales of trouble of one component of the mixture.
#[derive(Debug, Clone, Copy)]
pub(super) struct Scales {
    pub common: f64,
    pub chroma: f64,
}

/// For each reading, each source's share of the trace of its covariance.
///
/// The error of the readings is e = own errors − gain × errors of the known areas; as the sources are
/// independent, the variance of e is the sum over the sources of each one's propagated variance. `gain` is
/// 3 readings × 3 known areas. Where parts are pooled from several readings, by the weights given, it is theirs: weights × e.
pub(super) fn budgets_of(
    gain: DMatrix<f64>,
    pooled: Option<&DMatrix<f64>>,
    prior: &Prior,
    areas: &Areas,
    taught: &Taught,
    scales: Scales,
    constants: &Constants,
) -> Vec<Vec<(Source, f64)>> {
    let gain = match pooled {
        Some(weights) => weights * gain,
        None => gain,
    };
    let context = Context { gain, pooled, prior, areas, taught, scales, constants };
    let variances: Vec<(Source, Vec<f64>)> =
        Source::ALL.iter().map(|&source| (source, context.variances(source))).collect();
    (0..context.gain.nrows() / 3)
        .map(|reading| {
            let of_reading = |(source, all): &(Source, Vec<f64>)| (*source, all[reading].max(0.0));
            let mut budget: Vec<(Source, f64)> = variances.iter().map(of_reading).collect();
            let all: f64 = budget.iter().map(|(_, variance)| variance).sum();
            budget.iter_mut().for_each(|(_, variance)| *variance /= all.max(f64::MIN_POSITIVE));
            budget
        })
        .collect()
}

struct Context<'a> {
    gain: DMatrix<f64>,
    pooled: Option<&'a DMatrix<f64>>,
    prior: &'a Prior,
    areas: &'a Areas,
    taught: &'a Taught,
    scales: Scales,
    constants: &'a Constants,
}

impl Context<'_> {
    /// Trace of the propagated covariance of a source for every reading.
    fn variances(&self, source: Source) -> Vec<f64> {
        let squared = self.scales.common * self.scales.common;
        let (areas, chroma) = (self.areas, self.scales.chroma);
        match source {
            Source::Misfit => {
                self.propagated(|rows, columns| areas.misfit(rows, columns, chroma, self.constants) * squared)
            }
            Source::Angle => self.propagated(added(|cov, rows, columns| areas.add_angle(cov, rows, columns))),
            Source::Gloss => self.propagated(added(|cov, rows, columns| areas.add_gloss(cov, rows, columns))),
            Source::Noise => {
                let share = |is_part| if is_part { 1.0 } else { squared };
                self.propagated(added(|cov, rows, columns| areas.add_noise(cov, rows, columns, share)))
            }
            Source::KnownColours => traces(&row_products(&(&self.gain * &self.taught.lab_cov), &self.gain)),
            _ => self.parameters(source, squared),
        }
    }

    /// Of the covariance that `of` gives for areas and areas.
    fn propagated(&self, of: impl Fn(Range<usize>, Range<usize>) -> DMatrix<f64>) -> Vec<f64> {
        let (known, all) = (self.taught.len(), self.areas.len());
        let own = match self.pooled {
            Some(weights) => row_products(&(weights * of(known..all, known..all)), weights),
            None => DVector::from_iterator(
                3 * (all - known),
                (known..all)
                    .flat_map(|i| of(i..i + 1, i..i + 1).diagonal().iter().copied().collect::<Vec<_>>()),
            ),
        };
        let crossed = self.of_parts(of(known..all, 0..known));
        let carried = &self.gain * of(0..known, 0..known) - crossed * 2.0;
        traces(&(own + row_products(&carried, &self.gain)))
    }

    /// What is true of the readings for the parts.
    fn of_parts(&self, of_readings: DMatrix<f64>) -> DMatrix<f64> {
        match self.pooled {
            Some(weights) => weights * of_readings,
            None => of_readings,
        }
    }

    /// Of the parameters of a source: what their derivatives leave in the readings.
    fn parameters(&self, source: Source, squared: f64) -> Vec<f64> {
        let k = self.gain.ncols();
        let jacobian = &self.areas.jacobian;
        let own = self.of_parts(jacobian.rows(k, jacobian.nrows() - k).into_owned());
        let left = own - &self.gain * jacobian.rows(0, k);
        let directions = self.prior.directions.iter().filter(|(of, _)| *of == source);
        let zero = DVector::zeros(left.nrows());
        let variance = directions.fold(zero, |sum: DVector<f64>, (_, direction)| {
            let moved = &left * direction;
            sum + moved.component_mul(&moved) * squared
        });
        traces(&variance)
    }
}

/// The covariance of areas and areas that `add` adds to nothing.
fn added(
    add: impl Fn(&mut DMatrix<f64>, Range<usize>, Range<usize>),
) -> impl Fn(Range<usize>, Range<usize>) -> DMatrix<f64> {
    move |rows, columns| {
        let mut cov = DMatrix::zeros(3 * rows.len(), 3 * columns.len());
        add(&mut cov, rows, columns);
        cov
    }
}

/// Product of each row with the other matrix's same row.
fn row_products(a: &DMatrix<f64>, b: &DMatrix<f64>) -> DVector<f64> {
    a.component_mul(b).column_sum()
}

/// Sums of three rows each.
fn traces(variances: &DVector<f64>) -> Vec<f64> {
    variances.as_slice().chunks_exact(3).map(|three| three.iter().sum()).collect()
}

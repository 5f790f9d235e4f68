//! From measured specimens to what the next part of a shade will look like.
//!
//! # Model
//!
//! Of shade k, specimen i was measured as x_i = θ_i + c + e_i: its own colour θ_i ~ N(μ_k, τ_k² S), an
//! error c that all measurements of the shade share (one instrument, one card, one hand) and its own
//! error e_i. S is the family's spread of parts of one shade about their mean; τ_k says how much wider
//! or narrower this shade is. μ_k has a flat prior. Given τ_k everything is normal and solved exactly; the
//! posterior of τ_k is taken on a grid, so that the distribution of the next part is a finite mixture of
//! normals of different widths: for few specimens the shape of a Student-t distribution, for many a
//! normal. Nothing downstream needs sampling.
//!
//! # Constants
//!
//! | constant | value | where from |
//! |---|---|---|
//! | prior S | 0.8² in each of L\*, a\*, b\* | a root mean square of 1 CIEDE2000 about the shade's mean at the greens (45, -25, 20), so 1.4 between two parts: batches of one nominal colour differ by 1 to 2 (common practice of colour moulding, no source) |
//! | weight of that prior | 6 specimens | common practice, no source: a family's own spread takes over at some eight specimens |
//! | prior of τ² | scaled inverse χ², 5 degrees of freedom | 95 % of τ between 0.6 and 2.5 |
//! | shared part of a measurement's variance | one half | errors of instrument and card do not average out; common practice, no source |
//! | an aged specimen | wider by sd 2, 1, 4 in L\*, a\*, b\* | yellowing moves b\* most; common practice, no source |

use nalgebra::{Matrix3, Vector3};
use thiserror::Error;

use super::references::{References, Shade, Specimen};
use crate::color::{Lab, lab_of};
use crate::stats::{Component, Mixture, StudentT, factor, log_normal_density};

const PRIOR_SPREAD: f64 = 0.4;
const PRIOR_SPECIMENS: f64 = 6.0;
const SCALE_DOF: f64 = 5.0;
const SHARED_VARIANCE: f64 = 0.5;
const AGED_SD: [f64; 3] = [2.0, 1.0, 4.0];
/// Step and half-width of the grid over ln τ.
const GRID_STEP: f64 = 0.125;
const GRID_HALF_STEPS: i32 = 14;
/// Components of less weight are dropped.
const LEAST_WEIGHT: f64 = 1e-4;
/// Spread of other plastics of the neighbourhood about the family's shades, Lab units, and its tail.
const OTHERS_SPREAD: [f64; 3] = [9.0, 9.0, 9.0];
const OTHERS_DOF: f64 = 4.0;
/// Rounds of the fit of S; it converges by more than half a round.
const FIT_ROUNDS: usize = 30;

/// What is expected of parts of every shade of a family.
#[derive(Debug, Clone, PartialEq)]
pub struct Predictive {
    pub(super) shades: Vec<PredictedShade>,
    /// Colours of parts that are of none of the shades.
    pub(super) others: Mixture<3>,
    spread: Matrix3<f64>,
}

/// One shade as it is expected.
#[derive(Debug, Clone, PartialEq)]
pub struct PredictedShade {
    /// The shade's id.
    pub id: String,
    /// The next part's colour in Lab D50.
    pub next_part: Mixture<3>,
    /// The shade's mean colour in Lab D50, and its covariance (few specimens, errors of measurement).
    pub mean: Vector3<f64>,
    /// Covariance of `mean`.
    pub mean_cov: Matrix3<f64>,
    /// Specimens it rests on.
    pub specimens: usize,
}

/// References that nothing can be compared with.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum ReferencesProblem {
    /// No shade has a specimen.
    #[error(
        "the references of family \"{family}\" have no specimen in any shade; add at least one measured \
         part to a shade"
    )]
    Empty {
        /// The family's name.
        family: String,
    },
    /// A specimen's numbers make no sense.
    #[error(
        "specimen \"{specimen}\" of shade \"{shade}\": {field} must be three numbers {range}, found {found:?}; \
         correct it or remove the specimen"
    )]
    Specimen {
        /// The shade's id.
        shade: String,
        /// The specimen's id.
        specimen: String,
        /// "lab" or "sd".
        field: &'static str,
        /// What they may be.
        range: &'static str,
        /// What they are.
        found: [f64; 3],
    },
}

impl Predictive {
    /// The predictive distributions of a reference set. Shades without specimens are left out.
    pub fn from_references(references: &References) -> Result<Self, ReferencesProblem> {
        let shades: Vec<(&Shade, Vec<Measured>)> = references
            .shades
            .iter()
            .filter(|shade| !shade.specimens.is_empty())
            .map(|shade| {
                let measured = shade.specimens.iter().map(|s| Measured::of(shade, s));
                Ok((shade, measured.collect::<Result<_, _>>()?))
            })
            .collect::<Result<_, _>>()?;
        if shades.is_empty() {
            return Err(ReferencesProblem::Empty { family: references.family.clone() });
        }

        let spread = family_spread(shades.iter().map(|(_, measured)| measured.as_slice()));
        let shades: Vec<PredictedShade> =
            shades.iter().map(|(shade, measured)| predict(&shade.id, measured, &spread)).collect();
        let others = others_around(&shades);
        Ok(Self { shades, others, spread })
    }

    /// The shades that have specimens, in the references' order.
    pub fn shades(&self) -> &[PredictedShade] {
        &self.shades
    }

    /// Place of a shade in [`Self::shades`].
    pub fn index_of(&self, shade_id: &str) -> Option<usize> {
        self.shades.iter().position(|shade| shade.id == shade_id)
    }

    /// Mean and covariance of a part's colour given its shade: what a zone of this shade tells the light.
    pub fn colour_of(&self, shade_id: &str) -> Option<(Vector3<f64>, Matrix3<f64>)> {
        self.index_of(shade_id).map(|k| self.shades[k].next_part.moments())
    }

    /// Colours of parts that are of none of the shades.
    pub fn others(&self) -> &Mixture<3> {
        &self.others
    }

    /// Covariance of parts of one shade about the shade's mean, pooled over the family.
    pub fn spread_within_shade(&self) -> &Matrix3<f64> {
        &self.spread
    }
}

impl PredictedShade {
    /// The mean as a colour.
    pub fn colour(&self) -> Lab {
        lab_of(self.mean)
    }
}

/// A specimen's colour with the variance of its own error and of the error that it shares.
struct Measured {
    lab: Vector3<f64>,
    own: Matrix3<f64>,
    shared: Matrix3<f64>,
}

impl Measured {
    fn of(shade: &Shade, specimen: &Specimen) -> Result<Self, ReferencesProblem> {
        let problem = |field, range, found| ReferencesProblem::Specimen {
            shade: shade.id.clone(),
            specimen: specimen.id.clone(),
            field,
            range,
            found,
        };
        let [l, a, b] = specimen.lab;
        let in_range = (0.0..=110.0).contains(&l) && a.abs() <= 200.0 && b.abs() <= 200.0;
        if !in_range {
            return Err(problem("lab", "(L* 0 to 110, a* and b* -200 to 200)", specimen.lab));
        }
        if !specimen.sd.iter().all(|sd| (0.0..=50.0).contains(sd)) {
            return Err(problem("sd", "between 0 and 50", specimen.sd));
        }
        let variance = Vector3::from(specimen.sd.map(|sd| sd * sd));
        let ageing = if specimen.aged { AGED_SD.map(|sd| sd * sd) } else { [0.0; 3] };
        Ok(Self {
            lab: Vector3::from(specimen.lab),
            own: Matrix3::from_diagonal(&(variance * (1.0 - SHARED_VARIANCE) + Vector3::from(ageing))),
            shared: Matrix3::from_diagonal(&(variance * SHARED_VARIANCE)),
        })
    }
}

/// A shade's mean given the spread of its parts: generalised least squares under a flat prior.
struct Located {
    mean: Vector3<f64>,
    cov: Matrix3<f64>,
    log_evidence: f64,
}

fn locate(measured: &[Measured], spread: &Matrix3<f64>) -> Located {
    let mut precision = Matrix3::zeros();
    let mut pull = Vector3::zeros();
    for m in measured {
        let weight = inverse(&(spread + m.own));
        precision += weight;
        pull += weight * m.lab;
    }
    let cov = inverse(&precision);
    let mean = cov * pull;
    // p(x | spread) with the flat mean integrated out: the product of normals at the estimate, times the
    // volume of the estimate's own uncertainty.
    let fit: f64 = measured
        .iter()
        .map(|m| log_normal_density(&(m.lab - mean), &(spread + m.own)).unwrap_or(f64::NEG_INFINITY))
        .sum();
    let volume = factor(&cov).map_or(0.0, |f| f.log_root_determinant());
    Located { mean, cov, log_evidence: fit + volume }
}

/// Inverse of a covariance; spreads are bounded away from zero by their priors.
fn inverse(cov: &Matrix3<f64>) -> Matrix3<f64> {
    cov.try_inverse().unwrap_or_else(Matrix3::zeros)
}

/// S: the family's spread within a shade, near the middle of its posterior, by expectation and maximisation over the
/// unseen true deviations of the specimens.
fn family_spread<'a>(shades: impl Iterator<Item = &'a [Measured]> + Clone) -> Matrix3<f64> {
    let prior = Matrix3::identity() * (PRIOR_SPREAD * PRIOR_SPREAD);
    let mut spread = prior;
    for _ in 0..FIT_ROUNDS {
        let mut sum = prior * PRIOR_SPECIMENS;
        let mut count = PRIOR_SPECIMENS;
        for measured in shades.clone().filter(|m| m.len() > 1) {
            let located = locate(measured, &spread);
            for m in measured {
                let gain = spread * inverse(&(spread + m.own));
                let deviation = gain * (m.lab - located.mean);
                let doubt = spread - gain * spread + gain * located.cov * gain.transpose();
                sum += deviation * deviation.transpose() + doubt;
                count += 1.0;
            }
        }
        // The mode of a spread lies below its middle; one less keeps the promised coverage.
        spread = sum / (count - 1.0);
    }
    (spread + spread.transpose()) * 0.5
}

fn predict(id: &str, measured: &[Measured], spread: &Matrix3<f64>) -> PredictedShade {
    let shared = measured.iter().map(|m| m.shared).sum::<Matrix3<f64>>() / measured.len().max(1) as f64;
    let grid = (-GRID_HALF_STEPS..=GRID_HALF_STEPS).map(|i| {
        let log_scale = GRID_STEP * f64::from(i);
        let scaled = spread * libm::exp(2.0 * log_scale);
        let located = locate(measured, &scaled);
        (log_scale_prior(log_scale) + located.log_evidence, located, scaled)
    });
    let grid: Vec<_> = grid.collect();
    let best = grid.iter().map(|(log_weight, ..)| *log_weight).fold(f64::NEG_INFINITY, f64::max);
    let component = |of_next_part: f64| {
        let mixed = grid.iter().map(|(log_weight, located, scaled)| Component {
            weight: libm::exp(log_weight - best),
            mean: located.mean,
            cov: located.cov + shared + scaled * of_next_part,
        });
        Mixture::new(mixed.filter(|c| c.weight > LEAST_WEIGHT).collect())
            .unwrap_or_else(|| Mixture::normal(Vector3::zeros(), *spread))
    };
    let (mean, mean_cov) = component(0.0).moments();
    PredictedShade { id: id.to_owned(), next_part: component(1.0), mean, mean_cov, specimens: measured.len() }
}

/// ln of the density of ln τ for τ² ~ scaled inverse χ², up to a constant.
fn log_scale_prior(log_scale: f64) -> f64 {
    -SCALE_DOF * log_scale - 0.5 * SCALE_DOF * libm::exp(-2.0 * log_scale)
}

/// The broad alternative: a t distribution of 4 degrees of freedom about the family's centre, as wide as
/// its shades lie apart plus 9 Lab units each way; common practice, no source. A reading in the middle of
/// the family and well measured is given to it at a squared distance of about 16 from every shade.
fn others_around(shades: &[PredictedShade]) -> Mixture<3> {
    let n = shades.len().max(1) as f64;
    let centre = shades.iter().map(|s| s.mean).sum::<Vector3<f64>>() / n;
    let apart =
        shades.iter().map(|s| (s.mean - centre) * (s.mean - centre).transpose()).sum::<Matrix3<f64>>();
    let own = Matrix3::from_diagonal(&Vector3::from(OTHERS_SPREAD.map(|sd| sd * sd)));
    StudentT { mean: centre, scale: own + apart / n, dof: OTHERS_DOF }.mixture()
}

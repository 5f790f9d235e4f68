//! From measured specimens to what the next part of a shade will look like.
//!
//! # Model
//!
//! Of shade k, specimen i was measured as x_i = θ_i + c + e_i: its own colour θ_i ~ N(μ_k, τ_k² S), an
//! error c that its measurements share by groups (one camera, one instrument) and its own error e_i. S is the family's spread of parts of one shade about their mean; τ_k says how much wider
//! or narrower this shade is. μ_k has a flat prior. Given τ_k everything is normal and solved exactly; the
//! posterior of τ_k is taken on a grid and carried on by five values of it that have the same moments, so that
//! the distribution of the next part is a finite mixture of normals of different widths: for few specimens the shape of a Student-t distribution, for many a
//! normal. Nothing downstream needs sampling.
//!
//! # Constants
//!
//! | constant | value | where from |
//! |---|---|---|
//! | prior S | 0.6² in each of L\*, a\*, b\* | two parts of one shade then differ by about 1 CIEDE2000 at the greens (45, -25, 20): batches of one nominal colour do by 1 to 2 (common practice of colour moulding, no source) |
//! | weight of that prior | 6 specimens | common practice, no source: a family's own spread takes over at some eight specimens |
//! | prior of τ² | scaled inverse χ², 5 degrees of freedom | 95 % of τ between 0.6 and 2.5 |
//! | shared part of a measurement's variance | as the file says, else one half | errors of instrument and card do not average out; common practice, no source |
//! | an aged specimen | wider by sd 2, 1, 4 in L\*, a\*, b\* | yellowing moves b\* most; common practice, no source |

use nalgebra::{Matrix3, Vector3};
use thiserror::Error;

use super::covariance::positive;
use super::details::Side;
use super::known_part::{SeenSpecimen, seen_specimens};
use super::references::{References, Shade, Specimen};
use crate::color::{Lab, lab_of};
use crate::stats::{Component, Mixture, StudentT, factor, gauss_nodes, log_normal_density};

pub(super) const PRIOR_SPREAD: f64 = 0.6;
const PRIOR_SPECIMENS: f64 = 6.0;
const SCALE_DOF: f64 = 5.0;
const AGED_SD: [f64; 3] = [2.0, 1.0, 4.0];
/// Step and half-width of the grid over ln τ.
const GRID_STEP: f64 = 0.125;
const GRID_HALF_STEPS: i32 = 14;
/// Values of τ² that stand for those of the grid, see [`gauss_nodes`]; with five, no share of the rehearsal differs by more
/// than 0.003.
const SCALE_NODES: usize = 3;
/// Spread of other plastics of the neighbourhood about the family's shades, Lab units, and its tail.
const OTHERS_SPREAD: [f64; 3] = [7.0, 7.0, 7.0];
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
    /// The colours of these specimens themselves.
    pub(super) seen: Vec<SeenSpecimen>,
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
    /// The predictive distributions of a reference set. Shades without specimens are left out, and so are specimens that
    /// were set aside, and the exposed side of a part whose sheltered side is there.
    pub fn from_references(references: &References) -> Result<Self, ReferencesProblem> {
        let shades: Vec<(&Shade, Vec<Measured>)> = references
            .shades
            .iter()
            .map(|shade| {
                let measured = counted(shade).into_iter().map(|s| Measured::of(shade, s));
                Ok((shade, measured.collect::<Result<Vec<_>, _>>()?))
            })
            .filter(|read| read.as_ref().map_or(true, |(_, measured)| !measured.is_empty()))
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

/// The specimens that speak for their shade.
pub(super) fn counted(shade: &Shade) -> Vec<&Specimen> {
    let details: Vec<_> = shade.specimens.iter().map(Specimen::details).collect();
    let sheltered = |part: &str| {
        details.iter().any(|d| {
            d.part.as_deref() == Some(part) && d.side == Some(Side::Sheltered) && d.set_aside.is_none()
        })
    };
    let counts = |i: &usize| {
        let own = &details[*i];
        let doubled = own.side != Some(Side::Sheltered) && own.part.as_deref().is_some_and(sheltered);
        own.set_aside.is_none() && !doubled
    };
    (0..details.len()).filter(counts).map(|i| &shade.specimens[i]).collect()
}

/// A specimen's colour with the variance of its own error and of the error that it shares with its group.
pub(super) struct Measured {
    pub id: String,
    pub lab: Vector3<f64>,
    pub aged: bool,
    /// Its own error of measurement.
    pub error: Matrix3<f64>,
    /// That and what ageing may have moved it by.
    own: Matrix3<f64>,
    shared: Matrix3<f64>,
    group: String,
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
        let shared = specimen.shared_cov();
        let ageing = if specimen.aged { AGED_SD.map(|sd| sd * sd) } else { [0.0; 3] };
        let error = positive(&(specimen.cov() - shared));
        Ok(Self {
            id: specimen.id.clone(),
            lab: Vector3::from(specimen.lab),
            aged: specimen.aged,
            error,
            own: error + Matrix3::from_diagonal(&Vector3::from(ageing)),
            shared,
            group: specimen.error_group().to_owned(),
        })
    }
}

/// The specimens of one shade that share an error, located given the spread of parts.
pub(super) struct Group<'a> {
    pub members: Vec<&'a Measured>,
    /// Mean colour with the group's error in it, and its covariance but for that error.
    mean: Vector3<f64>,
    own: Matrix3<f64>,
    /// Covariance of the group's error.
    pub shared: Matrix3<f64>,
}

pub(super) fn groups<'a>(measured: &'a [Measured], spread: &Matrix3<f64>) -> Vec<Group<'a>> {
    let mut groups: Vec<Vec<&Measured>> = Vec::new();
    for m in measured {
        match groups.iter_mut().find(|group| group[0].group == m.group) {
            Some(group) => group.push(m),
            None => groups.push(vec![m]),
        }
    }
    let located = |members: Vec<&'a Measured>| {
        let weights = members.iter().map(|m| inverse(&(spread + m.own)));
        let own = inverse(&weights.clone().sum());
        let mean = own * weights.zip(&members).map(|(weight, m)| weight * m.lab).sum::<Vector3<f64>>();
        let shared = members.iter().map(|m| m.shared).sum::<Matrix3<f64>>() / members.len() as f64;
        Group { members, mean, own, shared }
    };
    groups.into_iter().map(located).collect()
}

/// Mean and covariance of what several groups say of one colour.
fn combined<'a>(groups: impl Iterator<Item = &'a Group<'a>>) -> (Vector3<f64>, Matrix3<f64>) {
    let (mut precision, mut pull) = (Matrix3::zeros(), Vector3::zeros());
    for group in groups {
        let weight = inverse(&(group.own + group.shared));
        precision += weight;
        pull += weight * group.mean;
    }
    let cov = inverse(&precision);
    (cov * pull, cov)
}

/// A shade's mean given the spread of its parts: generalised least squares under a flat prior.
struct Located {
    mean: Vector3<f64>,
    cov: Matrix3<f64>,
    log_evidence: f64,
}

fn locate(measured: &[Measured], spread: &Matrix3<f64>) -> Located {
    let groups = groups(measured, spread);
    let (mean, cov) = combined(groups.iter());
    // p(x | spread) with the flat mean integrated out: the product of normals at the estimates, times the volume of each
    // estimate's own uncertainty; first within groups, then between them.
    let log_normal =
        |d: &Vector3<f64>, cov: &Matrix3<f64>| log_normal_density(d, cov).unwrap_or(f64::NEG_INFINITY);
    let volume = |cov: &Matrix3<f64>| factor(cov).map_or(0.0, |f| f.log_root_determinant());
    let of_group = |group: &Group| {
        let fit: f64 =
            group.members.iter().map(|m| log_normal(&(m.lab - group.mean), &(spread + m.own))).sum();
        fit + volume(&group.own) + log_normal(&(group.mean - mean), &(group.own + group.shared))
    };
    let log_evidence = groups.iter().map(of_group).sum::<f64>() + volume(&cov);
    Located { mean, cov, log_evidence }
}

/// Inverse of a covariance; spreads are bounded away from zero by their priors.
pub(super) fn inverse(cov: &Matrix3<f64>) -> Matrix3<f64> {
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
            let groups = groups(measured, &spread);
            for (index, group) in groups.iter().enumerate() {
                let (centre, centre_cov) = centre_of(&groups, index);
                for m in &group.members {
                    let gain = spread * inverse(&(spread + m.own));
                    let deviation = gain * (m.lab - centre);
                    let doubt = spread - gain * spread + gain * centre_cov * gain.transpose();
                    sum += deviation * deviation.transpose() + doubt;
                    count += 1.0;
                }
            }
        }
        // The mode of a spread lies below its middle; one less keeps the promised coverage.
        spread = sum / (count - 1.0);
    }
    (spread + spread.transpose()) * 0.5
}

/// The shade's mean with the error of one group in it, as that group and all others say.
pub(super) fn centre_of(groups: &[Group], index: usize) -> (Vector3<f64>, Matrix3<f64>) {
    let own = &groups[index];
    if groups.len() == 1 {
        return (own.mean, own.own);
    }
    let others = groups.iter().enumerate().filter(|(other, _)| *other != index).map(|(_, group)| group);
    let (mean, cov) = combined(others);
    let (weight, of_others) = (inverse(&own.own), inverse(&(cov + own.shared)));
    let both = inverse(&(weight + of_others));
    (both * (weight * own.mean + of_others * mean), both)
}

fn predict(id: &str, measured: &[Measured], spread: &Matrix3<f64>) -> PredictedShade {
    let log_weight = |log_scale: f64| {
        let located = locate(measured, &(spread * libm::exp(2.0 * log_scale)));
        log_scale_prior(log_scale) + located.log_evidence
    };
    let grid: Vec<(f64, f64)> = (-GRID_HALF_STEPS..=GRID_HALF_STEPS)
        .map(|i| GRID_STEP * f64::from(i))
        .map(|log_scale| (libm::exp(2.0 * log_scale), log_weight(log_scale)))
        .collect();
    let best = grid.iter().map(|(_, log_weight)| *log_weight).fold(f64::NEG_INFINITY, f64::max);
    let weighted: Vec<(f64, f64)> =
        grid.into_iter().map(|(variance, log_weight)| (variance, libm::exp(log_weight - best))).collect();
    let nodes = gauss_nodes(&weighted, SCALE_NODES);
    let component = |of_next_part: f64| {
        let mixed = nodes.iter().map(|&(variance, weight)| {
            let scaled = spread * variance;
            let located = locate(measured, &scaled);
            Component { weight, mean: located.mean, cov: located.cov + scaled * of_next_part }
        });
        Mixture::new(mixed.collect()).unwrap_or_else(|| Mixture::normal(Vector3::zeros(), *spread))
    };
    let (mean, mean_cov) = component(0.0).moments();
    PredictedShade {
        id: id.to_owned(),
        next_part: component(1.0),
        mean,
        mean_cov,
        specimens: measured.len(),
        seen: seen_specimens(measured, spread),
    }
}

/// ln of the density of ln τ for τ² ~ scaled inverse χ², up to a constant.
fn log_scale_prior(log_scale: f64) -> f64 {
    -SCALE_DOF * log_scale - 0.5 * SCALE_DOF * libm::exp(-2.0 * log_scale)
}

/// The broad alternative: a t distribution of 4 degrees of freedom about the family's centre, as wide as
/// its shades lie apart plus 7 Lab units each way, a standard deviation of 10; common practice, no source. A reading in the
/// middle of the family and well measured is given to it at a squared distance of about 15 from every shade.
fn others_around(shades: &[PredictedShade]) -> Mixture<3> {
    let n = shades.len().max(1) as f64;
    let centre = shades.iter().map(|s| s.mean).sum::<Vector3<f64>>() / n;
    let apart =
        shades.iter().map(|s| (s.mean - centre) * (s.mean - centre).transpose()).sum::<Matrix3<f64>>();
    let own = Matrix3::from_diagonal(&Vector3::from(OTHERS_SPREAD.map(|sd| sd * sd)));
    StudentT { mean: centre, scale: own + apart / n, dof: OTHERS_DOF }.mixture()
}

//! The most probable parameters of one coding, and the model made linear there.

use nalgebra::{DVector, Vector3};

use super::areas::Areas;
use super::constants::Constants;
use super::factor::factor;
use super::forward::{Channel, GAIN, PARAMETERS, Theta, bends, channels, decode, linear_of_lab};
use super::prior::Prior;
use super::taught::Taught;
use super::{KnownPatch, Patch};

const MOST_STEPS: usize = 8;
/// No step longer than this many prior standard deviations: the model is far from linear.
const LONGEST_STEP: f64 = 1.5;
/// Prior standard deviations below which a step is the last: what it leaves is far smaller still, and the model is
/// linear over it.
const SETTLED: f64 = 0.01;

/// One coding, linear around its most probable parameters.
#[derive(Debug, Clone)]
pub(super) struct Linear {
    /// Prior mean of every area's Lab, known areas first, three entries an area.
    pub mean: DVector<f64>,
    /// Every area at the most probable parameters.
    pub areas: Areas,
    /// The most probable parameters.
    pub theta: Theta,
}

/// An area as the forward model takes it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Placed<'a> {
    pub patch: &'a Patch,
    /// Its coded values.
    pub coded: [Channel; 3],
    /// Its place in the model's length units.
    pub at: [f64; 2],
}

/// Half photo widths → the length unit of the learned slopes, which is half the longer side of a chart.
///
/// The charts that can be placed in their photos fill 21 to 95 % of the width (1.05 to 4.8 units), but a slope
/// found over a small chart (tilt, gloss, a lamp near by) does not go on to the edges of the photo. In the
/// rehearsal 2.5 units made bars of lightness nearly twice the errors; 1.2 had the better log score with
/// every set of known zones, in even light and in light uneven by 30 %, which is then a little over one
/// standard deviation from side to side.
pub const LENGTH_UNITS: f64 = 1.2;

/// A place in the photo in the model's length units.
pub(super) fn place(at: [f64; 2], middle: [f64; 2]) -> [f64; 2] {
    [0, 1].map(|axis| LENGTH_UNITS * (at[axis] - middle[axis]))
}

/// Places every area, known ones first, by the middle of those that the slopes are measured from.
pub(super) fn placed<'a>(
    known: &'a [KnownPatch],
    readings: &'a [Patch],
    middle: [f64; 2],
) -> Vec<Placed<'a>> {
    known
        .iter()
        .map(|zone| &zone.patch)
        .chain(readings)
        .map(|patch| Placed { patch, coded: channels(&patch.coded), at: place(patch.at, middle) })
        .collect()
}

/// Linearises the model; `priors` holds the coding at each chroma scale, `areas` the known areas first.
///
/// The parameters are sought at the middle chroma scale and serve all.
///
/// Returns `None` where a matrix cannot be factored.
pub(super) fn linearise(
    priors: &[(f64, Prior)],
    taught: &Taught,
    areas: &[Placed],
    constants: &Constants,
) -> Option<Linear> {
    let middle = priors.get(priors.len() / 2)?;
    let prior = &middle.1;
    let mut theta = prior.mean;
    if taught.len() > 0 {
        let target = taught.target();
        if !taught.coloured().is_empty() {
            theta.fixed_rows_mut::<3>(GAIN).copy_from(&first_gains(prior, taught.coloured()));
        }
        for _ in 0..MOST_STEPS {
            let step = gauss_newton_step(&theta, middle, taught, &areas[..taught.len()], &target, constants)?;
            let size = (0..PARAMETERS).map(|i| step[i].abs() / prior.cov[(i, i)].sqrt()).fold(0.0, f64::max);
            if !size.is_finite() {
                return None;
            }
            theta += step * (LONGEST_STEP / size.max(1e-9)).min(1.0);
            if size < SETTLED {
                break;
            }
        }
    }
    let areas = Areas::at(&theta, areas, constants);
    let back = prior.mean - theta;
    let mean = DVector::from_iterator(
        3 * areas.forwards.len(),
        areas.forwards.iter().flat_map(|f| (f.lab + f.by_theta * back).data.0[0]),
    );
    Some(Linear { mean, areas, theta })
}

/// One full Gauss–Newton step towards the most probable parameters.
fn gauss_newton_step(
    theta: &Theta,
    scaled: &(f64, Prior),
    taught: &Taught,
    placed: &[Placed],
    target: &DVector<f64>,
    constants: &Constants,
) -> Option<Theta> {
    let here = Areas::at(theta, placed, constants);
    let prior = &scaled.1;
    let all = 0..placed.len();
    let mut observed = here.covariance(all.clone(), all, scaled, constants);
    taught.add_unscaled(&mut observed, &here);
    let lab = DVector::from_iterator(target.len(), here.forwards.iter().flat_map(|f| f.lab.data.0[0]));
    let offset = theta - prior.mean;
    let residual = target - lab + &here.jacobian * DVector::from_column_slice(offset.as_slice());
    let pulled = here.jacobian.tr_mul(&factor(observed)?.solve(&residual));
    let new = prior.mean + prior.cov * Theta::from_column_slice(pulled.as_slice());
    Some(new - theta)
}

/// Gains that bring the known areas right on average, to start from: light areas count most, clipped and
/// nearly black channels hardly.
fn first_gains(prior: &Prior, known: &[KnownPatch]) -> Vector3<f64> {
    let bend_of = |c: f64| {
        let shapes = bends(c).0;
        libm::exp((0..4).map(|j| prior.mean[super::forward::BEND + j] * shapes[j]).sum())
    };
    Vector3::from_fn(|channel, _| {
        let (mut sum, mut weights) = (0.0, 0.0);
        for zone in known {
            let truth = linear_of_lab(&zone.lab)[channel];
            let coded = zone.patch.coded[channel];
            let light = decode(coded).0 * bend_of(coded);
            let trust = if coded < 0.98 && light > 1e-4 { 1.0 } else { 1e-3 };
            let weight = truth.clamp(0.0, 1.0) * trust;
            sum += weight * libm::log(truth.max(1e-3) / light.max(1e-3));
            weights += weight;
        }
        sum / weights.max(1e-9)
    })
}

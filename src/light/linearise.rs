//! The most probable parameters of one coding, and the model made linear there.

use nalgebra::{DVector, Vector3};

use super::areas::Areas;
use super::constants::Constants;
use super::factor::factor;
use super::forward::{Channel, GAIN, Theta, bends, channels, column, decode, linear_of_lab};
use super::prior::{Prior, over_photos};
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
    /// The most probable parameters of each photo.
    pub thetas: Vec<Theta>,
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

/// Places every area, known ones first, by the middle of those of its photo that the slopes are measured from.
pub(super) fn placed<'a>(
    taught: &'a Taught,
    readings: impl Iterator<Item = &'a Patch>,
    middles: &[[f64; 2]],
) -> Vec<Placed<'a>> {
    let of = |patch: &'a Patch| Placed {
        patch,
        coded: channels(&patch.coded),
        at: place(patch.at, middles[patch.photo]),
    };
    taught.areas.iter().map(|zone| &zone.patch).chain(readings).map(of).collect()
}

/// Linearises the model; `priors` holds the coding at each chroma scale, `areas` the known areas first.
///
/// The parameters of all photos are sought together at the middle chroma scale and serve all.
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
    let mut thetas = vec![prior.mean; prior.photos()];
    if taught.len() > 0 {
        let target = taught.target();
        for (photo, theta) in thetas.iter_mut().enumerate() {
            let there = || taught.coloured().iter().filter(move |zone| zone.patch.photo == photo);
            if there().next().is_some() {
                theta.fixed_rows_mut::<3>(GAIN).copy_from(&first_gains(prior, there()));
            }
        }
        for _ in 0..MOST_STEPS {
            let step =
                gauss_newton_step(&thetas, middle, taught, &areas[..taught.len()], &target, constants)?;
            let sd = |(column, _): (usize, &f64)| prior.cov[(column, column)].sqrt();
            let sizes = step.iter().enumerate().filter(|(column, _)| prior.has(*column));
            let size = sizes.map(|of| of.1.abs() / sd(of)).fold(0.0, f64::max);
            if !size.is_finite() {
                return None;
            }
            let step = step * (LONGEST_STEP / size.max(1e-9)).min(1.0);
            for (photo, theta) in thetas.iter_mut().enumerate() {
                *theta += Theta::from_fn(|parameter, _| step[column(photo, parameter)]);
            }
            if size < SETTLED {
                break;
            }
        }
    }
    let at_own = Areas::at(&thetas, areas, constants);
    let back = |area: usize| prior.mean - thetas[areas[area].patch.photo];
    let mean = DVector::from_iterator(
        3 * areas.len(),
        at_own.forwards.iter().enumerate().flat_map(|(i, f)| (f.lab + f.by_theta * back(i)).data.0[0]),
    );
    Some(Linear { mean, areas: at_own, thetas })
}

/// One full Gauss–Newton step towards the most probable parameters, over those of all photos.
fn gauss_newton_step(
    thetas: &[Theta],
    scaled: &(f64, Prior),
    taught: &Taught,
    placed: &[Placed],
    target: &DVector<f64>,
    constants: &Constants,
) -> Option<DVector<f64>> {
    let here = Areas::at(thetas, placed, constants);
    let prior = &scaled.1;
    let all = 0..placed.len();
    let mut observed = here.covariance(all.clone(), all, scaled, constants);
    taught.add_unscaled(&mut observed, &here);
    let lab = DVector::from_iterator(target.len(), here.forwards.iter().flat_map(|f| f.lab.data.0[0]));
    let offset = over_photos(thetas.iter().map(|theta| theta - prior.mean));
    let residual = target - lab + &here.jacobian * &offset;
    let pulled = here.jacobian.tr_mul(&factor(observed)?.solve(&residual));
    Some(&prior.cov * pulled - offset)
}

/// Gains that bring the known areas right on average, to start from: light areas count most, clipped and
/// nearly black channels hardly.
fn first_gains<'a>(prior: &Prior, known: impl Iterator<Item = &'a KnownPatch> + Clone) -> Vector3<f64> {
    let bend_of = |c: f64| {
        let shapes = bends(c).0;
        libm::exp((0..4).map(|j| prior.mean[super::forward::BEND + j] * shapes[j]).sum())
    };
    Vector3::from_fn(|channel, _| {
        let (mut sum, mut weights) = (0.0, 0.0);
        for zone in known.clone() {
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

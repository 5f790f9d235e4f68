//! The most probable parameters of one coding, and the model made linear there.

use nalgebra::{Cholesky, DMatrix, DVector, Vector3};

use super::constants::Constants;
use super::forward::{Forward, GAIN, PARAMETERS, Theta, bends, decode, forward, linear_of_lab};
use super::prior::Prior;
use super::{KnownPatch, Patch, misfit};

const MOST_STEPS: usize = 8;
/// No step longer than this many prior standard deviations: the model is far from linear.
const LONGEST_STEP: f64 = 1.5;
/// Prior standard deviations below which a step changes nothing that a person could see.
const SETTLED: f64 = 1e-3;

/// One coding, linear around its most probable parameters.
#[derive(Debug, Clone)]
pub(super) struct Linear {
    /// Prior mean of every area's Lab, known areas first, three entries an area.
    pub mean: DVector<f64>,
    /// For each chroma scale, the prior covariance of `mean` at common scale 1, but for `relief`.
    pub covs: Vec<DMatrix<f64>>,
    /// Covariance of `mean` from the angle and gloss of parts, which no trouble with the camera scales.
    pub relief: DMatrix<f64>,
    /// Every area at the most probable parameters.
    pub areas: Vec<Forward>,
    /// The most probable parameters.
    pub theta: Theta,
}

/// An area with its place in the model's length units.
#[derive(Debug, Clone, Copy)]
pub(super) struct Placed<'a> {
    pub patch: &'a Patch,
    pub at: [f64; 2],
}

/// Linearises the model; `priors` holds the coding at each chroma scale, `areas` the known areas first.
///
/// The parameters are sought at the middle chroma scale and serve all.
///
/// Returns `None` where a matrix cannot be factored.
pub(super) fn linearise(
    priors: &[(f64, Prior)],
    known: &[KnownPatch],
    areas: &[Placed],
    constants: &Constants,
) -> Option<Linear> {
    let middle = priors.get(priors.len() / 2)?;
    let prior = &middle.1;
    let mut theta = prior.mean;
    if !known.is_empty() {
        let target =
            DVector::from_iterator(3 * known.len(), known.iter().flat_map(|z| z.lab.iter().copied()));
        theta.fixed_rows_mut::<3>(GAIN).copy_from(&first_gains(prior, known));
        for _ in 0..MOST_STEPS {
            let step = gauss_newton_step(&theta, middle, known, &areas[..known.len()], &target, constants)?;
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
    let forwards: Vec<Forward> =
        areas.iter().map(|area| forward(&theta, &area.patch.coded, area.at)).collect();
    let back = prior.mean - theta;
    let mean = DVector::from_iterator(
        3 * areas.len(),
        forwards.iter().flat_map(|f| (f.lab + f.by_theta * back).data.0[0]),
    );
    let patches: Vec<&Patch> = areas.iter().map(|area| area.patch).collect();
    let covs = priors.iter().map(|prior| covariance(prior, &patches, &forwards, constants)).collect();
    let relief = relief(&patches, &forwards, constants);
    Some(Linear { mean, covs, relief, areas: forwards, theta })
}

/// One full Gauss–Newton step towards the most probable parameters.
fn gauss_newton_step(
    theta: &Theta,
    scaled: &(f64, Prior),
    known: &[KnownPatch],
    placed: &[Placed],
    target: &DVector<f64>,
    constants: &Constants,
) -> Option<Theta> {
    let here: Vec<Forward> = placed.iter().map(|area| forward(theta, &area.patch.coded, area.at)).collect();
    let patches: Vec<&Patch> = placed.iter().map(|area| area.patch).collect();
    let prior = &scaled.1;
    let mut observed = covariance(scaled, &patches, &here, constants);
    add_known(&mut observed, known, &relief(&patches, &here, constants));
    let jacobian = stacked(&here);
    let lab = DVector::from_iterator(target.len(), here.iter().flat_map(|f| f.lab.data.0[0]));
    let offset = theta - prior.mean;
    let residual = target - lab + &jacobian * DVector::from_column_slice(offset.as_slice());
    let solved = Cholesky::new(observed)?.solve(&residual);
    let pulled = jacobian.transpose() * solved;
    let new = prior.mean + prior.cov * Theta::from_column_slice(pulled.as_slice());
    Some(new - theta)
}

/// Adds to the block of the known areas what no common scale scales: the covariance of the known values, and
/// `relief` (of all areas or more than the known ones).
pub(super) fn add_known(observed: &mut DMatrix<f64>, known: &[KnownPatch], relief: &DMatrix<f64>) {
    let k = 3 * known.len();
    *observed += relief.view((0, 0), (k, k));
    for (i, zone) in known.iter().enumerate() {
        let mut block = observed.fixed_view_mut::<3, 3>(3 * i, 3 * i);
        block += zone.lab_cov;
    }
}

fn relief(patches: &[&Patch], here: &[Forward], k: &Constants) -> DMatrix<f64> {
    let mut cov = DMatrix::zeros(3 * here.len(), 3 * here.len());
    let rounded: Vec<usize> = (0..here.len()).filter(|&i| patches[i].relief.is_some()).collect();
    for &i in &rounded {
        for &j in &rounded {
            let (p, q) = ((patches[i], &here[i]), (patches[j], &here[j]));
            let mut block = misfit::angle(p, q, i == j) + misfit::gloss(p, q, i == j);
            if i == j {
                block += misfit::private(patches[i], &here[i], k);
            }
            cov.fixed_view_mut::<3, 3>(3 * i, 3 * j).copy_from(&block);
        }
    }
    cov
}

/// Jacobians of all areas on top of each other, 3n × parameters.
fn stacked(areas: &[Forward]) -> DMatrix<f64> {
    let mut jacobian = DMatrix::zeros(3 * areas.len(), PARAMETERS);
    for (i, area) in areas.iter().enumerate() {
        jacobian.fixed_view_mut::<3, PARAMETERS>(3 * i, 0).copy_from(&area.by_theta);
    }
    jacobian
}

/// Prior covariance of the areas' Lab at common scale 1: parameters, misfit and noise.
fn covariance(
    (chroma_scale, prior): &(f64, Prior),
    patches: &[&Patch],
    here: &[Forward],
    k: &Constants,
) -> DMatrix<f64> {
    let spread: Vec<_> = here.iter().map(|area| area.by_theta * prior.cov).collect();
    let mut cov = DMatrix::zeros(3 * here.len(), 3 * here.len());
    for i in 0..here.len() {
        for j in 0..=i {
            let (p, q) = ((patches[i], &here[i]), (patches[j], &here[j]));
            let mut block = spread[i] * here[j].by_theta.transpose()
                + misfit::shared(p, q, *chroma_scale, k)
                + misfit::coding(p, q, i == j, k);
            if i == j && patches[i].relief.is_none() {
                block += misfit::private(patches[i], &here[i], k);
            }
            cov.fixed_view_mut::<3, 3>(3 * i, 3 * j).copy_from(&block);
            cov.fixed_view_mut::<3, 3>(3 * j, 3 * i).copy_from(&block.transpose());
        }
    }
    cov
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

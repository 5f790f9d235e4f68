//! One scene measured with one set of known zones, held against the truth.

use std::slice;

use nalgebra::{DMatrix, DVector, Matrix3, Vector3};

use super::scene::Scene;
use super::{Known, Options};
use crate::color::{ciede2000, column_of, lab_of};
use crate::light::{Component, Drag, Light, Source, fit_given};
use crate::shade::{Classification, classify_together, different_plastic};
use crate::stats::{Mixture, normal_cdf, squared_distance};

/// Draws from a reading's mixture that rank the truth by density; one more than these divides evenly by every
/// level in per cent, so that the rank of a true model is exactly uniform over it.
const RANKING_DRAWS: usize = 399;

/// Variance of a colour that counts as known exactly.
const EXACT: f64 = 1e-4;

/// How one scene came out.
#[derive(Debug, Clone)]
pub(super) struct Verdict {
    /// Share of the reading's probability that is denser than the truth: uniform in 0..1 if the bars are true.
    pub denser: f64,
    /// Squared Mahalanobis distance of the truth by the reported mean and covariance.
    pub squared_distance: f64,
    /// −ln of the density of the true Lab.
    pub log_score: f64,
    /// Reported Lab less the truth, and the reported standard deviations.
    pub error: Vector3<f64>,
    pub bar: Vector3<f64>,
    /// Share of each cause in the bar.
    pub budget: Vec<(Source, f64)>,
    /// The same of the difference of two areas of one plastic, which is zero.
    pub error_of_difference: Vector3<f64>,
    pub bar_of_difference: Vector3<f64>,
    /// Mean CRPS over L\*, a\*, b\*.
    pub crps: f64,
    /// CIEDE2000 from the reported Lab to the truth.
    pub de00: f64,
    /// Probability of the most probable answer, and whether that is the truth.
    pub confidence: f64,
    pub right: bool,
    /// Probability of the most probable shade, and whether it is the part's; `None` for a stranger.
    pub shade: Option<(f64, bool)>,
    /// Whether something would be said at the chosen confidence if the part's colour were known exactly: what
    /// the references and the spread of parts of one shade allow at best.
    pub decided_at_best: bool,
    /// Whether it would be if only the differences to the parts of known shade were known exactly.
    pub decided_beside_part: bool,
    /// Whether parts of neighbouring shades would be called different if all differences between the readings, and to
    /// the parts of known shade that lie there, were known exactly.
    pub neighbours_at_best: bool,
    /// Probability that two areas of one plastic, at two angles, are of different plastic.
    pub same_called_different: f64,
    /// The same of parts of neighbouring shades.
    pub neighbours_called_different: f64,
}

/// Measures the scene; `None` where nothing can be said (no usable zone, model not solvable).
pub(super) fn judge(scene: &Scene, known: Known, options: &Options) -> Option<Verdict> {
    let given = scene.given(known, options.boards);
    if given.known.is_empty() && known != Known::Nothing {
        return None;
    }
    let light = fit_given(&given, &scene.patches(), &options.constants)?;
    let reading = Mixture::of_parts(light.reading_mixture(0))?;
    let (mean, cov) = light.reading(0);
    let question = &scene.parts[0];
    let truth = column_of(question.lab);

    // The same part twice is no second part.
    let parts: Vec<Component> = light.components.iter().map(|c| c.only(&scene.own_parts())).collect();
    let together = classify_together(&parts, &scene.predictive, &Default::default()).ok()?;
    let classes = together.readings.first()?;
    let (confidence, answer) = most_probable(classes);
    let (shade_probability, shade) = most_probable_shade(classes);
    let density = reading.log_density(&truth).ok()?;
    let ranked = reading.draws(RANKING_DRAWS, options.seed).ok()?;
    let denser = ranked.iter().filter(|x| reading.log_density(x).is_ok_and(|d| d > density)).count();
    let crps = (0..3).map(|axis| crps_of_mixture(&reading, axis, truth[axis])).sum::<f64>() / 3.0;
    let pairs = classify_together(&light.components, &scene.predictive, &Default::default()).ok()?;
    let different = |a, b| {
        let (shades_differ, neither) = pairs.differ(a, b);
        let by_itself = different_plastic(&Mixture::of_parts(light.same_or_not(a, b))?).ok()?;
        Some(shades_differ + neither * by_itself)
    };
    let (apart, apart_cov) = difference(&light, 0, 1);
    let exact = scene.predictive.classify(&truth, &(Matrix3::identity() * EXACT)).ok()?;
    let beside_part = scene.beside_known_parts(&truth)?;
    let beside = classify_together(slice::from_ref(&beside_part), &scene.predictive, &Default::default());
    let beside = beside.ok()?;
    let beside = beside.readings.first()?;
    let first = if known.has_part() { beside_part } else { alone(mean, cov) };
    let truths = scene.own_parts().map(|reading| column_of(scene.parts[reading].lab));
    let pairs_at_best =
        classify_together(&[exactly_apart(&first, &truths)], &scene.predictive, &Default::default());
    // Of the parts in question, the second is the neighbour.
    let (neighbours_at_best, _) = pairs_at_best.ok()?.differ(0, 1);
    Some(Verdict {
        decided_at_best: most_probable(&exact).0 >= options.confidence,
        decided_beside_part: most_probable(beside).0 >= options.confidence,
        neighbours_at_best: neighbours_at_best >= options.confidence,
        error: mean - truth,
        bar: cov.diagonal().map(|v| v.max(0.0).sqrt()),
        budget: light.budgets.first()?.clone(),
        error_of_difference: apart,
        bar_of_difference: apart_cov.diagonal().map(|v| v.max(0.0).sqrt()),
        denser: denser as f64 / (RANKING_DRAWS + 1) as f64,
        squared_distance: squared_distance(&(truth - mean), &cov).ok()?,
        log_score: -density,
        crps,
        de00: ciede2000(lab_of(mean), question.lab),
        confidence,
        right: answer == question.shade,
        shade: question.shade.map(|truth| (shade_probability, truth == shade)),
        same_called_different: different(0, 1)?,
        neighbours_called_different: different(0, 2)?,
    })
}

/// One reading by itself.
fn alone(mean: Vector3<f64>, cov: Matrix3<f64>) -> Component {
    let mean = DVector::from_column_slice(mean.as_slice());
    Component { weight: 1.0, mean, cov: DMatrix::from_column_slice(3, 3, cov.as_slice()), drags: Vec::new() }
}

/// Readings as far apart as they truly are, known exactly, and the first of them as `first` has it.
fn exactly_apart(first: &Component, truths: &[Vector3<f64>]) -> Component {
    let rows = 3 * truths.len();
    let same = |matrix: &DMatrix<f64>, i: usize, j: usize| matrix[(i % 3, j % 3)];
    let apart = |i: usize| truths[i / 3][i % 3] - truths[0][i % 3];
    let cov = DMatrix::from_fn(rows, rows, |i, j| same(&first.cov, i, j) + if i == j { EXACT } else { 0.0 });
    let drags = first.drags.iter().map(|drag| Drag {
        error: drag.error,
        gain: DMatrix::from_fn(rows, 3, |i, j| same(&drag.gain, i, j)),
    });
    Component {
        weight: 1.0,
        mean: DVector::from_fn(rows, |i, _| first.mean[i % 3] + apart(i)),
        cov,
        drags: drags.collect(),
    }
}

/// Mean and covariance of Lab of one reading less that of another.
fn difference(light: &Light, a: usize, b: usize) -> (Vector3<f64>, Matrix3<f64>) {
    let (mean, cov) = light.pair(a, b);
    let block = |i, j| cov.fixed_view::<3, 3>(i, j).into_owned();
    let apart: Vector3<f64> = mean.fixed_rows::<3>(0) - mean.fixed_rows::<3>(3);
    (apart, block(0, 0) + block(3, 3) - block(0, 3) - block(3, 0))
}

/// The most probable answer with its probability; `None` stands for "none of these".
fn most_probable(classes: &Classification) -> (f64, Option<usize>) {
    let (probability, shade) = most_probable_shade(classes);
    if classes.none > probability { (classes.none, None) } else { (probability, Some(shade)) }
}

fn most_probable_shade(classes: &Classification) -> (f64, usize) {
    let best = |best: (f64, usize), (index, &p): (usize, &f64)| if p > best.0 { (p, index) } else { best };
    classes.probabilities.iter().enumerate().fold((0.0, 0), best)
}

/// Continuous ranked probability score of one coordinate of a mixture of normals, in closed form:
/// Σ wᵢ A(μᵢ − y, σᵢ²) − ½ Σ wᵢ wⱼ A(μᵢ − μⱼ, σᵢ² + σⱼ²) with A(μ, σ²) = E|N(μ, σ²)|
/// (E. P. Grimit, T. Gneiting, V. J. Berrocal and N. A. Johnson, QJRMS 132:2925-2942, 2006, equation 5).
fn crps_of_mixture(mixture: &Mixture<3>, axis: usize, truth: f64) -> f64 {
    let parts: Vec<(f64, f64, f64)> =
        mixture.components().iter().map(|c| (c.weight, c.mean[axis], c.cov[(axis, axis)])).collect();
    let away: f64 = parts.iter().map(|&(w, m, v)| w * mean_distance(m - truth, v)).sum();
    let apart: f64 = parts
        .iter()
        .flat_map(|&(w, m, v)| parts.iter().map(move |&(w2, m2, v2)| w * w2 * mean_distance(m - m2, v + v2)))
        .sum();
    away - 0.5 * apart
}

/// E|N(mean, variance)|.
fn mean_distance(mean: f64, variance: f64) -> f64 {
    let sd = variance.max(0.0).sqrt();
    if sd <= 0.0 {
        return mean.abs();
    }
    let z = mean / sd;
    mean * (2.0 * normal_cdf(z) - 1.0) + 2.0 * sd * libm::exp(-0.5 * z * z) / std::f64::consts::TAU.sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::Component;

    /// One normal: Gneiting and Raftery (JASA 102:359-378, 2007, equation 21) give for N(0, 1) at 0
    /// 2 φ(0) − 1/√π = 0.233695.
    #[test]
    fn crps_of_one_normal_is_the_published_closed_form() {
        let normal = Mixture::normal(Vector3::zeros(), Matrix3::identity());
        assert!((crps_of_mixture(&normal, 0, 0.0) - 0.233_695).abs() < 1e-6);
    }

    /// Against the definition E|X − y| − ½ E|X − X'| over draws.
    #[test]
    fn crps_of_a_mixture_agrees_with_its_draws() {
        let part = |weight, mean: f64, sd: f64| Component {
            weight,
            mean: Vector3::repeat(mean),
            cov: Matrix3::identity() * (sd * sd),
        };
        let mixture = Mixture::new(vec![part(0.3, -1.0, 0.5), part(0.7, 2.0, 1.5)]).unwrap();
        let draws: Vec<f64> = mixture.draws(4000, 3).unwrap().iter().map(|x| x[1]).collect();
        let n = draws.len() as f64;
        let away = draws.iter().map(|x| (x - 0.4).abs()).sum::<f64>() / n;
        let apart =
            draws.iter().flat_map(|x| draws.iter().map(move |y| (x - y).abs())).sum::<f64>() / (n * n);
        assert!((crps_of_mixture(&mixture, 1, 0.4) - (away - 0.5 * apart)).abs() < 0.03);
    }
}

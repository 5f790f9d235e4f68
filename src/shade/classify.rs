//! Which shade a reading is, how far it is from each, and whether two readings are one plastic.

use nalgebra::{Matrix3, Matrix6, Vector3, Vector6};

use super::predictive::{PredictedShade, Predictive};
use crate::color::{LocalMetric, ciede2000, lab_of};
use crate::stats::{
    Interval, Mixture, NotPositiveDefinite, QuadraticForm, factor, log_sum_exp, spread_normals,
};

/// Probability of each shade and of none of them.
#[derive(Debug, Clone, PartialEq)]
pub struct Classification {
    /// In the order of [`Predictive::shades`]; with `none` they add up to 1.
    pub probabilities: Vec<f64>,
    /// That it is a plastic of none of the shades.
    pub none: f64,
}

/// What is taken for granted before a part is measured.
#[derive(Debug, Clone, PartialEq)]
pub struct Priors {
    /// That a part is of none of the shades, 0..1; 5 %, common practice, no source.
    pub none: f64,
    /// Of each shade given that it is one of them, in the order of [`Predictive::shades`]; any positive
    /// numbers, all equal where `None`.
    pub shades: Option<Vec<f64>>,
    /// Distance in Lab from grey, and from parts that are judged, below which a photo's errors are even where no part is
    /// known, above zero: what white point and tint do to a grey; what the light on each part, its gloss and noise do to
    /// parts of one plastic.
    ///
    /// Chosen on the 17 sources of charts with each owner left out in turn (`tests/charts/even.rs`, where 2 to 8 differ by
    /// little and from 10 on calls go wrong); in the rehearsal the true shade is as probable with 4 as with 6.5.
    pub even: f64,
}

impl Default for Priors {
    fn default() -> Self {
        Self { none: 0.05, shades: None, even: 6.0 }
    }
}

impl Predictive {
    /// P(shade | reading) for a reading known as N(mean, cov) in Lab D50, with the default priors.
    pub fn classify(
        &self,
        mean: &Vector3<f64>,
        cov: &Matrix3<f64>,
    ) -> Result<Classification, NotPositiveDefinite> {
        self.classify_with(mean, cov, &Priors::default())
    }

    /// The same with priors of one's own.
    pub fn classify_with(
        &self,
        mean: &Vector3<f64>,
        cov: &Matrix3<f64>,
        priors: &Priors,
    ) -> Result<Classification, NotPositiveDefinite> {
        self.classify_mixture(&Mixture::normal(*mean, *cov), priors)
    }

    /// P(k | reading) ∝ π_k ∫ r(x) t_k(x) dx with r the distribution of the reading's Lab D50, t_k that of the
    /// next part of shade k, and "none of these" as one more class with its broad distribution. In closed
    /// form, as all are mixtures of normals.
    pub fn classify_mixture(
        &self,
        reading: &Mixture<3>,
        priors: &Priors,
    ) -> Result<Classification, NotPositiveDefinite> {
        let prior_of = |k: usize| priors.shades.as_ref().map_or(1.0, |p| p.get(k).copied().unwrap_or(0.0));
        let total: f64 = (0..self.shades.len()).map(prior_of).sum();
        let mut logs = Vec::with_capacity(self.shades.len() + 1);
        for (k, shade) in self.shades.iter().enumerate() {
            let prior = (1.0 - priors.none) * prior_of(k) / total;
            logs.push(libm::log(prior) + shade.next_part.log_overlap_of(reading)?);
        }
        logs.push(libm::log(priors.none) + self.others.log_overlap_of(reading)?);

        let evidence = log_sum_exp(logs.iter().copied());
        let mut probabilities: Vec<f64> = logs.iter().map(|v| libm::exp(v - evidence)).collect();
        let none = probabilities.pop().unwrap_or(0.0);
        Ok(Classification { probabilities, none })
    }
}

/// The standard normal draws behind the intervals of differences near neutral; made once for a photo.
#[derive(Debug, Clone)]
pub struct DifferenceDraws {
    /// For both colours of a pair.
    six: Vec<Vector6<f64>>,
}

/// Draws in a set; see [`spread_normals`] for what that costs in smoothness.
const DRAWS: usize = 256;

impl DifferenceDraws {
    /// The set that belongs to a seed.
    pub fn seeded(seed: u64) -> Self {
        Self { six: spread_normals(DRAWS, seed) }
    }
}

/// CIEDE2000 between a reading N(mean, cov) and each shade's mean colour, in the order of `shades`: the
/// uncertainty of the reading and of that mean are in, the spread of parts about it is not (that one
/// belongs to the question "is it this shade?", which the probabilities answer). `common` holds the covariance of the
/// reading with the means of some of the shades, beside the shade's place: of those with a known part in the photo.
pub fn difference_to_shades(
    (mean, cov): (&Vector3<f64>, &Matrix3<f64>),
    common: &[(usize, Matrix3<f64>)],
    shades: &[PredictedShade],
    draws: &DifferenceDraws,
) -> Result<Vec<Interval>, NotPositiveDefinite> {
    let to_shade = |(place, shade): (usize, &PredictedShade)| {
        let mut cov = block_diagonal(cov, &shade.mean_cov);
        if let Some((_, common)) = common.iter().find(|(of, _)| *of == place) {
            cov.fixed_view_mut::<3, 3>(0, 3).copy_from(common);
            cov.fixed_view_mut::<3, 3>(3, 0).copy_from(&common.transpose());
        }
        Joint { a: *mean, b: shade.mean, cov }.interval(draws)
    };
    shades.iter().enumerate().map(to_shade).collect()
}

/// What parts of one plastic, and of two, differ by; see [`compare_pair`].
const SAME_SD: f64 = 0.35;
const DIFFERENT_SD: [f64; 3] = [1.5, 3.0, 6.0];
const DIFFERENT_PRIOR: f64 = 0.5;

/// Two readings with their joint distribution N(mean6, cov6), L\*, a\*, b\* of the first and then of the
/// second: the interval of their CIEDE2000, and the probability that they are of different plastic.
///
/// The latter weighs two models of the true difference δ of the two parts. Of one plastic:
/// δ ~ N(0, 2 · 0.35² I), so that two parts of one lot differ by 0.5 in each coordinate (common practice
/// of colour moulding, no source). Of two plastics: a mixture in equal parts of N(0, (2 · 0.35² + r²) I)
/// with r = 1.5, 3 and 6, differences of about 2.5, 5 and 10 Lab units: the shades of one family lie 2 to
/// 8 CIEDE2000 apart, and larger differences are plain under any of these. Both are taken as equally
/// likely beforehand, so the number says what the photo alone says; odds from a guide multiply it later.
///
/// What it can tell, computed here for shades 4 CIEDE2000 apart at (45, -25, 20): with errors of the
/// difference of 0.7 in L\* and 0.4 in a\* and b\*, 85 % (lightness alone) to 100 % (hue) are called
/// different at 95 %; with 1.5 and 0.5 no more than 6 % of those that differ in lightness alone. Of one
/// plastic at most 2 % are called different.
pub fn compare_pair(
    mean6: &Vector6<f64>,
    cov6: &Matrix6<f64>,
    draws: &DifferenceDraws,
) -> Result<(Interval, f64), NotPositiveDefinite> {
    let joint = Joint::of(mean6, cov6);
    let interval = joint.interval(draws)?;
    let difference = Mixture::normal(joint.a - joint.b, joint.cov_of_difference());
    Ok((interval, different_plastic(&difference)?))
}

/// Two colours with their joint covariance.
struct Joint {
    a: Vector3<f64>,
    b: Vector3<f64>,
    cov: Matrix6<f64>,
}

fn block_diagonal(a: &Matrix3<f64>, b: &Matrix3<f64>) -> Matrix6<f64> {
    let mut joint = Matrix6::zeros();
    joint.fixed_view_mut::<3, 3>(0, 0).copy_from(a);
    joint.fixed_view_mut::<3, 3>(3, 3).copy_from(b);
    joint
}

impl Joint {
    fn of(mean6: &Vector6<f64>, cov6: &Matrix6<f64>) -> Self {
        Self { a: mean6.fixed_rows::<3>(0).into(), b: mean6.fixed_rows::<3>(3).into(), cov: *cov6 }
    }

    /// Covariance of a - b.
    fn cov_of_difference(&self) -> Matrix3<f64> {
        let block = |i, j| self.cov.fixed_view::<3, 3>(i, j).into_owned();
        block(0, 0) + block(3, 3) - block(0, 3) - block(3, 0)
    }

    /// Largest standard deviation of either colour along a\* or b\*, times √2 at most that in the plane.
    fn sd_ab(&self) -> f64 {
        let trace = |i: usize| self.cov[(i, i)] + self.cov[(i + 1, i + 1)];
        (0.5 * trace(1).max(trace(4)).max(0.0)).sqrt()
    }

    /// Median and central 95 % of CIEDE2000. Away from neutral the formula's local quadratic form has a
    /// known distribution; near neutral the exact formula is evaluated for every draw, which takes some
    /// fifty times as long.
    fn interval(&self, draws: &DifferenceDraws) -> Result<Interval, NotPositiveDefinite> {
        if let Some(metric) = LocalMetric::of_pair(lab_of(self.a), lab_of(self.b), self.sd_ab()) {
            let difference = self.a - self.b;
            let form = QuadraticForm::new(metric.matrix(), &difference, &self.cov_of_difference())?;
            return Ok(form.root_interval());
        }
        Interval::of_draws(&mut self.drawn(draws)?).ok_or(NotPositiveDefinite { rows: 6, columns: 6 })
    }

    /// CIEDE2000 of every draw by the exact formula.
    fn drawn(&self, draws: &DifferenceDraws) -> Result<Vec<f64>, NotPositiveDefinite> {
        let factor = factor(&self.cov)?;
        let of = |z: &Vector6<f64>| {
            let moved = factor.l * z;
            let (a, b) = (self.a + moved.fixed_rows::<3>(0), self.b + moved.fixed_rows::<3>(3));
            ciede2000(lab_of(a), lab_of(b))
        };
        Ok(draws.six.iter().map(of).collect())
    }
}

/// Probability that two parts are of different plastic, from the distribution of the Lab of one less that of the
/// other; see [`compare_pair`] for the two models that it weighs. In closed form.
pub fn different_plastic(difference: &Mixture<3>) -> Result<f64, NotPositiveDefinite> {
    let log_evidence = |variance: f64| {
        let truth = Mixture::normal(Vector3::zeros(), Matrix3::identity() * variance);
        truth.log_overlap_of(difference)
    };
    let same = 2.0 * SAME_SD * SAME_SD;
    let log_same = log_evidence(same)?;
    let share = libm::log(1.0 / DIFFERENT_SD.len() as f64);
    let different = DIFFERENT_SD.map(|r| log_evidence(same + r * r).map(|v| v + share));
    let different: Vec<f64> = different.into_iter().collect::<Result<_, _>>()?;
    let log_odds = log_sum_exp(different.iter().copied()) - log_same
        + libm::log(DIFFERENT_PRIOR / (1.0 - DIFFERENT_PRIOR));
    Ok(1.0 / (1.0 + libm::exp(-log_odds)))
}

#[cfg(test)]
mod tests {
    use super::super::References;
    use super::*;

    fn greens() -> References {
        serde_json::from_str(
            r#"{"sameshot_shades": 1, "family": "green", "shades": [
                {"id": "green/light", "specimens": [
                    {"id": "a", "lab": [52.0, -24.0, 24.0], "sd": [0.6, 0.4, 0.4], "method": "photo"},
                    {"id": "b", "lab": [51.2, -24.6, 23.3], "sd": [0.6, 0.4, 0.4], "method": "photo"}]},
                {"id": "green/medium", "specimens": [
                    {"id": "c", "lab": [47.0, -25.0, 22.0], "sd": [0.3, 0.2, 0.2], "method": "spectrophotometer"}]},
                {"id": "green/dark", "specimens": [
                    {"id": "d", "lab": [42.0, -26.0, 20.0], "sd": [0.6, 0.4, 0.4], "method": "photo", "aged": true}]}
            ]}"#,
        )
        .unwrap()
    }

    #[test]
    fn a_sharp_reading_is_called_and_a_strange_one_is_none() {
        let predictive = Predictive::from_references(&greens()).unwrap();
        let cov = Matrix3::identity() * 0.3;
        let near = predictive.classify(&Vector3::new(46.6, -25.3, 22.4), &cov).unwrap();
        assert!(near.probabilities[1] > 0.95, "{near:?}");
        let strange = predictive.classify(&Vector3::new(46.6, 5.0, 10.0), &cov).unwrap();
        assert!(strange.none > 0.99, "{strange:?}");
        let vague = predictive.classify(&Vector3::new(46.6, -25.3, 22.4), &(cov * 60.0)).unwrap();
        assert!(vague.probabilities.iter().all(|p| (0.05..0.7).contains(p)), "{vague:?}");
        for c in [near, strange, vague] {
            assert!((c.probabilities.iter().sum::<f64>() + c.none - 1.0).abs() < 1e-12);
        }
    }

    /// (42, -25, 22) against (39.5, -24, 20.5) with independent errors of 0.3 and 0.8 on each: 95 %
    /// intervals 1.678 to 3.079 and 0.935 to 4.361 (computed with PyPI colour-science 0.4.7 and NumPy).
    #[test]
    fn intervals_agree_with_long_simulations() {
        let draws = DifferenceDraws::seeded(1);
        let mean = Vector6::new(42.0, -25.0, 22.0, 39.5, -24.0, 20.5);
        for (sd, sd_of_difference, low, high) in [(0.3, 0.357, 1.678, 3.079), (0.8, 0.886, 0.935, 4.361)] {
            let (found, _) = compare_pair(&mean, &(Matrix6::identity() * sd * sd), &draws).unwrap();
            let tolerance = 0.03 * sd_of_difference;
            assert!(
                (found.low - low).abs() < tolerance && (found.high - high).abs() < tolerance,
                "{found:?}"
            );
        }
    }

    /// The same pair with and without the local metric: greens near the limit of its validity.
    #[test]
    fn both_ways_to_an_interval_agree() {
        let draws = DifferenceDraws::seeded(1);
        let joint = Joint {
            a: Vector3::new(45.0, -14.0, 8.0),
            b: Vector3::new(42.0, -17.0, 10.0),
            cov: Matrix6::identity() * 1.2,
        };
        let local = joint.interval(&draws).unwrap();
        let mut exact = joint.drawn(&DifferenceDraws { six: spread_normals(20_000, 2) }).unwrap();
        let exact = Interval::of_draws(&mut exact).unwrap();
        for (x, y) in [(local.low, exact.low), (local.median, exact.median), (local.high, exact.high)] {
            assert!((x - y).abs() < 0.05 * exact.high, "{local:?} {exact:?}");
        }
    }

    #[test]
    fn one_plastic_or_two() {
        let draws = DifferenceDraws::seeded(1);
        let mut cov = Matrix6::identity() * 9.25;
        // Two similar greens in one photo share nearly all of their error.
        for i in 0..3 {
            cov[(i, i + 3)] = 9.0;
            cov[(i + 3, i)] = 9.0;
        }
        let compare = |d: f64, cov: &Matrix6<f64>| {
            let mean = Vector6::new(45.0, -25.0, 20.0, 45.0 - d, -25.0 - 0.2 * d, 20.0 - 0.4 * d);
            compare_pair(&mean, cov, &draws).unwrap()
        };
        let (interval, different) = compare(0.4, &cov);
        assert!(different < 0.1 && interval.high < 2.5, "{interval:?} {different}");
        let (interval, different) = compare(5.0, &cov);
        assert!(different > 0.95 && interval.low > 2.0, "{interval:?} {different}");
        // Without the shared part the same difference says little.
        let (_, different) = compare(5.0, &(Matrix6::identity() * 9.25));
        assert!((0.2..0.8).contains(&different), "{different}");
        assert!(compare_pair(&Vector6::zeros(), &(Matrix6::identity() * -1.0), &draws).is_err());
    }

    #[test]
    fn differences_are_told_for_every_shade() {
        let predictive = Predictive::from_references(&greens()).unwrap();
        let draws = DifferenceDraws::seeded(1);
        let reading = Vector3::new(47.0, -25.0, 22.0);
        let found =
            difference_to_shades((&reading, &(Matrix3::identity() * 0.05)), &[], predictive.shades(), &draws)
                .unwrap();
        for (interval, shade) in found.iter().zip(predictive.shades()) {
            let at_mean = ciede2000(lab_of(reading), shade.colour());
            assert!(interval.low < interval.median && interval.median < interval.high, "{interval:?}");
            if at_mean > 2.0 {
                assert!((interval.low..interval.high).contains(&at_mean), "{interval:?} {at_mean}");
            }
        }
        assert!(found[1].median < found[0].median && found[1].median < found[2].median);
    }

    /// A reading that is as wrong as the shade's mean, and little more, is near that shade for sure.
    #[test]
    fn an_error_in_common_falls_out_of_the_difference() {
        let mut predictive = Predictive::from_references(&greens()).unwrap();
        let draws = DifferenceDraws::seeded(3);
        let shade = &mut predictive.shades[1];
        shade.mean_cov = Matrix3::identity() * 0.5;
        let (mean, cov) = (shade.mean, Matrix3::identity() * 0.52);
        let to = |common: &[(usize, Matrix3<f64>)]| {
            difference_to_shades((&mean, &cov), common, predictive.shades(), &draws).unwrap()
        };
        let (apart, along) = (to(&[]), to(&[(1, Matrix3::identity() * 0.5)]));
        assert!(along[1].high < 0.3 * apart[1].high, "{along:?} {apart:?}");
        assert_eq!(along[0], apart[0]);
    }
}

//! Which shades all readings of a photo are, judged together.
//!
//! The readings of one photo share the light's error, so each tells the others something: three parts that lie
//! apart as the three shades of a family do are those shades, however wrong the light is for all of them; and ten
//! parts of one shade beside a doubtful one are ten known parts.
//!
//! # Model
//!
//! In a component of the light the readings are m ~ N(x, C) for the true colours x. A part of shade k has
//! x_i = μ_k + s + e_i with e_i ~ the shade's distribution at [`OWN_SHARE`] of its variance, and s ~ N(0,
//! (1 − `OWN_SHARE`) S̄) the same for all parts of the photo, S̄ the mean of the shades' covariances: the parts of a
//! figure may come out of one lot, a part may have been marked twice, and the references may be off by what no
//! number of parts can average out. Summed over s and e_i every part has its shade's own variance, as when it is
//! judged alone. A part of none of the shades tells nothing of the others.
//!
//! A part of known shade g in the photo was taken for the shade's mean, and the readings go along with the error c of that
//! mean: x_i = m_i + G_i c + r_i with G_i the light's gain ([`Drag`]). Then m_i − μ_k = (G_i − 1[k = g]) (−c) + …: beside the
//! known part, where G is nearly 1, the error falls out of what is said of its own shade, as it must, since two parts are
//! alike or not however badly anybody knows their shade.
//!
//! # Solution
//!
//! With Σ = C + own S̄ on the diagonal + common S̄ everywhere = L Lᵀ (blocks of three), the readings are taken one after the
//! other: given the shades of those before it, reading i is corrected by c_i = Σ_{j<i} L_ij w_j, w_j = L_jj⁻¹ (m_j −
//! μ_k(j) − c_j), and has the covariance L_ii L_iiᵀ (Rasmussen and Williams 2006, equation A.6, in the form of a Cholesky
//! factor). Its density is exact for the shade's whole mixture; what it tells of the others is taken with S̄. Where a
//! part is of none of the shades, w = 0 leaves the others' means as they are, and their covariances, which are the same
//! on every path, too short by what that part would have told. The errors c are few (three numbers a shade with a known
//! part) and are carried along each path as a Gaussian: with A_i = L_ii⁻¹ (G_i − 1[k = g] − Σ_{j<i} L_ij A_j), w_i is A_i (−c) +
//! N(0, 1), and each reading corrects the estimate of c as in a Kalman filter. Combinations less likely than [`LEAST`] beside the best are dropped.
//! The most certain readings come first, so that few combinations are alive at a time.
//!
//! All this has the readings' covariance as it is at the colours read. For a class whose colour is farther from a known part,
//! or has another chroma where there is none, the rows of L are scaled by what errors are there ([`Supposed`]): D L is the
//! factor of D Σ D.
//!
//! The factor costs the cube of the number of readings, the combinations alive ([`MOST`] at most) its square.

use std::borrow::Cow;
use std::collections::BTreeMap;

use nalgebra::{Cholesky, DMatrix, DVector, DVectorView, Dyn, Matrix3, Matrix3xX, Vector3};

use super::classify::{Classification, Priors};
use super::predictive::{PredictedShade, Predictive};
use super::supposed::{Anchors, Supposed};
use crate::light::{Component, Drag};
use crate::stats::{Component as Normal, Mixture, NotPositiveDefinite, log_sum_exp};

/// Share of the variance of a shade's parts that each has by itself. In the rehearsal parts have all of it by themselves;
/// the parts of a figure may have less. Of what 0.7, 0.85 and 1 decide there after a ladder (36, 33 and 31 %) 3.5, 3.2 and
/// 2.7 % is wrong, where the probabilities promise 1.5 to 1.7; with a known part besides 1.1, 1.0 and 0.9 %, as promised
/// (12000 scenes, seed 11).
const OWN_SHARE: f64 = 0.85;
/// Parts that the prior of "none of these" is worth. Common practice, no source; where every part in twenty is a stranger,
/// whatever the others are, 10 are wrong a little more rarely than 4 (after a ladder 3.0 and 3.2 % of the calls).
const URN: f64 = 10.0;
/// Natural logarithm of the least likelihood of a combination kept, beside the best.
const LEAST: f64 = -12.0;
/// The most combinations kept.
const MOST: usize = 64;
/// Components of the light lighter than this are taken as one. Not only for speed: a light component is a way of coding that
/// the known areas hardly speak for, and by itself it may be so sure of the differences between many parts that it wins. With
/// 0.0225 instead, 10 % of the calls on the charts of `tests/charts/today.rs` are wrong after six greys, not 0.1 %; among the
/// four parts of a rehearsed photo 1.7 % with 0.003, not 2.2 % (after a ladder, 6000 scenes, seed 13).
const LEAST_COMPONENT: f64 = 0.05;

/// Shades of all readings of a photo, in their order.
#[derive(Debug, Clone, PartialEq)]
pub struct Together {
    /// Of each reading, given all.
    pub readings: Vec<Classification>,
    /// Combinations with their probabilities; a class is a shade's place, one past the last is "none of these".
    combinations: Vec<(Vec<usize>, f64)>,
    none: usize,
}

impl Together {
    /// Probability that two readings are of different shades (or only one of them of any), and that the shades tell
    /// nothing of it, since neither is of any or the readings were judged apart.
    pub fn differ(&self, a: usize, b: usize) -> (f64, f64) {
        let total = |holds: &dyn Fn(usize, usize) -> bool| -> f64 {
            let of = self.combinations.iter().filter(|(classes, _)| holds(classes[a], classes[b]));
            of.map(|(_, probability)| probability).sum()
        };
        let differ = total(&|p, q| p != q);
        let alike = total(&|p, q| p == q && p != self.none);
        (differ, (1.0 - differ - alike).clamp(0.0, 1.0))
    }
}

/// P(shades of all readings of a photo).
pub fn classify_together(
    components: &[Component],
    predictive: &Predictive,
    priors: &Priors,
) -> Result<Together, NotPositiveDefinite> {
    let classes = Classes::of(predictive, Some(priors), components);
    let readings = components.first().map_or(0, |c| c.mean.len() / 3);
    let mut combinations = classes.combinations(components)?;
    let all = log_sum_exp(combinations.iter().map(|(_, ln)| *ln));
    combinations.iter_mut().for_each(|(_, ln)| *ln = libm::exp(*ln - all));
    let of_reading = |reading: usize| {
        let mut probabilities = vec![0.0; classes.count()];
        combinations
            .iter()
            .for_each(|(of_readings, probability)| probabilities[of_readings[reading]] += probability);
        let none = probabilities.pop().unwrap_or(0.0);
        Classification { probabilities, none }
    };
    let of_readings = (0..readings).map(of_reading).collect();
    Ok(Together { readings: of_readings, combinations, none: classes.shades.len() })
}

/// Combinations of shades for all readings of a photo (a shade's place, one past the last for "none of these") with the
/// logarithms of their likelihoods: for those who have priors of their own. Each combination stands once.
pub fn log_likelihoods(
    components: &[Component],
    predictive: &Predictive,
) -> Result<Vec<(Vec<usize>, f64)>, NotPositiveDefinite> {
    let mut joined: BTreeMap<Vec<usize>, Vec<f64>> = BTreeMap::new();
    for (classes, ln) in Classes::of(predictive, None, components).combinations(components)? {
        joined.entry(classes).or_default().push(ln);
    }
    Ok(joined.into_iter().map(|(classes, ln)| (classes, log_sum_exp(ln.iter().copied()))).collect())
}

/// The same of each reading by itself: where nothing in the photo is known the light is a guess, and the differences
/// between its parts are drawn to the wrong scale.
pub fn classify_apart(
    components: &[Component],
    predictive: &Predictive,
    priors: &Priors,
) -> Result<Together, NotPositiveDefinite> {
    let readings = components.first().map_or(0, |c| c.mean.len() / 3);
    let of_reading = |reading: usize| {
        let part = |c: &Component| {
            let at = 3 * reading;
            let cov = c.cov.fixed_view::<3, 3>(at, at).into_owned();
            Normal { weight: c.weight, mean: c.mean.fixed_rows::<3>(at).into_owned(), cov }
        };
        let mixture = Mixture::new(components.iter().map(part).collect());
        let mixture = mixture.ok_or(NotPositiveDefinite { rows: 3, columns: 3 })?;
        predictive.classify_mixture(&mixture, priors)
    };
    let of_readings = (0..readings).map(of_reading).collect::<Result<_, _>>()?;
    Ok(Together { readings: of_readings, combinations: Vec::new(), none: predictive.shades().len() })
}

/// The heavier components as they are, all light ones as one of the same mean and covariance.
fn few(components: &[Component]) -> Vec<Cow<'_, Component>> {
    let (few, light): (Vec<&Component>, Vec<&Component>) =
        components.iter().partition(|c| c.weight >= LEAST_COMPONENT);
    let mut few: Vec<Cow<Component>> = few.into_iter().map(Cow::Borrowed).collect();
    few.extend(Component::joined(light.into_iter()).map(Cow::Owned));
    few
}

/// What a reading may be: the shades, and none of them last.
struct Classes<'a> {
    /// Logarithm of the prior among the shades, mean, and the part of the distribution that each part has by itself.
    shades: Vec<(f64, Vector3<f64>, Mixture<3>)>,
    /// Prior of none of them; without it every class has the factor 1, and paths are likelihoods.
    none: Option<f64>,
    others: &'a Mixture<3>,
    /// S̄.
    spread: Matrix3<f64>,
    anchors: Anchors,
}

/// A combination of classes for the readings so far.
#[derive(Clone)]
struct Path {
    classes: Vec<usize>,
    ln: f64,
    /// The whitened residuals w, three a reading.
    white: Vec<f64>,
    /// What is known of the errors −c.
    errors: Errors,
}

/// The errors that known parts share with their shades' means: a Gaussian, and how the readings so far follow it.
#[derive(Clone)]
struct Errors {
    mean: DVector<f64>,
    cov: DMatrix<f64>,
    /// The rows A, three a reading.
    followed: DMatrix<f64>,
}

impl Errors {
    fn before_all(drags: &[Drag], readings: usize) -> Self {
        let size = 3 * drags.len();
        let mut cov = DMatrix::zeros(size, size);
        for (place, drag) in drags.iter().enumerate() {
            cov.fixed_view_mut::<3, 3>(3 * place, 3 * place).copy_from(&drag.error.cov);
        }
        Self { mean: DVector::zeros(size), cov, followed: DMatrix::zeros(3 * readings, size) }
    }

    /// What they add to a whitened residual that follows them by `row`: its mean and its covariance.
    fn seen_through(&self, row: &Matrix3xX<f64>) -> (Vector3<f64>, Matrix3<f64>) {
        if row.ncols() == 0 {
            return (Vector3::zeros(), Matrix3::zeros());
        }
        (row * &self.mean, row * &self.cov * row.transpose())
    }

    /// After a whitened residual that follows them by `row`: a Kalman filter's update.
    fn after(mut self, at: usize, row: &Matrix3xX<f64>, white: &Vector3<f64>) -> Self {
        self.followed.rows_mut(at, 3).copy_from(row);
        let (mean, cov) = self.seen_through(row);
        // Of the identity and a covariance there is always an inverse.
        if let Some(inverse) = (Matrix3::identity() + cov).try_inverse() {
            let spread = &self.cov * row.transpose();
            let gain = &spread * inverse;
            self.mean += &gain * (white - mean);
            self.cov -= &gain * spread.transpose();
        }
        self
    }
}

impl<'a> Classes<'a> {
    fn of(predictive: &'a Predictive, priors: Option<&Priors>, components: &[Component]) -> Self {
        let drags = components.first().map_or(&[][..], |c| &c.drags);
        let count = predictive.shades().len().max(1) as f64;
        // Of each shade: mean, covariance, and the share of that which no known part has in common with it.
        let moments = |(k, shade): (usize, &PredictedShade)| {
            let (mean, cov) = shade.next_part.moments();
            let error = drags.iter().find(|drag| drag.error.group == k);
            (mean, cov, 1.0 - error.map_or(0.0, |drag| drag.error.cov.trace()) / cov.trace())
        };
        let moments: Vec<_> = predictive.shades().iter().enumerate().map(moments).collect();
        let shades = priors.and_then(|priors| priors.shades.as_ref());
        let prior_of = |k: usize| shades.map_or(1.0, |p| p.get(k).copied().unwrap_or(0.0));
        let total: f64 = (0..moments.len()).map(prior_of).sum();
        let of_shade = |(k, (mean, _, share)): (usize, &(Vector3<f64>, Matrix3<f64>, f64))| {
            let own = |c: &Normal<3>| Normal { cov: c.cov * (OWN_SHARE * share), ..c.clone() };
            let whole = &predictive.shades()[k].next_part;
            let own = Mixture::new(whole.components().iter().map(own).collect());
            let log_prior = libm::log(prior_of(k) / total);
            (log_prior, *mean, own.unwrap_or_else(|| whole.clone()))
        };
        let known = drags.iter().filter_map(|drag| moments.get(drag.error.group));
        Self {
            anchors: Anchors { parts: known.map(|(mean, ..)| *mean).collect() },
            shades: moments.iter().enumerate().map(of_shade).collect(),
            none: priors.map(|priors| priors.none),
            others: predictive.others(),
            spread: moments.iter().map(|(_, cov, share)| cov * *share).sum::<Matrix3<f64>>() / count,
        }
    }

    fn count(&self) -> usize {
        self.shades.len() + 1
    }

    /// Combinations with the logarithms of their probabilities up to a constant, component by component.
    fn combinations(&self, components: &[Component]) -> Result<Vec<(Vec<usize>, f64)>, NotPositiveDefinite> {
        let mut combinations = Vec::new();
        for component in few(components) {
            let (order, paths) = self.paths(&component)?;
            for path in paths {
                let mut of_readings = vec![0; order.len()];
                order.iter().zip(&path.classes).for_each(|(reading, class)| of_readings[*reading] = *class);
                combinations.push((of_readings, path.ln));
            }
        }
        Ok(combinations)
    }

    /// The order in which the readings are taken, and the combinations that are likely in it.
    fn paths(&self, component: &Component) -> Result<(Vec<usize>, Vec<Path>), NotPositiveDefinite> {
        let readings = component.mean.len() / 3;
        let order = self.most_certain_first(component)?;
        let Component { mean, mut cov, drags, .. } = component.only(&order);
        for drag in &drags {
            cov.gemm(-1.0, &(&drag.gain * drag.error.cov), &drag.gain.transpose(), 1.0);
        }
        let own = self.spread * OWN_SHARE;
        let lower = self.factor(cov)?;
        let errors = Errors::before_all(&drags, readings);
        let mut paths =
            vec![Path { classes: Vec::new(), ln: libm::log(component.weight), white: Vec::new(), errors }];
        for slot in 0..readings {
            let at = 3 * slot;
            let factor = lower.fixed_view::<3, 3>(at, at).into_owned();
            let whitening = factor.try_inverse().ok_or(NotPositiveDefinite { rows: at, columns: at })?;
            let mut next = Vec::with_capacity(paths.len() * self.count());
            let read = mean.fixed_rows::<3>(at).into_owned();
            let supposed: Vec<Supposed> =
                (0..self.count()).map(|class| self.supposed(class, &read)).collect();
            for path in &paths {
                let lower_before = lower.fixed_rows::<3>(at).columns(0, at).into_owned();
                let by_others: Vector3<f64> = &lower_before * DVectorView::from_slice(&path.white, at);
                let row_of_others = lower_before * path.errors.followed.rows(0, at);
                for (class, supposed) in supposed.iter().enumerate() {
                    let scale = supposed.scale();
                    let whitening = whitening * supposed.back();
                    let corrected = read - scale * by_others;
                    let mut row = -(scale * &row_of_others);
                    for (place, drag) in drags.iter().enumerate() {
                        let mut block = row.fixed_view_mut::<3, 3>(0, 3 * place);
                        block += drag.gain.fixed_view::<3, 3>(at, 0);
                        // The class's own mean has this error too.
                        if drag.error.group == class {
                            block -= Matrix3::identity();
                        }
                    }
                    let row = whitening * row;
                    let (error, error_cov) = path.errors.seen_through(&row);
                    let expected = corrected - scale * factor * error;
                    let cov = factor * (Matrix3::identity() + error_cov) * factor.transpose() - own;
                    let ln = path.ln
                        + self.log_prior(class, &path.classes)
                        + self.log_density(class, &expected, &(scale * cov * scale))?
                        + supposed.log_volume();
                    next.push((path, class, ln, whitening * corrected, row, whitening));
                }
            }
            let best = next.iter().map(|(_, _, ln, ..)| *ln).fold(f64::NEG_INFINITY, f64::max);
            next.retain(|(_, _, ln, ..)| *ln >= best + LEAST);
            next.sort_by(|p, q| q.2.total_cmp(&p.2));
            next.truncate(MOST);
            let followed = next.into_iter().map(|(path, class, ln, corrected, row, whitening)| {
                let mut path = Path { ln, ..path.clone() };
                let mut white = Vector3::zeros();
                if let Some((_, mean, _)) = self.shades.get(class) {
                    white = corrected - whitening * mean;
                    path.errors = path.errors.after(at, &row, &white);
                }
                path.classes.push(class);
                path.white.extend_from_slice(white.as_slice());
                path
            });
            paths = followed.collect();
        }
        Ok((order, paths))
    }

    fn supposed(&self, class: usize, read: &Vector3<f64>) -> Supposed {
        self.shades.get(class).map_or(Supposed::NOTHING, |(_, mean, _)| self.anchors.supposed(mean, read))
    }

    fn log_density(
        &self,
        class: usize,
        reading: &Vector3<f64>,
        cov: &Matrix3<f64>,
    ) -> Result<f64, NotPositiveDefinite> {
        match self.shades.get(class) {
            Some((_, _, own)) => own.log_overlap(reading, cov),
            None => self.others.log_overlap(reading, cov),
        }
    }

    /// Logarithm of the prior of a class after those of the readings before: an urn (D. Blackwell and J. B. MacQueen,
    /// "Ferguson distributions via Pólya urn schemes", Annals of Statistics 1:353-355, 1973) for "none of these", so
    /// that one stranger makes another one likelier; shades are independent, since an exchanged limb must show.
    fn log_prior(&self, class: usize, before: &[usize]) -> f64 {
        let Some(none) = self.none else { return 0.0 };
        let strangers = before.iter().filter(|class| **class == self.shades.len()).count() as f64;
        let none = (URN * none + strangers) / (URN + before.len() as f64);
        match self.shades.get(class) {
            Some((log_prior, ..)) => log_prior + libm::log(1.0 - none),
            None => libm::log(none),
        }
    }

    /// L of the readings' covariance with the spread of parts in it.
    fn factor(&self, mut cov: DMatrix<f64>) -> Result<DMatrix<f64>, NotPositiveDefinite> {
        let readings = cov.nrows() / 3;
        let common = self.spread * (1.0 - OWN_SHARE);
        for i in 0..readings {
            for j in 0..readings {
                let mut block = cov.fixed_view_mut::<3, 3>(3 * i, 3 * j);
                block += if i == j { self.spread } else { common };
            }
        }
        let refused = NotPositiveDefinite { rows: cov.nrows(), columns: cov.ncols() };
        Cholesky::<f64, Dyn>::new(cov).map(|factored| factored.unpack()).ok_or(refused)
    }

    fn most_certain_first(&self, component: &Component) -> Result<Vec<usize>, NotPositiveDefinite> {
        let certainty = |i: usize| {
            let mean = component.mean.fixed_rows::<3>(3 * i).into_owned();
            let cov = component.cov.fixed_view::<3, 3>(3 * i, 3 * i) + self.spread * (1.0 - OWN_SHARE);
            let logs: Vec<f64> = (0..self.count())
                .map(|class| {
                    let supposed = self.supposed(class, &mean);
                    let cov = supposed.scale() * cov * supposed.scale();
                    Ok(self.log_prior(class, &[])
                        + self.log_density(class, &mean, &cov)?
                        + supposed.log_volume())
                })
                .collect::<Result<_, _>>()?;
            let best = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            Ok((best - log_sum_exp(logs.iter().copied()), i))
        };
        let mut order: Vec<(f64, usize)> =
            (0..component.mean.len() / 3).map(certainty).collect::<Result<_, _>>()?;
        order.sort_by(|p, q| q.0.total_cmp(&p.0));
        Ok(order.into_iter().map(|(_, i)| i).collect())
    }
}

#[cfg(test)]
mod tests {
    use super::super::References;
    use super::*;
    use crate::light::SharedError;
    use crate::stats::log_normal_density;

    /// Three greens 5 apart, many specimens each, so that every shade is one normal to a few per cent.
    fn greens() -> Predictive {
        let specimens = |l: f64| -> Vec<serde_json::Value> {
            (0..12)
                .map(|i| {
                    let off = 0.5 * f64::from(i % 4) - 0.75;
                    serde_json::json!({"id": format!("{l} {i}"), "lab": [l + off, -20.0 - off, 8.0 + 0.5 * off],
                        "sd": [0.2, 0.2, 0.2], "method": "spectrophotometer"})
                })
                .collect()
        };
        let shade = |id: &str, l: f64| serde_json::json!({"id": id, "specimens": specimens(l)});
        let references: References = serde_json::from_value(serde_json::json!({
            "sameshot_shades": 1, "family": "green",
            "shades": [shade("light", 55.0), shade("medium", 50.0), shade("dark", 45.0)]}))
        .unwrap();
        Predictive::from_references(&references).unwrap()
    }

    /// A photo that shows half of all chroma, as one scale whose error all readings share. With the covariance as read, grey
    /// would be as likely.
    #[test]
    fn little_saturation_makes_nothing_grey() {
        let colours = [[50.0, 0.0, 0.0], [50.0, -30.0, 20.0], [50.0, 5.0, -35.0], [50.0, 14.0, 28.0]];
        let specimens = |lab: [f64; 3]| -> Vec<serde_json::Value> {
            let off = |i: usize| [0.5, -0.5][i % 2];
            (0..12)
                .map(|i| {
                    serde_json::json!({"id": i.to_string(), "lab": [lab[0] + off(i), lab[1] + off(i / 2), lab[2] + off(i / 4)],
                        "sd": [0.2, 0.2, 0.2], "method": "spectrophotometer"})
                })
                .collect()
        };
        let shades = colours.iter().enumerate();
        let shades: Vec<_> = shades
            .map(|(i, lab)| serde_json::json!({"id": i.to_string(), "specimens": specimens(*lab)}))
            .collect();
        let references: References = serde_json::from_value(
            serde_json::json!({"sameshot_shades": 1, "family": "all", "shades": shades}),
        )
        .unwrap();
        let predictive = Predictive::from_references(&references).unwrap();
        let read = colours[1..].iter().flat_map(|[l, a, b]| [*l, 0.5 * a, 0.5 * b]);
        let mean = DVector::from_iterator(9, read);
        // The scale is known to half of itself, all else to 1.5.
        let by_scale = DVector::from_fn(9, |i, _| if i % 3 == 0 { 0.0 } else { 0.5 * mean[i] });
        let cov = &by_scale * by_scale.transpose() + DMatrix::identity(9, 9) * 2.25;
        let photo = Component { weight: 1.0, mean, cov, drags: Vec::new() };
        let together = classify_together(&[photo], &predictive, &Priors::default()).unwrap();
        for (i, reading) in together.readings.iter().enumerate() {
            assert!(reading.probabilities[i + 1] > 0.85, "{i}: {reading:?}");
        }
    }

    /// Readings of these lightnesses with an error that all share and one of each.
    fn light(lightnesses: &[f64], shared_sd: f64, own_sd: f64) -> Component {
        let n = 3 * lightnesses.len();
        let cov = DMatrix::from_fn(n, n, |i, j| {
            let shared = if i % 3 == j % 3 { shared_sd * shared_sd } else { 0.0 };
            shared + if i == j { own_sd * own_sd } else { 0.0 }
        });
        let mean = lightnesses.iter().flat_map(|l| [*l, -20.0, 8.0]);
        Component { weight: 1.0, mean: DVector::from_iterator(n, mean), cov, drags: Vec::new() }
    }

    /// Against all 27 combinations written out, each a normal of nine dimensions (for shades of one width, which
    /// the method takes exactly).
    #[test]
    fn equals_the_sum_over_all_combinations() {
        let mut predictive = greens();
        let cov = predictive.spread_within_shade().to_owned();
        for shade in &mut predictive.shades {
            shade.next_part = Mixture::normal(shade.mean, cov);
        }
        let priors = Priors { none: 1e-300, shades: None };
        let component = light(&[53.0, 47.5, 50.5], 4.0, 1.0);
        let together = classify_together(std::slice::from_ref(&component), &predictive, &priors).unwrap();
        let mut expected = [[0.0; 3]; 3];
        let (mut first_two_differ, mut total) = (0.0, 0.0);
        for combination in 0..27 {
            let shades = [combination / 9, combination / 3 % 3, combination % 3];
            let mean = nalgebra::SVector::<f64, 9>::from_fn(|row, _| {
                component.mean[row] - predictive.shades[shades[row / 3]].mean[row % 3]
            });
            let whole = nalgebra::SMatrix::<f64, 9, 9>::from_fn(|row, column| {
                let of_parts =
                    cov[(row % 3, column % 3)] * if row / 3 == column / 3 { 1.0 } else { 1.0 - OWN_SHARE };
                component.cov[(row, column)] + of_parts
            });
            let density = log_normal_density(&mean, &whole).unwrap().exp();
            (0..3).for_each(|reading| expected[reading][shades[reading]] += density);
            first_two_differ += if shades[0] == shades[1] { 0.0 } else { density };
            total += density;
        }
        assert!((together.differ(0, 1).0 - first_two_differ / total).abs() < 1e-4);
        for (found, expected) in together.readings.iter().zip(expected) {
            let all: f64 = expected.iter().sum();
            for (p, density) in found.probabilities.iter().zip(expected) {
                // What was dropped on the way was less likely than e⁻¹² beside the best.
                assert!((p - density / all).abs() < 1e-4, "{found:?} {expected:?}");
            }
        }
    }

    /// Against all 27 combinations written out, with the error of the medium shade's mean (half as wide as parts scatter)
    /// common to that shade and, by the light's gain, to all readings.
    #[test]
    fn a_known_part_takes_the_doubt_about_its_own_shade_out() {
        let mut predictive = greens();
        let spread = predictive.spread_within_shade().to_owned();
        let error = SharedError { group: 1, cov: spread * 0.5 };
        for (k, shade) in predictive.shades.iter_mut().enumerate() {
            let cov = if k == 1 { spread + error.cov } else { spread };
            shade.next_part = Mixture::normal(shade.mean, cov);
        }
        let gain =
            DMatrix::from_fn(
                9,
                3,
                |row, column| {
                    if row % 3 == column { 0.95 - 0.1 * (row / 3) as f64 } else { 0.05 }
                },
            );
        let mut component = light(&[52.1, 47.8, 50.3], 1.0, 0.8);
        component.cov += &gain * error.cov * gain.transpose();
        component.drags.push(Drag { error, gain: gain.clone() });
        let priors = Priors { none: 1e-300, shades: None };
        let together = classify_together(std::slice::from_ref(&component), &predictive, &priors).unwrap();
        let anchors = Anchors { parts: vec![predictive.shades[1].mean] };
        let mut expected = [[0.0; 3]; 3];
        for combination in 0..27 {
            let shades = [combination / 9, combination / 3 % 3, combination % 3];
            let mean = nalgebra::SVector::<f64, 9>::from_fn(|row, _| {
                component.mean[row] - predictive.shades[shades[row / 3]].mean[row % 3]
            });
            // Readings less their shades by the error, the one of the medium shade going the other way.
            let by_error = DMatrix::from_fn(9, 3, |row, column| {
                let of_shade = shades[row / 3] == 1 && row % 3 == column;
                gain[(row, column)] - if of_shade { 1.0 } else { 0.0 }
            });
            let light = &component.cov - &gain * error.cov * gain.transpose();
            // What errors are at the colours supposed, beside the known part.
            let supposed: [Supposed; 3] = std::array::from_fn(|reading| {
                let read = component.mean.fixed_rows::<3>(3 * reading).into_owned();
                anchors.supposed(&predictive.shades[shades[reading]].mean, &read)
            });
            let at = |row: usize| supposed[row / 3].scale()[(row % 3, row % 3)];
            let own_errors = &by_error * error.cov * by_error.transpose();
            let whole = nalgebra::SMatrix::<f64, 9, 9>::from_fn(|row, column| {
                let of_parts =
                    spread[(row % 3, column % 3)] * if row / 3 == column / 3 { 1.0 } else { 1.0 - OWN_SHARE };
                light[(row, column)] * at(row) * at(column) + own_errors[(row, column)] + of_parts
            });
            let volume: f64 = supposed.iter().map(|supposed| supposed.log_volume()).sum();
            let density = log_normal_density(&mean, &whole).unwrap();
            let density = (density + volume).exp();
            (0..3).for_each(|reading| expected[reading][shades[reading]] += density);
        }
        for (found, expected) in together.readings.iter().zip(expected) {
            let all: f64 = expected.iter().sum();
            for (p, density) in found.probabilities.iter().zip(expected) {
                // What parts scatter by tells of the others as if at the colours read, which is little here.
                assert!((p - density / all).abs() < 0.02, "{found:?} {expected:?}");
            }
        }
    }

    #[test]
    fn one_reading_is_judged_as_it_is_alone() {
        let predictive = greens();
        for l in [44.0, 47.0, 52.0, 60.0] {
            let component = light(&[l], 1.0, 1.0);
            let together =
                classify_together(std::slice::from_ref(&component), &predictive, &Priors::default()).unwrap();
            let mean = component.mean.fixed_rows::<3>(0).into_owned();
            let cov = component.cov.fixed_view::<3, 3>(0, 0).into_owned();
            let alone = predictive.classify(&mean, &cov).unwrap();
            for (p, q) in together.readings[0].probabilities.iter().zip(&alone.probabilities) {
                assert!((p - q).abs() < 0.02, "{l}: {together:?} {alone:?}");
            }
        }
    }

    /// An error of 5 that all share: alone every reading is open. Parts 5 apart each can only be the three shades;
    /// parts all alike stay open, as nothing tells which shade they are.
    #[test]
    fn readings_settle_each_other_by_their_differences() {
        let predictive = greens();
        let judge = |lightnesses: &[f64]| {
            let component = light(lightnesses, 5.0, 0.5);
            classify_together(&[component], &predictive, &Priors::default()).unwrap()
        };
        let ladder = judge(&[57.0, 52.0, 47.0]);
        for (reading, shade) in ladder.readings.iter().zip([0, 1, 2]) {
            assert!(reading.probabilities[shade] > 0.9, "{ladder:?}");
        }
        let alike = judge(&[52.5, 52.4, 52.6, 52.5]);
        assert!(alike.readings.iter().all(|c| c.probabilities.iter().all(|p| *p < 0.8)), "{alike:?}");
    }

    /// A part 25 too light for the family is none of it and disturbs no other.
    #[test]
    fn a_stranger_tells_nothing_of_the_others() {
        let predictive = greens();
        let found =
            classify_together(&[light(&[50.2, 80.0, 45.1], 0.8, 0.5)], &predictive, &Priors::default())
                .unwrap();
        let found = found.readings;
        assert!(found[1].none > 0.99 && found[0].probabilities[1] > 0.95, "{found:?}");
        assert!(found[2].probabilities[2] > 0.95, "{found:?}");
    }
}

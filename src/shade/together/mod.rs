//! Which shades all readings of a photo are, judged together.
//!
//! The readings of one photo share the light's error, so each tells the others something: three parts that lie
//! apart as the three shades of a family do are those shades, however wrong the light is for all of them; and ten
//! parts of one shade beside a doubtful one are ten known parts.
//!
//! # Model
//!
//! In a component of the light the readings are m ~ N(x, C) for the true colours x. A part of shade k has
//! x_i = μ_k + c_k + s + e_i. The error c_k of the shade's mean, which the references know from a few specimens, is the same
//! for all parts of the shade: two that lie off alike are no two strange events. e_i ~ the rest of the shade's distribution at
//! [`classes::OWN_SHARE`] of its variance, and s ~ N(0, (1 − `OWN_SHARE`) S̄) the same for all parts of the photo, S̄ the mean
//! of these rests' covariances: the parts of a figure may come out of one lot, a part may have been marked twice, and the
//! references may be off by what no number of parts can average out. Summed over c, s and e_i every part has its shade's own
//! variance, as when it is judged alone. A part of none of the shades is x_i = μ_o + s + o_i, with o_i ~ the broad alternative
//! ([`Predictive::others`]; μ_o its mean, S_o its covariance): so wide that it tells next to nothing of the others.
//!
//! A part of known shade g in the photo was taken for the shade's mean, and the readings go along with its error: x_i = m_i +
//! G_i c_g + r_i with G_i the light's gain ([`crate::light::Drag`]), which is 0 for errors that no known part has. Then m_i − μ_k
//! = Σ_g (G_i − 1[k = g]) (−c_g) + …: beside the known part, where G is nearly 1, the error falls out of what is said of its own
//! shade, as it must, since two parts are alike or not however badly anybody knows their shade.
//!
//! With the errors of means in e_i instead, as if each part had its own, the true class has a mean −ln P of 0.486, 0.387,
//! 0.138, 0.255 and 0.278 after one grey, after a ladder, with a known part besides, beside a chart and beside the part alone;
//! as it is, of 0.466, 0.365, 0.129, 0.229 and 0.267. 2.2 % of the calls after a ladder are wrong there, and 1.7 % as it is, of
//! 39 and 41 % decided (2800 scenes, seed 404).
//!
//! # Solution
//!
//! With Σ = C + own S̄ on the diagonal + common S̄ everywhere = L Lᵀ (blocks of three), the readings are taken one after the
//! other: given the shades of those before it, reading i is corrected by c_i = Σ_{j<i} L_ij w_j, w_j = L_jj⁻¹ (m_j −
//! μ_k(j) − c_j), and has the covariance L_ii L_iiᵀ (Rasmussen and Williams 2006, equation A.6, in the form of a Cholesky
//! factor). Its density is exact for the shade's whole mixture; what it tells of the others is taken with S̄.
//!
//! The errors c are few (three numbers a shade) and are carried along each path as a Gaussian: with A_i =
//! L_ii⁻¹ (G_i − 1[k = g] − Σ_{j<i} L_ij A_j), w_i is A_i (−c) + N(0, 1), and each reading corrects the estimate of c as in a
//! Kalman filter. Errors that known parts have are there from the start; that of another shade's mean comes with the first
//! reading of that shade, as no reading before follows it. A part of none of the shades brings an error of its own, d_i ~
//! N(0, S_o − own S̄), which L does not know: of it A_i is −L_ii⁻¹, and the readings after it follow it as they follow c. With
//! w_i = 0 in its place, strangers have a mean −ln P of 1.8 after one grey and 1.4 after a ladder, where they now have 1.3 and
//! 0.9, and 2.9 and 2.2 % of the calls are wrong, not 2.3 and 1.9 (7000 photos, seed 303).
//!
//! Combinations much less likely than the best are dropped; the most certain readings come first, so that few are alive at a
//! time. The factor costs the cube of the number of readings, the combinations alive ([`paths::MOST`] at most) its square.
//!
//! All this has the readings' covariance as it is at the colours read. For a class whose colour is farther from a known part,
//! or has another chroma where there is none, the rows of L are scaled by what errors are there, and L_ii by what is left of
//! them beside the readings before ([`supposed`]).
//!
//! # Which light
//!
//! Each component of the light is a way in which the camera may have coded colours, with a weight from the known areas. That
//! the readings fit the shades better under one than under another speaks for it as well, but not as loudly as they are many:
//! they err together, as the steps of a card do, and no component is quite true. As with those ([`crate::light`]), n readings
//! speak as √n would, a power posterior with the power 1/√n. With the whole evidence more calls are wrong in the rehearsal at
//! nearly as many decided (one grey 4.3 % for 3.4, ladder 2.4 for 2.2; 2800 scenes, seed 404, before errors of means were
//! carried), the true shade being less probable; 0.4 and 0.65 as the power are as good as 0.5 (5600 parts, seed 505).

mod classes;
mod errors;
mod paths;
mod supposed;
#[cfg(test)]
mod tests;

use std::borrow::Cow;
use std::collections::BTreeMap;

use self::classes::Classes;
use self::paths::paths;
use super::classify::{Classification, Priors};
use super::predictive::Predictive;
use crate::light::Component;
use crate::stats::{NotPositiveDefinite, log_sum_exp};

/// Components of the light lighter than this are taken as one. With 0.02 instead, a little more is decided in the rehearsal
/// beside a part alone (49 % for 47) and nothing else changes there, but on the charts of `tests/charts/even.rs` the true
/// colours' mean −ln P after six greys is 0.80 and not 0.10, and 1.3 % are wrong: many readings find a light in which they fit.
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
    /// nothing of it, since neither is of any.
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
    judged(&Classes::of(predictive, Some(priors), components), components)
}

fn judged(classes: &Classes, components: &[Component]) -> Result<Together, NotPositiveDefinite> {
    let readings = components.first().map_or(0, |c| c.mean.len() / 3);
    let mut combinations = combinations(classes, components)?;
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
    Ok(Together { readings: of_readings, combinations, none: classes.none() })
}

/// Combinations of shades for all readings of a photo (a shade's place, one past the last for "none of these") with the
/// logarithms of their likelihoods: for those who have priors of their own. Each combination stands once.
pub fn log_likelihoods(
    components: &[Component],
    predictive: &Predictive,
) -> Result<Vec<(Vec<usize>, f64)>, NotPositiveDefinite> {
    let mut joined: BTreeMap<Vec<usize>, Vec<f64>> = BTreeMap::new();
    for (classes, ln) in combinations(&Classes::of(predictive, None, components), components)? {
        joined.entry(classes).or_default().push(ln);
    }
    Ok(joined.into_iter().map(|(classes, ln)| (classes, log_sum_exp(ln.iter().copied()))).collect())
}

/// Combinations with the logarithms of their probabilities up to a constant, component by component. For which component
/// holds, n readings speak as √n would.
fn combinations(
    classes: &Classes,
    components: &[Component],
) -> Result<Vec<(Vec<usize>, f64)>, NotPositiveDefinite> {
    let mut combinations = Vec::new();
    for component in few(components) {
        let (order, paths) = paths(classes, &component)?;
        let evidence = log_sum_exp(paths.iter().map(|path| path.ln)) - libm::log(component.weight);
        let too_much = evidence * (1.0 - 1.0 / (order.len().max(1) as f64).sqrt());
        for path in paths {
            let mut of_readings = vec![0; order.len()];
            order.iter().zip(&path.classes).for_each(|(reading, class)| of_readings[*reading] = *class);
            combinations.push((of_readings, path.ln - too_much));
        }
    }
    Ok(combinations)
}

/// The heavier components as they are, all light ones as one of the same mean and covariance.
fn few(components: &[Component]) -> Vec<Cow<'_, Component>> {
    let (few, light): (Vec<&Component>, Vec<&Component>) =
        components.iter().partition(|c| c.weight >= LEAST_COMPONENT);
    let mut few: Vec<Cow<Component>> = few.into_iter().map(Cow::Borrowed).collect();
    few.extend(Component::joined(light.into_iter()).map(Cow::Owned));
    few
}

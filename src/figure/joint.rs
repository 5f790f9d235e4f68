//! Readings of one photo → their joint shade likelihood: all of them share the light's error.
//!
//! Given the shades σ of all slots the readings are predicted jointly, N(m; μ(σ), C + S(σ)), with the light's joint mean m
//! and covariance C and each shade's own mean and covariance. The density is taken slot after slot: the density of this
//! slot's reading given the slots before it, which correct the light's error as a Kalman filter does (Rasmussen and
//! Williams 2006, equation A.6). That is exact for shades that are Gaussian; for the long tails of shades with few
//! specimens each slot's own density is exact, and what it tells of the light is taken with the shade's mean and
//! covariance.
//!
//! Combinations of shades less than [`LEAST`] times as likely as the best are dropped: they could not matter beside
//! the guide's own error rates of per cents.

use std::collections::BTreeMap;

use nalgebra::{DMatrix, DVector, Matrix3, Vector3};

use super::evidence::{JointShades, JointTerm, ShadeLikelihood};
use crate::light::{Component, Light};
use crate::shade::Predictive;
use crate::stats::{Mixture, log_sum_exp};

/// Natural logarithm of the least likelihood kept, beside the best.
const LEAST: f64 = -14.0;
/// The most combinations kept.
const MOST: usize = 256;
/// Components of the light lighter than this are left out.
const LEAST_COMPONENT: f64 = 0.01;

/// What readings are compared with: shades, and "none of these" last.
struct Class<'a> {
    colours: &'a Mixture<3>,
    mean: Vector3<f64>,
    cov: Matrix3<f64>,
}

/// Shades of the slots so far, and what the rest of the readings is expected to be given them.
#[derive(Clone)]
struct Path {
    shades: Vec<usize>,
    ln: f64,
    mean: DVector<f64>,
    cov: DMatrix<f64>,
}

/// The joint likelihood of the shades in some slots; `readings` are (index among the light's readings, slot).
///
/// `None` without readings, or where the light's covariance is none.
pub fn joint_shades(
    light: &Light,
    predictive: &Predictive,
    readings: &[(usize, String)],
) -> Option<JointShades> {
    let mixtures = predictive.shades().iter().map(|s| &s.next_part).chain([predictive.others()]);
    let classes: Vec<Class> = mixtures
        .map(|colours| {
            let (mean, cov) = colours.moments();
            Class { colours, mean, cov }
        })
        .collect();
    let mut combinations: BTreeMap<Vec<usize>, Vec<f64>> = BTreeMap::new();
    for component in light.components.iter().filter(|c| c.weight >= LEAST_COMPONENT) {
        for path in paths(component, &classes, readings)? {
            combinations.entry(path.shades).or_default().push(path.ln);
        }
    }
    let joined: Vec<(Vec<usize>, f64)> =
        combinations.into_iter().map(|(shades, ln)| (shades, log_sum_exp(ln.iter().copied()))).collect();
    let best = joined.iter().map(|(_, ln)| *ln).fold(f64::NEG_INFINITY, f64::max);
    if readings.is_empty() || !best.is_finite() {
        return None;
    }
    let ids: Vec<&str> = predictive.shades().iter().map(|s| &*s.id).collect();
    let term = |(shades, ln): (Vec<usize>, f64)| JointTerm {
        weight: libm::exp(ln - best),
        slots: shades.iter().map(|shade| only(&ids, *shade)).collect(),
    };
    Some(JointShades {
        slots: readings.iter().map(|(_, slot)| slot.clone()).collect(),
        terms: joined.into_iter().map(term).collect(),
    })
}

/// Likelihood 1 for one shade, or for "none of these" beyond the last.
fn only(ids: &[&str], shade: usize) -> ShadeLikelihood {
    let is = |i: usize| f64::from(u8::from(i == shade));
    ShadeLikelihood {
        shades: ids.iter().enumerate().map(|(i, id)| ((*id).to_owned(), is(i))).collect(),
        none: is(ids.len()),
    }
}

fn paths(component: &Component, classes: &[Class], readings: &[(usize, String)]) -> Option<Vec<Path>> {
    let rows: Vec<usize> = readings.iter().flat_map(|(i, _)| [3 * i, 3 * i + 1, 3 * i + 2]).collect();
    if rows.iter().any(|row| *row >= component.mean.len()) {
        return None;
    }
    let mut paths = vec![Path {
        shades: Vec::new(),
        ln: libm::log(component.weight),
        mean: component.mean.select_rows(&rows),
        cov: component.cov.select_rows(&rows).select_columns(&rows),
    }];
    for slot in 0..readings.len() {
        let mut next = Vec::with_capacity(paths.len() * classes.len());
        for path in &paths {
            for (shade, class) in classes.iter().enumerate() {
                next.extend(follow(path, slot, shade, class));
            }
        }
        next.sort_by(|a, b| b.ln.total_cmp(&a.ln));
        let best = next.first()?.ln;
        next.retain(|path| path.ln >= best + LEAST);
        next.truncate(MOST);
        paths = next;
    }
    Some(paths)
}

/// The path on which this slot has this shade: its density, and the readings to come corrected by it.
fn follow(path: &Path, slot: usize, shade: usize, class: &Class) -> Option<Path> {
    let at = 3 * slot;
    let mean = path.mean.fixed_rows::<3>(at).into_owned();
    let cov = path.cov.fixed_view::<3, 3>(at, at).into_owned();
    let density = class.colours.log_overlap(&mean, &cov).ok()?;
    let columns = path.cov.fixed_columns::<3>(at).into_owned();
    let gain = &columns * (cov + class.cov).try_inverse()?;
    let mut shades = path.shades.clone();
    shades.push(shade);
    Some(Path {
        shades,
        ln: path.ln + density,
        mean: &path.mean - &gain * (mean - class.mean),
        cov: &path.cov - &gain * columns.transpose(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shade::{References, parse_references};

    fn greens() -> Predictive {
        let specimen = |id: &str, lab: [f64; 3]| serde_json::json!({"id": id, "lab": lab, "sd": [0.3, 0.3, 0.3], "method": "spectrophotometer"});
        let shade = |id: &str, l: f64| {
            let near = [[l, -15.0, 5.0], [l + 0.4, -15.3, 5.2], [l - 0.4, -14.8, 4.9], [l + 0.1, -15.1, 5.3]];
            let specimens: Vec<_> =
                near.iter().enumerate().map(|(i, lab)| specimen(&format!("{id} {i}"), *lab)).collect();
            serde_json::json!({"id": id, "specimens": specimens})
        };
        let text = serde_json::json!({
            "sameshot_shades": 1, "family": "green",
            "shades": [shade("green/light", 52.0), shade("green/medium", 46.0), shade("green/dark", 40.0)]
        });
        let references: References = parse_references(text.to_string().as_bytes()).expect("references");
        Predictive::from_references(&references).expect("predictive")
    }

    /// Readings that share an error and have their own.
    fn light(labs: &[[f64; 3]], shared_sd: f64, own_sd: f64) -> Light {
        let n = 3 * labs.len();
        let cov = DMatrix::from_fn(n, n, |i, j| {
            let shared = if i % 3 == j % 3 { shared_sd * shared_sd } else { 0.0 };
            shared + if i == j { own_sd * own_sd } else { 0.0 }
        });
        let mean = DVector::from_iterator(n, labs.iter().flatten().copied());
        Light {
            components: vec![Component { weight: 1.0, mean: mean.clone(), cov: cov.clone() }],
            mean,
            cov,
            budgets: Vec::new(),
            theta: Default::default(),
            unevenness: Default::default(),
            heaviest: Default::default(),
        }
    }

    fn slots(n: usize) -> Vec<(usize, String)> {
        (0..n).map(|i| (i, format!("slot {i}"))).collect()
    }

    /// Weight of the combinations that a question holds for, as a share of all.
    fn share(joint: &JointShades, of: impl Fn(&[Option<&str>]) -> bool) -> f64 {
        let name = |l: &ShadeLikelihood| l.shades.iter().find(|(_, x)| *x > 0.0).map(|(id, _)| id.clone());
        let total: f64 = joint.terms.iter().map(|t| t.weight).sum();
        let holds = |t: &&JointTerm| {
            let names: Vec<Option<String>> = t.slots.iter().map(name).collect();
            of(&names.iter().map(Option::as_deref).collect::<Vec<_>>())
        };
        joint.terms.iter().filter(holds).map(|t| t.weight).sum::<f64>() / total
    }

    /// Readings with errors of their own alone must come out as each classified by itself.
    #[test]
    fn without_a_shared_error_it_is_the_product_of_single_readings() {
        let predictive = greens();
        let labs = [[49.5, -15.0, 5.0], [43.5, -15.0, 5.0]];
        let light = light(&labs, 0.0, 2.0);
        let joint = joint_shades(&light, &predictive, &slots(2)).expect("joint");
        let single = |i: usize| {
            let (mean, cov) = light.reading(i);
            let priors = crate::shade::Priors { none: 0.25, shades: None };
            predictive.classify_with(&mean, &cov, &priors).expect("classes")
        };
        let (first, second) = (single(0), single(1));
        for (k, id) in ["green/light", "green/medium", "green/dark"].into_iter().enumerate() {
            let ours = [0, 1].map(|slot| share(&joint, |names| names[slot] == Some(id)));
            // Combinations that were dropped are below a millionth.
            assert!((ours[0] - first.probabilities[k]).abs() < 1e-4, "{id} {ours:?}");
            assert!((ours[1] - second.probabilities[k]).abs() < 1e-4, "{id} {ours:?}");
        }
    }

    /// No card: the light is unknown by far more than shades differ. Each reading alone is open, yet two equal readings
    /// are of one shade, and two that differ as medium and dark do are of two.
    #[test]
    fn a_shared_error_cancels_between_readings() {
        let predictive = greens();
        let equal =
            joint_shades(&light(&[[46.0, -15.0, 5.0]; 2], 12.0, 0.3), &predictive, &slots(2)).expect("joint");
        let none = |names: &[Option<&str>]| names.iter().any(Option::is_none);
        let known = share(&equal, |names| !none(names));
        let same = share(&equal, |names| !none(names) && names[0] == names[1]) / known;
        assert!(same > 0.99, "{same}");
        let alone = share(&equal, |names| !none(names) && names[0] == Some("green/medium")) / known;
        assert!(alone < 0.6, "{alone}");
        let labs = [[46.0, -15.0, 5.0], [40.0, -15.0, 5.0]];
        let apart = joint_shades(&light(&labs, 12.0, 0.3), &predictive, &slots(2)).expect("joint");
        let known = share(&apart, |names| !none(names));
        let below = |names: &[Option<&str>]| {
            let place = |name: Option<&str>| {
                ["green/light", "green/medium", "green/dark"].iter().position(|s| Some(*s) == name)
            };
            matches!((place(names[0]), place(names[1])), (Some(a), Some(b)) if b == a + 1)
        };
        assert!(share(&apart, below) / known > 0.99);
    }

    /// For Gaussian classes the slot-by-slot density is the joint density: against the six-dimensional normal written out.
    #[test]
    fn slot_by_slot_is_the_joint_density() {
        let normal =
            |l: f64, sd: f64| Mixture::normal(Vector3::new(l, -15.0, 5.0), Matrix3::identity() * sd * sd);
        let colours = [normal(52.0, 1.0), normal(46.0, 1.5), normal(44.0, 9.0)];
        let classes: Vec<Class> = colours
            .iter()
            .map(|colours| {
                let (mean, cov) = colours.moments();
                Class { colours, mean, cov }
            })
            .collect();
        let light = light(&[[49.0, -14.0, 5.5], [47.0, -15.5, 4.0]], 2.0, 0.7);
        for path in paths(&light.components[0], &classes, &slots(2)).expect("paths") {
            let mut mean = nalgebra::Vector6::zeros();
            let mut cov = nalgebra::Matrix6::zeros();
            cov.copy_from(&light.cov);
            for (slot, shade) in path.shades.iter().enumerate() {
                for row in 0..3 {
                    let at = 3 * slot + row;
                    mean[at] = light.mean[at] - classes[*shade].mean[row];
                    cov[(at, at)] += classes[*shade].cov[(row, row)];
                }
            }
            let whole = crate::stats::log_normal_density(&mean, &cov).expect("density");
            assert!((path.ln - whole).abs() < 1e-9, "{:?} {} {whole}", path.shades, path.ln);
        }
    }
}

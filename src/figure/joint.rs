//! Readings of one photo → their joint shade likelihood: all of them share the light's error. Which combinations of shades
//! the readings allow is weighed in [`crate::shade::log_likelihoods`], as for the calls; the priors are the guide's.

use super::evidence::{JointShades, JointTerm, ShadeLikelihood};
use crate::light::{Component, Light};
use crate::shade::{Predictive, log_likelihoods};

/// The joint likelihood of the shades in some slots; `readings` are (index among the light's readings, slot).
///
/// `None` without readings, or where the light's covariance is none.
pub fn joint_shades(
    light: &Light,
    predictive: &Predictive,
    readings: &[(usize, String)],
) -> Option<JointShades> {
    let indices: Vec<usize> = readings.iter().map(|(index, _)| *index).collect();
    if indices.is_empty() || indices.iter().any(|index| 3 * index >= light.mean.len()) {
        return None;
    }
    let components: Vec<Component> = light.components.iter().map(|c| c.only(&indices)).collect();
    let combinations = log_likelihoods(&components, predictive).ok()?;
    let best = combinations.iter().map(|(_, ln)| *ln).fold(f64::NEG_INFINITY, f64::max);
    if !best.is_finite() {
        return None;
    }
    let ids: Vec<&str> = predictive.shades().iter().map(|s| &*s.id).collect();
    let term = |(shades, ln): (Vec<usize>, f64)| JointTerm {
        weight: libm::exp(ln - best),
        slots: shades.iter().map(|shade| only(&ids, *shade)).collect(),
    };
    Some(JointShades {
        slots: readings.iter().map(|(_, slot)| slot.clone()).collect(),
        terms: combinations.into_iter().map(term).collect(),
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shade::{References, parse_references};
    use nalgebra::{DMatrix, DVector};

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
            components: vec![Component {
                weight: 1.0,
                mean: mean.clone(),
                cov: cov.clone(),
                drags: Vec::new(),
            }],
            mean,
            cov,
            drags: Vec::new(),
            of_one_colour: Vec::new(),
            agreement: vec![1.0; labs.len()],
            budgets: Vec::new(),
            theta: Default::default(),
            unevenness: Default::default(),
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

    /// A reading alone must come out as classified by itself.
    #[test]
    fn one_reading_is_judged_as_it_is_alone() {
        let predictive = greens();
        let light = light(&[[49.5, -15.0, 5.0]], 0.0, 2.0);
        let joint = joint_shades(&light, &predictive, &slots(1)).expect("joint");
        let (mean, cov) = light.reading(0);
        let priors = crate::shade::Priors { none: 0.25, ..Default::default() };
        let alone = predictive.classify_with(&mean, &cov, &priors).expect("classes");
        for (k, id) in ["green/light", "green/medium", "green/dark"].into_iter().enumerate() {
            let ours = share(&joint, |names| names[0] == Some(id));
            // Combinations that were dropped are below a thousandth of a per cent.
            assert!((ours - alone.probabilities[k]).abs() < 2e-3, "{id} {ours} {}", alone.probabilities[k]);
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
}

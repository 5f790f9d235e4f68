//! The colour of a part whose shade is certain, which teaches the light of its photo.
//!
//! Of some part of a shade only the shade is known: its mean with the spread of parts about it. Of a part that is itself a
//! specimen more is known, since it was measured: with the specimen's colour θ ~ N(μ, S) and its measurement x = θ + c + e
//! (as in [`super::predictive`]: an error c that its group shares, and its own e ~ N(0, E)), θ + c lies at μ' + K (x − μ') with K =
//! S (S + E)⁻¹ and μ' the group's centre, and θ is that less c, which nothing in the group tells.

use nalgebra::{Matrix3, Vector3};

use super::predictive::{Measured, Predictive, centre_of, groups, inverse};
use crate::light::SharedError;

/// A colour as it is known, in Lab D50.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KnownColour {
    /// Its mean.
    pub lab: Vector3<f64>,
    /// Its covariance.
    pub cov: Matrix3<f64>,
    /// What of that is an error of the shade's mean as well; the group is the shade's place among the predicted ones.
    pub shared: Option<SharedError>,
}

impl Predictive {
    /// The colour of some part of a shade; `None` without such a shade.
    pub fn colour_of(&self, shade_id: &str) -> Option<KnownColour> {
        let group = self.index_of(shade_id)?;
        let shade = &self.shades()[group];
        let (lab, cov) = shade.next_part.moments();
        Some(KnownColour { lab, cov, shared: Some(SharedError { group, cov: shade.mean_cov }) })
    }

    /// The specimen of a shade whose own colour is known best, with that colour.
    pub fn best_specimen_of(&self, shade_id: &str) -> Option<(&str, KnownColour)> {
        let seen = &self.shades().get(self.index_of(shade_id)?)?.seen;
        let best = seen.iter().min_by(|p, q| p.cov.trace().total_cmp(&q.cov.trace()))?;
        Some((&best.id, self.colour_of_specimen(shade_id, &best.id)?))
    }

    /// The colour of a part that is itself a specimen of a shade; `None` where the shade does not rest on such a specimen.
    pub fn colour_of_specimen(&self, shade_id: &str, specimen_id: &str) -> Option<KnownColour> {
        let group = self.index_of(shade_id)?;
        let specimen = self.shades()[group].seen.iter().find(|specimen| specimen.id == specimen_id)?;
        let shared = specimen.shared.map(|cov| SharedError { group, cov });
        Some(KnownColour { lab: specimen.lab, cov: specimen.cov, shared })
    }
}

/// A specimen's own colour.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct SeenSpecimen {
    id: String,
    lab: Vector3<f64>,
    cov: Matrix3<f64>,
    /// Covariance of the error that it has in common with the shade's mean. Where several instruments measured the shade
    /// its mean averages over their errors, and nothing is said to be common.
    shared: Option<Matrix3<f64>>,
}

/// The colours of the specimens of one shade, given the spread of its parts.
pub(super) fn seen_specimens(measured: &[Measured], spread: &Matrix3<f64>) -> Vec<SeenSpecimen> {
    let groups = groups(measured, spread);
    let mut seen = Vec::with_capacity(measured.len());
    for (index, group) in groups.iter().enumerate() {
        let (centre, centre_cov) = centre_of(&groups, index);
        for m in &group.members {
            let gain = spread * inverse(&(spread + m.error));
            let rest = Matrix3::identity() - gain;
            let doubt = spread - gain * spread + rest * centre_cov * rest.transpose();
            // Of an aged one, which lies off its shade by what nobody knows, there is only its measurement.
            let (lab, doubt) =
                if m.aged { (m.lab, m.error) } else { (centre + gain * (m.lab - centre), doubt) };
            let cov = (doubt + doubt.transpose()) * 0.5 + group.shared;
            let shared = (groups.len() == 1).then_some(group.shared);
            seen.push(SeenSpecimen { id: m.id.clone(), lab, cov, shared });
        }
    }
    seen
}

#[cfg(test)]
mod tests {
    use rand::SeedableRng;
    use rand_xoshiro::Xoshiro256PlusPlus;

    use super::super::{Method, References, SHADES_VERSION, Shade, Specimen};
    use super::*;
    use crate::scene::draws::normal;
    use crate::stats::{chi_squared_quantile, squared_distance};

    /// Specimens of one shade that scatter by 0.6 and were measured with these standard deviations, half of the variance in
    /// common; with their true colours.
    fn shade(count: usize, sd: f64, rng: &mut Xoshiro256PlusPlus) -> (Predictive, Vec<Vector3<f64>>) {
        let mut around = |mean: Vector3<f64>, sd: f64| mean.map(|v| v + sd * normal(rng));
        let truths: Vec<Vector3<f64>> =
            (0..count).map(|_| around(Vector3::new(45.0, -20.0, 8.0), 0.6)).collect();
        let half = sd * 0.5_f64.sqrt();
        let common = around(Vector3::zeros(), half);
        let specimens = truths.iter().enumerate().map(|(number, truth)| Specimen {
            id: number.to_string(),
            lab: (around(truth + common, half)).into(),
            sd: [sd; 3],
            method: Method::Spectrophotometer,
            aged: false,
            note: None,
            rest: Default::default(),
        });
        let shade = Shade {
            id: "green".into(),
            label: None,
            specimens: specimens.collect(),
            rest: Default::default(),
        };
        let references = References {
            sameshot_shades: SHADES_VERSION,
            family: "green".into(),
            shades: vec![shade],
            rest: Default::default(),
        };
        (Predictive::from_references(&references).unwrap(), truths)
    }

    /// The 95 % region holds 95 % of the true colours of specimens, whatever the instrument, and is never wider than that of
    /// some part of the shade.
    #[test]
    fn the_bars_of_specimens_are_true_and_shorter() {
        let limit = chi_squared_quantile(0.95, 3.0);
        for (sd, shorter) in [(0.3, 0.6), (1.0, 0.95)] {
            let mut rng = Xoshiro256PlusPlus::seed_from_u64(5);
            let (mut inside, mut all, mut traces) = (0, 0, [0.0; 2]);
            for round in 0..300 {
                let (predictive, truths) = shade(1 + round % 8, sd, &mut rng);
                let any = predictive.colour_of("green").unwrap();
                for (number, truth) in truths.iter().enumerate() {
                    let known = predictive.colour_of_specimen("green", &number.to_string()).unwrap();
                    let (_, best) = predictive.best_specimen_of("green").unwrap();
                    assert!(best.cov.trace() <= known.cov.trace());
                    inside +=
                        usize::from(squared_distance(&(truth - known.lab), &known.cov).unwrap() <= limit);
                    all += 1;
                    traces[0] += known.cov.trace().sqrt();
                    traces[1] += any.cov.trace().sqrt();
                }
            }
            let share = inside as f64 / all as f64;
            println!("sd {sd}: {:.1} % inside, {:.2} of the width", 100.0 * share, traces[0] / traces[1]);
            assert!((0.92..=0.98).contains(&share), "sd {sd}: {share}");
            assert!(traces[0] < shorter * traces[1], "sd {sd}: {traces:?}");
        }
    }

    #[test]
    fn what_is_no_specimen_has_no_colour() {
        let (predictive, _) = shade(2, 0.3, &mut Xoshiro256PlusPlus::seed_from_u64(1));
        assert_eq!(predictive.colour_of_specimen("green", "7"), None);
        assert_eq!(predictive.colour_of_specimen("blue", "0"), None);
    }
}

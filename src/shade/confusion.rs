//! How often each shade of a family would be taken for another at a given quality of reading, and what would help.

use nalgebra::{Matrix3, Vector3};

use super::predictive::{Predictive, ReferencesProblem};
use super::references::References;
use crate::stats::{Draws, Mixture};

/// A call needs this probability, as in a measurement.
const CONFIDENCE: f64 = 0.95;
/// Invented parts of each shade.
const PARTS: usize = 400;
const SEED: u64 = 1;

/// What becomes of the parts of each shade.
#[derive(Debug, Clone, PartialEq)]
pub struct Confusion {
    /// The shades' ids, in the references' order.
    pub shades: Vec<String>,
    /// `called[i][j]`: share of the parts of shade i that are called shade j.
    pub called: Vec<Vec<f64>>,
    /// Share of the parts of shade i that stay undecided.
    pub undecided: Vec<f64>,
    /// Share of the parts of shade i that are called none of the shades.
    pub none: Vec<f64>,
}

impl Confusion {
    /// Share of all parts that are called rightly.
    pub fn right(&self) -> f64 {
        (0..self.shades.len()).map(|i| self.called[i][i]).sum::<f64>() / self.shades.len().max(1) as f64
    }

    /// Share of all parts that are called wrongly.
    pub fn wrong(&self) -> f64 {
        let of = |i: usize| 1.0 - self.called[i][i] - self.undecided[i];
        (0..self.shades.len()).map(of).sum::<f64>() / self.shades.len().max(1) as f64
    }
}

/// One thing that could be done, with the share of parts that would then be called rightly.
#[derive(Debug, Clone, PartialEq)]
pub struct Help {
    /// What to do, such as "readings of half the error".
    pub what: String,
    /// Share of parts called rightly.
    pub right: f64,
}

/// Parts of each shade are drawn from what is expected of it, read with the standard deviation `reading_sd` in L\*, a\*, b\*
/// and classified: probabilities above 95 % make a call. 400 parts a shade, so shares are known to about 2 %.
pub fn confusion(predictive: &Predictive, reading_sd: [f64; 3]) -> Confusion {
    let shades = predictive.shades();
    let mut table = Confusion {
        shades: shades.iter().map(|shade| shade.id.clone()).collect(),
        called: vec![vec![0.0; shades.len()]; shades.len()],
        undecided: vec![0.0; shades.len()],
        none: vec![0.0; shades.len()],
    };
    let sd = Vector3::from(reading_sd);
    let cov = Matrix3::from_diagonal(&sd.component_mul(&sd));
    // Another stream than the parts': errors must not follow them.
    let mut source = Draws::seeded(SEED + 1_000_000);
    let share = 1.0 / PARTS as f64;
    for (own, shade) in shades.iter().enumerate() {
        let Ok(parts) = shade.next_part.draws(PARTS, SEED + own as u64) else { continue };
        for part in parts {
            let seen = part + sd.component_mul(&source.normals());
            let Ok(classes) = predictive.classify_mixture(&Mixture::normal(seen, cov), &Default::default())
            else {
                continue;
            };
            let called = classes.probabilities.iter().position(|p| *p >= CONFIDENCE);
            match called {
                Some(other) => table.called[own][other] += share,
                None if classes.none >= CONFIDENCE => table.none[own] += share,
                None => table.undecided[own] += share,
            }
        }
    }
    table
}

/// What better photos, more specimens and both would bring, as the model has it: more specimens are copies of those that
/// are there, so they sharpen what is known of a shade and do not change how its parts scatter.
pub fn what_helps(references: &References, reading_sd: [f64; 3]) -> Result<Vec<Help>, ReferencesProblem> {
    let now = Predictive::from_references(references)?;
    let more = Predictive::from_references(&with_copies(references))?;
    let half = reading_sd.map(|sd| sd / 2.0);
    let help = |what: &str, predictive: &Predictive, sd| Help {
        what: what.to_owned(),
        right: confusion(predictive, sd).right(),
    };
    Ok(vec![
        help("readings of half the error (a ladder of greys and a known part beside it)", &now, half),
        help("four times as many specimens of each shade, from other cameras too", &more, reading_sd),
        help("both", &more, half),
    ])
}

/// Every specimen four times, each with an error of its own.
fn with_copies(references: &References) -> References {
    let mut more = references.clone();
    for shade in &mut more.shades {
        let own = shade.specimens.clone();
        for copy in 1..4 {
            for specimen in &own {
                let mut specimen = specimen.clone();
                specimen.id = format!("{}, copy {copy}", specimen.id);
                let mut details = specimen.details();
                details.shared_with = Some(format!("{}, copy {copy}", specimen.error_group()));
                specimen.set_details(&details);
                shade.specimens.push(specimen);
            }
        }
    }
    more
}

/// The error that a reading of this set typically has: the median over its photos' standard deviations; where there are
/// none, that of a photo with a printed ladder of greys (2.0, 1.5, 1.5; the demo's photos).
pub fn typical_reading_sd(references: &References) -> [f64; 3] {
    let sds: Vec<[f64; 3]> = references
        .shades
        .iter()
        .flat_map(|shade| &shade.specimens)
        .flat_map(|specimen| specimen.details().photos)
        .map(|photo| photo.sd)
        .collect();
    if sds.is_empty() {
        return [2.0, 1.5, 1.5];
    }
    [0, 1, 2].map(|axis| crate::stats::median(&sds.iter().map(|sd| sd[axis]).collect::<Vec<_>>()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shade::parse_references;
    use crate::stats::normal_cdf;

    /// Two shades d apart along L*, of very many well measured specimens, read almost without error.
    fn two(apart: f64) -> References {
        let shade = |id: &str, l: f64| {
            let specimens: Vec<_> = (0..60)
                .map(|i| {
                    let z = crate::stats::normal_quantile((f64::from(i) + 0.5) / 60.0);
                    // Three scrambled orders of one sample, so that the axes do not move together.
                    let at = |k: i32| crate::stats::normal_quantile((f64::from((i * k) % 61 % 60) + 0.5) / 60.0);
                    serde_json::json!({"id": format!("{i}"), "lab": [l + 0.8 * z, -20.0 + 0.8 * at(7), 15.0 + 0.8 * at(17)],
                        "sd": [0.05, 0.05, 0.05], "method": "spectrophotometer"})
                })
                .collect();
            serde_json::json!({"id": id, "specimens": specimens})
        };
        let whole = serde_json::json!({"sameshot_shades": 1, "family": "green", "shades": [shade("a", 50.0), shade("b", 50.0 + apart)]});
        parse_references(whole.to_string().as_bytes()).unwrap()
    }

    /// C. K. Chow's rule for two normal classes d standard deviations apart (IEEE Trans. Inf. Theory 16:41-46, 1970): with
    /// calls above 95 %, x counts beyond ln 19 / d of the middle, so of d = 3 errors 0.65 % and rejected 29.6 %, of d = 4
    /// 0.31 % and 10.0 % (computed from the normal distribution). The 5 % kept for strangers make calls a little rarer.
    #[test]
    fn two_shades_are_confused_as_often_as_chows_rule_says() {
        for d in [3.0, 4.0] {
            let sd = 0.8_f64.hypot(0.3);
            let table = confusion(&Predictive::from_references(&two(d * sd)).unwrap(), [0.3; 3]);
            let beyond = libm::log(19.0) / d;
            let (wrong, right) = (normal_cdf(-d / 2.0 - beyond), normal_cdf(d / 2.0 - beyond));
            println!(
                "d {d}: right {:.3} for {right:.3}, wrong {:.4} for {wrong:.4}",
                table.right(),
                table.wrong()
            );
            assert!((table.right() - right).abs() < 0.07, "{table:?}");
            assert!(table.wrong() < wrong + 0.02, "{table:?}");
        }
    }

    #[test]
    fn better_photos_help_where_photos_are_the_trouble() {
        let references = two(4.0);
        let now = confusion(&Predictive::from_references(&references).unwrap(), [2.0; 3]).right();
        let helps = what_helps(&references, [2.0; 3]).unwrap();
        assert!(helps[0].right > now + 0.2, "{now} {helps:?}");
        assert!((helps[1].right - now).abs() < 0.1, "sixty specimens are enough: {now} {helps:?}");
        for row in 0..2 {
            let table = confusion(&Predictive::from_references(&references).unwrap(), [2.0; 3]);
            let sum: f64 = table.called[row].iter().sum::<f64>() + table.undecided[row] + table.none[row];
            assert!((sum - 1.0).abs() < 1e-9);
        }
    }
}

//! How a line's plastic ages: the direction in which it yellows, learned from pairs of a sheltered and an exposed place of
//! one part, and what a reading may be once ageing is allowed for.
//!
//! # Model
//!
//! Exposed less sheltered of part i is tᵢ (lᵢ, aᵢ, 1) in L\*, a\*, b\*, plus the error of both readings. The amount tᵢ ≥ 0 has
//! an exponential distribution: old plastic does not turn younger, little is commoner than much. The slopes (lᵢ, aᵢ) are
//! normal about the line's direction (l, a), with l ≤ 0.
//!
//! # Constants
//!
//! | constant | value | where from |
//! |---|---|---|
//! | prior of l | -0.25 ± 0.2, not above 0 | "b\* up, L\* slightly down" of polyamide and ABS; the numbers from memory |
//! | prior of a | 0.05 ± 0.25 | "first slightly negative, then positive"; from memory |
//! | spread of parts about the direction | 0.2, weight of 4 parts | common practice, no source |
//! | mean amount | 4 in b\*, weight of 3 parts | some units in drawers, 10 to 30 on housings left in the light; from memory |
//! | share of parts that have yellowed | 30 % | common practice, no source |

use nalgebra::{Matrix3, Vector3};

use super::details::Side;
use super::predictive::Predictive;
use super::references::{References, Specimen};
use crate::stats::{Component, Mixture, NotPositiveDefinite, log_sum_exp};

const PRIOR_SLOPE: [f64; 2] = [-0.25, 0.05];
const PRIOR_SLOPE_SD: [f64; 2] = [0.2, 0.25];
const PRIOR_SPREAD: f64 = 0.2;
const SPREAD_WEIGHT: f64 = 4.0;
const PRIOR_AMOUNT: f64 = 4.0;
const AMOUNT_WEIGHT: f64 = 3.0;
const YELLOWED: f64 = 0.3;
/// That a part is of no shade; as in [`super::Priors`].
const NONE: f64 = 0.05;
/// Nodes of the amount when it is integrated out.
const NODES: usize = 12;
/// Grid of a pair's amount: step and number of steps, in b\*.
const STEP: f64 = 0.1;
const STEPS: usize = 500;
const ROUNDS: usize = 40;

/// How a line's plastic yellows.
#[derive(Debug, Clone, PartialEq)]
pub struct Ageing {
    /// Change of L\* and of a\* for each unit of b\*.
    pub slope: [f64; 2],
    /// Standard deviation of each: how well the line's direction is known.
    pub slope_sd: [f64; 2],
    /// Standard deviation of single parts about it.
    pub spread: [f64; 2],
    /// Mean amount, in b\*.
    pub amount: f64,
    /// Pairs that it was learned from; 0 leaves the prior.
    pub pairs: usize,
    /// Parts whose pair speaks against yellowing: the exposed side is not yellower. Cleaning, fading or a mix-up.
    pub against: Vec<String>,
}

/// A sheltered and an exposed reading of one part.
#[derive(Debug, Clone, PartialEq)]
pub struct Pair {
    /// The part's name.
    pub part: String,
    /// Exposed less sheltered.
    pub change: [f64; 3],
    /// Standard deviation of that.
    pub sd: [f64; 3],
}

/// What a reading may be.
#[derive(Debug, Clone, PartialEq)]
pub struct Hypothesis {
    /// The shade's id; `None` is none of the shades.
    pub shade: Option<String>,
    /// Whether the part has yellowed since.
    pub yellowed: bool,
    /// Its probability; those of a list add up to 1.
    pub probability: f64,
    /// How much it has yellowed if so: expected change in L\*, a\*, b\*.
    pub change: [f64; 3],
}

impl Ageing {
    /// What is taken for granted without pairs.
    pub fn prior() -> Self {
        Self {
            slope: PRIOR_SLOPE,
            slope_sd: PRIOR_SLOPE_SD,
            spread: [PRIOR_SPREAD; 2],
            amount: PRIOR_AMOUNT,
            pairs: 0,
            against: Vec::new(),
        }
    }

    /// Learned from the pairs of a reference set.
    pub fn of_references(references: &References) -> Self {
        Self::learned(&pairs(references))
    }

    /// Learned from pairs, by expectation and maximisation over the unseen amounts and slopes.
    pub fn learned(pairs: &[Pair]) -> Self {
        let mut now = Self { pairs: pairs.len(), ..Self::prior() };
        for _ in 0..ROUNDS {
            now = now.improved(pairs);
        }
        let against = |pair: &&Pair| pair.change[2] < -2.0 * pair.sd[2];
        now.against = pairs.iter().filter(against).map(|pair| pair.part.clone()).collect();
        now
    }

    fn improved(&self, pairs: &[Pair]) -> Self {
        let mut precision = PRIOR_SLOPE_SD.map(|sd| 1.0 / (sd * sd));
        let mut pull = [0, 1].map(|axis| PRIOR_SLOPE[axis] * precision[axis]);
        let mut squares = [SPREAD_WEIGHT * PRIOR_SPREAD * PRIOR_SPREAD; 2];
        let mut amounts = AMOUNT_WEIGHT * PRIOR_AMOUNT;
        for pair in pairs {
            for (amount, weight) in self.amounts_of(pair) {
                amounts += weight * amount;
                for axis in 0..2 {
                    let (error, spread) =
                        (pair.sd[axis] * pair.sd[axis], self.spread[axis] * self.spread[axis]);
                    let variance = error + amount * amount * spread;
                    precision[axis] += weight * amount * amount / variance;
                    pull[axis] += weight * amount * pair.change[axis] / variance;
                    // The part's own slope, given the amount.
                    let own = 1.0 / (1.0 / spread + amount * amount / error);
                    let mean = own * (self.slope[axis] / spread + amount * pair.change[axis] / error);
                    squares[axis] += weight * ((mean - self.slope[axis]) * (mean - self.slope[axis]) + own);
                }
            }
        }
        let count = pairs.len() as f64;
        let mut slope = [0, 1].map(|axis| pull[axis] / precision[axis]);
        slope[0] = slope[0].min(0.0);
        Self {
            slope,
            slope_sd: precision.map(|p| (1.0 / p).sqrt()),
            spread: squares.map(|sum| (sum / (SPREAD_WEIGHT + count)).sqrt()),
            amount: amounts / (AMOUNT_WEIGHT + count),
            ..self.clone()
        }
    }

    /// Amounts that a pair may have, with their posterior weights.
    fn amounts_of(&self, pair: &Pair) -> Vec<(f64, f64)> {
        let logs = (0..STEPS).map(|step| {
            let amount = STEP * (step as f64 + 0.5);
            let mut log = -amount / self.amount;
            for axis in 0..3 {
                let (slope, spread) =
                    if axis < 2 { (self.slope[axis], self.spread[axis]) } else { (1.0, 0.0) };
                let variance = pair.sd[axis] * pair.sd[axis] + amount * amount * spread * spread;
                let away = pair.change[axis] - amount * slope;
                log -= 0.5 * (away * away / variance + libm::log(variance));
            }
            (amount, log)
        });
        let logs: Vec<(f64, f64)> = logs.collect();
        let total = log_sum_exp(logs.iter().map(|(_, log)| *log));
        logs.into_iter()
            .map(|(amount, log)| (amount, libm::exp(log - total)))
            .filter(|(_, w)| *w > 1e-9)
            .collect()
    }

    /// A shade's next part after it has yellowed by `amount` in b\*.
    fn yellowed(&self, part: &Mixture<3>, amount: f64) -> Option<Mixture<3>> {
        let moved = Vector3::new(self.slope[0], self.slope[1], 1.0) * amount;
        let square = amount * amount;
        let doubt = |axis: usize| square * (self.spread[axis].powi(2) + self.slope_sd[axis].powi(2));
        let wider = Matrix3::from_diagonal(&Vector3::new(doubt(0), doubt(1), 0.0));
        let of = |c: &Component<3>| Component { mean: c.mean + moved, cov: c.cov + wider, ..c.clone() };
        Mixture::new(part.components().iter().map(of).collect())
    }

    /// The change that an amount makes on average.
    fn change(&self, amount: f64) -> [f64; 3] {
        [self.slope[0] * amount, self.slope[1] * amount, amount]
    }

    /// Every shade as moulded and yellowed, and none of them, with their probabilities given a reading's distribution in
    /// Lab D50; in the references' order, as moulded before yellowed, none last.
    pub fn judge(
        &self,
        reading: &Mixture<3>,
        predictive: &Predictive,
    ) -> Result<Vec<Hypothesis>, NotPositiveDefinite> {
        let shades = predictive.shades();
        let share = (1.0 - NONE) / shades.len().max(1) as f64;
        // Equal parts of the exponential distribution, each by its middle.
        let nodes: Vec<f64> =
            (0..NODES).map(|i| -self.amount * libm::log(1.0 - (i as f64 + 0.5) / NODES as f64)).collect();
        let mut found: Vec<(Hypothesis, f64)> = Vec::new();
        for shade in shades {
            let entry = |yellowed, change| Hypothesis {
                shade: Some(shade.id.clone()),
                yellowed,
                probability: 0.0,
                change,
            };
            let as_moulded = libm::log(share * (1.0 - YELLOWED)) + shade.next_part.log_overlap_of(reading)?;
            found.push((entry(false, [0.0; 3]), as_moulded));
            let mut logs = Vec::with_capacity(NODES);
            for amount in &nodes {
                let Some(part) = self.yellowed(&shade.next_part, *amount) else { continue };
                logs.push((*amount, part.log_overlap_of(reading)?));
            }
            let total = log_sum_exp(logs.iter().map(|(_, log)| *log));
            let amount: f64 = logs.iter().map(|(amount, log)| amount * libm::exp(log - total)).sum();
            let log = libm::log(share * YELLOWED / NODES as f64) + total;
            found.push((entry(true, self.change(amount)), log));
        }
        let none = Hypothesis { shade: None, yellowed: false, probability: 0.0, change: [0.0; 3] };
        found.push((none, libm::log(NONE) + predictive.others().log_overlap_of(reading)?));
        let evidence = log_sum_exp(found.iter().map(|(_, log)| *log));
        Ok(found
            .into_iter()
            .map(|(hypothesis, log)| Hypothesis { probability: libm::exp(log - evidence), ..hypothesis })
            .collect())
    }
}

/// Pairs of a reference set: specimens of one part, one of its sheltered and one of its exposed side.
pub fn pairs(references: &References) -> Vec<Pair> {
    let mut pairs = Vec::new();
    for shade in &references.shades {
        let sides: Vec<(&Specimen, String, Side)> = shade
            .specimens
            .iter()
            .filter(|specimen| !specimen.is_set_aside())
            .filter_map(|specimen| {
                let details = specimen.details();
                Some((specimen, details.part?, details.side?))
            })
            .collect();
        for (sheltered, part, _) in sides.iter().filter(|(_, _, side)| *side == Side::Sheltered) {
            for (exposed, ..) in
                sides.iter().filter(|(_, other, side)| other == part && *side == Side::Exposed)
            {
                // Errors that both share fall out of the difference.
                let own = |specimen: &Specimen, axis: usize| {
                    specimen.sd[axis].powi(2) - specimen.shared_sd()[axis].powi(2)
                };
                pairs.push(Pair {
                    part: part.clone(),
                    change: [0, 1, 2].map(|axis| exposed.lab[axis] - sheltered.lab[axis]),
                    sd: [0, 1, 2].map(|axis| (own(sheltered, axis) + own(exposed, axis)).max(1e-4).sqrt()),
                });
            }
        }
    }
    pairs
}

/// The check that settles whether a part has yellowed, where two shades are still possible. `None` where they are not.
pub fn settling_check(hypotheses: &[Hypothesis], name_of: impl Fn(&str) -> String) -> Option<String> {
    let best = |skip: Option<&str>| {
        hypotheses
            .iter()
            .filter(|h| h.shade.is_some() && (skip.is_none() || h.shade.as_deref() != skip))
            .max_by(|p, q| p.probability.total_cmp(&q.probability))
    };
    let first = best(None)?;
    let second = best(first.shade.as_deref())?;
    let open = second.probability >= 0.05 && (first.yellowed || second.yellowed);
    if !open {
        return None;
    }
    let expected = |h: &Hypothesis| {
        let name = h.shade.as_deref().map(&name_of).unwrap_or_default();
        let [l, _, b] = h.change;
        if h.yellowed {
            format!(
                "as {name}, yellowed, the sheltered place would read b* {b:.1} lower and L* {:.1} higher",
                -l
            )
        } else {
            format!("as {name}, as moulded, it would read the same")
        }
    };
    Some(format!(
        "Measure a sheltered place of the same part in the same photo (inside a joint, under a strap; never force a brittle \
         joint): {}; {}.",
        expected(first),
        expected(second)
    ))
}

#[cfg(test)]
#[path = "ageing_checks.rs"]
mod checks;

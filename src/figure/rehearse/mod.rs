//! Invented figures of known truth, weighed as a person would: read the shades in one photo, take the proposed looks,
//! read the finding. Pure and seeded.
//!
//! A photo is taken as good as a grey ladder with a known part beside it makes it: the shades of a family lie `spacing`
//! apart on a line, all readings share one error and each has its own. The evidence reaches the weighing as readings
//! that share a light ([`super::JointShades`]), the shared error as the nodes of a fixed grid.

mod invent;

use rand::SeedableRng;
use rand_xoshiro::Xoshiro256PlusPlus;
use serde::{Deserialize, Serialize};

use super::evidence::{Evidence, Presence};
use super::line::Line;
use super::look::{LookOptions, Question, next_looks};
use super::weigh::{Weighed, weigh};
use invent::{Figure, invent, look_at, read_shades};

/// What was done to the figures of a row.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Scenario {
    /// All parts their own; paint worn and parts lost at the guide's rates.
    Clean,
    /// One part exchanged for one of another kind.
    OneExchanged,
    /// Two parts exchanged.
    TwoExchanged,
    /// Half of all paint worn off.
    Worn,
    /// Plastic yellowed, each part by its own amount.
    Aged,
    /// Upper half of one, lower half of another.
    TwoHalves,
}

impl Scenario {
    /// All of them.
    pub const ALL: [Scenario; 6] = [
        Scenario::Clean,
        Scenario::OneExchanged,
        Scenario::TwoExchanged,
        Scenario::Worn,
        Scenario::Aged,
        Scenario::TwoHalves,
    ];

    /// Its name for people.
    pub fn label(self) -> &'static str {
        match self {
            Scenario::Clean => "clean",
            Scenario::OneExchanged => "one part exchanged",
            Scenario::TwoExchanged => "two parts exchanged",
            Scenario::Worn => "worn paint",
            Scenario::Aged => "aged plastic",
            Scenario::TwoHalves => "two halves",
        }
    }
}

/// How to rehearse.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RehearseOptions {
    /// Figures a row.
    pub figures: usize,
    /// Seed of the draws.
    pub seed: u64,
    /// Distance of neighbouring shades, CIEDE2000.
    pub spacing: f64,
    /// Standard deviation of the error that all readings of a photo share, CIEDE2000.
    pub shared_sd: f64,
    /// Standard deviation of each reading's own error, spread of specimens included, CIEDE2000.
    pub own_sd: f64,
    /// Share of looks that the person is unsure of.
    pub unsure: f64,
    /// The most looks taken to learn who it is, and as many again at the parts.
    pub most_looks: usize,
}

impl Default for RehearseOptions {
    fn default() -> Self {
        Self {
            figures: 2000,
            seed: 1,
            spacing: 4.0,
            shared_sd: 0.6,
            own_sd: 0.8,
            unsure: 0.15,
            most_looks: 12,
        }
    }
}

/// Who it is counts as settled above this.
const SETTLED: f64 = 0.98;
/// Looks that tell less, bits, are not taken.
const LEAST_BITS: f64 = 0.01;
/// A part that belongs with less than this is called exchanged.
pub const CALLED_EXCHANGED: f64 = 0.5;

/// One row of the table.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Row {
    /// What was done to the figures.
    pub scenario: Scenario,
    /// How many there were.
    pub figures: usize,
    /// Share with the right character and run first once the looks were taken.
    pub right_first: f64,
    /// Share with the right character first, whatever the run.
    pub right_character: f64,
    /// Share settled at 95 %.
    pub decided: f64,
    /// Share of the settled ones that are wrong.
    pub wrong_among_decided: f64,
    /// Expected calibration error of the first one's probability, ten bins of equal count.
    pub calibration_error: f64,
    /// Of the exchanged parts of another shade, the share called exchanged.
    pub found_other_shade: f64,
    /// Of all exchanged parts, the share called exchanged.
    pub found: f64,
    /// Share of figures with a part called exchanged that is not.
    pub false_alarms: f64,
    /// Mean number of looks at who it is.
    pub looks: f64,
}

/// What came of one figure.
struct Outcome {
    top: f64,
    right: bool,
    right_character: bool,
    exchanged: usize,
    found: usize,
    other_shade: usize,
    found_other_shade: usize,
    false_alarm: bool,
    looks: usize,
}

/// Rehearses every scenario.
pub fn rehearse(line: &Line, options: &RehearseOptions) -> Vec<Row> {
    let scenarios = Scenario::ALL.into_iter().filter(|s| *s != Scenario::TwoHalves || line.composite > 0.0);
    scenarios.map(|scenario| rehearse_one(line, scenario, options)).collect()
}

/// Rehearses one scenario.
pub fn rehearse_one(line: &Line, scenario: Scenario, options: &RehearseOptions) -> Row {
    rehearse_by_turns(line, scenario, scenario, options)
}

/// Rehearses two scenarios by turns in one row, which bears the name of the first: probabilities are calibrated where
/// both are as common as the line says, which a row of one alone cannot be.
pub fn rehearse_by_turns(line: &Line, first: Scenario, second: Scenario, options: &RehearseOptions) -> Row {
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(options.seed ^ ((first as u64) << 32));
    let outcomes: Vec<Outcome> = (0..options.figures)
        .filter_map(|n| {
            let figure = invent(line, if n % 2 == 0 { first } else { second }, &mut rng);
            one(line, &figure, options, &mut rng)
        })
        .collect();
    row(first, &outcomes)
}

fn one(
    line: &Line,
    figure: &Figure,
    options: &RehearseOptions,
    rng: &mut Xoshiro256PlusPlus,
) -> Option<Outcome> {
    let mut evidence = Evidence::default();
    for (slot, part) in line.slots.iter().zip(&figure.parts) {
        let presence = if part.is_some() { Presence::Present } else { Presence::Missing };
        evidence.at(&slot.id).presence = presence;
    }
    read_shades(line, figure, options, &mut evidence, rng);
    let mut weighed = weigh(line, &evidence).ok()?;
    let mut looks = 0;
    for question in [Question::Who, Question::Parts] {
        for _ in 0..options.most_looks {
            let settled = weighed.whole.iter().copied().fold(weighed.composite, f64::max) >= SETTLED;
            let ask = LookOptions { question, shades: false };
            let best = next_looks(&weighed, &evidence, &ask).into_iter().next();
            let Some(best) =
                best.filter(|l| l.bits >= LEAST_BITS && (question == Question::Parts || !settled))
            else {
                break;
            };
            look_at(line, figure, best.slot, best.feature, options, &mut evidence, rng);
            weighed = weigh(line, &evidence).ok()?;
            looks += usize::from(question == Question::Who);
        }
    }
    Some(outcome(&weighed, figure, looks))
}

fn outcome(weighed: &Weighed, figure: &Figure, looks: usize) -> Outcome {
    let line = weighed.line;
    let (first, top) = weighed.ranked().first().copied().unwrap_or((0, 0.0));
    let pair = weighed.pairs(3).first().copied();
    let composite = pair.filter(|p| p.2 > top);
    let (upper, lower, top) = composite.unwrap_or((first, first, top));
    let name = |h: usize| line.hosts.get(h).map(|x| &*x.character);
    let mut out = Outcome {
        top,
        right: upper == figure.upper && lower == figure.lower,
        right_character: name(upper) == name(figure.upper) && name(lower) == name(figure.lower),
        exchanged: 0,
        found: 0,
        other_shade: 0,
        found_other_shade: 0,
        false_alarm: false,
        looks,
    };
    for s in 0..line.slots.len() {
        let Some(view) = weighed.part(s) else { continue };
        let called = view.belongs < CALLED_EXCHANGED;
        match figure.exchanged.iter().find(|x| x.slot == s) {
            Some(x) => {
                out.exchanged += 1;
                out.found += usize::from(called);
                out.other_shade += usize::from(x.other_shade);
                out.found_other_shade += usize::from(x.other_shade && called);
            }
            None => out.false_alarm |= called,
        }
    }
    out
}

fn row(scenario: Scenario, outcomes: &[Outcome]) -> Row {
    let count = outcomes.len() as f64;
    let share = |of: &dyn Fn(&Outcome) -> bool| outcomes.iter().filter(|o| of(o)).count() as f64 / count;
    let sum = |of: &dyn Fn(&Outcome) -> usize| outcomes.iter().map(of).sum::<usize>() as f64;
    let ratio = |a: f64, b: f64| if b > 0.0 { a / b } else { f64::NAN };
    let decided = share(&|o| o.top >= 0.95);
    Row {
        scenario,
        figures: outcomes.len(),
        right_first: share(&|o| o.right),
        right_character: share(&|o| o.right_character),
        decided,
        wrong_among_decided: ratio(share(&|o| o.top >= 0.95 && !o.right), decided),
        calibration_error: calibration_error(outcomes.iter().map(|o| (o.top, o.right)).collect()),
        found_other_shade: ratio(sum(&|o| o.found_other_shade), sum(&|o| o.other_shade)),
        found: ratio(sum(&|o| o.found), sum(&|o| o.exchanged)),
        false_alarms: share(&|o| o.false_alarm),
        looks: sum(&|o| o.looks) / count,
    }
}

/// Expected calibration error over ten bins of equal count (Naeini, Cooper and Hauskrecht 2015, "Obtaining well
/// calibrated probabilities using Bayesian binning", AAAI): Σ share of bin · |share right − mean probability|.
pub fn calibration_error(mut said: Vec<(f64, bool)>) -> f64 {
    if said.is_empty() {
        return 0.0;
    }
    said.sort_by(|a, b| a.0.total_cmp(&b.0));
    let size = said.len().div_ceil(10);
    let bin = |bin: &[(f64, bool)]| {
        let right = bin.iter().filter(|b| b.1).count() as f64;
        let sum: f64 = bin.iter().map(|b| b.0).sum();
        (right - sum).abs() / said.len() as f64
    };
    said.chunks(size).map(bin).sum()
}

/// The table as text.
pub fn table(rows: &[Row]) -> String {
    let mut out = String::from(
        "figures                n  right first  character  decided  wrong of decided  calibration  found (other shade)  \
         found (all)  false alarms  looks\n",
    );
    for r in rows {
        let cell = |p: f64, width: usize| {
            if p.is_nan() {
                format!("{:>width$}", "–")
            } else {
                format!("{:>w$.1} %", 100.0 * p, w = width - 2)
            }
        };
        out += &format!(
            "{:<19}{:>5}  {}  {}  {}  {}  {:>11.3}  {}  {}  {}  {:>5.1}\n",
            r.scenario.label(),
            r.figures,
            cell(r.right_first, 11),
            cell(r.right_character, 9),
            cell(r.decided, 7),
            cell(r.wrong_among_decided, 16),
            r.calibration_error,
            cell(r.found_other_shade, 19),
            cell(r.found, 11),
            cell(r.false_alarms, 12),
            r.looks
        );
    }
    out
}

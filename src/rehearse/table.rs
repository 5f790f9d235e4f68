//! Counts over scenes as the rows of a table.

use std::collections::BTreeMap;

use nalgebra::Vector3;
use serde::Serialize;

use super::judge::Verdict;
use super::scene::Scene;
use super::today::Habit;
use super::{Known, Options};
use crate::light::Source;
use crate::stats::{calibration_error, calibration_error_when_true, chi_squared_quantile, median};

/// Levels whose regions are counted, per cent.
const LEVELS: [u32; 4] = [50, 68, 95, 99];
/// Bins of the reliability diagram (Naeini, Cooper and Hauskrecht 2015 and most since: 10 or 15).
const BINS: usize = 10;
/// Rounds of the simulation that says what a true set of probabilities would score.
const BIAS_ROUNDS: usize = 40;

/// The whole table; `sameshot rehearse --json` prints it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Rehearsal {
    /// Format version, the first field.
    pub sameshot_rehearsal: u32,
    /// Seed of everything.
    pub seed: u64,
    /// Scenes altogether.
    pub scenes: usize,
    /// Which boards teach the light besides: the name of a [`super::Boards`].
    pub board: &'static str,
    /// Photos of each scene, read together.
    pub photos: usize,
    /// Single parts: how true and how short the bars are.
    pub rows: Vec<Row>,
    /// Two parts of one photo compared.
    pub pairs: Vec<Pair>,
    /// Wrong calls beside those of simpler ways, at equal share decided.
    pub today: Vec<Today>,
}

/// Single parts of one family under one light with one set of known zones.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Row {
    /// Which family.
    pub family: String,
    /// What is known.
    pub known: String,
    /// Which light.
    pub light: String,
    /// Scenes in this row.
    pub scenes: usize,
    /// Share of true Labs inside the region that should hold so many per cent: the densest part of the
    /// posterior mixture.
    pub coverage: BTreeMap<String, f64>,
    /// The same for the ellipsoid of the reported mean and covariance.
    pub coverage_of_moments: BTreeMap<String, f64>,
    /// Share of parts about which something is said at the chosen confidence.
    pub decided: f64,
    /// The same if the parts' colours were known exactly: no photo can do better with these references.
    pub decided_at_best: f64,
    /// The same if only their differences to the part of known shade were known exactly.
    pub decided_beside_part: f64,
    /// Share of the decided ones that are wrong; null where nothing was decided.
    pub wrong_among_decided: Option<f64>,
    /// Share that would be wrong if the probabilities were true: the mean of what they leave open.
    pub expected_wrong_among_decided: Option<f64>,
    /// Expected calibration error of the most probable answer, less what true probabilities would score on so
    /// few scenes (in squares).
    pub calibration_error: f64,
    /// The same before that was taken off.
    pub calibration_error_raw: f64,
    /// Mean probability of the most probable answer less the share of those that are right: above zero where more is
    /// claimed than is true, below where less.
    pub overconfidence: f64,
    /// Mean of −ln of the density of the true Lab.
    pub log_score: f64,
    /// Mean continuous ranked probability score over L\*, a\*, b\*.
    pub crps: f64,
    /// Median CIEDE2000 from the reported to the true Lab.
    pub median_de00: f64,
    /// Root mean square of the error in L\*, a\*, b\*.
    pub rms_error: [f64; 3],
    /// Root mean square of the reported standard deviation of L\*, a\*, b\*.
    pub rms_bar: [f64; 3],
    /// Mean share of each cause in the variance of a bar; they add up to 1.
    pub budget: BTreeMap<&'static str, f64>,
}

/// Two parts of one photo: the same plastic at two angles, and parts of neighbouring shades.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Pair {
    /// Which family.
    pub family: String,
    /// What is known.
    pub known: String,
    /// Which light.
    pub light: String,
    /// Share of scenes in which the same plastic was called different.
    pub same_called_different: f64,
    /// Root mean square of the difference in L\*, a\*, b\* that the same plastic seemed to have.
    pub rms_error: [f64; 3],
    /// Root mean square of its reported standard deviation.
    pub rms_bar: [f64; 3],
    /// Share of scenes in which neighbouring shades were called different.
    pub neighbours_called_different: f64,
    /// The same if all differences between the parts were known exactly.
    pub neighbours_at_best: f64,
}

/// Wrong calls beside those of simpler ways, each as sure as it likes about the same share of parts.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Today {
    /// Which family.
    pub family: String,
    /// What this program knew.
    pub known: String,
    /// Which light.
    pub light: String,
    /// Share decided, by this program at its confidence and by all others by their widest margins.
    pub decided: f64,
    /// Share wrong among those, this program.
    pub wrong: f64,
    /// Share wrong if every part must be called, this program.
    pub wrong_if_all: f64,
    /// The others.
    pub habits: Vec<TodayHabit>,
}

/// One of the simpler ways.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TodayHabit {
    /// Its name.
    pub habit: String,
    /// Share wrong among as many as this program decided.
    pub wrong: f64,
    /// Share wrong if every part must be called.
    pub wrong_if_all: f64,
}

/// All verdicts of one row.
#[derive(Debug, Clone)]
pub(super) struct Counts {
    pub known: Known,
    verdicts: Vec<Verdict>,
    /// For every part that is of a shade: this program's and each habit's (margin, right).
    calls: Vec<[(f64, bool); 4]>,
}

impl Counts {
    pub(super) fn new(known: Known) -> Self {
        Self { known, verdicts: Vec::new(), calls: Vec::new() }
    }

    pub(super) fn add(
        &mut self,
        scene: &Scene,
        verdict: Option<Verdict>,
        habits: [Option<(usize, f64)>; Habit::ALL.len()],
    ) {
        let Some(verdict) = verdict else { return };
        if let (Some(own), Some(truth), [Some(plain), Some(grey), Some(matrix)]) =
            (verdict.shade, scene.parts[0].shade, habits)
        {
            let held = |(shade, margin): (usize, f64)| (margin, shade == truth);
            self.calls.push([own, held(plain), held(grey), held(matrix)]);
        }
        self.verdicts.push(verdict);
    }

    fn mean(&self, of: impl Fn(&Verdict) -> f64) -> f64 {
        self.verdicts.iter().map(of).sum::<f64>() / self.verdicts.len().max(1) as f64
    }

    fn share(&self, of: impl Fn(&Verdict) -> bool) -> f64 {
        self.mean(|verdict| f64::from(u8::from(of(verdict))))
    }

    fn rms(&self, of: impl Fn(&Verdict) -> Vector3<f64>) -> [f64; 3] {
        [0, 1, 2].map(|axis| self.mean(|verdict| of(verdict)[axis] * of(verdict)[axis]).sqrt())
    }

    /// Share wrong among the surest `count` calls of a column.
    fn wrong_among_surest(&self, column: usize, count: usize) -> f64 {
        let mut calls: Vec<(f64, bool)> = self.calls.iter().map(|row| row[column]).collect();
        calls.sort_by(|p, q| q.0.total_cmp(&p.0));
        let wrong = calls.iter().take(count).filter(|(_, right)| !right).count();
        wrong as f64 / count.max(1) as f64
    }
}

impl Rehearsal {
    /// Without rows yet.
    pub(super) fn new(options: &Options, scenes: usize) -> Self {
        Self {
            sameshot_rehearsal: 1,
            seed: options.seed,
            scenes,
            board: options.boards.name(),
            photos: options.photos,
            rows: Vec::new(),
            pairs: Vec::new(),
            today: Vec::new(),
        }
    }

    pub(super) fn push(&mut self, family: &str, light: &str, counts: &Counts, options: &Options) {
        let [family, light, known] = [family, light, counts.known.name()].map(str::to_owned);
        let limit = options.confidence;
        self.pairs.push(Pair {
            family: family.clone(),
            known: known.clone(),
            light: light.clone(),
            same_called_different: counts.share(|v| v.same_called_different >= limit),
            rms_error: counts.rms(|v| v.error_of_difference),
            rms_bar: counts.rms(|v| v.bar_of_difference),
            neighbours_at_best: counts.share(|v| v.neighbours_at_best),
            neighbours_called_different: counts.share(|v| v.neighbours_called_different >= limit),
        });
        let sure = counts.calls.iter().filter(|row| counts.known.lets_call() && row[0].0 >= limit).count();
        let all = counts.calls.len();
        let habits = Habit::ALL.iter().enumerate().map(|(index, habit)| TodayHabit {
            habit: habit.name().to_owned(),
            wrong: counts.wrong_among_surest(index + 1, sure),
            wrong_if_all: counts.wrong_among_surest(index + 1, all),
        });
        self.today.push(Today {
            family: family.clone(),
            known: known.clone(),
            light: light.clone(),
            decided: sure as f64 / all.max(1) as f64,
            wrong: counts.wrong_among_surest(0, sure),
            wrong_if_all: counts.wrong_among_surest(0, all),
            habits: habits.collect(),
        });
        self.rows.push(row(family, known, light, counts, options));
    }

    /// The row of a family, known zones and light.
    pub fn row(&self, family: &str, known: Known, light: super::Evenness) -> Option<&Row> {
        self.rows.iter().find(|r| r.family == family && r.known == known.name() && r.light == light.name())
    }
}

fn share_of(verdict: &Verdict, source: Source) -> f64 {
    verdict.budget.iter().filter(|(of, _)| *of == source).map(|(_, share)| share).sum()
}

fn row(family: String, known: String, light: String, counts: &Counts, options: &Options) -> Row {
    let said = |v: &Verdict| counts.known.lets_call() && v.confidence >= options.confidence;
    let decided = counts.share(said);
    let wrong = counts.share(|v| said(v) && !v.right);
    let doubt = counts.mean(|v| if said(v) { 1.0 - v.confidence } else { 0.0 });
    let answers: Vec<(f64, bool)> = counts.verdicts.iter().map(|v| (v.confidence, v.right)).collect();
    let confidences: Vec<f64> = answers.iter().map(|answer| answer.0).collect();
    let (raw, _) = calibration_error(&answers, BINS);
    let (bias, _) = calibration_error_when_true(&confidences, BINS, BIAS_ROUNDS, options.seed);
    let coverage = |inside: &dyn Fn(&Verdict, f64) -> bool| {
        LEVELS
            .iter()
            .map(|&level| {
                (level.to_string(), counts.share(|verdict| inside(verdict, f64::from(level) / 100.0)))
            })
            .collect::<BTreeMap<String, f64>>()
    };
    Row {
        scenes: counts.verdicts.len(),
        coverage: coverage(&|v, level| v.denser < level - 1e-9),
        coverage_of_moments: coverage(&|v, level| v.squared_distance <= chi_squared_quantile(level, 3.0)),
        decided,
        decided_at_best: counts.share(|v| v.decided_at_best),
        decided_beside_part: counts.share(|v| v.decided_beside_part),
        wrong_among_decided: (decided > 0.0).then(|| wrong / decided),
        expected_wrong_among_decided: (decided > 0.0).then(|| doubt / decided),
        calibration_error: (raw * raw - bias * bias).max(0.0).sqrt(),
        calibration_error_raw: raw,
        overconfidence: counts.mean(|v| v.confidence) - counts.share(|v| v.right),
        log_score: counts.mean(|v| v.log_score),
        crps: counts.mean(|v| v.crps),
        rms_error: counts.rms(|v| v.error),
        rms_bar: counts.rms(|v| v.bar),
        budget: Source::ALL
            .iter()
            .map(|&source| (source.name(), counts.mean(|v| share_of(v, source))))
            .collect(),
        median_de00: median(&counts.verdicts.iter().map(|v| v.de00).collect::<Vec<_>>()),
        family,
        known,
        light,
    }
}

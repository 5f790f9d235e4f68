//! The marks measured on a thread of their own, and the newest result.

use std::sync::Arc;
use std::time::{Duration, Instant};

use super::Session;
use crate::case::CaseDocument;
use crate::jobs::SHOW_AFTER;
use crate::light::Light;
use crate::measure::{self, AreaCache, FlatField, Inputs, MarkProblem, Measurement, OtherPhoto, Outcome};
use crate::raster::{PhotoFacts, Raster};
use crate::shade::References;

/// What was measured of one state of the marks.
#[derive(Debug, Clone)]
pub(super) struct Measured {
    pub(super) generation: u64,
    pub(super) outcome: Result<Arc<Outcome>, String>,
}

/// The marks to be measured. Two jobs are the same when they are of one generation.
#[derive(Debug, Clone)]
pub(super) struct Job {
    generation: u64,
    raster: Arc<Raster>,
    facts: Arc<PhotoFacts>,
    case: Arc<CaseDocument>,
    references: Option<Arc<References>>,
    flat_field: Option<Arc<FlatField>>,
    other_photos: Vec<Arc<OtherPhoto>>,
}

impl Job {
    fn inputs(&self) -> Inputs<'_> {
        Inputs {
            raster: &self.raster,
            facts: &self.facts,
            case: &self.case,
            references: self.references.as_deref(),
            flat_field: self.flat_field.as_deref(),
            other_photos: &self.other_photos,
        }
    }
}

impl PartialEq for Job {
    fn eq(&self, other: &Self) -> bool {
        self.generation == other.generation
    }
}

impl Session {
    /// The light of the photo as fitted last.
    pub(in crate::app) fn light(&self) -> Option<&Light> {
        self.outcome.as_ref()?.outcome.as_ref().ok()?.light.as_ref()
    }

    /// The newest result with the number of the marks it is of.
    pub(in crate::app) fn outcome(&self) -> Option<(u64, Arc<Outcome>)> {
        let measured = self.outcome.as_ref()?;
        Some((measured.generation, measured.outcome.as_ref().ok()?.clone()))
    }

    /// Takes in what the measuring and the weighing thread have finished.
    pub(in crate::app) fn poll(&mut self) {
        while let Some(arrived) = self.measuring.poll() {
            let arrived =
                arrived.unwrap_or_else(|text| Measured { generation: self.generation, outcome: Err(text) });
            if self.outcome.as_ref().is_none_or(|old| old.generation <= arrived.generation) {
                self.outcome = Some(arrived);
            }
        }
        self.weighing.poll();
        self.weigh();
    }

    /// The newest result; it may lag behind the marks while [`Session::is_measuring`].
    pub(in crate::app) fn measurement(&self) -> Option<&Measurement> {
        self.outcome.as_ref()?.outcome.as_ref().ok().map(|outcome| &outcome.measurement)
    }

    /// The newest result as a reference set keeps it.
    pub(in crate::app) fn specimen_readings(&self) -> Vec<measure::SpecimenReading> {
        let Some(Measured { outcome: Ok(outcome), .. }) = &self.outcome else { return Vec::new() };
        measure::specimen_readings(&self.job().inputs(), outcome)
    }

    /// What could not be measured or used.
    pub(in crate::app) fn mark_problems(&self) -> impl Iterator<Item = &MarkProblem> {
        let outcome = self.outcome.as_ref().and_then(|measured| measured.outcome.as_ref().ok());
        outcome.into_iter().flat_map(|outcome| outcome.problems.iter().chain(&outcome.left_out))
    }

    /// A number that grows with every change of the marks.
    pub(in crate::app) fn generation(&self) -> u64 {
        self.generation
    }

    /// Why there is no result at all.
    pub(in crate::app) fn failure(&self) -> Option<&str> {
        self.outcome.as_ref()?.outcome.as_ref().err().map(String::as_str)
    }

    /// Whether the result is not that of the marks as they are now.
    pub(in crate::app) fn is_measuring(&self) -> bool {
        self.outcome.as_ref().is_none_or(|outcome| outcome.generation != self.generation)
    }

    /// The same, once a person would wonder; before that, the time until then.
    pub(in crate::app) fn is_measuring_slowly(&self) -> Result<bool, Duration> {
        match (self.is_measuring(), SHOW_AFTER.saturating_sub(self.changed_at.elapsed())) {
            (true, wait) if !wait.is_zero() => Err(wait),
            (measuring, _) => Ok(measuring),
        }
    }

    /// The marks are others now: measures them.
    pub(super) fn changed(&mut self) {
        // The clock runs from the first change that was not measured yet.
        if !self.is_measuring() {
            self.changed_at = Instant::now();
        }
        self.generation += 1;
        self.weighing.name(self.history.current().guide.as_deref());
        self.measuring.want(vec![self.job()]);
        self.weigh();
    }

    fn job(&self) -> Job {
        Job {
            generation: self.generation,
            raster: self.raster.clone(),
            facts: self.facts.clone(),
            case: self.shared_case(),
            references: self.references.clone(),
            flat_field: self.case().flat_field.as_deref().and_then(|name| self.empty_boards.read(name)),
            other_photos: self
                .case()
                .more_photos
                .iter()
                .filter_map(|name| self.other_photos.read(name))
                .collect(),
        }
    }
}

/// Measures on the worker's thread.
pub(super) fn run(job: &Job, cache: &mut AreaCache) -> Measured {
    let inputs = job.inputs();
    let outcome = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| {
        let marked = crate::tray::sort::marked_in(&job.case);
        measure::measure(&inputs, &measure::Options { marked, ..measure::Options::default() }, cache)
    }));
    let outcome = outcome.map_err(|_| {
        // What was half-way into it cannot be trusted.
        *cache = AreaCache::default();
        "The measurement failed inside the program. Undo the last change, and save your marks.".to_owned()
    });
    Measured { generation: job.generation, outcome: outcome.map(Arc::new) }
}

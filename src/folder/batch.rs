//! All photos of a folder on several threads, until they are done or the person stops it. A thread holds one photo at a
//! time, so that memory is bounded by the number of threads.

use std::collections::BTreeMap;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

use super::order::Order;
use super::photo::{Line, Outcome, outcome_of};
use super::results::{lines_of_last_time, save_contact_sheets, save_tables};
use crate::problem::Problem;

/// How it ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct How {
    /// Photos that were dealt with.
    pub done: usize,
    /// Photos that could not be sorted.
    pub failed: usize,
    /// Whether the person stopped it.
    pub stopped: bool,
}

/// What is told of each photo that is done.
#[derive(Clone, Copy)]
pub struct Told<'a> {
    /// Its line in the table.
    pub line: &'a Line,
    /// What went wrong with it.
    pub problem: Option<&'a Problem>,
    /// Whether it had been sorted before.
    pub was_known: bool,
    /// Photos done, this one among them.
    pub done: usize,
    /// All photos.
    pub all: usize,
    /// About how long the rest will take.
    pub left: Option<Duration>,
}

/// The tables are written again at most so often, and at the end.
const SAVE_EVERY: Duration = Duration::from_secs(2);
/// Without a choice not more threads than this: each needs the memory for a photo.
const MOST_THREADS: usize = 4;

/// What the threads have done so far.
struct Done {
    outcomes: BTreeMap<usize, Outcome>,
    saved: Instant,
    trouble: Option<Problem>,
}

/// Sorts what is not sorted yet, until `stop` says so: photos in hand are finished first. `tell` is told of each photo.
///
/// # Errors
/// Where the results cannot be written; a photo that fails is told and stops no other.
pub fn sort_all(
    order: &Order,
    stop: &(dyn Fn() -> bool + Sync),
    tell: &(dyn Fn(&Told) + Sync),
) -> Result<How, Problem> {
    let Order { photos, out, choice, threads } = order;
    let before = lines_of_last_time(out);
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let threads = threads.unwrap_or(cores.min(MOST_THREADS)).min(photos.len());
    let next = AtomicUsize::new(0);
    let started = Instant::now();
    let done = Mutex::new(Done { outcomes: BTreeMap::new(), saved: started, trouble: None });
    std::thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                while !stop() {
                    let index = next.fetch_add(1, Ordering::Relaxed);
                    let Some(path) = photos.get(index) else { break };
                    let outcome = outcome_of(path, out, choice, &before);
                    let mut done = done.lock().unwrap_or_else(PoisonError::into_inner);
                    let count = done.outcomes.len() + 1;
                    tell(&Told {
                        line: &outcome.line,
                        problem: outcome.problem.as_ref(),
                        was_known: outcome.was_known,
                        done: count,
                        all: photos.len(),
                        left: time_left(started.elapsed(), count, photos.len()),
                    });
                    done.outcomes.insert(index, outcome);
                    if done.saved.elapsed() >= SAVE_EVERY {
                        let saved = save_tables(out, photos, &done.outcomes, &before);
                        done.trouble = done.trouble.take().or(saved.err());
                        done.saved = Instant::now();
                    }
                }
            });
        }
    });
    let done = done.into_inner().unwrap_or_else(PoisonError::into_inner);
    save_tables(out, photos, &done.outcomes, &before)?;
    if let Some(problem) = done.trouble {
        return Err(problem);
    }
    save_contact_sheets(photos, out, &done.outcomes)?;
    let failed = done.outcomes.values().filter(|outcome| outcome.problem.is_some()).count();
    Ok(How { done: done.outcomes.len(), failed, stopped: done.outcomes.len() < photos.len() })
}

fn time_left(elapsed: Duration, done: usize, all: usize) -> Option<Duration> {
    let left = all.saturating_sub(done);
    (done >= 2 && left > 0).then(|| elapsed.mul_f64(left as f64 / done as f64))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_time_left_follows_from_what_is_done() {
        assert_eq!(time_left(Duration::from_secs(9), 1, 10), None);
        assert_eq!(time_left(Duration::from_secs(20), 4, 10), Some(Duration::from_secs(30)));
        assert_eq!(time_left(Duration::from_secs(20), 10, 10), None);
    }
}

//! Work off the window's thread: single tasks that can be cancelled, and workers that always take up what is
//! wanted now. Threads have names, channels are bounded, and a panic in a job becomes a message.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, TryRecvError, sync_channel};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

/// Called when something has arrived, so that the window draws itself again.
pub type Wake = Arc<dyn Fn() + Send + Sync>;

/// What takes longer than this is shown with its progress and can be cancelled.
pub const SHOW_AFTER: Duration = Duration::from_millis(200);

/// So many results wait to be fetched; then the worker waits, too.
const MOST_RESULTS: usize = 32;

/// What a task tells of itself, and whether it should go on.
#[derive(Debug, Default)]
pub struct Progress {
    cancelled: AtomicBool,
}

impl Progress {
    /// Whether the person no longer wants it.
    pub fn cancelled(&self) -> bool {
        self.cancelled.load(Ordering::Relaxed)
    }
}

/// One piece of work on a thread of its own.
#[derive(Debug)]
pub struct Task<T> {
    /// What is done, in words, such as "Reading bench.jpg".
    pub label: String,
    progress: Arc<Progress>,
    started: Instant,
    result: Receiver<Result<T, String>>,
}

impl<T: Send + 'static> Task<T> {
    /// Starts the work. Dropping the task cancels it.
    pub fn start(label: String, wake: Wake, work: impl FnOnce(&Progress) -> T + Send + 'static) -> Self {
        let progress = Arc::new(Progress::default());
        let (sender, result) = sync_channel(1);
        let shared = progress.clone();
        let sender_if_no_thread = sender.clone();
        let spawned = std::thread::Builder::new().name("task".into()).spawn(move || {
            // The receiver is gone where the task was cancelled.
            let _ = sender.send(caught(|| work(&shared)));
            wake();
        });
        if let Err(error) = spawned {
            let _ = sender_if_no_thread.send(Err(format!("The system gave no thread: {error}.")));
        }
        Self { label, progress, started: Instant::now(), result }
    }

    /// The result, once it is there.
    pub fn poll(&self) -> Option<Result<T, String>> {
        match self.result.try_recv() {
            Ok(result) => Some(result),
            Err(TryRecvError::Empty) => None,
            Err(TryRecvError::Disconnected) => Some(Err("The work ended without a result.".into())),
        }
    }

    /// Time until it should be shown; zero when it should be by now.
    pub fn hidden_for(&self) -> Duration {
        SHOW_AFTER.saturating_sub(self.started.elapsed())
    }
}

impl<T> Drop for Task<T> {
    fn drop(&mut self) {
        self.progress.cancelled.store(true, Ordering::Relaxed);
    }
}

/// Small pieces of work that nobody waits for, such as remembering what was opened last: done one after the other,
/// and done with before this is dropped, so that closing the window loses none.
#[derive(Debug, Default)]
pub struct Errands {
    last: Option<JoinHandle<()>>,
}

impl Errands {
    /// Does the work after all that was given before. Where the system gives no thread it is left undone.
    pub fn add(&mut self, work: impl FnOnce() + Send + 'static) {
        let before = self.last.take();
        let spawned = std::thread::Builder::new().name("errand".into()).spawn(move || {
            // What panicked before has nothing to say here.
            let _ = before.map(JoinHandle::join);
            let _ = caught(work);
        });
        self.last = spawned.ok();
    }
}

impl Drop for Errands {
    fn drop(&mut self) {
        let _ = self.last.take().map(JoinHandle::join);
    }
}

/// A thread that works through a list which can be replaced at any time.
#[derive(Debug)]
pub struct Worker<J, R> {
    shared: Arc<Shared<J>>,
    results: Receiver<Result<R, String>>,
}

#[derive(Debug)]
struct Shared<J> {
    list: Mutex<List<J>>,
    changed: Condvar,
}

#[derive(Debug)]
struct List<J> {
    pending: Vec<J>,
    in_hand: Option<J>,
    in_hand_wanted: bool,
    closed: bool,
}

impl<J: Clone + PartialEq + Send + 'static, R: Send + 'static> Worker<J, R> {
    /// Starts the thread. `work` is asked for each job in turn; its second argument tells whether the job
    /// is no longer wanted, and a job given up answers `None`.
    pub fn start(
        name: &str,
        wake: Wake,
        mut work: impl FnMut(&J, &dyn Fn() -> bool) -> Option<R> + Send + 'static,
    ) -> Self {
        let list = List { pending: Vec::new(), in_hand: None, in_hand_wanted: false, closed: false };
        let shared = Arc::new(Shared { list: Mutex::new(list), changed: Condvar::new() });
        let (sender, results) = sync_channel(MOST_RESULTS);
        let inside = shared.clone();
        let sender_if_no_thread = sender.clone();
        let spawned = std::thread::Builder::new().name(name.into()).spawn(move || {
            while let Some(job) = inside.take_up() {
                let given_up = || {
                    let list = inside.lock();
                    list.closed || !list.in_hand_wanted
                };
                match caught(|| work(&job, &given_up)) {
                    Ok(None) => {}
                    Ok(Some(result)) => drop(sender.send(Ok(result))),
                    Err(text) => drop(sender.send(Err(text))),
                }
                inside.lock().in_hand = None;
                wake();
            }
        });
        if let Err(error) = spawned {
            let _ = sender_if_no_thread.send(Err(format!("The system gave no thread: {error}.")));
        }
        Self { shared, results }
    }

    /// Replaces the list; the first is done first. A job in hand goes on if it is on the new list.
    pub fn want(&self, jobs: Vec<J>) {
        let mut list = self.shared.lock();
        list.in_hand_wanted = list.in_hand.as_ref().is_some_and(|job| jobs.contains(job));
        let in_hand = list.in_hand.clone();
        list.pending = jobs.into_iter().filter(|job| Some(job) != in_hand.as_ref()).collect();
        // Taken from the end.
        list.pending.reverse();
        drop(list);
        self.shared.changed.notify_one();
    }

    /// Whether anything is still to be done.
    pub fn busy(&self) -> bool {
        let list = self.shared.lock();
        list.in_hand.is_some() || !list.pending.is_empty()
    }

    /// A result, if one has arrived.
    pub fn poll(&self) -> Option<Result<R, String>> {
        self.results.try_recv().ok()
    }
}

impl<J, R> Drop for Worker<J, R> {
    fn drop(&mut self) {
        self.shared.lock().closed = true;
        self.shared.changed.notify_one();
    }
}

impl<J> Shared<J> {
    fn lock(&self) -> MutexGuard<'_, List<J>> {
        // A list is whole at every moment, even where a thread died with the lock.
        self.list.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl<J: Clone> Shared<J> {
    fn take_up(&self) -> Option<J> {
        let mut list = self.lock();
        loop {
            if list.closed {
                return None;
            }
            if let Some(job) = list.pending.pop() {
                list.in_hand = Some(job.clone());
                list.in_hand_wanted = true;
                return Some(job);
            }
            list = self.changed.wait(list).unwrap_or_else(PoisonError::into_inner);
        }
    }
}

fn caught<T>(work: impl FnOnce() -> T) -> Result<T, String> {
    catch_unwind(AssertUnwindSafe(work)).map_err(|cause| {
        let text = cause
            .downcast_ref::<String>()
            .map(String::as_str)
            .or_else(|| cause.downcast_ref::<&str>().copied())
            .unwrap_or("no details");
        format!("Something went wrong inside the program ({text}).")
    })
}

#[cfg(test)]
mod tests {
    use std::sync::mpsc::channel;

    use super::*;

    fn quiet() -> Wake {
        Arc::new(|| {})
    }

    fn wait<T>(mut poll: impl FnMut() -> Option<T>) -> T {
        let end = Instant::now() + Duration::from_secs(20);
        loop {
            if let Some(value) = poll() {
                return value;
            }
            assert!(Instant::now() < end, "nothing came");
            std::thread::sleep(Duration::from_millis(1));
        }
    }

    #[test]
    fn a_task_delivers_and_a_panic_becomes_words() {
        let task = Task::start("adding".into(), quiet(), |_| 2 + 3);
        assert_eq!(wait(|| task.poll()), Ok(5));
        let task: Task<()> = Task::start("falling".into(), quiet(), |_| panic!("a stone"));
        assert!(wait(|| task.poll()).unwrap_err().contains("a stone"));
    }

    #[test]
    fn a_dropped_task_is_told_so() {
        let (sender, receiver) = channel();
        let task = Task::start("waiting".into(), quiet(), move |progress| {
            while !progress.cancelled() {
                std::thread::sleep(Duration::from_millis(1));
            }
            sender.send("cancelled").unwrap();
        });
        drop(task);
        assert_eq!(receiver.recv_timeout(Duration::from_secs(20)), Ok("cancelled"));
    }

    #[test]
    fn errands_are_done_in_order_and_before_they_are_dropped() {
        let (done, receiver) = channel();
        let mut errands = Errands::default();
        for number in 0..5 {
            let done = done.clone();
            errands.add(move || {
                std::thread::sleep(Duration::from_millis(5 - number));
                assert!(number != 2, "a stone");
                done.send(number).unwrap();
            });
        }
        drop(errands);
        assert_eq!(receiver.try_iter().collect::<Vec<_>>(), [0, 1, 3, 4]);
    }

    #[test]
    fn only_what_is_wanted_now_is_done() {
        let (started, first_began) = channel();
        let worker = Worker::start("tiles", quiet(), move |job: &u32, given_up| {
            if *job == 0 {
                started.send(()).unwrap();
                while !given_up() {
                    std::thread::sleep(Duration::from_millis(1));
                }
                return None;
            }
            Some(*job * 10)
        });
        worker.want(vec![0, 1, 2]);
        first_began.recv_timeout(Duration::from_secs(20)).unwrap();
        worker.want(vec![7, 8]);
        assert_eq!(wait(|| worker.poll()), Ok(70));
        assert_eq!(wait(|| worker.poll()), Ok(80));
        wait(|| (!worker.busy()).then_some(()));
        assert_eq!(worker.poll(), None, "0, 1 and 2 were given up");
    }

    #[test]
    fn a_worker_survives_a_panic() {
        let worker = Worker::start("measuring", quiet(), |job: &u32, _| {
            assert_ne!(*job, 1, "job one is bad");
            Some(*job)
        });
        worker.want(vec![1, 2]);
        assert!(wait(|| worker.poll()).unwrap_err().contains("job one is bad"));
        assert_eq!(wait(|| worker.poll()), Ok(2));
    }
}

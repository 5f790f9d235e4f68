//! Decoders run behind a guard: a panic ends as an error for the person, and prints nothing.

use std::cell::Cell;
use std::panic::{self, UnwindSafe};
use std::sync::Once;

thread_local! {
    static GUARDED: Cell<bool> = const { Cell::new(false) };
}

/// What `work` gives, or `None` where it panicked. The panic's report on standard error is kept back, as it
/// would say nothing to a person; panics outside of guarded work are reported as ever.
pub(super) fn guarded<T>(work: impl FnOnce() -> T + UnwindSafe) -> Option<T> {
    static QUIET_HOOK: Once = Once::new();
    QUIET_HOOK.call_once(|| {
        let report = panic::take_hook();
        panic::set_hook(Box::new(move |about| {
            if !GUARDED.get() {
                report(about);
            }
        }));
    });
    let outer = GUARDED.replace(true);
    let outcome = panic::catch_unwind(work).ok();
    GUARDED.set(outer);
    outcome
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_panic_is_no_answer_and_the_guard_ends_with_the_work() {
        assert_eq!(guarded(|| 7), Some(7));
        assert_eq!(guarded(|| -> u8 { panic!("inside") }), None);
        assert!(!GUARDED.get());
        assert_eq!(guarded(|| (guarded(|| -> u8 { panic!("inner") }), GUARDED.get())), Some((None, true)));
    }

    /// In a process of its own, whose standard error can be read.
    #[test]
    fn a_panic_is_reported_only_outside_the_guard() {
        let run = std::process::Command::new(std::env::current_exe().unwrap())
            .args(["--exact", "photo::guard::tests::panics_twice", "--ignored", "--nocapture"])
            .output()
            .unwrap();
        let told = String::from_utf8_lossy(&run.stderr);
        assert!(told.contains("said outside") && !told.contains("said inside"), "{told}");
    }

    #[test]
    #[ignore = "panics on purpose, for the test above"]
    fn panics_twice() {
        guarded(|| panic!("said inside"));
        panic!("said outside");
    }
}

//! The program from outside: arguments in, files, lines and exit status out.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    reason = "a check may stop where it fails, and prints what it measured"
)]

#[path = "../support/demo.rs"]
mod demo;
#[path = "../support/painted.rs"]
mod painted;
#[path = "../support/tray.rs"]
mod small_tray;

mod bench;
mod built;
mod card;
mod collection;
mod demo_folder;
mod help;
mod identify;
#[cfg(unix)]
mod kill;
mod listing;
mod measure;
mod more_photos;
mod references;
mod refusals;
mod rehearse;
mod report;
mod run;
mod sort;

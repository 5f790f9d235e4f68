//! The program from outside: arguments in, files, lines and exit status out.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    reason = "a check may stop where it fails, and prints what it measured"
)]

mod collection;
mod identify;
#[cfg(unix)]
mod kill;
mod measure;
mod report;
mod sort;

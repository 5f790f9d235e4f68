//! Photos of every format and condition, good and bad, through the public functions of `photo`.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    reason = "a check may stop where it fails, and prints what it measured"
)]

mod bad;
mod camera;
mod colour;
mod files;
mod formats;
mod mutations;

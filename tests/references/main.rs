//! Reference shades from outside: published tables and invented cameras.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    reason = "a check may stop where it fails, and prints what it measured"
)]

mod munsell;
mod published;
mod tables;

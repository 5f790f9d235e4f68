//! Reference shades from outside: published tables, the demo's photos, invented cameras, and the commands.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    reason = "a check may stop where it fails, and prints what it measured"
)]

mod built;
mod listing;
mod munsell;
mod published;
mod tables;

//! Measuring through the public functions of the library, on pictures and scenes whose truth is known, and on
//! photographs by other people.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    reason = "a check may stop where it fails, and prints what it measured"
)]

#[path = "../support/demo.rs"]
mod demo;

mod areas;
mod board;
mod card;
mod chart_photos;
mod half_a_turn;
mod light_vectors;
mod other_photo;
mod painted;
mod pictures;
mod rehearsal;
mod tray;
mod views;

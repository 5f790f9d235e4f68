//! The window by accessible names: what a test finds, a screen reader finds. A file a room of the window.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    reason = "a check may stop where it fails, and prints what it measured"
)]
#![cfg(feature = "gui")]

#[path = "../support/demo.rs"]
mod demo;
#[path = "../support/painted.rs"]
mod painted;
#[path = "../support/tray.rs"]
mod small_tray;

mod board;
mod collection;
mod compare;
mod evening;
mod family;
mod figure;
mod front;
mod greens;
mod guide;
mod keys;
mod other_photo;
mod photo;
mod tray;
mod unsaved_shades;
mod walker;

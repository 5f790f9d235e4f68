//! How fast it is: `cargo bench --bench speed -- measure` runs those of one file.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    reason = "a benchmark may stop where something fails, and prints what it saw"
)]

mod collection;
mod compare;
mod decode;
mod figure;
mod measure;
mod tray;

/// That of the program.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() {
    divan::main();
}

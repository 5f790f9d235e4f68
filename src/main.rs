//! The program: arguments in, window or command line out.

use std::process::ExitCode;

/// What is given back stays at hand for the next fit.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    sameshot::cli::run()
}

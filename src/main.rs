//! The program: arguments in, window or command line out.

use std::process::ExitCode;

fn main() -> ExitCode {
    sameshot::cli::run()
}

//! The command line: arguments in, results out. All printing of the program happens here.

use std::process::ExitCode;

/// Runs the program with the arguments of the process.
pub fn run() -> ExitCode {
    ExitCode::SUCCESS
}

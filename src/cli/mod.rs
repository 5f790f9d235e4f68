//! The command line: arguments in, results out. All printing of the program happens here.

use std::process::ExitCode;

/// Runs the program with the arguments of the process.
pub fn run() -> ExitCode {
    #[cfg(feature = "gui")]
    {
        let path = std::env::args_os().nth(1).map(std::path::PathBuf::from);
        crate::app::run(path.as_deref())
    }
    #[cfg(not(feature = "gui"))]
    ExitCode::SUCCESS
}

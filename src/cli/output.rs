//! The two ways out: results to standard output, messages for people to standard error.

use std::io::{ErrorKind, Write};

use crate::problem::Problem;

/// Prints a result. A reader that has seen enough (`head`) ends the program quietly.
pub(super) fn print(text: &str) {
    let mut out = std::io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Ok(()) => {}
        Err(error) if error.kind() == ErrorKind::BrokenPipe => std::process::exit(0),
        Err(error) => {
            tell(&Problem::new(
                format!("The result could not be written: {error}."),
                "Check the disk or the program that reads the result.",
            ));
            std::process::exit(1);
        }
    }
}

/// Tells the person what went wrong and what to do. Nothing is left to do where that fails too.
pub(super) fn tell(problem: &Problem) {
    let mut err = std::io::stderr().lock();
    let _ = writeln!(err, "sameshot: {}\n  {}", problem.message, problem.remedy);
}

/// Characters on a line of the terminal; 100 where the output goes elsewhere.
pub(super) fn line_width() -> usize {
    terminal_size::terminal_size().map_or(100, |(width, _)| usize::from(width.0))
}

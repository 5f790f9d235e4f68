//! The program started from outside, and what it said.

use std::process::{Command, Output};

/// How it ended and what it printed.
#[derive(Debug)]
pub(crate) struct Said {
    pub(crate) status: i32,
    pub(crate) out: String,
    pub(crate) err: String,
}

impl Said {
    /// All of it.
    pub(crate) fn all(&self) -> String {
        format!("{}{}", self.out, self.err)
    }
}

/// The program, not yet started.
pub(crate) fn program() -> Command {
    Command::new(env!("CARGO_BIN_EXE_sameshot"))
}

/// Runs it with these arguments.
pub(crate) fn sameshot(arguments: &[&str]) -> Said {
    run(program().args(arguments))
}

/// Runs it as it was set up.
pub(crate) fn run(command: &mut Command) -> Said {
    let Output { status, stdout, stderr } = command.output().unwrap();
    Said {
        status: status.code().expect("ended by a signal"),
        out: String::from_utf8(stdout).unwrap(),
        err: String::from_utf8(stderr).unwrap(),
    }
}

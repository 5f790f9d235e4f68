//! The command line: arguments in, results out. All printing of the program happens here.

mod args;
mod card;
mod collection;
mod demo;
mod identify;
mod learn;
mod map;
mod measure;
mod output;
mod references;
mod rehearse;
mod report;
mod sort;

use std::process::ExitCode;

use clap::Parser;

use args::{Arguments, Command};

/// How a command ended, as the exit status says it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Ending {
    /// All was done.
    Done,
    /// Some case failed; the others were measured.
    SomeFailed,
    /// The call itself was wrong.
    WrongCall,
}

/// Runs the program with the arguments of the process.
pub fn run() -> ExitCode {
    let arguments = Arguments::parse();
    let ending = match &arguments.command {
        Some(Command::Learn(arguments)) => learn::run(arguments),
        Some(Command::Measure(options)) => measure::run(options),
        Some(Command::Identify(options)) => identify::run(options),
        Some(Command::Report(options)) => report::run(options),
        Some(Command::References(arguments)) => references::run(arguments),
        Some(Command::Rehearse(options)) => rehearse::run(options),
        Some(Command::Demo(options)) => demo::run(options),
        Some(Command::Card(options)) => card::run(options),
        Some(Command::Collection(options)) => collection::run(options),
        Some(Command::Sort(options)) => sort::run(options),
        Some(Command::Map(options)) => map::run(options),
        None => return window(&arguments),
    };
    ExitCode::from(match ending {
        Ending::Done => 0,
        Ending::SomeFailed => 1,
        Ending::WrongCall => 2,
    })
}

#[cfg(feature = "gui")]
fn window(arguments: &Arguments) -> ExitCode {
    crate::app::run(arguments.file.as_deref())
}

#[cfg(not(feature = "gui"))]
fn window(_: &Arguments) -> ExitCode {
    output::tell(&crate::problem::Problem::new(
        "This Sameshot was built without its window.",
        "Use its commands (sameshot --help), or install it with the window.",
    ));
    ExitCode::from(2)
}

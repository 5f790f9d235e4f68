//! `sameshot references`: shades built, brought in, taken out and shown.

pub(super) mod args;
mod build;
mod card;
mod show;
mod tables;

use super::Ending;
use super::output::tell;
use args::{ReferencesArguments, ReferencesCommand};

/// Does what was asked for.
pub(super) fn run(arguments: &ReferencesArguments) -> Ending {
    let done = match &arguments.command {
        ReferencesCommand::Build(options) => return build::run(options),
        ReferencesCommand::Import(options) => tables::import(options),
        ReferencesCommand::Export(options) => tables::export(options),
        ReferencesCommand::Show(options) => show::run(options),
    };
    match done {
        Ok(()) => Ending::Done,
        Err(problem) => {
            tell(&problem);
            Ending::SomeFailed
        }
    }
}

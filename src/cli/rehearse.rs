//! `sameshot rehearse`: invented scenes measured, the counts as one line of JSON or as tables.

use std::io::{IsTerminal, Write};

use super::Ending;
use super::args::RehearseOptions;
use super::output::{print, tell};
use crate::problem::Problem;
use crate::rehearse::{Options, rehearse};

pub(super) fn run(options: &RehearseOptions) -> Ending {
    let rehearsed = Options {
        scenes: options.scenes as usize,
        seed: options.seed,
        boards: options.board,
        photos: options.photos as usize,
        ..Options::default()
    };
    let watched = std::io::stderr().is_terminal();
    let table = rehearse(&rehearsed, |done| {
        if watched && done % 50 == 0 {
            // Nothing is lost where this cannot be shown.
            let _ = write!(std::io::stderr(), "\r{done} of {} scenes ", rehearsed.scenes);
        }
    });
    if watched {
        let _ = writeln!(std::io::stderr());
    }
    if !options.json {
        print(&table.text());
        return Ending::Done;
    }
    match serde_json::to_string(&table) {
        Ok(line) => {
            print(&format!("{line}\n"));
            Ending::Done
        }
        Err(error) => {
            tell(&Problem::new(
                format!("The table cannot be written as JSON: {error}."),
                "Call it without --json, and report this with the seed and the number of scenes.",
            ));
            Ending::SomeFailed
        }
    }
}

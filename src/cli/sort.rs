//! `sameshot sort`: every photo of a folder sorted, on all cores, taken up again where it was left.

use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use clap::Args;

use super::Ending;
use super::args::confidence;
use super::output::{print, tell};
use crate::folder::{Line, Order, Told, Wanted, sort_all};
use crate::measure::Call;

/// The options of `sameshot sort`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  sameshot sort trays/\n  sameshot sort trays/ --known green/light,green/medium,green/dark\n  sameshot sort trays/ --references green.shades.json --card laser.card.json\n\nLay the parts on a board or sheet of one neutral tone, a printed card among them, and nothing on top of anything else.\n\nWrites sorted.csv, sorted.jsonl, a numbered picture of each photo and a contact sheet. A photo that was sorted before in the same way is not sorted again. Ctrl+C ends it after the photos in hand and keeps what is done; start it again to go on.\n\nExit status: 0 all sorted, 1 some photo failed or it was stopped, 2 the call itself was wrong."
)]
pub(super) struct SortOptions {
    /// The folder with the photos.
    #[arg(value_name = "FOLDER")]
    pub folder: PathBuf,
    /// Where the results go; without it FOLDER/sorted.
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// The shades to sort by; without it the only *.shades.json of the folder.
    #[arg(long, value_name = "FILE")]
    pub references: Option<PathBuf>,
    /// The measured greys of your print of the card; without it the only *.card.json of the folder, else the values that are
    /// printed on it.
    #[arg(long, value_name = "FILE")]
    pub card: Option<PathBuf>,
    /// Shades of the parts in the boxes of the card from the left, with commas; a dash for an empty box.
    #[arg(long, value_name = "SHADES", value_delimiter = ',')]
    pub known: Vec<String>,
    /// A shade is called only when it is at least so probable.
    #[arg(long, default_value_t = 0.95, value_name = "PROBABILITY", value_parser = confidence)]
    pub confidence: f64,
    /// Photos sorted at the same time; without it one for each core, at most four. Each takes about ten times the size of
    /// its pixels in memory.
    #[arg(long, value_name = "NUMBER", value_parser = clap::value_parser!(u8).range(1..=16))]
    pub threads: Option<u8>,
}

/// Sorts the folder.
pub(super) fn run(options: &SortOptions) -> Ending {
    let order = match Order::of(&wanted(options)) {
        Ok(order) => order,
        Err(problem) => {
            tell(&problem);
            return Ending::WrongCall;
        }
    };
    let stop = stop_on_ctrl_c();
    let how = sort_all(&order, &|| stop.load(Ordering::Relaxed), &|told| {
        if let Some(problem) = told.problem {
            tell(problem);
        }
        print(&progress(told));
    });
    match how {
        Ok(how) => {
            if how.stopped {
                let all = order.photos.len();
                print(&format!("Stopped. {} of {all} photos are done; start it again to go on.\n", how.done));
            }
            print(&format!("Results are in {}.\n", order.out.display()));
            if how.failed == 0 && !how.stopped { Ending::Done } else { Ending::SomeFailed }
        }
        Err(problem) => {
            tell(&problem);
            Ending::SomeFailed
        }
    }
}

fn wanted(options: &SortOptions) -> Wanted {
    Wanted {
        folder: options.folder.clone(),
        out: options.out.clone(),
        references: options.references.clone(),
        card: options.card.clone(),
        known: options.known.clone(),
        confidence: options.confidence,
        threads: options.threads.map(usize::from),
    }
}

/// Set by the first Ctrl+C; a second one ends the program at once. Where the system gives no such signal, Ctrl+C ends it
/// as ever, and the tables of the last seconds are missing.
fn stop_on_ctrl_c() -> Arc<AtomicBool> {
    let stop = Arc::new(AtomicBool::new(false));
    let interrupt = signal_hook::consts::SIGINT;
    let _ = signal_hook::flag::register_conditional_shutdown(interrupt, 1, stop.clone());
    let _ = signal_hook::flag::register(interrupt, stop.clone());
    stop
}

fn progress(told: &Told) -> String {
    let Told { done, all, left, .. } = told;
    let left = match left.map(|left: Duration| left.as_secs()) {
        None => String::new(),
        Some(seconds @ 0..90) => format!("; about {} s left", seconds.max(1)),
        Some(seconds) => format!("; about {} min left", seconds.div_ceil(60)),
    };
    match told.line {
        Line::Sorted(sorted) => {
            let is_called = |call: &Call| matches!(call, Call::Shade(_));
            let called = sorted.parts.iter().filter(|part| part.call.as_ref().is_some_and(is_called)).count();
            let count = |n: usize, one: &str| format!("{n} {one}{}", if n == 1 { "" } else { "s" });
            let before = if told.was_known { ", sorted before" } else { "" };
            format!(
                "{done}/{all} {}: {}, {called} called, {}{before}{left}\n",
                sorted.photo,
                count(sorted.parts.len(), "part"),
                count(sorted.cards.len(), "card"),
            )
        }
        Line::Failed { photo, .. } => format!("{done}/{all} {photo}: not sorted{left}\n"),
    }
}

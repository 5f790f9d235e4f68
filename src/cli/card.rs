//! `sameshot card`: the page to print.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use super::Ending;
use super::output::{print, tell};
use crate::card::Variant;
use crate::card::page::{Paper, card_pdf};
use crate::problem::Problem;
use crate::storage::save_atomically;

/// The options of `sameshot card`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  sameshot card card.pdf\n  sameshot card --paper letter --strip card.pdf\n\nPrint it at 100 %, check the ruler, and calibrate the greys once as the page says."
)]
pub(super) struct CardOptions {
    /// The PDF file to write.
    #[arg(value_name = "FILE.pdf")]
    pub file: PathBuf,
    /// The paper in the printer.
    #[arg(long, value_enum, default_value = "a4")]
    pub paper: PaperName,
    /// With boxes for parts whose shade is known: the best help there is for telling near shades apart.
    #[arg(long)]
    pub strip: bool,
}

/// Paper sizes as they are typed.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub(super) enum PaperName {
    /// 210 × 297 mm
    A4,
    /// 8.5 × 11 inches
    Letter,
}

/// Writes the page.
pub(super) fn run(options: &CardOptions) -> Ending {
    let paper = match options.paper {
        PaperName::A4 => Paper::A4,
        PaperName::Letter => Paper::Letter,
    };
    let variant = if options.strip { Variant::WithStrip } else { Variant::Plain };
    let made = card_pdf(paper, variant)
        .map_err(|problem| Problem::new(format!("{problem}."), "Please report this."))
        .and_then(|bytes| save_atomically(&options.file, &bytes));
    match made {
        Ok(()) => {
            print(&format!("{}: print it at 100 % and check the ruler.\n", options.file.display()));
            Ending::Done
        }
        Err(problem) => {
            tell(&problem);
            Ending::SomeFailed
        }
    }
}

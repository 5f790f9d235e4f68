//! What can be said on the command line.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand};

use crate::rehearse::Boards;

/// Measures the plastic of vintage articulated figures in an ordinary photo with a grey card beside it, and
/// says which shade a part is and how sure that is.
///
/// Without a command the window opens.
#[derive(Debug, Parser)]
#[command(
    name = "sameshot",
    version,
    args_conflicts_with_subcommands = true,
    after_help = "Examples:\n  sameshot                          opens the window\n  sameshot bench.case.json          opens it with a case\n  sameshot measure bench.case.json  measures without a window\n  sameshot demo                     shows the whole on photos that come with it\n  sameshot measure --help           says more about one command"
)]
pub(super) struct Arguments {
    /// A photo or a case to open in the window.
    pub file: Option<PathBuf>,
    /// What to do instead of opening the window.
    #[command(subcommand)]
    pub command: Option<Command>,
}

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// Measures the photos that come with the program and shows the truth beside.
    Demo(DemoOptions),
    /// Makes the page with the grey card to print.
    Card(super::card::CardOptions),
    /// Measures the parts marked in cases: their colours with error bars, their shades, and which are of one plastic.
    Measure(MeasureOptions),
    /// Says who a figure is and which parts do not belong, from its shades and what was seen on it.
    Identify(IdentifyOptions),
    /// Writes a report of a case or of a collection: HTML, PDF, CSV or a short text.
    Report(super::report::ReportOptions),
    /// Builds the shades that parts are compared with, brings them in, takes them out and shows them.
    References(super::references::args::ReferencesArguments),
    /// Lists a folder of records, what is complete and what is wanted; adds figures to it.
    Collection(Box<super::collection::CollectionOptions>),
    /// Finds and sorts the loose parts in all photos of a folder, each beside a printed card.
    Sort(super::sort::SortOptions),
    /// Paints over a case's photo which shade is nearest and how clearly, with patterns as well as colour.
    Map(super::map::MapOptions),
    /// Measures invented scenes of known truth and counts how often the error bars and the calls are right.
    Rehearse(RehearseOptions),
    /// Fits the constants of the light model to photographs of charts; for those who work on the method.
    Learn(super::learn::LearnArguments),
}

/// The options of `sameshot identify`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  sameshot identify bench.case.json\n  sameshot identify --json --guide skerry-rescue.guide.json bench.case.json\n\nA case without readings is weighed by what was seen alone; its photo is not opened.\n\nExit status: 0 all weighed, 1 some case failed, 2 the call itself was wrong."
)]
pub(super) struct IdentifyOptions {
    /// Case files (*.case.json), or folders of them.
    #[arg(required = true, value_name = "CASE")]
    pub cases: Vec<PathBuf>,
    /// Prints one line of JSON for each case instead of text.
    #[arg(long)]
    pub json: bool,
    /// The guide to weigh with, in place of the one that the case names.
    #[arg(long, value_name = "FILE")]
    pub guide: Option<PathBuf>,
}

/// The options of `sameshot measure`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  sameshot measure bench.case.json\n  sameshot measure --json photos/ > results.jsonl\n\nExit status: 0 all measured, 1 some case failed, 2 the call itself was wrong."
)]
pub(super) struct MeasureOptions {
    /// Case files (*.case.json), or folders of them.
    #[arg(required = true, value_name = "CASE")]
    pub cases: Vec<PathBuf>,
    /// Prints one line of JSON for each case instead of tables.
    #[arg(long)]
    pub json: bool,
    /// The measured greys of your print of the card: the zones "step 1", "step 2", … take these values instead of those in
    /// the case.
    #[arg(long, value_name = "FILE.card.json")]
    pub card: Option<PathBuf>,
    /// A shade is called only when it is at least so probable.
    #[arg(long, default_value_t = 0.95, value_name = "PROBABILITY", value_parser = confidence)]
    pub confidence: f64,
    /// Seed of the random draws; the same seed gives the same result.
    #[arg(long, default_value_t = 1, value_name = "NUMBER")]
    pub seed: u64,
}

/// The options of `sameshot rehearse`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  sameshot rehearse\n  sameshot rehearse --json --scenes 20000 > table.json\n  sameshot rehearse --board seen\n  sameshot rehearse --photos 2\n\nA line of the table is one family of shades, what is known in the photo (a grey, the ladder of greys, a part of certain shade, …) and one light; the scenes are shared out evenly over the lines. What to look for: of the true colours 95 % or more should lie inside the 95 % region, and of what was decided at most 5 % may be wrong.\n\nA hundred scenes take about three seconds, those of the usual table two minutes."
)]
pub(super) struct RehearseOptions {
    /// Prints one line of JSON instead of tables.
    #[arg(long)]
    pub json: bool,
    /// Scenes altogether; each is measured with each of the things that may be known in it.
    #[arg(long, default_value_t = 4000, value_name = "NUMBER", value_parser = clap::value_parser!(u32).range(8..=1_000_000))]
    pub scenes: u32,
    /// Seed of the scenes; the same seed gives the same table.
    #[arg(long, default_value_t = 1, value_name = "NUMBER")]
    pub seed: u64,
    /// A plain board that teaches how the light falls: none, seen between the parts, or empty in a second photo.
    #[arg(long, default_value = "none", value_name = "BOARD", value_parser = board)]
    pub board: Boards,
    /// Photos of every scene, read together; all is laid anew for each.
    #[arg(long, default_value_t = 1, value_name = "NUMBER", value_parser = clap::value_parser!(u32).range(1..=8))]
    pub photos: u32,
}

/// The options of `sameshot demo`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  sameshot demo\n  sameshot demo /tmp/skerry\n\nEverything in the photos is invented: figures of Skerry Rescue by Ferrowick, pictured by a program from spectra.\n\nExit status: 0 all as it should be, 1 something failed, 2 the call itself was wrong."
)]
pub(super) struct DemoOptions {
    /// Where the photos, cases and result pictures go.
    #[arg(default_value = "sameshot-demo", value_name = "FOLDER")]
    pub folder: PathBuf,
    /// Makes the photos anew from spectra, as those that come with the program were made; takes minutes.
    #[arg(long)]
    pub render: bool,
}

fn board(text: &str) -> Result<Boards, String> {
    let named = Boards::ALL.into_iter().find(|board| board.name() == text);
    named.ok_or_else(|| "expected none, seen or empty".into())
}

pub(super) fn confidence(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(value) if value > 0.5 && value < 1.0 => Ok(value),
        _ => Err("expected a number above 0.5 and below 1, such as 0.95".into()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_arguments_are_sound() {
        use clap::CommandFactory;
        Arguments::command().debug_assert();
    }

    #[test]
    fn a_confidence_is_a_probability_above_one_half() {
        assert_eq!(confidence("0.975"), Ok(0.975));
        for text in ["0.5", "1", "95", "-1", "NaN", "inf", "x", ""] {
            assert!(confidence(text).is_err(), "{text}");
        }
    }
}

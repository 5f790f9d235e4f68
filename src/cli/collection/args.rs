//! The options of `sameshot collection`.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use crate::collection::SortBy;

/// The options of `sameshot collection`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  sameshot collection figures\n  sameshot collection figures --find \"keeper fair\" --missing\n  sameshot collection figures --add bench.case.json --price \"12.50 EUR\"\n  sameshot collection figures --check --references newer.shades.json\n\nThere is no index file: the list is made from the *.record.json files each time.\n\nExit status: 0 done, 1 some file failed, 2 the call itself was wrong."
)]
pub(in crate::cli) struct CollectionOptions {
    /// The folder with the records (*.record.json).
    #[arg(value_name = "FOLDER")]
    pub folder: PathBuf,
    /// Only records in which every one of these words stands somewhere.
    #[arg(long, value_name = "TEXT")]
    pub find: Option<String>,
    /// Only this character (its id in the guide).
    #[arg(long, value_name = "ID")]
    pub character: Option<String>,
    /// Only this production run.
    #[arg(long, value_name = "ID")]
    pub run: Option<String>,
    /// Only where a part was called this shade.
    #[arg(long, value_name = "ID")]
    pub shade: Option<String>,
    /// Only where who it is, or a part, is doubtful.
    #[arg(long)]
    pub doubtful: bool,
    /// Only where parts are missing.
    #[arg(long)]
    pub missing: bool,
    /// Only loose parts.
    #[arg(long)]
    pub loose_only: bool,
    /// What the table is ordered by.
    #[arg(long, value_enum, default_value_t = Order::Name)]
    pub sort: Order,
    /// Orders it the other way round.
    #[arg(long)]
    pub backwards: bool,
    /// Prints one line of JSON instead of text.
    #[arg(long)]
    pub json: bool,
    /// Follows paths that lead out of the folder; only for a collection that is yours.
    #[arg(long)]
    pub outside: bool,
    /// Measures this case and puts it into the collection; its files are copied in. May be given several times.
    #[arg(long, value_name = "CASE", conflicts_with_all = ["check", "update", "find", "json"])]
    pub add: Vec<PathBuf>,
    /// With --add: what to call it; without it the case's name.
    #[arg(long, value_name = "NAME", requires = "add")]
    pub name: Option<String>,
    /// With --add: these are loose parts and no figure.
    #[arg(long, requires = "add")]
    pub loose: bool,
    /// With --add: what state it is in.
    #[arg(long, value_name = "TEXT", requires = "add")]
    pub condition: Option<String>,
    /// With --add: where it was bought.
    #[arg(long, value_name = "TEXT", requires = "add")]
    pub bought: Option<String>,
    /// With --add: what was paid, with its currency.
    #[arg(long, value_name = "TEXT", requires = "add")]
    pub price: Option<String>,
    /// With --add: anything worth remembering.
    #[arg(long, value_name = "TEXT", requires = "add")]
    pub notes: Option<String>,
    /// With --add: copies nothing and names the files where they are.
    #[arg(long, requires = "add")]
    pub by_reference: bool,
    /// Lists what findings would say today, for those that rest on other references or another guide than there are
    /// now; writes nothing.
    #[arg(long)]
    pub check: bool,
    /// The same as --check, then adds the findings of today to the records.
    #[arg(long)]
    pub update: bool,
    /// With --check or --update: these references, for all records that were compared with references.
    #[arg(long, value_name = "FILE")]
    pub references: Option<PathBuf>,
    /// With --check or --update: this guide, for all records that were weighed with a guide.
    #[arg(long, value_name = "FILE")]
    pub guide: Option<PathBuf>,
}

/// Words for the orders.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(in crate::cli) enum Order {
    Name,
    Character,
    Doubt,
    Missing,
    DoubtfulParts,
    Date,
}

impl From<Order> for SortBy {
    fn from(order: Order) -> Self {
        match order {
            Order::Name => SortBy::Name,
            Order::Character => SortBy::Character,
            Order::Doubt => SortBy::Doubt,
            Order::Missing => SortBy::Missing,
            Order::DoubtfulParts => SortBy::DoubtfulParts,
            Order::Date => SortBy::Date,
        }
    }
}

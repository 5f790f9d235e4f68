//! `sameshot learn`: a table of photographed charts in, constants of the light model out.

use std::fs;
use std::path::{Path, PathBuf};
use std::time::Instant;

use clap::Args;

use super::Ending;
use super::output::{print, tell};
use crate::light::Constants;
use crate::light::charts::{Chart, charts_from_csv};
use crate::light::learn::{LearnOptions, learn, log_score};
use crate::problem::Problem;
use crate::storage::save_atomically;

/// The options of `sameshot learn`.
#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  sameshot learn tests/data/chart-patches-wide.csv \\\n    --leave-out source-09 --steps 20 --out constants.json\n\nA step takes about a second on one core with the default three charts a source. It never lowers the score of the charts learned from; that of the sources left out tells whether something general was learned."
)]
pub(super) struct LearnArguments {
    /// A table of photographed 24-patch charts (CSV: source, chart, patch, x, y, r, g, b, clipped).
    #[arg(value_name = "CHARTS.csv")]
    pub charts: PathBuf,
    /// A source not to learn from; may be given several times. Leave out all sources of one owner together.
    #[arg(long, value_name = "SOURCE")]
    pub leave_out: Vec<String>,
    /// How many constants to try a step of.
    #[arg(long, default_value_t = 90, value_name = "NUMBER")]
    pub steps: usize,
    /// At most so many charts of each source.
    #[arg(long, default_value_t = 3, value_name = "NUMBER", value_parser = at_least_one)]
    pub charts_per_source: usize,
    /// Only constants whose name starts so; may be given several times.
    #[arg(long, value_name = "NAME")]
    pub only: Vec<String>,
    /// Constants to start from, as this command writes them; those of the program without it.
    #[arg(long, value_name = "FILE")]
    pub start: Option<PathBuf>,
    /// Where to write the constants; they are only scored without it.
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
}

fn at_least_one(text: &str) -> Result<usize, String> {
    text.parse().ok().filter(|n| *n > 0).ok_or_else(|| "expected a whole number of at least 1".into())
}

/// Fits the constants and writes them.
pub(super) fn run(arguments: &LearnArguments) -> Ending {
    match learned(arguments) {
        Ok(()) => Ending::Done,
        Err(problem) => {
            tell(&problem);
            Ending::SomeFailed
        }
    }
}

fn learned(arguments: &LearnArguments) -> Result<(), Problem> {
    let start = match &arguments.start {
        Some(path) => constants_in(path)?,
        None => Constants::learned().clone(),
    };
    let (seen, left_out) = charts_in(&arguments.charts, &arguments.leave_out)?;
    let options = LearnOptions {
        steps: arguments.steps,
        charts_per_source: arguments.charts_per_source,
        only: arguments.only.clone(),
    };
    let began = Instant::now();
    print(&score_line("before", &seen, &left_out, &start));
    let constants = learn(&seen, &start, &options, |step| {
        let mark = if step.kept { "kept" } else { "left" };
        let seconds = began.elapsed().as_secs_f64();
        print(&format!("{:8.1} s  {:.5}  {mark}  {}\n", seconds, step.score, step.constant));
    })
    .ok_or_else(unsolvable)?;
    print(&score_line("after", &seen, &left_out, &constants));
    let Some(out) = &arguments.out else {
        return Ok(());
    };
    let text = serde_json::to_string_pretty(&constants).map_err(|error| {
        Problem::new(format!("The constants cannot be written as JSON: {error}."), "Please report this.")
    })?;
    save_atomically(out, (text + "\n").as_bytes())
}

/// The charts of the table, those of the sources left out apart.
fn charts_in(path: &Path, leave_out: &[String]) -> Result<(Vec<Chart>, Vec<Chart>), Problem> {
    let charts = charts_from_csv(&text_of(path)?).map_err(|problem| problem.in_file(path.display()))?;
    if let Some(unknown) = leave_out.iter().find(|name| charts.iter().all(|chart| chart.source != **name)) {
        return Err(Problem::new(
            format!("{}: there is no source \"{unknown}\" to leave out.", path.display()),
            "Name a source as the column \"source\" has it.",
        ));
    }
    let (left_out, seen): (Vec<Chart>, Vec<Chart>) =
        charts.into_iter().partition(|chart| leave_out.contains(&chart.source));
    if seen.is_empty() {
        return Err(Problem::new(
            format!("{}: no chart is left to learn from.", path.display()),
            "Leave fewer sources out, or name a table with charts.",
        ));
    }
    Ok((seen, left_out))
}

fn constants_in(path: &Path) -> Result<Constants, Problem> {
    serde_json::from_str(&text_of(path)?).map_err(|error| {
        Problem::new(
            format!("{}: these are no constants of the light model: {error}.", path.display()),
            "Start from a file that sameshot learn wrote, or from none.",
        )
    })
}

fn text_of(path: &Path) -> Result<String, Problem> {
    fs::read_to_string(path).map_err(|error| {
        Problem::new(format!("{} cannot be read: {error}.", path.display()), "Check the name and the file.")
    })
}

fn score_line(when: &str, seen: &[Chart], left_out: &[Chart], constants: &Constants) -> String {
    let of =
        |charts: &[Chart]| log_score(charts, constants).map_or("none".into(), |score| format!("{score:.4}"));
    let mut line = format!("{when}: log score {} over {} charts", of(seen), seen.len());
    if !left_out.is_empty() {
        line += &format!(", {} over the {} left out", of(left_out), left_out.len());
    }
    line + "\n"
}

fn unsolvable() -> Problem {
    Problem::new(
        "The model cannot be solved with the constants it was to start from.",
        "Check that no standard deviation in that file is zero or negative.",
    )
}

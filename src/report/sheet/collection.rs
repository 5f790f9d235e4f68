//! A whole collection as a report: every record, what is complete, what is wanted, and what would fit.

use super::blocks::{Blocks, Sort, words};
use super::content::{Content, made};
use super::csv::{cell, csv_text};
use super::plain::name_of;
use super::{Axis, html, pdf};
use crate::collection::{IssueTotal, LineTotals, Row, Totals};
use crate::figure::name_and_run;
use crate::measure::Measurement;
use crate::problem::Problem;
use crate::report::collection::{counts_words, spare_words, totals_text, want_words, who_words};

/// All that the report of a collection tells of.
#[derive(Debug, Clone, Copy)]
pub struct CollectionInputs<'a> {
    /// The folder's name, for the title.
    pub name: &'a str,
    /// The day, year-month-day, or empty.
    pub date: &'a str,
    /// The records.
    pub rows: &'a [Row],
    /// What it has and lacks.
    pub totals: &'a Totals,
}

const CAUTION: &str =
    "The findings in this list are opinions from photos: no authentication and no appraisal.";

/// The report as one HTML file that needs no other.
pub fn collection_html(inputs: &CollectionInputs) -> String {
    html::page(&content(inputs), None)
}

/// The report as PDF, A4.
pub fn collection_pdf(inputs: &CollectionInputs) -> Result<Vec<u8>, Problem> {
    pdf::document(&content(inputs), None)
}

/// A row a record.
pub fn collection_csv(inputs: &CollectionInputs) -> Result<String, Problem> {
    let head = [
        "record",
        "name",
        "character",
        "run",
        "probability",
        "settled",
        "shades",
        "missing",
        "doubtful",
        "date",
        "price",
    ];
    let rows = inputs.rows.iter().map(|row| {
        let who = row.who.as_ref();
        let text = |text: Option<&String>| cell(text.map_or("", |text| text));
        vec![
            cell(&row.file),
            cell(&row.name),
            text(who.map(|who| &who.character)),
            text(who.map(|who| &who.run)),
            who.map(|who| who.probability.to_string()).unwrap_or_default(),
            row.settled.to_string(),
            cell(&row.shades.join(" ")),
            cell(&row.missing.join(" ")),
            cell(&row.doubtful.join(" ")),
            text(row.date.as_ref()),
            text(row.price.as_ref()),
        ]
    });
    csv_text(std::iter::once(head.map(str::to_owned).into()).chain(rows))
}

/// A short text for a message.
pub fn collection_message(inputs: &CollectionInputs) -> String {
    format!("{}\n{}\n\n{CAUTION}\n", title(inputs), totals_text(inputs.totals))
}

fn title(inputs: &CollectionInputs) -> String {
    format!("The collection {}", name_of(inputs.name))
}

fn content(inputs: &CollectionInputs) -> Content {
    let mut blocks = Blocks::default();
    blocks.caution(CAUTION);
    blocks.text(counts_words(inputs.totals));
    inputs.totals.lines.iter().for_each(|line| line_blocks(line, &mut blocks));
    blocks.heading("Every record");
    blocks.table(
        "What is kept, in the order of the files",
        [
            ("name", Sort::Words, 0.25),
            ("who it is", Sort::Words, 0.27),
            ("missing", Sort::Words, 0.16),
            ("doubtful", Sort::Words, 0.16),
            ("date", Sort::Words, 0.16),
        ],
        inputs.rows.iter().map(|row| {
            let list = |slots: &[String]| name_of(&slots.join(", "));
            let date = row.date.as_deref().unwrap_or("no finding");
            let [missing, doubtful] = [&row.missing, &row.doubtful].map(|slots| list(slots));
            [name_of(&row.name), who_words(row), missing, doubtful, name_of(date)].map(words)
        }),
    );
    Content {
        title: title(inputs),
        subtitle: made(inputs.date),
        photo_described: String::new(),
        blocks: blocks.0,
        axis: Axis::of(&Measurement::default()),
        footer: "Opinions from photos.",
    }
}

fn line_blocks(line: &LineTotals, blocks: &mut Blocks) {
    blocks.heading(name_of(&line.line));
    blocks.table(
        "Every character in every run",
        [
            ("character and run", Sort::Words, 0.45),
            ("state", Sort::Words, 0.43),
            ("at hand", Sort::Number, 0.12),
        ],
        line.issues.iter().map(|issue: &IssueTotal| {
            [
                words(name_of(&name_and_run(&issue.character, &issue.run))),
                words(issue.state.words()),
                words(issue.figures.to_string()),
            ]
        }),
    );
    let wanted = line.wants.iter().map(|want| {
        let spares: Vec<String> = want.spares.iter().take(4).map(spare_words).collect();
        let spares = if spares.is_empty() { String::new() } else { format!(": {}", spares.join("; ")) };
        format!("{}{spares}", want_words(want))
    });
    blocks.list_under("Wanted parts, and what at hand would do", wanted);
}

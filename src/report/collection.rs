//! A collection as text for a terminal: a line a record, then what is complete, wanted, and what would help.

use std::fmt::Write;

use unicode_width::UnicodeWidthStr;

use super::sheet::name_of;
use super::words::percent;
use crate::collection::{Fit, Holds, IssueState, Row, Spare, Totals, Want, Why};
use crate::figure::name_and_run;

/// Columns are at least and at most so wide.
const NARROWEST: usize = 8;
const WIDEST: usize = 34;

/// The table of rows, chosen and ordered by their numbers.
pub fn collection_table(rows: &[Row], chosen: &[usize], width: usize) -> String {
    if chosen.is_empty() {
        return "No record agrees.\n".into();
    }
    let head = ["name", "who", "shades", "missing", "doubtful", "date"].map(str::to_owned);
    let cells: Vec<[String; 6]> = chosen.iter().filter_map(|i| rows.get(*i)).map(cells).collect();
    let mut widths = [0, 1, 2, 3, 4, 5].map(|column: usize| {
        let all = std::iter::once(&head).chain(&cells).map(|row| row[column].width());
        all.max().unwrap_or(0).clamp(NARROWEST, WIDEST)
    });
    // The widest column gives way first.
    while widths.iter().sum::<usize>() + 2 * 5 > width.max(60) {
        let Some(widest) = widths.iter_mut().max().filter(|w| **w > NARROWEST) else { break };
        *widest -= 1;
    }
    let mut out = String::new();
    for row in std::iter::once(&head).chain(&cells) {
        let line: Vec<String> = row.iter().zip(widths).map(|(text, width)| fitted(text, width)).collect();
        let _ = writeln!(out, "{}", line.join("  ").trim_end());
    }
    out
}

fn cells(row: &Row) -> [String; 6] {
    let list = |slots: &[String]| slots.iter().map(|slot| name_of(slot)).collect::<Vec<_>>().join(", ");
    let date = row.date.as_deref().map_or("no finding".into(), name_of);
    [name_of(&row.name), who_words(row), list(&row.shades), list(&row.missing), list(&row.doubtful), date]
}

/// Who a record is, in a few words.
pub fn who_words(row: &Row) -> String {
    let who = row.who.as_ref().map(|who| {
        let name = name_of(&name_and_run(&who.character, &who.run));
        format!("{name}, {}", percent(who.probability))
    });
    match (row.holds, who) {
        (Holds::LooseParts, _) => "loose parts".into(),
        (_, None) => "not weighed".into(),
        (_, Some(who)) if row.settled => who,
        (_, Some(who)) => format!("undecided: {who}"),
    }
}

/// A text as wide as a column, cut where it is too long.
fn fitted(text: &str, width: usize) -> String {
    let mut out = String::new();
    let too_long = text.width() > width;
    let room = if too_long { width.saturating_sub(1) } else { width };
    for letter in text.chars() {
        if out.width() + letter.to_string().width() > room {
            break;
        }
        out.push(letter);
    }
    if too_long {
        out.push('…');
    }
    out.extend(std::iter::repeat_n(' ', width.saturating_sub(out.width())));
    out
}

/// The totals in words.
pub fn totals_text(totals: &Totals) -> String {
    let mut out = format!("{}\n", counts_words(totals));
    for line in &totals.lines {
        let _ = writeln!(out, "\n{}", name_of(&line.line));
        for state in [
            IssueState::Complete,
            IssueState::CompleteAsFarAsSeen,
            IssueState::Incomplete,
            IssueState::Wanted,
        ] {
            let of_it = line.issues.iter().filter(|issue| issue.state == state);
            let names: Vec<String> =
                of_it.map(|issue| name_of(&name_and_run(&issue.character, &issue.run))).collect();
            if !names.is_empty() {
                let _ = writeln!(out, "  {} ({}): {}", state.words(), names.len(), names.join("; "));
            }
        }
        if !line.wants.is_empty() {
            out.push_str("  wanted parts:\n");
        }
        for want in &line.wants {
            let _ = writeln!(out, "    {}", want_words(want));
            for spare in &want.spares {
                let _ = writeln!(out, "      {}", spare_words(spare));
            }
        }
    }
    out
}

/// How much there is.
pub fn counts_words(totals: &Totals) -> String {
    let count = |n: usize, one: &str, many: &str| format!("{n} {}", if n == 1 { one } else { many });
    format!(
        "{}, {} undecided; {} of loose parts.",
        count(totals.figures, "figure", "figures"),
        totals.undecided,
        count(totals.loose, "record", "records")
    )
}

/// A part that a figure wants.
pub fn want_words(want: &Want) -> String {
    let why = match want.why {
        Why::Missing => "missing",
        Why::DoesNotBelong => "the one there does not belong",
    };
    let looks: Vec<String> = want.looks.iter().map(|look| name_of(look)).collect();
    let looks = if looks.is_empty() { String::new() } else { format!(" (wanted: {})", looks.join(", ")) };
    let who = name_of(&name_and_run(&want.character, &want.run));
    let [slot, name] = [&want.slot_name, &want.name].map(|text| name_of(text));
    format!("{slot} of {name}, {who}: {why}{looks}")
}

/// A part at hand that would do.
pub fn spare_words(spare: &Spare) -> String {
    let fit = match spare.fit {
        Fit::Fits => "fits",
        Fit::MayFit => "may fit",
    };
    let place = if spare.on_a_figure { "on, but not of," } else { "of" };
    format!("{fit}: {} {place} {}", name_of(&spare.part), name_of(&spare.name))
}

//! What a collection has and lacks: each line as a table of its characters by its runs, then the parts that are wanted.

use egui::{
    Painter, Pos2, Rect, Role, ScrollArea, Sense, Shape, Stroke, StrokeKind, Ui, WidgetInfo, pos2, vec2,
};

use crate::collection::{IssueState, IssueTotal, LineTotals, Totals};
use crate::figure::name_and_run;
use crate::report::{spare_words, want_words};

use crate::app::results::bars::{cut_text, hatch};
use crate::app::scrolling::by_keys;
use crate::app::theme::{self, Palette};

/// A line of the page. All are equally high, so that only those in sight are laid out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::app) enum Entry {
    /// The name of a line, and what is at hand of it.
    Head(String),
    /// The runs, above their columns.
    Runs(Vec<String>),
    /// A character, and what there is of it in each run; `None` where it was not made.
    Character(String, Vec<Option<IssueTotal>>),
    /// Words, set in so far.
    Words(usize, String),
    /// Nothing.
    Gap,
}

/// All lines of the page.
pub(in crate::app) fn entries(totals: &Totals) -> Vec<Entry> {
    totals.lines.iter().flat_map(of_line).collect()
}

fn of_line(line: &LineTotals) -> Vec<Entry> {
    let at_hand = line.issues.iter().filter(|issue| issue.figures > 0).count();
    let mut entries = vec![Entry::Head(format!("{}: {at_hand} of {} at hand", line.line, line.issues.len()))];
    let runs = runs(line);
    let words = |run: &&str| name_and_run("", run).trim_start_matches(", ").to_owned();
    entries.push(Entry::Runs(runs.iter().map(words).collect()));
    for of_one in line.issues.chunk_by(|a, b| a.character == b.character) {
        let cell = |run: &&str| of_one.iter().find(|issue| issue.run == *run).cloned();
        let name = of_one.first().map(|issue| issue.character.clone()).unwrap_or_default();
        entries.push(Entry::Character(name, runs.iter().map(cell).collect()));
    }
    entries.push(Entry::Gap);
    let heading = if line.wants.is_empty() { "No part is wanted" } else { "Wanted parts" };
    entries.push(Entry::Head(heading.into()));
    for want in &line.wants {
        entries.push(Entry::Words(0, want_words(want)));
        entries.extend(want.spares.iter().map(|spare| Entry::Words(1, spare_words(spare))));
    }
    entries.push(Entry::Gap);
    entries
}

/// The runs, in the order of the character that was made in most of them.
fn runs(line: &LineTotals) -> Vec<&str> {
    let characters = line.issues.chunk_by(|a, b| a.character == b.character);
    let most = characters.max_by_key(|issues| issues.len()).unwrap_or_default();
    let mut runs: Vec<&str> = Vec::new();
    for issue in most.iter().chain(&line.issues) {
        if !runs.contains(&issue.run.as_str()) {
            runs.push(&issue.run);
        }
    }
    runs
}

/// Widest column of names, and of a run.
const COLUMN: f32 = 230.0;
/// Side of the box in a cell.
const BOX: f32 = 13.0;

/// Shows the page.
pub(super) fn show(ui: &mut Ui, entries: &[Entry]) {
    ui.spacing_mut().item_spacing.y = 0.0;
    ScrollArea::vertical().auto_shrink(false).show_rows(ui, theme::BAR_ROW, entries.len(), |ui, range| {
        by_keys(ui);
        for entry in entries.get(range).unwrap_or_default() {
            let size = vec2(ui.available_width(), theme::BAR_ROW);
            let (rect, _) = ui.allocate_exact_size(size, Sense::hover());
            one(ui, rect, entry);
        }
    });
}

fn one(ui: &Ui, rect: Rect, entry: &Entry) {
    let grey = theme::palette(ui);
    let text = |rect: Rect, words: &str, ink| {
        cut_text(ui.painter(), rect.left_center(), rect.width() - theme::SPACE_M, words, ink);
    };
    match entry {
        Entry::Head(words) => {
            let font = egui::FontId::proportional(theme::TYPE_HEADING);
            ui.painter().text(rect.left_center(), egui::Align2::LEFT_CENTER, words, font, grey.text);
            named(ui, rect, words);
        }
        Entry::Runs(runs) => {
            for (column, run) in runs.iter().enumerate() {
                text(cell(rect, column + 1, runs.len()), run, grey.weak);
            }
        }
        Entry::Character(name, cells) => {
            text(cell(rect, 0, cells.len()), name, grey.text);
            let width = cell(rect, 0, cells.len()).width() * (cells.len() + 1) as f32;
            let line = Stroke::new(1.0, grey.line);
            ui.painter().hline(rect.left()..=rect.left() + width, rect.top(), line);
            for (column, issue) in cells.iter().enumerate() {
                let cell = cell(rect, column + 1, cells.len());
                match issue {
                    Some(issue) => state(ui, cell, issue, grey),
                    None => text(cell, "not made", grey.weak),
                }
            }
        }
        Entry::Words(depth, words) => {
            let inset = *depth as f32 * theme::SPACE_XL;
            let at = pos2(rect.left() + inset, rect.center().y);
            cut_text(ui.painter(), at, rect.width() - inset, words, grey.text);
            named(ui, rect, words);
        }
        Entry::Gap => {}
    }
}

/// A column of a table of one column of names and so many runs.
fn cell(row: Rect, column: usize, runs: usize) -> Rect {
    let width = (row.width() / (runs + 1) as f32).min(COLUMN);
    Rect::from_min_size(row.min + vec2(column as f32 * width, 0.0), vec2(width, row.height()))
}

/// How complete the best figure is, as a box and in words.
fn state(ui: &Ui, cell: Rect, issue: &IssueTotal, grey: &Palette) {
    let painter = ui.painter();
    let square = Rect::from_center_size(cell.left_center() + vec2(BOX / 2.0, 0.0), vec2(BOX, BOX));
    let said = match issue.figures {
        0 | 1 => issue.state.words().to_owned(),
        n => format!("{}, the best of {n}", issue.state.words()),
    };
    mark(painter, square, issue.state, grey);
    let at: Pos2 = pos2(square.right() + theme::SPACE_M, cell.center().y);
    let ink = if issue.state == IssueState::Wanted { grey.weak } else { grey.text };
    cut_text(painter, at, cell.right() - at.x - theme::SPACE_M, &said, ink);
    named(ui, cell, &format!("{}: {said}", name_and_run(&issue.character, &issue.run)));
}

/// Filled: complete; filled in part: as far as seen; slanting lines: incomplete; a dashed box: none.
fn mark(painter: &Painter, rect: Rect, state: IssueState, grey: &Palette) {
    let outline = Stroke::new(1.0, grey.text);
    match state {
        IssueState::Complete => {
            painter.rect_filled(rect, 2.0, grey.bar);
        }
        IssueState::CompleteAsFarAsSeen => {
            painter.rect_filled(rect.shrink(3.0), 1.0, grey.bar);
            painter.rect_stroke(rect, 2.0, outline, StrokeKind::Inside);
        }
        IssueState::Incomplete => {
            hatch(&painter.with_clip_rect(rect.intersect(painter.clip_rect())), rect, 4.0, outline);
            painter.rect_stroke(rect, 2.0, outline, StrokeKind::Inside);
        }
        IssueState::Wanted => {
            let corners =
                [rect.left_top(), rect.right_top(), rect.right_bottom(), rect.left_bottom(), rect.left_top()];
            painter.extend(Shape::dashed_line(&corners, Stroke::new(1.0, grey.weak), 2.5, 2.5));
        }
    }
}

/// Names what is painted there.
fn named(ui: &Ui, rect: Rect, words: &str) {
    let response = ui.interact(rect, ui.scope_id().with(words), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, words));
}

#[cfg(test)]
mod tests {
    use super::*;

    fn issue(character: &str, run: &str) -> IssueTotal {
        let (character, run) = (character.to_owned(), run.to_owned());
        IssueTotal { character, run, state: IssueState::Wanted, figures: 0, best: None }
    }

    #[test]
    fn a_character_stands_once_with_each_run_in_its_column() {
        let issues = vec![issue("Radio Hand", "second"), issue("Keeper", "first"), issue("Keeper", "second")];
        let line = LineTotals { line: "Skerry Rescue".into(), issues: issues.clone(), wants: Vec::new() };
        let entries = entries(&Totals { lines: vec![line], ..Totals::default() });
        let [radio, first, second] = [0, 1, 2].map(|n| Some(issues[n].clone()));
        let expected = [
            Entry::Head("Skerry Rescue: 0 of 3 at hand".into()),
            Entry::Runs(vec!["first run".into(), "second run".into()]),
            Entry::Character("Radio Hand".into(), vec![None, radio]),
            Entry::Character("Keeper".into(), vec![first, second]),
            Entry::Gap,
            Entry::Head("No part is wanted".into()),
            Entry::Gap,
        ];
        assert_eq!(entries, expected);
    }
}

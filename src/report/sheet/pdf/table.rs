//! A table: rows that are never broken over pages, its head again on each page.

use krilla::tagging::{TableHeaderScope, Tag, TagKind};

use super::flow::{Flow, LEADING, corners};
use super::{BREADTH, Drawing, MARGIN, Part, Pen};
use crate::report::sheet::Interval;
use crate::report::sheet::bars::{bar, labels};
use crate::report::sheet::blocks::{Cell, Sort, Table};

const SIZE: f32 = 8.5;
/// Free between columns, and over and under a row's words.
const GAP: f32 = 8.0;
const PAD: f32 = 2.5;
/// The axis of a bar keeps this free at both ends.
const EDGE: f32 = 8.0;
const FAINT: f32 = 0.35;
const RULE: Pen = Pen { width: 0.4, grey: 0.6, is_dashed: false };

pub(super) fn place(flow: &mut Flow, table: &Table) {
    let mut parts = Vec::new();
    flow.need(90.0);
    let caption = flow.leaf();
    for line in flow.letters.lines(&table.caption, SIZE, BREADTH) {
        flow.y += SIZE * LEADING;
        let at = [MARGIN, flow.y - 3.0];
        flow.put(Some(caption), Drawing::Words { at, size: SIZE, grey: FAINT, text: line });
    }
    parts.push(Part::Leaf(TagKind::Caption(Tag::Caption), caption));
    let leaves: Vec<usize> = table.columns.iter().map(|_| flow.leaf()).collect();
    head(flow, table, Some(&leaves));
    let cells = leaves.into_iter();
    let cells = cells.map(|leaf| Part::Leaf(TagKind::TH(Tag::TH(TableHeaderScope::Column)), leaf)).collect();
    parts.push(Part::Group(TagKind::TR(Tag::TR), cells));
    for cells in &table.rows {
        parts.push(row(flow, table, cells));
    }
    flow.y += 8.0;
    flow.parts.push(Part::Group(TagKind::Table(Tag::Table), parts));
}

/// Left ends and breadths of the columns.
fn lanes(table: &Table) -> Vec<[f32; 2]> {
    let mut left = MARGIN;
    let lane = |width: f32| {
        let lane = [left, width * BREADTH - GAP];
        left += width * BREADTH;
        lane
    };
    table.columns.iter().map(|column| column.width).map(lane).collect()
}

/// The names of the columns; without leaves where they stand again on a further page.
fn head(flow: &mut Flow, table: &Table, leaves: Option<&[usize]>) {
    let lanes = lanes(table);
    let set = table.columns.iter().zip(&lanes).map(|(c, lane)| flow.letters.lines(c.name, SIZE, lane[1]));
    let set: Vec<Vec<String>> = set.collect();
    let height = set.iter().map(Vec::len).max().unwrap_or(1) as f32 * SIZE * LEADING + PAD;
    for (index, (column, lines)) in table.columns.iter().zip(set).enumerate() {
        let lane = lanes[index];
        let leaf = leaves.and_then(|leaves| leaves.get(index).copied());
        // The scale stands where a bar's column has its name; its name is "bar" for screen readers and eyes alike.
        let lines = if column.sort == Sort::Bar { scale(flow, lane, height, leaf) } else { lines };
        let top = flow.y + height - lines.len() as f32 * SIZE * LEADING;
        put_lines(flow, leaf, lines, top, lane, (column.sort, FAINT));
    }
    flow.y += height;
    rule(flow);
}

/// The numbers of the axis, written by this function itself.
fn scale(flow: &mut Flow, lane: [f32; 2], height: f32, leaf: Option<usize>) -> Vec<String> {
    for (share, label) in labels(&flow.axis) {
        let x = x_of(lane, share) - flow.letters.width(&label, SIZE) / 2.0;
        let at = [x, flow.y + height - 3.5];
        flow.put(leaf, Drawing::Words { at, size: SIZE, grey: FAINT, text: label });
    }
    Vec::new()
}

fn row(flow: &mut Flow, table: &Table, cells: &[Cell]) -> Part {
    let lanes = lanes(table);
    let lines_of = |flow: &Flow, cell: &Cell, lane: [f32; 2]| match cell {
        Cell::Words(text) => flow.letters.lines(text, SIZE, lane[1]),
        Cell::Bar { .. } => Vec::new(),
    };
    let set: Vec<Vec<String>> = cells.iter().zip(&lanes).map(|(c, lane)| lines_of(flow, c, *lane)).collect();
    let height = set.iter().map(Vec::len).max().unwrap_or(1).max(1) as f32 * SIZE * LEADING + 2.0 * PAD;
    if flow.need(height) {
        head(flow, table, None);
    }
    let mut parts = Vec::new();
    for (index, ((cell, column), (lines, lane))) in
        cells.iter().zip(&table.columns).zip(set.into_iter().zip(&lanes)).enumerate()
    {
        let leaf = flow.leaf();
        let top = flow.y + PAD;
        put_lines(flow, Some(leaf), lines, top, *lane, (column.sort, 0.0));
        parts.push(match cell {
            Cell::Bar { interval, is_called } => {
                draw_bar(flow, leaf, interval, *is_called, (*lane, height));
                let said = format!(
                    "bar: median {:.1}, 95 % from {:.1} to {:.1}",
                    interval.median, interval.low, interval.high
                );
                let figure = Part::Leaf(TagKind::Figure(Tag::Figure(Some(said))), leaf);
                Part::Group(TagKind::TD(Tag::TD), vec![figure])
            }
            Cell::Words(_) if index == 0 => Part::Leaf(TagKind::TH(Tag::TH(TableHeaderScope::Row)), leaf),
            Cell::Words(_) => Part::Leaf(TagKind::TD(Tag::TD), leaf),
        });
    }
    flow.y += height;
    rule(flow);
    Part::Group(TagKind::TR(Tag::TR), parts)
}

fn put_lines(
    flow: &mut Flow,
    leaf: Option<usize>,
    lines: Vec<String>,
    top: f32,
    [left, room]: [f32; 2],
    (sort, grey): (Sort, f32),
) {
    for (index, text) in lines.into_iter().enumerate() {
        let shift = if sort == Sort::Number { room - flow.letters.width(&text, SIZE) } else { 0.0 };
        let at = [left + shift, top + (index as f32 + 1.0) * SIZE * LEADING - 3.5];
        flow.put(leaf, Drawing::Words { at, size: SIZE, grey, text });
    }
}

fn rule(flow: &mut Flow) {
    let line = vec![[MARGIN, flow.y], [MARGIN + BREADTH, flow.y]];
    flow.put(None, Drawing::Outline { corners: line, pen: RULE });
}

fn x_of([left, room]: [f32; 2], share: f64) -> f32 {
    left + EDGE + share as f32 * (room - 2.0 * EDGE)
}

fn draw_bar(
    flow: &mut Flow,
    leaf: usize,
    interval: &Interval,
    is_called: bool,
    (lane, height): ([f32; 2], f32),
) {
    let bar = bar(&flow.axis, interval);
    let (top, middle) = (flow.y, flow.y + height / 2.0);
    let ticks: Vec<f32> = flow.axis.ticks().map(|tick| x_of(lane, flow.axis.place(tick))).collect();
    for x in ticks {
        let pen = Pen { width: 0.4, grey: 0.8, is_dashed: false };
        flow.put(None, Drawing::Outline { corners: vec![[x, top], [x, top + height]], pen });
    }
    let [low, median, high] = [bar.low, bar.median, bar.high].map(|share| x_of(lane, share));
    let thick = if is_called { 4.6 } else { 1.6 };
    let mut filled =
        |corners: Vec<[f32; 2]>, grey: f32| flow.put(Some(leaf), Drawing::Filled { corners, grey });
    filled(corners([low, middle - thick / 2.0], [(high - low).max(0.8), thick]), 0.0);
    filled(corners([low - 0.6, middle - 4.0], [1.2, 8.0]), 0.0);
    filled(
        match bar.leaves {
            true => vec![[high, middle - 4.0], [high + 6.5, middle], [high, middle + 4.0]],
            false => corners([high - 0.6, middle - 4.0], [1.2, 8.0]),
        },
        0.0,
    );
    filled(disc([median, middle], 3.6), 0.0);
    filled(disc([median, middle], 2.2), 1.0);
}

fn disc([x, y]: [f32; 2], radius: f32) -> Vec<[f32; 2]> {
    let angle = |i: u8| f64::from(i) * std::f64::consts::TAU / 20.0;
    (0..20)
        .map(|i| [x + radius * libm::cos(angle(i)) as f32, y + radius * libm::sin(angle(i)) as f32])
        .collect()
}

//! The pieces that every report is made of, and how they are put one after the other.

use super::Interval;
use super::diagram::Diagram;

/// A piece of a report.
pub(super) enum Block {
    Heading(String),
    Subheading(String),
    Text(String),
    /// Set off from the rest.
    Caution(String),
    List(Vec<String>),
    Photo,
    Diagram(Diagram),
    Table(Table),
}

/// A table; the first cell of each row names the row.
pub(super) struct Table {
    pub caption: String,
    pub columns: Vec<Column>,
    pub rows: Vec<Vec<Cell>>,
}

/// A column: its name, how it is set, and its share of the width.
pub(super) struct Column {
    pub name: &'static str,
    pub sort: Sort,
    pub width: f32,
}

#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Sort {
    Words,
    Number,
    Bar,
}

pub(super) enum Cell {
    Words(String),
    Bar { interval: Interval, is_called: bool },
}

pub(super) fn words(text: impl Into<String>) -> Cell {
    Cell::Words(text.into())
}

/// A report being put together.
#[derive(Default)]
pub(super) struct Blocks(pub(super) Vec<Block>);

impl Blocks {
    pub(super) fn heading(&mut self, text: impl Into<String>) {
        self.0.push(Block::Heading(text.into()));
    }

    pub(super) fn subheading(&mut self, text: impl Into<String>) {
        self.0.push(Block::Subheading(text.into()));
    }

    pub(super) fn text(&mut self, text: impl Into<String>) {
        self.0.push(Block::Text(text.into()));
    }

    pub(super) fn caution(&mut self, text: impl Into<String>) {
        self.0.push(Block::Caution(text.into()));
    }

    /// A list; nothing where it is empty.
    pub(super) fn list(&mut self, lines: impl IntoIterator<Item = String>) {
        let lines: Vec<String> = lines.into_iter().collect();
        if !lines.is_empty() {
            self.0.push(Block::List(lines));
        }
    }

    /// A list under a heading of its own; nothing at all where it is empty.
    pub(super) fn list_under(&mut self, heading: &str, lines: impl IntoIterator<Item = String>) {
        let mut lines = lines.into_iter().peekable();
        if lines.peek().is_some() {
            self.subheading(heading);
            self.list(lines);
        }
    }

    pub(super) fn photo(&mut self) {
        self.0.push(Block::Photo);
    }

    pub(super) fn diagram(&mut self, diagram: Diagram) {
        self.0.push(Block::Diagram(diagram));
    }

    pub(super) fn table<const N: usize>(
        &mut self,
        caption: impl Into<String>,
        columns: [(&'static str, Sort, f32); N],
        rows: impl IntoIterator<Item = [Cell; N]>,
    ) {
        self.0.push(Block::Table(Table {
            caption: caption.into(),
            columns: columns.into_iter().map(|(name, sort, width)| Column { name, sort, width }).collect(),
            rows: rows.into_iter().map(Vec::from).collect(),
        }));
    }
}

//! Cells of a table with their places in its text, so that every error names line and column.

use crate::problem::Problem;

/// A piece of text and where it begins; lines and columns count from 1, columns in characters.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Cell {
    pub text: String,
    pub line: usize,
    pub column: usize,
}

/// A table as it was written.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Sheet {
    /// What stands before the table: a name in capitals and its value.
    pub header: Vec<(String, Cell)>,
    /// Names of the columns.
    pub fields: Vec<Cell>,
    /// The rows, each as long as `fields`.
    pub rows: Vec<Vec<Cell>>,
}

impl Cell {
    /// A problem at this place.
    pub(super) fn problem(&self, what: impl AsRef<str>, remedy: impl Into<String>) -> Problem {
        at(self.line, self.column, what, remedy)
    }
}

/// A problem at a place of the text.
pub(super) fn at(line: usize, column: usize, what: impl AsRef<str>, remedy: impl Into<String>) -> Problem {
    Problem::new(format!("Line {line}, column {column}: {}.", what.as_ref()), remedy)
}

impl Sheet {
    /// The column of a name, whatever its case, in any of several spellings.
    pub(super) fn field(&self, names: &[&str]) -> Option<usize> {
        self.fields.iter().position(|field| names.contains(&plain(&field.text).as_str()))
    }

    /// The text of a cell where the column exists and the cell is not empty.
    pub(super) fn text<'a>(&self, row: &'a [Cell], column: Option<usize>) -> Option<&'a Cell> {
        column.and_then(|column| row.get(column)).filter(|cell| !cell.text.trim().is_empty())
    }

    /// A value of the header.
    pub(super) fn header(&self, name: &str) -> Option<&Cell> {
        self.header.iter().find(|(key, _)| key == name).map(|(_, value)| value)
    }
}

/// A column's name in capitals, with everything that is neither letter nor figure as one underscore: "Lab L*" and
/// "LAB_L" are the same.
pub(super) fn plain(name: &str) -> String {
    let mut plain = String::new();
    for c in name.trim().chars() {
        if c.is_alphanumeric() || c == '.' {
            plain.extend(c.to_uppercase());
        } else if !plain.ends_with('_') {
            plain.push('_');
        }
    }
    plain.trim_matches('_').to_owned()
}

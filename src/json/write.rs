//! Document → text: the outer levels over several lines, every mark on a line of its own, so that people and
//! version control see what changed.

use std::io;

use serde::Serialize;
use serde_json::ser::{Formatter, Serializer};

use crate::problem::Problem;

/// JSON text with a final line break. Objects and lists more than `open_levels` deep stay on one line.
/// Numbers are written so that they read back exactly.
pub fn to_text(document: &impl Serialize, open_levels: usize) -> Result<String, Problem> {
    let mut bytes = Vec::new();
    let style = MarkALine { open_levels, depth: 0, filled: false };
    let unwritable = |error: String| {
        Problem::new(
            format!("The document cannot be written as JSON ({error})."),
            "Undo the last change and save again.",
        )
    };
    document
        .serialize(&mut Serializer::with_formatter(&mut bytes, style))
        .map_err(|error| unwritable(error.to_string()))?;
    bytes.push(b'\n');
    String::from_utf8(bytes).map_err(|error| unwritable(error.to_string()))
}

struct MarkALine {
    open_levels: usize,
    depth: usize,
    /// Whether the innermost list or object has entries yet.
    filled: bool,
}

impl MarkALine {
    fn begin<W: ?Sized + io::Write>(&mut self, writer: &mut W, bracket: &[u8]) -> io::Result<()> {
        self.depth += 1;
        self.filled = false;
        writer.write_all(bracket)
    }

    fn end<W: ?Sized + io::Write>(&mut self, writer: &mut W, bracket: &[u8]) -> io::Result<()> {
        self.depth -= 1;
        self.line_break(writer, self.filled && self.depth < self.open_levels)?;
        self.filled = true;
        writer.write_all(bracket)
    }

    fn entry<W: ?Sized + io::Write>(&mut self, writer: &mut W, first: bool) -> io::Result<()> {
        let open = self.depth <= self.open_levels;
        self.filled = true;
        if !first {
            writer.write_all(if open { b"," } else { b", " })?;
        }
        self.line_break(writer, open)
    }

    fn line_break<W: ?Sized + io::Write>(&self, writer: &mut W, open: bool) -> io::Result<()> {
        if !open {
            return Ok(());
        }
        writer.write_all(b"\n")?;
        (0..self.depth).try_for_each(|_| writer.write_all(b"  "))
    }
}

impl Formatter for MarkALine {
    fn begin_array<W: ?Sized + io::Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.begin(writer, b"[")
    }

    fn end_array<W: ?Sized + io::Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.end(writer, b"]")
    }

    fn begin_array_value<W: ?Sized + io::Write>(&mut self, writer: &mut W, first: bool) -> io::Result<()> {
        self.entry(writer, first)
    }

    fn begin_object<W: ?Sized + io::Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.begin(writer, b"{")
    }

    fn end_object<W: ?Sized + io::Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.end(writer, b"}")
    }

    fn begin_object_key<W: ?Sized + io::Write>(&mut self, writer: &mut W, first: bool) -> io::Result<()> {
        self.entry(writer, first)
    }

    fn begin_object_value<W: ?Sized + io::Write>(&mut self, writer: &mut W) -> io::Result<()> {
        writer.write_all(b": ")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mark_has_a_line() {
        let document = serde_json::json!({"sameshot_case": 1, "zones": [{"id": "a", "at": [1.5, 2]}, {"id": "b"}], "empty": [], "none": {}});
        assert_eq!(
            to_text(&document, 2).unwrap(),
            "{\n  \"sameshot_case\": 1,\n  \"zones\": [\n    {\"id\": \"a\", \"at\": [1.5, 2]},\n    {\"id\": \"b\"}\n  ],\n  \"empty\": [],\n  \"none\": {}\n}\n"
        );
    }
}

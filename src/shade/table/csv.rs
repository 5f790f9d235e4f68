//! CSV → sheet: a row of names, then rows of values; lines that begin with `#` are comments, and one such as
//! `# illuminant: D65` says something of the whole table.

use ::csv::{ReaderBuilder, StringRecord};

use super::sheet::{Cell, Sheet, at, plain};
use crate::problem::Problem;

/// Reads a table with commas, semicolons or tabs between its values. With semicolons a comma may be the decimal mark.
pub(super) fn read(text: &str) -> Result<Sheet, Problem> {
    let text = text.trim_start_matches('\u{feff}');
    let delimiter = delimiter_of(text);
    let mut sheet = Sheet { header: comments(text), ..Sheet::default() };
    let mut reader = ReaderBuilder::new()
        .delimiter(delimiter)
        .comment(Some(b'#'))
        .has_headers(false)
        .flexible(true)
        .from_reader(text.as_bytes());
    for record in reader.records() {
        let record = record.map_err(|error| {
            let line = error.position().map_or(1, |position| position.line() as usize);
            at(line, 1, "this line is no row of a table", "Check its quotation marks.")
        })?;
        let mut cells = cells_of(text, &record, delimiter);
        if cells.iter().all(|cell| cell.text.trim().is_empty()) {
            continue;
        }
        if sheet.fields.is_empty() {
            sheet.fields = cells;
            continue;
        }
        if cells.len() != sheet.fields.len() {
            let first = &cells[0];
            return Err(at(
                first.line,
                first.column,
                format!("a row needs {} values, this one has {}", sheet.fields.len(), cells.len()),
                "Give each row one value for each column; text with the separator goes between quotation marks.",
            ));
        }
        if delimiter == b';' {
            cells.iter_mut().for_each(|cell| cell.text = with_point(&cell.text));
        }
        sheet.rows.push(cells);
    }
    if sheet.rows.is_empty() {
        return Err(Problem::new(
            "The table has no rows.",
            "Its first row names the columns, such as name,L,a,b; each further row is one sample.",
        ));
    }
    Ok(sheet)
}

fn delimiter_of(text: &str) -> u8 {
    let first = text.lines().find(|line| !line.starts_with('#') && !line.trim().is_empty());
    let count = |c: char| first.map_or(0, |line| line.matches(c).count());
    [(b'\t', count('\t')), (b';', count(';')), (b',', count(','))]
        .into_iter()
        .rev()
        .max_by_key(|(_, count)| *count)
        .map_or(b',', |(delimiter, _)| delimiter)
}

/// A number with a decimal comma gets a point; anything else stays.
fn with_point(text: &str) -> String {
    let pointed = text.replace(',', ".");
    if pointed.trim().parse::<f64>().is_ok() { pointed } else { text.to_owned() }
}

fn comments(text: &str) -> Vec<(String, Cell)> {
    let mut header = Vec::new();
    for (line, content) in (1..).zip(text.lines()) {
        let Some((name, value)) = content.strip_prefix('#').and_then(|rest| rest.split_once(':')) else {
            continue;
        };
        let column = content.chars().count() - value.trim_start().chars().count() + 1;
        header.push((plain(name), Cell { text: value.trim().to_owned(), line, column }));
    }
    header
}

/// The cells of a record with their columns, found by going through its line again.
fn cells_of(text: &str, record: &StringRecord, delimiter: u8) -> Vec<Cell> {
    let line = record.position().map_or(1, |position| position.line() as usize);
    // The reader counts comment and empty lines too, but may stand before them: look for the line itself.
    let (line, content) = (line..)
        .zip(text.lines().skip(line - 1))
        .find(|(_, content)| !content.starts_with('#') && !content.trim().is_empty())
        .unwrap_or((line, ""));
    let mut starts = vec![1];
    let mut quoted = false;
    for (place, c) in content.chars().enumerate() {
        match c {
            '"' => quoted = !quoted,
            c if !quoted && c as u32 == u32::from(delimiter) => starts.push(place + 2),
            _ => {}
        }
    }
    let cell = |(index, text): (usize, &str)| Cell {
        text: text.to_owned(),
        line,
        column: starts.get(index).copied().unwrap_or(1),
    };
    record.iter().enumerate().map(cell).collect()
}

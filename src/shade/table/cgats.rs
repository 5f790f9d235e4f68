//! CGATS text → sheet.
//!
//! The grammar (ISO 28178 and ANSI CGATS.17, read off public descriptions): a first line that names the format, lines of
//! a keyword and a value, the fields between BEGIN_DATA_FORMAT and END_DATA_FORMAT, then rows between BEGIN_DATA and
//! END_DATA. Words stand between blanks, tabs or line ends; a quoted word may hold blanks, two quotes in it are one; from
//! `#` to the end of its line is a comment. A file may hold several tables: the first with rows counts.

use super::sheet::{Cell, Sheet, at};
use crate::problem::Problem;

/// Whether a text says of itself that it is CGATS.
pub(super) fn is_cgats(text: &str) -> bool {
    text.lines().any(|line| line.trim() == "BEGIN_DATA_FORMAT")
}

/// Reads the first table.
pub(super) fn read(text: &str) -> Result<Sheet, Problem> {
    let words = words(text)?;
    let mut sheet = Sheet::default();
    let mut place = 0;
    while let Some(word) = words.get(place) {
        match word.cell.text.as_str() {
            "BEGIN_DATA_FORMAT" => {
                let end = end_of(&words, place, "END_DATA_FORMAT")?;
                sheet.fields = words[place + 1..end].iter().map(|word| word.cell.clone()).collect();
                place = end + 1;
            }
            "BEGIN_DATA" => {
                let end = end_of(&words, place, "END_DATA")?;
                rows(&mut sheet, &word.cell, &words[place + 1..end])?;
                check_counts(&sheet)?;
                return Ok(sheet);
            }
            _ => place = header(&mut sheet, &words, place),
        }
    }
    Err(Problem::new(
        "The table ends before BEGIN_DATA: it has no rows.",
        "Export it again from the instrument's program, with its data.",
    ))
}

struct Word {
    cell: Cell,
    /// Whether it is the first on its line.
    first: bool,
}

fn words(text: &str) -> Result<Vec<Word>, Problem> {
    let mut words = Vec::new();
    for (line, content) in (1..).zip(text.trim_start_matches('\u{feff}').lines()) {
        let mut first = true;
        let mut rest = content.chars().enumerate().peekable();
        while let Some(&(start, c)) = rest.peek() {
            if c.is_whitespace() {
                rest.next();
                continue;
            }
            if c == '#' {
                break;
            }
            let mut word = String::new();
            if c == '"' {
                rest.next();
                loop {
                    match rest.next() {
                        Some((_, '"')) if rest.peek().is_some_and(|(_, next)| *next == '"') => {
                            rest.next();
                            word.push('"');
                        }
                        Some((_, '"')) => break,
                        Some((_, inside)) => word.push(inside),
                        None => {
                            return Err(at(
                                line,
                                start + 1,
                                "a quoted word begins here and does not end on its line",
                                "Put a quotation mark at its end.",
                            ));
                        }
                    }
                }
            } else {
                while let Some((_, inside)) = rest.next_if(|(_, next)| !next.is_whitespace()) {
                    word.push(inside);
                }
            }
            words.push(Word { cell: Cell { text: word, line, column: start + 1 }, first });
            first = false;
        }
    }
    Ok(words)
}

fn end_of(words: &[Word], begin: usize, end: &str) -> Result<usize, Problem> {
    let begun = &words[begin].cell;
    let found = words[begin..].iter().position(|word| word.cell.text == end);
    found.map(|after| begin + after).ok_or_else(|| {
        begun.problem(
            format!("{} is never closed by {end}", begun.text),
            "The file was cut off; export it again.",
        )
    })
}

/// Takes one line of the header; answers where the next one begins.
fn header(sheet: &mut Sheet, words: &[Word], place: usize) -> usize {
    let next = (place + 1..words.len()).find(|&i| words[i].first).unwrap_or(words.len());
    if let [name, values @ ..] = &words[place..next]
        && let Some(value) = values.first()
    {
        let text: Vec<&str> = values.iter().map(|word| word.cell.text.as_str()).collect();
        let cell = Cell { text: text.join(" "), ..value.cell };
        sheet.header.push((name.cell.text.to_uppercase(), cell));
    }
    next
}

/// Splits the words between BEGIN_DATA and END_DATA into rows; a row is as many words as there are fields.
fn rows(sheet: &mut Sheet, begin: &Cell, words: &[Word]) -> Result<(), Problem> {
    if sheet.fields.is_empty() {
        return Err(begin.problem(
            "the rows begin before the fields are named",
            "Put BEGIN_DATA_FORMAT, the field names and END_DATA_FORMAT before BEGIN_DATA.",
        ));
    }
    let wanted = sheet.fields.len();
    for row in words.chunks(wanted) {
        let cells: Vec<Cell> = row.iter().map(|word| word.cell.clone()).collect();
        // A row that begins inside a line shows that some row before it has a word too few or too many.
        let torn = !row[0].first || cells.len() < wanted;
        if torn {
            let line = row[0].cell.line;
            let on_line = words.iter().filter(|word| word.cell.line == line).count();
            return Err(row[0].cell.problem(
                format!("a row needs {wanted} values, this line has {on_line}"),
                "Give each row one value for each field; text with blanks goes between quotation marks.",
            ));
        }
        sheet.rows.push(cells);
    }
    Ok(())
}

fn check_counts(sheet: &Sheet) -> Result<(), Problem> {
    for (name, found) in [("NUMBER_OF_FIELDS", sheet.fields.len()), ("NUMBER_OF_SETS", sheet.rows.len())] {
        let Some(said) = sheet.header(name) else { continue };
        if said.text.parse() != Ok(found) {
            return Err(said.problem(
                format!("{name} says {}, there are {found}", said.text),
                "Correct the number, or export the table again if rows are missing.",
            ));
        }
    }
    Ok(())
}

//! A report as one HTML file: no script, no other file, no connection. It is well-formed XML too.

use std::fmt::Write;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;

use super::bars::{bar, labels};
use super::blocks::{Block, Cell, Sort, Table};
use super::content::Content;
use super::diagram::{Diagram, Pattern};
use super::marks::{Mark, TAG_HEIGHT_PX};
use super::plain::escaped;
use super::{Axis, Interval, ReportPhoto};

/// Ink and paper only, as the reader's screen or printer has them; dark screens get light ink.
const STYLE: &str = "
:root { color-scheme: light dark; --ink: #161616; --paper: #fdfdfb; --faint: #5a5a5a; --line: #b9b9b4; }
@media (prefers-color-scheme: dark) { :root { --ink: #ececea; --paper: #191a1c; --faint: #b2b2ae; --line: #55565a; } }
@media print { :root { color-scheme: light; --ink: #000; --paper: #fff; --faint: #444; --line: #999; } }
body { color: var(--ink); background: var(--paper); font: 16px/1.5 system-ui, sans-serif; max-width: 58rem; margin: 0 auto; padding: 2rem 1.2rem; overflow-wrap: anywhere; }
h1 { font-size: 1.7rem; line-height: 1.25; margin: 0; } h2 { font-size: 1.3rem; margin: 2.4rem 0 .6rem; } h3 { font-size: 1.05rem; margin: 1.8rem 0 .4rem; }
.under { color: var(--faint); margin: .2rem 0 1.2rem; } .caution { border: 2px solid var(--ink); padding: .6rem .9rem; }
table { border-collapse: collapse; width: 100%; table-layout: fixed; margin: .8rem 0; } caption { text-align: left; color: var(--faint); padding-bottom: .3rem; }
th, td { text-align: left; vertical-align: top; padding: .25rem .5rem .25rem 0; border-bottom: 1px solid var(--line); font-weight: normal; overflow-wrap: anywhere; }
thead th { color: var(--faint); vertical-align: bottom; overflow-wrap: normal; } .number { text-align: right; font-variant-numeric: tabular-nums; } .number:not(:last-child) { padding-right: 1.2rem; } td svg, th svg { display: block; width: 100%; height: auto; }
figure { margin: .8rem 0; } figure svg { width: 100%; height: auto; display: block; }
li { margin: .25rem 0; } tr, figure, .caution { break-inside: avoid; } h2, h3 { break-after: avoid; }
";

/// Of the drawing of a bar; its axis keeps `EDGE` free at both ends.
const BAR_WIDTH: f64 = 320.0;
const EDGE: f64 = 14.0;

/// The page.
pub(super) fn page(content: &Content, photo: Option<&ReportPhoto>) -> String {
    let mut out = String::new();
    let title = escaped(&content.title);
    let subtitle = escaped(&content.subtitle);
    // Writing to a string cannot fail, here and below.
    let _ = write!(
        out,
        "<!DOCTYPE html>\n<html lang=\"en-GB\" xmlns=\"http://www.w3.org/1999/xhtml\">\n<head>\n<meta charset=\"utf-8\"/>\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n<title>{title}</title>\n<style>{STYLE}</style>\n\
         </head>\n<body>\n<main>\n<h1 dir=\"auto\">{title}</h1>\n<p class=\"under\" dir=\"auto\">{subtitle}</p>\n"
    );
    for block in &content.blocks {
        write_block(&mut out, block, content, photo);
    }
    out.push_str("</main>\n</body>\n</html>\n");
    out
}

fn write_block(out: &mut String, block: &Block, content: &Content, photo: Option<&ReportPhoto>) {
    let _ = match block {
        Block::Heading(text) => writeln!(out, "<h2 dir=\"auto\">{}</h2>", escaped(text)),
        Block::Subheading(text) => writeln!(out, "<h3 dir=\"auto\">{}</h3>", escaped(text)),
        Block::Text(text) => writeln!(out, "<p dir=\"auto\">{}</p>", escaped(text)),
        Block::Caution(text) => writeln!(out, "<p class=\"caution\">{}</p>", escaped(text)),
        Block::List(lines) => {
            let lines = lines.iter().map(|line| format!("<li dir=\"auto\">{}</li>\n", escaped(line)));
            writeln!(out, "<ul>\n{}</ul>", lines.collect::<String>())
        }
        Block::Photo => {
            photo.iter().for_each(|photo| write_photo(out, &content.photo_described, photo));
            Ok(())
        }
        Block::Diagram(diagram) => {
            write_diagram(out, diagram);
            Ok(())
        }
        Block::Table(table) => {
            write_table(out, table, &content.axis);
            Ok(())
        }
    };
}

fn write_photo(out: &mut String, described: &str, photo: &ReportPhoto) {
    let [width, height] = photo.size_px;
    let described = escaped(described);
    let _ = writeln!(
        out,
        "<figure><svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {height}\" role=\"img\" aria-label=\"{described}\">\n\
         <image width=\"{width}\" height=\"{height}\" href=\"data:image/jpeg;base64,{}\"/>",
        STANDARD.encode(&photo.jpeg)
    );
    for mark in &photo.marks {
        write_mark(out, mark);
    }
    out.push_str("</svg></figure>\n");
}

/// Of the drawing of a figure: a third of its width, a row's height, the gap between boxes.
const THIRD: f64 = 200.0;
const ROW: f64 = 66.0;
const GAP: f64 = 10.0;

fn write_diagram(out: &mut String, diagram: &Diagram) {
    let (width, height) = (3.0 * THIRD, diagram.rows as f64 * ROW);
    let _ = writeln!(
        out,
        "<figure><svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"-2 -2 {} {}\" style=\"max-width:38rem\" role=\"img\" \
         aria-label=\"{}\" fill=\"none\" stroke=\"currentColor\" font-family=\"sans-serif\" font-size=\"14\">",
        width + 4.0,
        height + 4.0,
        escaped(&diagram.described)
    );
    for slot in &diagram.boxes {
        let [x, w] = slot.place.across.map(|thirds| f64::from(thirds) * THIRD);
        let (y, w, h) = (slot.place.row as f64 * ROW, w - GAP, ROW - GAP);
        let dash = if slot.pattern == Pattern::Empty { " stroke-dasharray=\"6 4\"" } else { "" };
        let _ = write!(out, "<rect x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\" rx=\"3\"{dash}/>");
        write_pattern(out, slot.pattern, [x, y, h]);
        for (n, text) in [&slot.name, &slot.more, &slot.said].into_iter().enumerate() {
            let at = y + 16.0 + n as f64 * 17.0;
            let weight = if n == 0 { " font-weight=\"bold\"" } else { "" };
            let text: String = text.chars().take(LONGEST_IN_BOX).collect();
            let _ = write!(
                out,
                "<text x=\"{}\" y=\"{at}\" stroke=\"none\" fill=\"currentColor\"{weight}>{}</text>",
                x + 22.0,
                escaped(&text)
            );
        }
        out.push('\n');
    }
    out.push_str("</svg></figure>\n");
}

/// Letters that fit into a box.
const LONGEST_IN_BOX: usize = 26;

fn write_pattern(out: &mut String, pattern: Pattern, [x, y, h]: [f64; 3]) {
    let (left, right) = (x + 4.0, x + 16.0);
    if pattern == Pattern::Solid {
        let (y, h) = (y + 4.0, h - 8.0);
        let _ =
            write!(out, "<rect x=\"{left}\" y=\"{y}\" width=\"12\" height=\"{h}\" fill=\"currentColor\"/>");
    }
    let mut down = y + 4.0;
    while down + 12.0 <= y + h - 4.0 && matches!(pattern, Pattern::Slanting | Pattern::Crossed) {
        let up = down + 12.0;
        let _ = write!(out, "<path d=\"M{left} {up}L{right} {down}\"/>");
        if pattern == Pattern::Crossed {
            let _ = write!(out, "<path d=\"M{left} {down}L{right} {up}\"/>");
        }
        down += 6.0;
    }
}

/// White on black, so that it is seen on any ground; known areas are dashed.
fn write_mark(out: &mut String, mark: &Mark) {
    let points: Vec<String> = mark.corners.iter().map(|[x, y]| format!("{x:.1},{y:.1}")).collect();
    let points = points.join(" ");
    let dash = if mark.is_known { " stroke-dasharray=\"8 5\"" } else { "" };
    let [left, top, right, bottom] = mark.tag;
    let _ = writeln!(
        out,
        "<polygon points=\"{points}\" fill=\"none\" stroke=\"#000\" stroke-width=\"6\"/><polygon points=\"{points}\" fill=\"none\" \
         stroke=\"#fff\" stroke-width=\"2.5\"{dash}/><rect x=\"{left:.1}\" y=\"{top:.1}\" width=\"{:.1}\" height=\"{TAG_HEIGHT_PX}\" \
         fill=\"#111\"/><text x=\"{:.1}\" y=\"{:.1}\" fill=\"#fff\" font-family=\"sans-serif\" font-size=\"26\" text-anchor=\"middle\">{}</text>",
        right - left,
        (left + right) / 2.0,
        bottom - 8.0,
        escaped(&mark.label)
    );
}

fn write_table(out: &mut String, table: &Table, axis: &Axis) {
    let _ = writeln!(out, "<table>\n<caption dir=\"auto\">{}</caption>\n<colgroup>", escaped(&table.caption));
    for column in &table.columns {
        let _ = write!(out, "<col style=\"width:{:.0}%\"/>", column.width * 100.0);
    }
    out.push_str("</colgroup>\n<thead><tr>");
    for column in &table.columns {
        let (class, scale) = match column.sort {
            Sort::Words => ("", String::new()),
            Sort::Number => (" class=\"number\"", String::new()),
            Sort::Bar => ("", scale_svg(axis)),
        };
        let _ = write!(out, "<th scope=\"col\"{class}>{}{scale}</th>", escaped(column.name));
    }
    out.push_str("</tr></thead>\n<tbody>\n");
    for row in &table.rows {
        out.push_str("<tr>");
        for (index, (cell, column)) in row.iter().zip(&table.columns).enumerate() {
            let class = if column.sort == Sort::Number { " class=\"number\"" } else { "" };
            let inner = match cell {
                Cell::Words(text) => escaped(text),
                Cell::Bar { interval, is_called } => bar_svg(axis, interval, *is_called),
            };
            let _ = match index {
                0 => write!(out, "<th scope=\"row\" dir=\"auto\">{inner}</th>"),
                _ => write!(out, "<td{class} dir=\"auto\">{inner}</td>"),
            };
        }
        out.push_str("</tr>\n");
    }
    out.push_str("</tbody>\n</table>\n");
}

fn x_of(share: f64) -> f64 {
    EDGE + share * (BAR_WIDTH - 2.0 * EDGE)
}

/// The numbers of the axis. The table's numbers say the same as the bars, so both are hidden from screen readers.
fn scale_svg(axis: &Axis) -> String {
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {BAR_WIDTH} 20\" aria-hidden=\"true\">"
    );
    for (share, label) in labels(axis) {
        let _ = write!(
            out,
            "<text x=\"{:.1}\" y=\"15\" font-size=\"14\" text-anchor=\"middle\" fill=\"currentColor\">{}</text>",
            x_of(share),
            escaped(&label)
        );
    }
    out.push_str("</svg>");
    out
}

fn bar_svg(axis: &Axis, interval: &Interval, is_called: bool) -> String {
    let bar = bar(axis, interval);
    let (low, median, high) = (x_of(bar.low), x_of(bar.median), x_of(bar.high));
    let thick = if is_called { 8.0 } else { 3.0 };
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {BAR_WIDTH} 22\" aria-hidden=\"true\">"
    );
    for tick in axis.ticks() {
        let _ = write!(
            out,
            "<path d=\"M{:.1} 0V22\" stroke=\"currentColor\" stroke-opacity=\"0.22\"/>",
            x_of(axis.place(tick))
        );
    }
    let end = match bar.leaves {
        true => format!("M{high:.1} 4L{:.1} 11L{high:.1} 18Z", high + 11.0),
        false => format!("M{:.1} 4h2.5v14h-2.5Z", high - 1.2),
    };
    let _ = write!(
        out,
        "<path d=\"M{low:.1} {:.1}H{high:.1}V{:.1}H{low:.1}ZM{:.1} 4h2.5v14h-2.5Z{end}\" fill=\"currentColor\"/><circle cx=\"{median:.1}\" \
         cy=\"11\" r=\"6\" style=\"fill:var(--paper,#fff)\" stroke=\"currentColor\" stroke-width=\"2.5\"/></svg>",
        11.0 - thick / 2.0,
        11.0 + thick / 2.0,
        low - 1.2
    );
    out
}

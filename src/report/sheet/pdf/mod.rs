//! A report as PDF: A4, an embedded font, text that can be selected, tagged for screen readers (ISO 32000-1, 14.8).

mod diagram;
mod draw;
mod flow;
mod letters;
mod table;

use self::flow::Flow;
use self::letters::Letters;
use super::ReportPhoto;
use super::content::Content;
use crate::problem::Problem;

/// Points: A4 is 210 × 297 mm (ISO 216).
const PAGE: [f32; 2] = [595.28, 841.89];
const MARGIN: f32 = 51.0;
/// Breadth of the text.
const BREADTH: f32 = PAGE[0] - 2.0 * MARGIN;

/// A piece of drawing on a page, in points from the upper left corner.
enum Drawing {
    Words { at: [f32; 2], size: f32, grey: f32, text: String },
    Outline { corners: Vec<[f32; 2]>, pen: Pen },
    Filled { corners: Vec<[f32; 2]>, grey: f32 },
    Photo { at: [f32; 2], size: [f32; 2] },
}

/// A line: its width in points, its grey from 0 (ink) to 1 (paper), and whether it is dashed.
#[derive(Clone, Copy)]
struct Pen {
    width: f32,
    grey: f32,
    is_dashed: bool,
}

/// A drawing and the leaf of the structure that it belongs to; none for what screen readers pass over.
struct Placed {
    leaf: Option<usize>,
    drawing: Drawing,
}

/// The structure of a report for screen readers.
enum Part {
    Leaf(krilla::tagging::TagKind, usize),
    Group(krilla::tagging::TagKind, Vec<Part>),
}

/// The document.
pub(super) fn document(content: &Content, photo: Option<&ReportPhoto>) -> Result<Vec<u8>, Problem> {
    let broken = |why: String| {
        Problem::new(
            format!("{}: the PDF cannot be made: {why}.", content.title),
            "Report this with the case; a report as .html says the same.",
        )
    };
    let letters = Letters::built_in().ok_or_else(|| broken("the built-in font cannot be read".into()))?;
    let mut flow = Flow::new(&letters, content.axis.clone());
    flow.title(&content.title, &content.subtitle);
    for (index, block) in content.blocks.iter().enumerate() {
        flow.block(block, content.blocks.get(index + 1), &content.photo_described, photo);
    }
    let (mut pages, parts) = flow.finish();
    let count = pages.len();
    for (index, page) in pages.iter_mut().enumerate() {
        let text = format!("{}, page {} of {count}. {}", content.title, index + 1, content.footer);
        let at = [MARGIN, PAGE[1] - 28.0];
        let text = letters.cut(&text, 8.0, BREADTH);
        page.push(Placed { leaf: None, drawing: Drawing::Words { at, size: 8.0, grey: 0.35, text } });
    }
    draw::draw(content, photo, &pages, parts).map_err(broken)
}

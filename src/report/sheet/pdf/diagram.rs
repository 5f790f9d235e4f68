//! The figure as boxes on the page.

use krilla::tagging::{Tag, TagKind};

use super::flow::{Flow, corners};
use super::{Drawing, MARGIN, Part, Pen};
use crate::report::sheet::diagram::{Diagram, Pattern, SlotBox};

/// Points: a third of the figure, a row, the gap between boxes, the type.
const THIRD: f32 = 128.0;
const ROW: f32 = 42.0;
const GAP: f32 = 6.0;
const SIZE: f32 = 8.5;
/// Breadth of the pattern at the left of a box.
const BAND: f32 = 8.0;

pub(super) fn place(flow: &mut Flow, diagram: &Diagram) {
    let height = diagram.rows as f32 * ROW + 8.0;
    flow.need(height);
    let leaf = flow.leaf();
    for slot in &diagram.boxes {
        slot_box(flow, leaf, slot);
    }
    flow.y += height;
    flow.parts.push(Part::Leaf(TagKind::Figure(Tag::Figure(Some(diagram.described.clone()))), leaf));
}

fn slot_box(flow: &mut Flow, leaf: usize, slot: &SlotBox) {
    let [left, width] = slot.place.across.map(|thirds| thirds * THIRD);
    let [x, y] = [MARGIN + left, flow.y + 4.0 + slot.place.row as f32 * ROW];
    let size = [width - GAP, ROW - GAP];
    let pen = Pen { width: 0.8, grey: 0.0, is_dashed: slot.pattern == Pattern::Empty };
    flow.put(Some(leaf), Drawing::Outline { corners: corners([x, y], size), pen });
    pattern(flow, leaf, slot.pattern, [x + 2.5, y + 2.5, size[1] - 5.0]);
    for (n, text) in [&slot.name, &slot.more, &slot.said].into_iter().enumerate() {
        let text = flow.letters.cut(text, SIZE, size[0] - BAND - 10.0);
        let at = [x + BAND + 6.0, y + 10.5 + n as f32 * 10.5];
        let grey = if n == 1 { 0.35 } else { 0.0 };
        flow.put(Some(leaf), Drawing::Words { at, size: SIZE, grey, text });
    }
}

fn pattern(flow: &mut Flow, leaf: usize, pattern: Pattern, [x, y, height]: [f32; 3]) {
    if pattern == Pattern::Solid {
        let corners = corners([x, y], [BAND, height]);
        return flow.put(Some(leaf), Drawing::Filled { corners, grey: 0.45 });
    }
    let pen = Pen { width: 0.8, grey: 0.0, is_dashed: false };
    let mut down = y;
    while down + BAND <= y + height && matches!(pattern, Pattern::Slanting | Pattern::Crossed) {
        let mut line = |from: [f32; 2], to: [f32; 2]| {
            flow.put(Some(leaf), Drawing::Outline { corners: vec![from, to], pen });
        };
        line([x, down + BAND], [x + BAND, down]);
        if pattern == Pattern::Crossed {
            line([x, down], [x + BAND, down + BAND]);
        }
        down += 4.0;
    }
}

//! Blocks set one under the other on as many pages as they need.

use std::num::NonZeroU16;

use krilla::tagging::{ListNumbering, Tag, TagKind};

use super::letters::Letters;
use super::{BREADTH, Drawing, MARGIN, PAGE, Part, Pen, Placed};
use crate::report::sheet::blocks::Block;
use crate::report::sheet::marks::{Mark, TAG_HEIGHT_PX};
use crate::report::sheet::{Axis, ReportPhoto};

/// Size of running text, and line over line.
pub(super) const TEXT: f32 = 9.5;
pub(super) const LEADING: f32 = 1.4;
/// The photo is not higher than this.
const PHOTO_HEIGHT: f32 = 340.0;
const BOTTOM: f32 = PAGE[1] - MARGIN;

pub(super) struct Flow<'a> {
    pub(super) letters: &'a Letters,
    pub(super) axis: Axis,
    pub(super) pages: Vec<Vec<Placed>>,
    /// Where the next block begins.
    pub(super) y: f32,
    pub(super) parts: Vec<Part>,
    leaves: usize,
}

impl<'a> Flow<'a> {
    pub(super) fn new(letters: &'a Letters, axis: Axis) -> Self {
        Self { letters, axis, pages: vec![Vec::new()], y: MARGIN, parts: Vec::new(), leaves: 0 }
    }

    pub(super) fn finish(self) -> (Vec<Vec<Placed>>, Vec<Part>) {
        (self.pages, self.parts)
    }

    pub(super) fn title(&mut self, title: &str, subtitle: &str) {
        self.heading(1, title, [18.0, 0.0], 70.0);
        self.paragraph(subtitle, 0.35);
    }

    /// Sets a block; a heading is not parted from the block `after` it.
    pub(super) fn block(
        &mut self,
        block: &Block,
        after: Option<&Block>,
        described: &str,
        photo: Option<&ReportPhoto>,
    ) {
        let room_after = match after {
            Some(Block::Photo) => photo.map_or(0.0, |p| photo_scale(p) * p.size_px[1] as f32 + 10.0),
            Some(Block::Diagram(_)) => 120.0,
            Some(Block::Table(_)) => 95.0,
            Some(Block::Subheading(_)) => 110.0,
            _ => 50.0,
        };
        match block {
            Block::Heading(text) => self.heading(2, text, [13.5, 14.0], room_after),
            Block::Subheading(text) => self.heading(3, text, [11.0, 9.0], room_after),
            Block::Text(text) => self.paragraph(text, 0.0),
            Block::Caution(text) => self.caution(text),
            Block::List(lines) => self.list(lines),
            Block::Photo => photo.iter().for_each(|photo| self.photo(described, photo)),
            Block::Diagram(diagram) => super::diagram::place(self, diagram),
            Block::Table(table) => super::table::place(self, table),
        }
    }

    pub(super) fn leaf(&mut self) -> usize {
        self.leaves += 1;
        self.leaves - 1
    }

    pub(super) fn put(&mut self, leaf: Option<usize>, drawing: Drawing) {
        if let Some(page) = self.pages.last_mut() {
            page.push(Placed { leaf, drawing });
        }
    }

    /// Begins a page unless so much room is left on this one. Says whether it did.
    pub(super) fn need(&mut self, room: f32) -> bool {
        if self.y + room <= BOTTOM || self.y <= MARGIN {
            return false;
        }
        self.pages.push(Vec::new());
        self.y = MARGIN;
        true
    }

    /// Sets text from `left` on, in a breadth of `room`, and moves down.
    fn set(&mut self, leaf: usize, text: &str, size: f32, grey: f32, [left, room]: [f32; 2]) {
        for line in self.letters.lines(text, size, room) {
            self.need(size * LEADING);
            self.y += size * LEADING;
            let at = [left, self.y - size * 0.4];
            self.put(Some(leaf), Drawing::Words { at, size, grey, text: line });
        }
    }

    fn heading(&mut self, level: u16, text: &str, [size, above]: [f32; 2], room_after: f32) {
        self.need(above + size * LEADING + 3.0 + room_after);
        if self.y > MARGIN {
            self.y += above;
        }
        let leaf = self.leaf();
        self.set(leaf, text, size, 0.0, [MARGIN, BREADTH]);
        self.y += 3.0;
        let level = NonZeroU16::new(level).unwrap_or(NonZeroU16::MIN);
        self.parts.push(Part::Leaf(TagKind::Hn(Tag::Hn(level, None)), leaf));
    }

    fn paragraph(&mut self, text: &str, grey: f32) {
        let leaf = self.leaf();
        self.set(leaf, text, TEXT, grey, [MARGIN, BREADTH]);
        self.y += 5.0;
        self.parts.push(Part::Leaf(TagKind::P(Tag::P), leaf));
    }

    /// Framed.
    fn caution(&mut self, text: &str) {
        let height = self.letters.lines(text, TEXT, BREADTH - 18.0).len() as f32 * TEXT * LEADING + 14.0;
        self.need(height);
        let corners = corners([MARGIN, self.y], [BREADTH, height]);
        self.put(None, Drawing::Outline { corners, pen: Pen { width: 1.2, grey: 0.0, is_dashed: false } });
        self.y += 7.0;
        let leaf = self.leaf();
        self.set(leaf, text, TEXT, 0.0, [MARGIN + 9.0, BREADTH - 18.0]);
        self.y += 12.0;
        self.parts.push(Part::Leaf(TagKind::P(Tag::P), leaf));
    }

    fn list(&mut self, lines: &[String]) {
        let mut items = Vec::new();
        for line in lines {
            self.need(TEXT * LEADING);
            let at = [MARGIN + 3.0, self.y + TEXT];
            let (label, body) = (self.leaf(), self.leaf());
            self.put(Some(label), Drawing::Words { at, size: TEXT, grey: 0.0, text: "•".into() });
            self.set(body, line, TEXT, 0.0, [MARGIN + 14.0, BREADTH - 14.0]);
            self.y += 2.0;
            let item = [(TagKind::Lbl(Tag::Lbl), label), (TagKind::LBody(Tag::LBody), body)];
            let item = item.map(|(tag, leaf)| Part::Leaf(tag, leaf));
            items.push(Part::Group(TagKind::LI(Tag::LI), item.into()));
        }
        self.y += 4.0;
        self.parts.push(Part::Group(TagKind::L(Tag::L(ListNumbering::Disc)), items));
    }

    fn photo(&mut self, described: &str, photo: &ReportPhoto) {
        let scale = photo_scale(photo);
        let size = photo.size_px.map(|px| px as f32 * scale);
        self.need(size[1] + 6.0);
        let at = [MARGIN, self.y];
        let leaf = self.leaf();
        self.put(Some(leaf), Drawing::Photo { at, size });
        for mark in &photo.marks {
            self.mark(leaf, mark, at, scale);
        }
        self.y += size[1] + 8.0;
        self.parts.push(Part::Leaf(TagKind::Figure(Tag::Figure(Some(described.to_owned()))), leaf));
    }

    fn mark(&mut self, leaf: usize, mark: &Mark, [left, top]: [f32; 2], scale: f32) {
        let place = |[x, y]: [f64; 2]| [left + x as f32 * scale, top + y as f32 * scale];
        let outline: Vec<[f32; 2]> = mark.corners.iter().map(|corner| place(*corner)).collect();
        let under = Pen { width: 5.0 * scale, grey: 0.0, is_dashed: false };
        let over = Pen { width: 2.0 * scale, grey: 1.0, is_dashed: mark.is_known };
        for pen in [under, over] {
            self.put(Some(leaf), Drawing::Outline { corners: outline.clone(), pen });
        }
        let [x, y] = place([mark.tag[0], mark.tag[1]]);
        let width = (mark.tag[2] - mark.tag[0]) as f32 * scale;
        let box_size = [width, TAG_HEIGHT_PX as f32 * scale];
        self.put(Some(leaf), Drawing::Filled { corners: corners([x, y], box_size), grey: 0.05 });
        let size = 26.0 * scale;
        let at = [x + (width - self.letters.width(&mark.label, size)) / 2.0, y + box_size[1] - 8.0 * scale];
        self.put(Some(leaf), Drawing::Words { at, size, grey: 1.0, text: mark.label.clone() });
    }
}

/// Points a pixel, so that the photo fits.
fn photo_scale(photo: &ReportPhoto) -> f32 {
    let [width, height] = photo.size_px.map(|px| px as f32);
    (BREADTH / width).min(PHOTO_HEIGHT / height)
}

/// The corners of a box.
pub(super) fn corners([x, y]: [f32; 2], [width, height]: [f32; 2]) -> Vec<[f32; 2]> {
    vec![[x, y], [x + width, y], [x + width, y + height], [x, y + height]]
}

//! What the panel of loose parts asks for, as changes of the case: each is one step of undo.

use crate::case::MarkKind;
use std::path::PathBuf;

use crate::case::{Edit, MarkKey, ReadingMark, unused_id};
use crate::raster::Shape;
use crate::tray::alike::alike;
use crate::tray::change::Change;
use crate::tray::found::box_edits;

use super::work::Looked;
use crate::app::action::{Tab, Tool};
use crate::app::marks;
use crate::app::state::State;

/// What the panel and the tools ask for.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::app) enum TrayAction {
    /// Look at a part.
    Choose(u32),
    /// Change a part.
    Change(Change),
    /// The next polygon is the outline of this part.
    Redraw(u32),
    /// One end of a cut, in pixels of the photo.
    CutAt([f64; 2]),
    /// Both ends of a cut.
    Cut([[f64; 2]; 2]),
    /// Grow an area from a point of the photo.
    Grow([f64; 2]),
    /// Which shade the part in a box of the card is, counted from 1.
    Box(usize, Option<String>),
    /// In the boxes lie the shades in the order in which they are listed.
    BoxesAsListed,
    /// What these parts are in a figure.
    Slot(Vec<u32>, Option<String>),
    /// What all parts are that look like this one and have no name yet.
    NameAlike(u32, String),
    /// Match with the bodies of another case, too.
    ReadBodies(PathBuf),
    /// No longer.
    ForgetBodies,
    /// Sort all photos of a folder; the shades in the boxes of the card, with commas.
    SortFolder(PathBuf, String),
    /// End that after the photos in hand.
    StopFolder,
}

impl State {
    /// Does what was asked for.
    pub(in crate::app) fn act_on_tray(&mut self, action: TrayAction) {
        match action {
            TrayAction::Choose(number) => self.choose_part(number),
            TrayAction::Change(change) => self.change_part(&change),
            TrayAction::Redraw(number) => {
                self.choose_part(number);
                self.corners.clear();
                self.tool = Tool::Polygon;
                self.tray.redraws = Some(number);
                self.tray.focus_bench = true;
            }
            TrayAction::CutAt(point) => match self.tray.cut_from.take() {
                Some(from) => self.cut([from, point]),
                None => self.tray.cut_from = Some(point),
            },
            TrayAction::Cut(line) => self.cut(line),
            TrayAction::Grow(point) => self.grow_from(point),
            TrayAction::Box(number, shade) => self.try_edit(|session| {
                let edits = box_edits(session.case(), number, shade.as_deref());
                session.edit_together(&format!("set the part in box {number}"), edits)
            }),
            TrayAction::BoxesAsListed => self.try_edit(|session| {
                let references = session.references.clone();
                let shades = references.iter().flat_map(|references| &references.shades);
                let edits =
                    (1..).zip(shades).flat_map(|(n, shade)| box_edits(session.case(), n, Some(&shade.id)));
                let edits = edits.collect();
                session.edit_together("set the parts in the boxes", edits)
            }),
            TrayAction::NameAlike(number, slot) => {
                let Some(session) = &self.session else { return };
                let case = session.case();
                let is_unnamed = |number: &u32| {
                    let part = case.tray.as_ref().and_then(|tray| tray.part(*number));
                    let reading = part.and_then(|part| part.reading.as_ref()).map(MarkKey::reading);
                    reading.and_then(|key| marks::reading(case, &key)).is_some_and(|mark| mark.slot.is_none())
                };
                let like: Vec<u32> = alike(case, number).into_iter().filter(is_unnamed).collect();
                if like.is_empty() {
                    self.tell("No part without a name looks like this one.", "Name the others one by one.");
                } else {
                    self.name_parts(&like, Some(&slot));
                }
            }
            TrayAction::ReadBodies(path) => self.read_bodies(path),
            TrayAction::ForgetBodies => self.forget_bodies(),
            TrayAction::SortFolder(folder, known) => self.sort_folder(folder, &known),
            TrayAction::StopFolder => {
                if let Some(work) = &self.tray.folder {
                    work.stop();
                }
            }
            TrayAction::Slot(numbers, slot) => self.name_parts(&numbers, slot.as_deref()),
        }
    }

    /// Marks what was found, in one step.
    pub(super) fn mark_found(&mut self, looked: &Looked) {
        let steps = match &looked.steps {
            Ok(steps) => steps,
            Err(problem) => return self.message = Some(problem.clone().into()),
        };
        let Some(session) = &self.session else { return };
        let case = session.case();
        let card = looked.found.card_edits(case, steps);
        if !looked.for_parts {
            return match card {
                Ok(edits) => self.try_edit(|session| session.edit_together("find the card", edits)),
                Err(problem) => self.message = Some(problem.into()),
            };
        }
        match looked.found.part_edits(case) {
            Ok(parts) => {
                let no_card = card.is_err() && case.card_found.is_none();
                // Parts are worth having without a card; sizes are not.
                let edits = card.unwrap_or_default().into_iter().chain(parts).collect();
                self.tab = Tab::Tray;
                self.try_edit(|session| session.edit_together("find the parts", edits));
                if no_card {
                    self.tell(
                        "The parts are marked, but no card was found: their sizes are unknown and their shades \
                         unsure.",
                        "Lay a printed card (sameshot card) among the parts, or mark yours by hand.",
                    );
                }
            }
            Err(problem) => self.message = Some(problem.into()),
        }
    }

    /// An area that was grown becomes a part of the tray, or a reading of its own where there is no tray.
    pub(super) fn mark_grown(&mut self, outline: Vec<[f64; 2]>) {
        let Some(session) = &self.session else { return };
        if session.case().tray.is_some() {
            return self.change_part(&Change::Add(outline));
        }
        let id = unused_id(session.case(), MarkKind::Reading, "part");
        let reading = ReadingMark::new(id, Shape::Polygon(outline));
        self.focus_mark = true;
        self.try_edit(|session| session.edit(Edit::AddReading(reading)));
    }

    /// A polygon that was drawn is the outline of the part that is being redrawn. Answers whether it was.
    pub(in crate::app) fn redrawn(&mut self, shape: &Shape) -> bool {
        let (Some(number), Shape::Polygon(corners)) = (self.tray.redraws.take(), shape) else { return false };
        self.tool = Tool::Choose;
        self.change_part(&Change::Redraw(number, corners.clone()));
        true
    }

    /// What a click does with the tool in hand, at a point of the photo. Answers whether it did anything.
    pub(in crate::app) fn click_with_tool(&mut self, point_px: [f64; 2]) -> bool {
        match self.tool {
            Tool::Grow => self.act_on_tray(TrayAction::Grow(point_px)),
            Tool::Cut => self.act_on_tray(TrayAction::CutAt(point_px)),
            Tool::Polygon if self.tray.redraws.is_some() => self.add_corner(point_px, 0.0),
            _ => return false,
        }
        true
    }

    /// Drops the part that is looked at, where it has no mark to be deleted. Answers whether there was one.
    pub(in crate::app) fn drop_chosen(&mut self) -> bool {
        let number = self.chosen_part().filter(|part| part.reading.is_none()).map(|part| part.number);
        if let Some(number) = number {
            self.change_part(&Change::Drop(number));
        }
        number.is_some()
    }

    fn go_on_with(&mut self, number: u32) {
        self.choose_part(number);
        self.tray.focus_part = true;
    }

    fn choose_part(&mut self, number: u32) {
        self.tray.chosen = Some(number);
        let Some(session) = &mut self.session else { return };
        let part = session.case().tray.as_ref().and_then(|tray| tray.part(number));
        let mark = part.and_then(|part| part.reading.as_ref()).map(MarkKey::reading);
        self.reveal_mark = mark.is_some();
        session.select(mark);
    }

    fn change_part(&mut self, change: &Change) {
        let Some(session) = &mut self.session else { return };
        let before = session.case().tray.as_ref().map_or(1, |tray| tray.next_number());
        let done = change
            .edits(session.case(), &session.raster)
            .and_then(|edits| session.edit_together(&change.label(), edits));
        match (done, change) {
            (Err(problem), _) => self.message = Some(problem.into()),
            (Ok(()), Change::Drop(_)) => self.tray.chosen = None,
            (Ok(()), Change::Split(number, _) | Change::Merge(number, _) | Change::Redraw(number, _)) => {
                self.go_on_with(*number);
            }
            (Ok(()), Change::Add(_)) => self.choose_part(before),
        }
    }

    fn cut(&mut self, line: [[f64; 2]; 2]) {
        self.tray.cut_from = None;
        self.tool = Tool::Choose;
        let middle = [0, 1].map(|axis| (line[0][axis] + line[1][axis]) / 2.0);
        let parts = self.session.as_ref().map(|session| session.case().loose_parts()).unwrap_or_default();
        let under = parts.iter().find(|part| part.shape().contains(middle)).map(|part| part.number);
        match under.or(self.chosen_part().map(|part| part.number)) {
            Some(number) => self.change_part(&Change::Split(number, line)),
            None => self.tell("The line cuts no part.", "Draw it right across a part, from board to board."),
        }
    }

    fn name_parts(&mut self, numbers: &[u32], slot: Option<&str>) {
        self.try_edit(|session| {
            let parts = session.case().loose_parts().iter().filter(|part| numbers.contains(&part.number));
            let readings = parts.filter_map(|part| part.reading.as_ref());
            let edits: Vec<Edit> =
                readings.map(|id| Edit::SetSlot(MarkKey::reading(id), slot.map(str::to_owned))).collect();
            let label = match (edits.as_slice(), slot) {
                ([one], _) => one.label(),
                (many, Some(slot)) => format!("make {} parts the {}", many.len(), session.slot_words(slot)),
                (many, None) => format!("make {} parts no particular part", many.len()),
            };
            session.edit_together(&label, edits)
        });
    }
}

//! New marks: parts, known colours, the card.

use crate::case::{Edit, Known, MarkKey, MarkKind};
use crate::measure::Call;
use crate::raster::Shape;

use super::grip;
use crate::app::action::{Action, Tool};
use crate::app::card::{self, CardStep};
use crate::app::marks;
use crate::app::state::State;

impl State {
    /// A new mark of the kind that is drawn now, or the next step of the card.
    pub(in crate::app) fn draw(&mut self, shape: Shape) {
        let Some(session) = &self.session else { return };
        let case = session.case();
        let edit = match (self.tool, self.draws) {
            (Tool::Card, _) => return self.draw_card_end(shape),
            (_, MarkKind::Reading) => Edit::AddReading(marks::new_part(case, shape)),
            (_, MarkKind::Zone) => {
                let (id, known) = match card::next_unmarked(case, &self.card) {
                    Some((number, step)) => (card::step_id(number), step.known()),
                    None => ("known colour".to_owned(), self.default_known()),
                };
                Edit::AddZone(marks::new_zone(case, &id, shape, known))
            }
        };
        self.focus_mark = true;
        self.try_edit(|session| session.edit(edit));
    }

    /// Puts the card's steps between its first and last one.
    pub(in crate::app) fn spread_steps(&mut self) {
        let Some(session) = &self.session else { return };
        let edits = card::spread(session.case(), &self.card);
        if edits.is_empty() {
            self.tell(
                "The card's first and last step are not both marked.",
                "Choose “Mark the card”, then draw a circle on the lightest and on the darkest step.",
            );
        } else {
            self.try_edit(|session| session.edit_together("space the card's steps", edits));
        }
    }

    /// The number of the card's step that is marked next, 1 or the last.
    pub(in crate::app) fn card_end(&self) -> usize {
        let first_is_there = self
            .session
            .as_ref()
            .is_some_and(|session| marks::zone(session.case(), &MarkKey::zone(card::step_id(1))).is_some());
        if first_is_there { self.card.len() } else { 1 }
    }

    /// A shape in the middle of the view, as large as looks right there.
    pub(in crate::app) fn shape_in_view(&self) -> Option<Shape> {
        let (view, photo_px) = (self.current_view()?, self.photo_px()?);
        let size = (self.bench.size[0].min(self.bench.size[1]) * 0.05 / view.points_per_px).max(4.0);
        let centre = [0, 1].map(|axis| view.centre_px[axis].clamp(0.0, photo_px[axis]));
        let circle = Shape::Circle { centre, radius: size };
        Some(match self.tool {
            Tool::Box => grip::bounding_box(&circle),
            Tool::Polygon => grip::hexagon(centre, size),
            _ => circle,
        })
    }

    pub(in crate::app) fn add_corner(&mut self, point: [f64; 2], reach_px: f64) {
        let near = |other: &[f64; 2]| libm::hypot(other[0] - point[0], other[1] - point[1]) <= reach_px;
        let closes = self.corners.first().is_some_and(near) || self.corners.last().is_some_and(near);
        if !closes {
            self.corners.push(point);
        } else if self.corners.len() >= 3 {
            self.act(Action::EndPolygon { keep: true });
        }
    }

    fn default_known(&self) -> Known {
        let middle = self.card.get(self.card.len() / 2);
        middle.map_or(Known::Lab { lab: [50.0, 0.0, 0.0], sd: card::UNCALIBRATED_SD }, CardStep::known)
    }

    /// What a mark is likely to be when its colour is said to be known: the shade that was called, else the
    /// first one; without shades a step of the card.
    fn known_for(&self, mark: &MarkKey) -> Known {
        let session = self.session.as_ref();
        let result =
            session.and_then(|session| session.measurement()?.readings.iter().find(|r| r.id == mark.id));
        let called = result.and_then(|result| match &result.call {
            Some(Call::Shade(id)) => Some(id.clone()),
            _ => None,
        });
        let references = session.and_then(|session| session.references.as_ref());
        let first = references.and_then(|references| references.shades.first()).map(|shade| shade.id.clone());
        called.or(first).map_or_else(|| self.default_known(), |shade| Known::shade(&shade))
    }

    fn draw_card_end(&mut self, shape: Shape) {
        let number = self.card_end();
        let Some(step) = self.card.get(number - 1).copied() else { return };
        let last = number == self.card.len();
        let id = card::step_id(number);
        let Some(session) = &mut self.session else { return };
        let key = MarkKey::zone(&id);
        let edit = match marks::zone(session.case(), &key) {
            Some(_) => Edit::Reshape(key.clone(), shape),
            None => Edit::AddZone(marks::new_zone(session.case(), &id, shape, step.known())),
        };
        let mut edits = vec![edit];
        if last {
            let mut planned = session.case().clone();
            if edits.iter().all(|edit| edit.apply(&mut planned).is_ok()) {
                edits.extend(card::spread(&planned, &self.card));
            }
            self.tool = Tool::Choose;
        }
        self.focus_mark = true;
        self.try_edit(|session| {
            session.edit_together("mark the card", edits)?;
            session.select(Some(key));
            Ok(())
        });
    }

    pub(in crate::app) fn convert(&mut self, mark: &MarkKey) {
        let known = self.known_for(mark);
        let Some(session) = &mut self.session else { return };
        if let Some((edits, key)) = marks::convert(session.case(), mark, known) {
            let done = session.edit_together(&format!("change the kind of {}", mark.id), edits);
            session.select(Some(key));
            self.try_edit(|_| done);
        }
    }
}

//! What a person does to the parts that were found: split, merge, drop, redraw, add. Each becomes edits of the case that
//! belong together; a new outline gets a matt place of its own.

use super::local::Local;
use super::mask;
use super::sort::reading_id;
use crate::case::{CaseDocument, Doubt, Edit, LoosePart, MAX_MARKS, MarkKey, ReadingMark, TrayMarks};
use crate::problem::Problem;
use crate::raster::{Raster, Shape};

/// A change to the loose parts of a case.
#[derive(Debug, Clone, PartialEq)]
pub enum Change {
    /// A part cut in two by the line through two points of the photo.
    Split(u32, [[f64; 2]; 2]),
    /// Two parts that are one; the first one's number stays.
    Merge(u32, u32),
    /// What was taken for a part is none.
    Drop(u32),
    /// A part with another outline.
    Redraw(u32, Vec<[f64; 2]>),
    /// A part that was not found.
    Add(Vec<[f64; 2]>),
}

/// A piece smaller than this share of a part is no part.
const LEAST_PIECE_SHARE: f64 = 0.04;
/// Parts farther apart than this share of the larger one's length are not one.
const MOST_GAP_SHARE: f64 = 0.35;

impl Change {
    /// What the change is called in the list of undo steps.
    pub fn label(&self) -> String {
        match self {
            Change::Split(number, _) => format!("split part {number}"),
            Change::Merge(a, b) => format!("merge parts {a} and {b}"),
            Change::Drop(number) => format!("drop part {number}"),
            Change::Redraw(number, _) => format!("redraw part {number}"),
            Change::Add(_) => "add a part".into(),
        }
    }

    /// The edits that make the change, to be made together in this order.
    ///
    /// # Errors
    /// Where the part is gone, a line does not cut it, or two parts lie too far apart to be one.
    pub fn edits(&self, case: &CaseDocument, raster: &Raster) -> Result<Vec<Edit>, Problem> {
        let mut plan = Plan::of(case);
        match self {
            Change::Split(number, line) => {
                let part = plan.part(*number)?;
                let local = Local::around(raster, part.outline.iter());
                let pieces = cut(&local, &part, *line)?;
                let next = plan.tray.next_number();
                for (number, piece) in [part.number, next].into_iter().zip(pieces) {
                    plan.outline(number, &local, &piece)?;
                }
            }
            Change::Merge(a, b) => {
                let (first, second) = (plan.part(*a)?, plan.part(*b)?);
                let local = Local::around(raster, first.outline.iter().chain(&second.outline));
                let both = joined(&local, &first, &second)?;
                plan.forget(*b);
                plan.outline(*a, &local, &both)?;
            }
            Change::Drop(number) => {
                plan.part(*number)?;
                plan.forget(*number);
            }
            Change::Redraw(number, outline) => {
                plan.part(*number)?;
                plan.drawn(*number, outline, raster)?;
            }
            Change::Add(outline) => plan.drawn(plan.tray.next_number(), outline, raster)?,
        }
        Ok(plan.edits())
    }
}

/// The tray as it will be, and what that means for the readings.
struct Plan<'a> {
    case: &'a CaseDocument,
    tray: TrayMarks,
    readings: Vec<Edit>,
    gone: Vec<String>,
}

impl<'a> Plan<'a> {
    fn of(case: &'a CaseDocument) -> Self {
        Self { case, tray: case.tray.clone().unwrap_or_default(), readings: Vec::new(), gone: Vec::new() }
    }

    fn part(&self, number: u32) -> Result<LoosePart, Problem> {
        self.tray.part(number).cloned().ok_or_else(|| {
            Problem::new(format!("There is no part {number} any more."), "Choose a part and try again.")
        })
    }

    /// A part as it was drawn, kept to the corner.
    fn drawn(&mut self, number: u32, outline: &[[f64; 2]], raster: &Raster) -> Result<(), Problem> {
        let shape = Shape::Polygon(outline.to_vec());
        if let Err(problem) = shape.check(raster.width(), raster.height()) {
            return Err(Problem::new(
                format!("The outline of part {number} {problem}."),
                "Draw it again, corner by corner around the part.",
            ));
        }
        let local = Local::around(raster, outline.iter());
        let inside = local.inside(outline);
        self.set(number, outline.to_vec(), local.matt(&inside))
    }

    fn outline(&mut self, number: u32, local: &Local, inside: &[bool]) -> Result<(), Problem> {
        self.set(number, local.outline(inside), local.matt(inside))
    }

    fn set(&mut self, number: u32, outline: Vec<[f64; 2]>, matt: Option<Shape>) -> Result<(), Problem> {
        if outline.len() < 3 {
            return Err(Problem::new(
                format!("Part {number} would be too small to have an outline."),
                "Leave it as it is, or drop it.",
            ));
        }
        let old = self.tray.part(number).cloned();
        let had = old.as_ref().and_then(|part| part.reading.clone());
        let reading = match (matt, had) {
            (Some(matt), Some(id)) => {
                self.readings.push(Edit::Reshape(MarkKey::reading(&id), matt));
                Some(id)
            }
            (Some(matt), None) => {
                let id = self.free_id(number);
                self.readings.push(Edit::AddReading(ReadingMark::new(&id, matt)));
                Some(id)
            }
            (None, had) => {
                self.gone.extend(had);
                None
            }
        };
        // Whose hand drew it has no doubt left but that there is nothing to read.
        let doubts = if reading.is_none() { vec![Doubt::NoMattPlace.code().to_owned()] } else { Vec::new() };
        let rest = old.map(|part| part.rest).unwrap_or_default();
        let part = LoosePart { number, outline, reading, doubts, rest };
        let full = self.tray.parts.len() >= MAX_MARKS;
        match self.tray.parts.iter_mut().find(|part| part.number == number) {
            Some(old) => *old = part,
            None if full => {
                return Err(Problem::new(
                    format!("A case has at most {MAX_MARKS} loose parts."),
                    "Drop what is none.",
                ));
            }
            None => self.tray.parts.push(part),
        }
        Ok(())
    }

    fn forget(&mut self, number: u32) {
        let part = self.tray.part(number);
        self.gone.extend(part.and_then(|part| part.reading.clone()));
        self.tray.parts.retain(|part| part.number != number);
    }

    fn free_id(&self, number: u32) -> String {
        let usual = reading_id(number as usize);
        let taken = |id: &str| self.case.readings.iter().any(|reading| reading.id == id);
        if taken(&usual) { format!("loose {usual}") } else { usual }
    }

    /// Readings first, so that the tray names only what is there; the deleted last, when no part names them.
    fn edits(self) -> Vec<Edit> {
        let deleted = self.gone.iter().map(|id| Edit::Delete(MarkKey::reading(id)));
        let deleted: Vec<Edit> = deleted.collect();
        self.readings.into_iter().chain([Edit::SetTray(Some(self.tray))]).chain(deleted).collect()
    }
}

/// The two pieces on either side of a line.
fn cut(local: &Local, part: &LoosePart, [from, to]: [[f64; 2]; 2]) -> Result<[Vec<bool>; 2], Problem> {
    let inside = local.inside(&part.outline);
    let (a, b) = (local.to_here(from), local.to_here(to));
    let is_left = |i: usize| {
        let p = local.size.centre(i);
        (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]) > 0.0
    };
    let pieces = [true, false].map(|side| {
        let half: Vec<bool> = (0..inside.len()).map(|i| inside[i] && is_left(i) == side).collect();
        mask::largest(&half, local.size)
    });
    let count = |mask: &[bool]| mask.iter().filter(|inside| **inside).count() as f64;
    let least = (LEAST_PIECE_SHARE * count(&inside)).max(4.0);
    if pieces.iter().any(|piece| count(piece) < least) {
        return Err(Problem::new(
            format!("The line does not cut part {} in two.", part.number),
            "Draw it right across the part, from board to board.",
        ));
    }
    Ok(pieces)
}

/// Two parts as one spot, with a bridge where a gap is left between them.
fn joined(local: &Local, first: &LoosePart, second: &LoosePart) -> Result<Vec<bool>, Problem> {
    let mut both = local.inside(&first.outline);
    both.iter_mut().zip(local.inside(&second.outline)).for_each(|(both, other)| *both |= other);
    let here = |part: &LoosePart| part.outline.iter().map(|p| local.to_here(*p)).collect::<Vec<_>>();
    let (a, b) = (here(first), here(second));
    let away = |p: &[f64; 2], q: &[f64; 2]| libm::hypot(p[0] - q[0], p[1] - q[1]);
    let pairs = along(&a).into_iter().flat_map(|p| along(&b).into_iter().map(move |q| (p, q)));
    let nearest = pairs.min_by(|x, y| away(&x.0, &x.1).total_cmp(&away(&y.0, &y.1)));
    let Some((p, q)) = nearest else { return Ok(both) };
    let length = |points: &[[f64; 2]]| {
        let ends = |axis: usize| {
            let values = points.iter().map(|p| p[axis]);
            values.clone().fold(f64::NEG_INFINITY, f64::max) - values.fold(f64::INFINITY, f64::min)
        };
        libm::hypot(ends(0), ends(1))
    };
    if away(&p, &q) > MOST_GAP_SHARE * length(&a).max(length(&b)) {
        return Err(Problem::new(
            format!("Parts {} and {} lie too far apart to be one.", first.number, second.number),
            "Merge only what touches.",
        ));
    }
    if mask::spots(&both, local.size).len() > 1 {
        let bridge_px = 2.0;
        for i in 0..both.len() {
            let c = local.size.centre(i);
            let d = [q[0] - p[0], q[1] - p[1]];
            let t = ((c[0] - p[0]) * d[0] + (c[1] - p[1]) * d[1]) / (d[0] * d[0] + d[1] * d[1]).max(1e-9);
            let t = t.clamp(0.0, 1.0);
            both[i] |= libm::hypot(c[0] - p[0] - t * d[0], c[1] - p[1] - t * d[1]) < bridge_px;
        }
    }
    Ok(both)
}

/// Points along an outline, about two pixels apart.
fn along(outline: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let next = outline.iter().cycle().skip(1);
    let side = |(p, q): (&[f64; 2], &[f64; 2])| {
        let steps = (libm::hypot(q[0] - p[0], q[1] - p[1]) / 2.0).ceil().clamp(1.0, 2000.0) as usize;
        let (p, q) = (*p, *q);
        (0..steps).map(move |n| {
            let t = n as f64 / steps as f64;
            [p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])]
        })
    };
    outline.iter().zip(next).flat_map(side).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::History;
    use crate::raster::{Coding, Samples};

    /// A grey board with two green bars side by side, a pixel of dark between them.
    fn raster() -> Raster {
        let green = |x: usize, y: usize| (20..120).contains(&x) && (30..80).contains(&y) && y != 55;
        let pixel = |i: usize| if green(i % 160, i / 160) { [60, 120, 95] } else { [150, 150, 150] };
        let samples = (0..160 * 110).flat_map(pixel).collect();
        Raster::new(160, 110, Samples::U8(samples), Coding::srgb(256), None).unwrap()
    }

    fn bars() -> CaseDocument {
        let mut case = CaseDocument::new("a.png");
        let whole = vec![[20.0, 30.0], [120.0, 30.0], [120.0, 80.0], [20.0, 80.0]];
        made(&mut case, &Change::Add(whole));
        case
    }

    fn made(case: &mut CaseDocument, change: &Change) {
        let mut history = History::opened(case.clone());
        for edit in change.edits(case, &raster()).unwrap() {
            history.apply(&edit).unwrap();
        }
        *case = history.current().as_ref().clone();
        for part in case.loose_parts() {
            let reading = case.readings.iter().find(|reading| Some(&reading.id) == part.reading.as_ref());
            assert!(part.shape().contains(reading.unwrap().shape.centre()), "read inside its outline");
        }
        assert_eq!(case.readings.len(), case.loose_parts().len());
    }

    fn areas(case: &CaseDocument) -> Vec<(u32, f64)> {
        case.loose_parts().iter().map(|part| (part.number, part.shape().area_px())).collect()
    }

    #[test]
    fn a_part_is_split_and_merged_again() {
        let mut case = bars();
        assert_eq!(areas(&case), [(1, 5000.0)]);
        made(&mut case, &Change::Split(1, [[10.0, 55.0], [130.0, 55.0]]));
        let two = areas(&case);
        assert_eq!(two.iter().map(|(number, _)| *number).collect::<Vec<_>>(), [1, 2]);
        assert!(two.iter().all(|(_, area)| (area - 2500.0).abs() < 250.0), "{two:?}");
        made(&mut case, &Change::Merge(2, 1));
        let one = areas(&case);
        assert_eq!(one.len(), 1);
        assert!(one[0].0 == 2 && (one[0].1 - 5000.0).abs() < 400.0, "{one:?}");
    }

    #[test]
    fn a_part_is_redrawn_and_dropped() {
        let mut case = bars();
        made(&mut case, &Change::Redraw(1, vec![[22.0, 32.0], [110.0, 32.0], [110.0, 53.0], [22.0, 53.0]]));
        assert_eq!(areas(&case), [(1, 88.0 * 21.0)]);
        made(&mut case, &Change::Drop(1));
        assert!(case.readings.is_empty() && case.loose_parts().is_empty());
    }

    #[test]
    fn a_line_beside_the_part_and_parts_far_apart_are_told() {
        let mut case = bars();
        let beside = Change::Split(1, [[10.0, 95.0], [130.0, 95.0]]);
        assert!(beside.edits(&case, &raster()).unwrap_err().message.contains("does not cut part 1"));
        made(&mut case, &Change::Redraw(1, vec![[22.0, 32.0], [40.0, 32.0], [40.0, 48.0], [22.0, 48.0]]));
        made(&mut case, &Change::Add(vec![[90.0, 60.0], [110.0, 60.0], [110.0, 78.0], [90.0, 78.0]]));
        let far = Change::Merge(1, 2).edits(&case, &raster()).unwrap_err();
        assert!(far.message.contains("too far apart"), "{far}");
        assert!(Change::Drop(9).edits(&case, &raster()).is_err());
        let bow_tie = Change::Add(vec![[22.0, 32.0], [40.0, 52.0], [40.0, 32.0], [22.0, 52.0]]);
        assert!(bow_tie.edits(&case, &raster()).unwrap_err().message.contains("crosses itself"));
    }
}

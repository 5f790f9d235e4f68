//! The grey card: the list of its steps, and the marks on them.

use crate::case::{CaseDocument, Edit, Known, MarkKey, ZoneMark};
use crate::raster::Shape;

use super::marks::new_zone;

/// One step of a card: its colour and how well that is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct CardStep {
    /// L\*, a\*, b\* under D50.
    pub lab: [f64; 3],
    /// Standard deviation of each.
    pub sd: [f64; 3],
}

/// How well the greys of an uncalibrated ladder are known.
pub(super) const UNCALIBRATED_SD: [f64; 3] = [1.0, 1.0, 1.5];

/// A ladder of six greys for marking by hand, lightest step first; the steps of a card that this program printed lie in
/// another order and are found by themselves.
pub(super) fn common_ladder() -> Vec<CardStep> {
    [90.0, 75.0, 60.0, 50.0, 35.0, 20.0]
        .map(|lightness| CardStep { lab: [lightness, 0.0, 0.0], sd: UNCALIBRATED_SD })
        .to_vec()
}

impl CardStep {
    /// The colour as a zone's known value.
    pub(super) fn known(&self) -> Known {
        Known::Lab { lab: self.lab, sd: self.sd }
    }

    /// Whether a known value is this step's.
    pub(super) fn is(&self, known: &Known) -> bool {
        *known == self.known()
    }

    /// The step in words, such as "L* 75".
    pub(super) fn name(&self) -> String {
        format!("L* {}", short(self.lab[0]))
    }
}

/// The name of a step's mark, counted from 1.
pub(super) fn step_id(number: usize) -> String {
    format!("step {number}")
}

/// The first step that has no mark yet, with its number.
pub(super) fn next_unmarked(case: &CaseDocument, steps: &[CardStep]) -> Option<(usize, CardStep)> {
    steps
        .iter()
        .enumerate()
        .map(|(i, step)| (i + 1, *step))
        .find(|(number, _)| zone_of(case, *number).is_none())
}

/// The edits that place the steps between the first and the last one evenly; steps that are marked already
/// move there. Empty unless both ends are marked.
pub(super) fn spread(case: &CaseDocument, steps: &[CardStep]) -> Vec<Edit> {
    let count = steps.len();
    let (Some(first), Some(last)) = (zone_of(case, 1), zone_of(case, count)) else {
        return Vec::new();
    };
    let place = |(number, step): (usize, &CardStep)| {
        let share = (number - 1) as f64 / (count - 1) as f64;
        let shape = between(&first.shape, &last.shape, share);
        match zone_of(case, number) {
            Some(_) => Edit::Reshape(MarkKey::zone(step_id(number)), shape),
            None => Edit::AddZone(new_zone(case, &step_id(number), shape, step.known())),
        }
    };
    (1..).zip(steps).take(count.saturating_sub(1)).skip(1).map(place).collect()
}

/// Reads a card from text: one step a line, `L a b` or `L a b sdL sda sdb`; empty lines and what follows a
/// `#` are skipped. The error names the line.
pub(super) fn read_list(text: &str) -> Result<Vec<CardStep>, String> {
    let mut steps = Vec::new();
    for (number, line) in (1..).zip(text.lines()) {
        let line = line.split('#').next().unwrap_or_default().trim();
        if line.is_empty() {
            continue;
        }
        steps.push(read_step(line).map_err(|what| format!("Line {number}: {what}."))?);
    }
    if steps.len() < 2 {
        return Err("A card needs at least two steps, one a line.".into());
    }
    Ok(steps)
}

/// What stands above the columns of [`write_list`].
pub(super) const LIST_HEAD: &str = "    L*     a*     b*    ± L*  ± a*  ± b*";

/// The list as text, readable by [`read_list`].
pub(super) fn write_list(steps: &[CardStep]) -> String {
    let line = |step: &CardStep| {
        let [l, a, b] = step.lab.map(short);
        let [sl, sa, sb] = step.sd.map(short);
        format!("{l:>6} {a:>6} {b:>6}   {sl:>5} {sa:>5} {sb:>5}\n")
    };
    steps.iter().map(line).collect()
}

fn read_step(line: &str) -> Result<CardStep, String> {
    let numbers: Vec<f64> = line
        .split([' ', '\t', ';'])
        .filter(|word| !word.is_empty())
        .map(|word| word.parse().map_err(|_| format!("“{word}” is no number")))
        .collect::<Result<_, _>>()?;
    let (lab, sd) = match numbers.as_slice() {
        [l, a, b] => ([*l, *a, *b], UNCALIBRATED_SD),
        [l, a, b, sl, sa, sb] => ([*l, *a, *b], [*sl, *sa, *sb]),
        other => return Err(format!("3 or 6 numbers are needed, there are {}", other.len())),
    };
    if !(0.0..=100.0).contains(&lab[0]) {
        return Err("L* must lie between 0 and 100".into());
    }
    if !lab.iter().all(|v| (-200.0..=200.0).contains(v)) {
        return Err("a* and b* must lie between −200 and 200".into());
    }
    if sd.iter().any(|v| !(0.01..=50.0).contains(v)) {
        return Err("the standard deviations must lie between 0.01 and 50".into());
    }
    Ok(CardStep { lab, sd })
}

fn zone_of(case: &CaseDocument, number: usize) -> Option<&ZoneMark> {
    case.zones.iter().find(|zone| zone.id == step_id(number))
}

/// A shape on the way from one to another: circles and boxes change size on the way, others keep the
/// first one's shape.
fn between(first: &Shape, last: &Shape, share: f64) -> Shape {
    let mix = |a: f64, b: f64| a + (b - a) * share;
    let mix2 = |a: [f64; 2], b: [f64; 2]| [mix(a[0], b[0]), mix(a[1], b[1])];
    match (first, last) {
        (Shape::Circle { centre: a, radius: r }, Shape::Circle { centre: b, radius: s }) => {
            Shape::Circle { centre: mix2(*a, *b), radius: mix(*r, *s) }
        }
        (Shape::Rect { min: a, max: c }, Shape::Rect { min: b, max: d }) => {
            Shape::Rect { min: mix2(*a, *b), max: mix2(*c, *d) }
        }
        _ => {
            let (from, to) = (first.centre(), last.centre());
            first.moved_by([(to[0] - from[0]) * share, (to[1] - from[1]) * share])
        }
    }
}

fn short(value: f64) -> String {
    let text = format!("{value:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

#[cfg(test)]
#[allow(clippy::float_cmp)] // These values are exact.
mod tests {
    use super::*;

    fn ends(steps: &[CardStep]) -> CaseDocument {
        let mut case = CaseDocument::new("bench.jpg");
        for (number, x, radius) in [(1, 100.0, 10.0), (steps.len(), 600.0, 20.0)] {
            let shape = Shape::Circle { centre: [x, 50.0], radius };
            let zone = new_zone(&case, &step_id(number), shape, steps[number - 1].known());
            case.zones.push(zone);
        }
        case
    }

    fn spread_now(case: &mut CaseDocument, steps: &[CardStep]) {
        spread(case, steps).iter().try_for_each(|edit| edit.apply(case)).unwrap();
    }

    #[test]
    fn the_steps_between_stand_evenly() {
        let steps = common_ladder();
        let mut case = ends(&steps);
        spread_now(&mut case, &steps);
        assert_eq!(case.zones.len(), 6);
        for (number, x, radius) in
            [(1, 100.0, 10.0), (2, 200.0, 12.0), (3, 300.0, 14.0), (4, 400.0, 16.0), (5, 500.0, 18.0)]
        {
            let zone = zone_of(&case, number).unwrap();
            assert_eq!(zone.shape, Shape::Circle { centre: [x, 50.0], radius });
            assert_eq!(zone.known, steps[number - 1].known());
        }
    }

    #[test]
    fn spreading_again_moves_what_is_there_and_adds_nothing() {
        let steps = common_ladder();
        let mut case = ends(&steps);
        spread_now(&mut case, &steps);
        let last = case.zones.iter().position(|zone| zone.id == "step 6").unwrap();
        case.zones[last].shape = Shape::Circle { centre: [1100.0, 50.0], radius: 20.0 };
        spread_now(&mut case, &steps);
        assert_eq!(case.zones.len(), 6);
        assert_eq!(zone_of(&case, 2).unwrap().shape.centre(), [300.0, 50.0]);
    }

    #[test]
    fn without_both_ends_nothing_happens() {
        assert_eq!(spread(&CaseDocument::new("bench.jpg"), &common_ladder()), []);
    }

    #[test]
    fn a_list_is_read_as_it_was_written_and_errors_name_the_line() {
        let steps = common_ladder();
        assert_eq!(read_list(&write_list(&steps)).unwrap(), steps);
        let read = read_list("# mine\n95.1 -0.2 1.4 0.3 0.2 0.2\n\n20 0 0 # dark\n").unwrap();
        assert_eq!(read[0].sd, [0.3, 0.2, 0.2]);
        assert_eq!(read[1].sd, UNCALIBRATED_SD);
        for (text, part) in [
            ("50 0 0\n50 zero 0", "Line 2: “zero”"),
            ("50 0 0\n50 0", "Line 2: 3 or 6 numbers"),
            ("150 0 0\n50 0 0", "Line 1: L*"),
            ("50 NaN 0\n50 0 0", "Line 1: a*"),
            ("50 0 0 0 1 1\n50 0 0", "Line 1: the standard"),
            ("50 0 0", "at least two"),
        ] {
            let error = read_list(text).unwrap_err();
            assert!(error.contains(part), "{text:?} gave {error:?}");
        }
    }
}

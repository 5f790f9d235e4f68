//! What the column draws of a result: one axis for all parts, so that bars can be compared by eye, and a
//! row for each shade.

use crate::color::{Lab, to_srgb8};
use crate::measure::{Call, Interval, Measurement, ReadingResult};
use crate::shade::{References, Shade};

use super::words;

/// The axis of colour differences: from 0 to `end`.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Axis {
    /// Its right end.
    pub end: f64,
    /// Distance of the ticks.
    pub step: f64,
}

/// One shade compared with one part.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Row {
    /// The shade's letter, the same in all parts.
    pub letter: char,
    /// Its name.
    pub name: String,
    /// CIEDE2000 with its 95 % interval.
    pub difference: Interval,
    /// Its probability.
    pub probability: Option<f64>,
    /// Whether it is what the part was called.
    pub called: bool,
    /// Its colour, about as the screen shows it; `None` without specimens.
    pub swatch: Option<[u8; 3]>,
}

/// The axis stretches no farther than this: what lies beyond is another family altogether.
const FARTHEST: f64 = 21.0;

impl Axis {
    /// One axis for all parts. It holds the bars of the two nearest shades of every part, between which the
    /// call is made; a bar that lies beyond is shown as an arrow with its number.
    pub(super) fn of(measurement: &Measurement) -> Self {
        let needed = measurement.readings.iter().filter_map(|reading| {
            let mut ends: Vec<f64> = reading.differences.iter().map(|d| d.de00.high).collect();
            ends.retain(|end| end.is_finite());
            ends.sort_by(f64::total_cmp);
            ends.get(1).or(ends.first()).copied()
        });
        Self::up_to(needed.fold(0.0, f64::max))
    }

    /// An axis that reaches at least so far, with a round step and four to eight ticks.
    pub(super) fn up_to(highest: f64) -> Self {
        let highest = highest.clamp(2.0, FARTHEST);
        let steps = [0.5, 1.0, 2.0, 5.0, 10.0];
        let step = steps.into_iter().find(|step| highest / step <= 7.0).unwrap_or(10.0);
        Self { end: (highest / step).ceil() * step, step }
    }

    /// Where a value lies, 0 at the left end, 1 at the right one; what lies beyond sits at the end.
    pub(super) fn place(&self, value: f64) -> f64 {
        if value.is_finite() { (value / self.end).clamp(0.0, 1.0) } else { 1.0 }
    }

    /// The ticks.
    pub(super) fn ticks(&self) -> impl Iterator<Item = f64> + '_ {
        (0..=(self.end / self.step).round() as u32).map(|i| f64::from(i) * self.step)
    }
}

/// The rows of a part, in the order of the shades.
pub(super) fn rows(reading: &ReadingResult, references: Option<&References>) -> Vec<Row> {
    let row = |(index, difference): (usize, &crate::measure::Difference)| {
        let id = &difference.shade;
        let probability = reading.shades.iter().find(|shade| shade.shade.as_ref() == Some(id));
        Row {
            letter: letter(index),
            name: words::shade_name(references, id),
            difference: difference.de00,
            probability: probability.map(|shade| shade.probability),
            called: reading.call == Some(Call::Shade(id.clone())),
            swatch: shade_of(references, id).and_then(swatch),
        }
    };
    reading.differences.iter().enumerate().map(row).collect()
}

/// Probability that a part has none of the shades.
pub(super) fn none_of_these(reading: &ReadingResult) -> Option<f64> {
    reading.shades.iter().find(|shade| shade.shade.is_none()).map(|shade| shade.probability)
}

/// A, B, C, …; after Z the letters begin again.
pub(super) fn letter(index: usize) -> char {
    char::from(b'A' + (index % 26) as u8)
}

/// About the colour of a Lab value on a screen; never measured from.
pub(super) fn screen_colour(lab: [f64; 3]) -> [u8; 3] {
    to_srgb8(Lab::new(lab[0], lab[1], lab[2]))
}

fn shade_of<'a>(references: Option<&'a References>, id: &str) -> Option<&'a Shade> {
    references?.shades.iter().find(|shade| shade.id == id)
}

fn swatch(shade: &Shade) -> Option<[u8; 3]> {
    let count = shade.specimens.len() as f64;
    let mean = [0, 1, 2].map(|i| shade.specimens.iter().map(|s| s.lab[i]).sum::<f64>() / count);
    (count > 0.0).then(|| screen_colour(mean))
}

#[cfg(test)]
#[allow(clippy::float_cmp)] // These values are exact.
mod tests {
    use super::*;

    #[test]
    fn the_axis_holds_every_bar_and_has_few_round_ticks() {
        for highest in [0.0, 0.3, 2.0, 3.9, 7.1, 12.4, 18.0, 20.9] {
            let axis = Axis::up_to(highest);
            let ticks: Vec<f64> = axis.ticks().collect();
            assert!(axis.end >= highest && (3..=9).contains(&ticks.len()), "{highest}: {ticks:?}");
            assert!((ticks[ticks.len() - 1] - axis.end).abs() < 1e-9);
        }
    }

    #[test]
    fn the_axis_holds_the_two_nearest_shades_of_every_part() {
        let (measurement, _) = super::super::sample::measurement_and_references();
        let axis = Axis::of(&measurement);
        // The second nearest bars end at 8.3, 5.2 and 14.2.
        assert!(axis.end >= 14.2 && axis.end <= 16.0, "{axis:?}");
    }

    #[test]
    fn what_lies_beyond_the_axis_sits_at_its_end() {
        let axis = Axis::up_to(10.0);
        assert_eq!(axis.place(0.0), 0.0);
        assert!((axis.place(axis.end / 2.0) - 0.5).abs() < 1e-12);
        assert_eq!(axis.place(900.0), 1.0);
        assert_eq!(axis.place(f64::NAN), 1.0);
    }

    #[test]
    fn rows_carry_letter_name_probability_and_call() {
        let (measurement, references) = super::super::sample::measurement_and_references();
        let rows = rows(&measurement.readings[0], Some(&references));
        assert_eq!(rows.iter().map(|row| row.letter).collect::<String>(), "ABC");
        assert_eq!(rows[1].name, "medium sea green");
        assert!(rows[1].called && !rows[0].called);
        assert!(rows[1].probability.unwrap() > 0.9);
        assert!(rows.iter().all(|row| row.swatch.is_some()));
        let total: f64 = rows.iter().filter_map(|row| row.probability).sum::<f64>()
            + none_of_these(&measurement.readings[0]).unwrap();
        assert!((total - 1.0).abs() < 1e-9);
    }
}

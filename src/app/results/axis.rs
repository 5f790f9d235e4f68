//! What the column draws of a result: a row for each shade on one axis for all parts.

use crate::color::{Lab, to_srgb8};
use crate::measure::{Call, Interval, ReadingResult};
use crate::shade::{References, Shade};

pub(in crate::app) use crate::report::Axis;

use crate::app::words;

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
pub(in crate::app) fn screen_colour(lab: [f64; 3]) -> [u8; 3] {
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
mod tests {
    use super::*;

    #[test]
    fn the_axis_holds_the_two_nearest_shades_of_every_part() {
        let (measurement, _) = crate::app::sample::measurement_and_references();
        let axis = Axis::of_nearest(&measurement);
        // The second nearest bars end at 8.3, 5.2 and 14.2.
        assert!(axis.end >= 14.2 && axis.end <= 16.0, "{axis:?}");
    }

    #[test]
    fn rows_carry_letter_name_probability_and_call() {
        let (measurement, references) = crate::app::sample::measurement_and_references();
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

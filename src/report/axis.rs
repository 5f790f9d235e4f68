//! One axis of colour differences for all parts, so that bars can be compared by eye.

use crate::measure::Measurement;

/// The axis of colour differences: from 0 to `end`.
#[derive(Debug, Clone, PartialEq)]
pub struct Axis {
    /// Its right end.
    pub end: f64,
    /// Distance of the ticks.
    pub step: f64,
}

/// The axis stretches no farther than this: what lies beyond is another family altogether.
const FARTHEST: f64 = 40.0;
/// And where only the nearest shades matter, no farther than this.
const FARTHEST_NEAREST: f64 = 21.0;

impl Axis {
    /// One axis that holds the bars of every part.
    pub fn of(measurement: &Measurement) -> Self {
        let shades = measurement.readings.iter().flat_map(|reading| &reading.differences);
        let pairs = measurement.pairs.iter().map(|pair| pair.de00.high);
        let highest = shades.map(|difference| difference.de00.high).chain(pairs).filter(|v| v.is_finite());
        Self::up_to(highest.fold(0.0, f64::max))
    }

    /// One axis for all parts that holds the bars of the two nearest shades of every part, between which the
    /// call is made; a bar that lies beyond is to be shown as an arrow with its number.
    pub fn of_nearest(measurement: &Measurement) -> Self {
        let needed = measurement.readings.iter().filter_map(|reading| {
            let mut ends: Vec<f64> = reading.differences.iter().map(|d| d.de00.high).collect();
            ends.retain(|end| end.is_finite());
            ends.sort_by(f64::total_cmp);
            ends.get(1).or(ends.first()).copied()
        });
        Self::up_to(needed.fold(0.0, f64::max).min(FARTHEST_NEAREST))
    }

    /// An axis that reaches at least so far, with a round step and four to eight ticks.
    pub fn up_to(highest: f64) -> Self {
        let highest = highest.clamp(2.0, FARTHEST);
        let steps = [0.5, 1.0, 2.0, 5.0, 10.0];
        let step = steps.into_iter().find(|step| highest / step <= 7.0).unwrap_or(10.0);
        Self { end: libm::ceil(highest / step) * step, step }
    }

    /// Where a value lies, 0 at the left end, 1 at the right one; what lies beyond sits at the end.
    pub fn place(&self, value: f64) -> f64 {
        if value.is_finite() { (value / self.end).clamp(0.0, 1.0) } else { 1.0 }
    }

    /// The ticks.
    pub fn ticks(&self) -> impl Iterator<Item = f64> + '_ {
        (0..=(self.end / self.step).round() as u32).map(|i| f64::from(i) * self.step)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_axis_holds_every_bar_and_has_few_round_ticks() {
        for highest in [0.0, 0.3, 2.0, 3.9, 7.1, 12.4, 18.0, 33.0, 39.9] {
            let axis = Axis::up_to(highest);
            let ticks: Vec<f64> = axis.ticks().collect();
            assert!(axis.end >= highest && (3..=9).contains(&ticks.len()), "{highest}: {ticks:?}");
            assert!((ticks[ticks.len() - 1] - axis.end).abs() < 1e-9);
        }
    }

    #[test]
    fn what_lies_beyond_the_axis_sits_at_its_end() {
        let axis = Axis::up_to(10.0);
        assert!((axis.place(axis.end / 2.0) - 0.5).abs() < 1e-12);
        for (value, place) in [(0.0, 0.0), (-1.0, 0.0), (900.0, 1.0), (f64::NAN, 1.0)] {
            assert!((axis.place(value) - place).abs() < 1e-12, "{value}");
        }
    }
}

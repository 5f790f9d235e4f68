//! A bar on the common axis, in parts that every layout can draw.

use super::{Axis, Interval};

/// A bar, in shares of the axis: 0 at its left end, 1 at its right one.
pub(super) struct Bar {
    pub low: f64,
    pub median: f64,
    pub high: f64,
    /// It goes on beyond the axis.
    pub leaves: bool,
}

/// The bar of an interval. What is no number sits at the right end and leaves the axis.
pub(super) fn bar(axis: &Axis, interval: &Interval) -> Bar {
    Bar {
        low: axis.place(interval.low),
        median: axis.place(interval.median),
        high: axis.place(interval.high),
        leaves: !(interval.high <= axis.end),
    }
}

/// The numbers of the axis with their places; every second one where they would stand too close.
pub(super) fn labels(axis: &Axis) -> Vec<(f64, String)> {
    let ticks: Vec<f64> = axis.ticks().collect();
    let every = if ticks.len() > 6 { 2 } else { 1 };
    ticks.iter().step_by(every).map(|tick| (axis.place(*tick), format!("{tick}"))).collect()
}

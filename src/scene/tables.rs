//! Published spectra, read from the tables in `assets/spectra` (their sources are in the files' headers).

use std::sync::LazyLock;

pub use crate::color::cie::{Illuminant, observer};
use crate::color::cie::{Table, parse};
use crate::color::spectrum::Spectrum;

/// Red, green and blue sensitivities of a camera with a mosaic of filters, measured.
pub fn mosaic_camera() -> &'static [Spectrum; 3] {
    &MOSAIC.columns
}

/// Red, green and blue sensitivities of a camera with stacked layers, measured; far from any mosaic.
pub fn stacked_camera() -> &'static [Spectrum; 3] {
    &STACKED.columns
}

/// Reflectances of the 24-patch chart, row by row from "dark skin" to "black".
pub fn chart() -> &'static [Spectrum; 24] {
    &CHART.columns
}

/// Names of the chart's patches, in the order of [`chart`].
pub fn chart_names() -> &'static [&'static str; 24] {
    &CHART.names
}

static MOSAIC: LazyLock<Table<3>> =
    LazyLock::new(|| parse(include_str!("../../assets/spectra/camera-mosaic.csv")));
static STACKED: LazyLock<Table<3>> =
    LazyLock::new(|| parse(include_str!("../../assets/spectra/camera-stacked.csv")));
static CHART: LazyLock<Table<24>> =
    LazyLock::new(|| parse(include_str!("../../assets/spectra/chart-24.csv")));

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_cell_of_every_table_is_a_sensible_number() {
        let in_range = |columns: &[Spectrum], low: f64, high: f64| {
            columns.iter().flat_map(|column| column.0).all(|v| v >= low && v <= high)
        };
        assert!(in_range(mosaic_camera(), -0.01, 1.0));
        assert!(in_range(stacked_camera(), -0.01, 1.01));
        assert!(in_range(chart(), 0.0, 1.0));
        assert_eq!(
            chart_names()[18..],
            ["white", "neutral 8", "neutral 6.5", "neutral 5", "neutral 3.5", "black"]
        );
    }
}

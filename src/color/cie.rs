//! The CIE's observer and illuminants as spectra, read from the tables in `assets/spectra` (their sources are in the
//! files' headers).

use std::sync::LazyLock;

use super::spectrum::{BANDS, Spectrum};

/// CIE illuminants at hand; relative power, scaled by nobody.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Illuminant {
    /// Horizon daylight, the white of all Lab in this program.
    D50,
    /// Average daylight.
    D65,
    /// Incandescent lamp, 2856 K.
    A,
    /// Cool white fluorescent tube.
    Fl2,
    /// Three-band fluorescent tube, 4000 K.
    Fl11,
    /// Blue-pumped LED, 2733 K.
    LedB1,
    /// Blue-pumped LED, 2998 K.
    LedB2,
    /// Blue-pumped LED, 4103 K.
    LedB3,
    /// Blue-pumped LED, 5109 K.
    LedB4,
    /// Blue-pumped LED, 6598 K.
    LedB5,
    /// Violet-pumped LED, 2724 K.
    LedV1,
}

impl Illuminant {
    /// All of them, in the order of the table's columns.
    pub const ALL: [Self; 11] = [
        Self::D50,
        Self::D65,
        Self::A,
        Self::Fl2,
        Self::Fl11,
        Self::LedB1,
        Self::LedB2,
        Self::LedB3,
        Self::LedB4,
        Self::LedB5,
        Self::LedV1,
    ];

    /// Its CIE name.
    pub fn name(self) -> &'static str {
        ILLUMINANTS.names.get(self as usize).copied().unwrap_or("")
    }

    /// Its relative spectral power.
    pub fn spectrum(self) -> &'static Spectrum {
        &ILLUMINANTS.columns[self as usize]
    }
}

/// The CIE 1931 2° colour-matching functions x̄, ȳ, z̄.
pub fn observer() -> &'static [Spectrum; 3] {
    &OBSERVER.columns
}

/// Columns of a table on the fixed grid, with their names.
pub(crate) struct Table<const N: usize> {
    pub(crate) names: [&'static str; N],
    pub(crate) columns: [Spectrum; N],
}

static OBSERVER: LazyLock<Table<3>> =
    LazyLock::new(|| parse(include_str!("../../assets/spectra/observer.csv")));
static ILLUMINANTS: LazyLock<Table<11>> =
    LazyLock::new(|| parse(include_str!("../../assets/spectra/illuminants.csv")));
/// Reads a table: comment lines, a row of names, then [`BANDS`] rows. The tables are part of the program and
/// a test reads each value, so what is missing becomes NaN instead of an error that nobody could meet.
pub(crate) fn parse<const N: usize>(text: &'static str) -> Table<N> {
    let mut lines = text.lines().filter(|line| !line.starts_with('#'));
    let mut names = [""; N];
    for (name, cell) in names.iter_mut().zip(lines.next().unwrap_or("").split(',').skip(1)) {
        *name = cell;
    }
    let mut columns = [Spectrum::flat(f64::NAN); N];
    for (band, line) in lines.take(BANDS).enumerate() {
        for (column, cell) in columns.iter_mut().zip(line.split(',').skip(1)) {
            column.0[band] = cell.parse().unwrap_or(f64::NAN);
        }
    }
    Table { names, columns }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_cell_is_a_sensible_number() {
        let in_range = |columns: &[Spectrum], low: f64, high: f64| {
            columns.iter().flat_map(|column| column.0).all(|v| v >= low && v <= high)
        };
        assert!(in_range(observer(), 0.0, 2.0));
        assert!(in_range(&ILLUMINANTS.columns, 0.0, 300.0));
        assert_eq!(Illuminant::ALL.map(Illuminant::name)[4..6], ["FL11", "LED-B1"]);
    }
}

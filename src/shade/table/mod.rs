//! Measured values as tables: CGATS text (ISO 28178, ANSI CGATS.17) and CSV, in and out.
//!
//! [`sheet`] holds cells with their places; [`cgats`] and [`csv`] make one of text; [`values`] finds Lab, XYZ or
//! spectra in it and brings them to Lab D50; [`write`] turns references into either kind of text.

mod cgats;
mod csv;
mod samples;
mod sheet;
#[cfg(test)]
mod tests;
mod values;
mod write;

pub use samples::{ImportOptions, Imported, import_table};
pub use values::{ReadOptions, Reading, Readings, adaptation_sd, read_values};
pub use write::{TableKind, export_table};

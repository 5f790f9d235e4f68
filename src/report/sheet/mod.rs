//! One photo's result as a report to keep or to send: HTML, PDF, CSV, and a short text for a message.
//!
//! [`content`] says once what stands in a report; [`html`] and [`pdf`] only lay it out, so that both say the same. Names,
//! numbers, patterns and positions carry all meaning; colour carries none.

mod bars;
mod blocks;
mod collection;
mod content;
mod csv;
mod diagram;
mod figure;
mod html;
mod marks;
mod message;
mod method;
mod pdf;
mod plain;
mod tray;

pub use collection::{CollectionInputs, collection_csv, collection_html, collection_message, collection_pdf};
pub(super) use plain::name_of;

use image::RgbImage;

use super::axis::Axis;
use super::picture::smaller;
use super::words::{Verdict, verdict};
use crate::case::CaseDocument;
use crate::figure::Findings;
use crate::guide::Guide;
use crate::measure::{Interval, Measurement, ReadingResult};
use crate::problem::Problem;
use crate::raster::{PhotoFacts, Raster};
use crate::shade::References;

/// All that a report tells of.
#[derive(Debug, Clone, Copy)]
pub struct ReportInputs<'a> {
    /// The name of the case's file, for the title.
    pub name: &'a str,
    /// The day, year-month-day, or empty: this room knows no clock.
    pub date: &'a str,
    /// The upright photo.
    pub raster: &'a Raster,
    /// What the photo's file says of itself.
    pub facts: &'a PhotoFacts,
    /// The marks.
    pub case: &'a CaseDocument,
    /// What was measured.
    pub measurement: &'a Measurement,
    /// The shades compared with.
    pub references: Option<&'a References>,
    /// The guide and what was found with it.
    pub figure: Option<(&'a Guide, &'a Findings)>,
    /// The files it was made from.
    pub files: &'a [FileUsed],
    /// What could not be measured, full sentences.
    pub problems: &'a [String],
    /// The probability that a call needed, 0.5..1.
    pub confidence: f64,
    /// Seed of the draws.
    pub seed: u64,
}

impl ReportInputs<'_> {
    /// What is said of a part.
    fn verdict(&self, reading: &ReadingResult) -> Verdict {
        verdict(reading, &self.measurement.light, self.references, self.confidence)
    }
}

/// A file that the result rests on: which version of it, is told by its SHA-256.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FileUsed {
    /// "photo", "references" or "guide".
    pub role: &'static str,
    /// Its name.
    pub name: String,
    /// SHA-256 of its bytes in hexadecimal.
    pub sha256: String,
}

/// Pixels across the photo in a report.
const PHOTO_WIDTH_PX: u32 = 1400;
const JPEG_QUALITY: u8 = 85;

/// The report as one HTML file that needs no other.
pub fn report_html(inputs: &ReportInputs) -> Result<String, Problem> {
    let photo = ReportPhoto::of(inputs)?;
    Ok(html::page(&content::of(inputs), Some(&photo)))
}

/// The report as PDF, A4.
pub fn report_pdf(inputs: &ReportInputs) -> Result<Vec<u8>, Problem> {
    let photo = ReportPhoto::of(inputs)?;
    pdf::document(&content::of(inputs), Some(&photo))
}

/// The readings as CSV, a row each, every number as it was computed.
pub fn report_csv(inputs: &ReportInputs) -> Result<String, Problem> {
    csv::table(inputs)
}

/// A short text for a message.
pub fn report_message(inputs: &ReportInputs) -> String {
    message::text(inputs)
}

/// The photo made smaller, with its marks.
struct ReportPhoto {
    jpeg: Vec<u8>,
    size_px: [u32; 2],
    marks: Vec<marks::Mark>,
}

impl ReportPhoto {
    fn of(inputs: &ReportInputs) -> Result<Self, Problem> {
        let failed = |why: String| {
            Problem::new(
                format!("{}: the picture of the report cannot be made: {why}.", inputs.name),
                "Report this with the case; a report as .csv or .txt needs no picture.",
            )
        };
        let photo = smaller(inputs.raster, PHOTO_WIDTH_PX);
        let size_px = [photo.width(), photo.height()];
        let scale = f64::from(photo.width()) / f64::from(inputs.raster.width().max(1));
        Ok(Self {
            jpeg: jpeg_of(&photo).map_err(failed)?,
            size_px,
            marks: marks::of(inputs.case, scale, size_px),
        })
    }
}

fn jpeg_of(photo: &RgbImage) -> Result<Vec<u8>, String> {
    let side = |px: u32| u16::try_from(px).map_err(|_| format!("{px} pixels are too many on a side"));
    let mut bytes = Vec::new();
    jpeg_encoder::Encoder::new(&mut bytes, JPEG_QUALITY)
        .encode(photo.as_raw(), side(photo.width())?, side(photo.height())?, jpeg_encoder::ColorType::Rgb)
        .map_err(|error| error.to_string())?;
    Ok(bytes)
}

//! The readings as CSV for a spreadsheet.

use ::csv::WriterBuilder;

use super::ReportInputs;
use super::plain::plain;
use crate::measure::ReadingResult;
use crate::problem::Problem;

/// A head and a row a reading: RFC 4180, UTF-8, decimal points. Numbers stand as they were computed. Lab is D50, 2°;
/// `cov` is the covariance of Lab; columns of shades carry the shades' ids.
pub(super) fn table(inputs: &ReportInputs) -> Result<String, Problem> {
    let rows = inputs.measurement.readings.iter().map(|reading| row(inputs, reading));
    csv_text(std::iter::once(head(inputs)).chain(rows))
}

/// Rows as RFC 4180.
pub(super) fn csv_text(rows: impl IntoIterator<Item = Vec<String>>) -> Result<String, Problem> {
    let mut writer = WriterBuilder::new().from_writer(Vec::new());
    let broken = |why: String| {
        Problem::new(format!("The table cannot be written: {why}."), "Report this with the file.")
    };
    for row in rows {
        writer.write_record(row).map_err(|error| broken(error.to_string()))?;
    }
    let bytes = writer.into_inner().map_err(|error| broken(error.to_string()))?;
    String::from_utf8(bytes).map_err(|error| broken(error.to_string()))
}

const FIRST: [&str; 15] = [
    "case",
    "photo",
    "reading",
    "slot",
    "call",
    "L",
    "a",
    "b",
    "cov_LL",
    "cov_La",
    "cov_Lb",
    "cov_aa",
    "cov_ab",
    "cov_bb",
    "pixels_inside",
];
const MIDDLE: [&str; 4] = ["pixels_used", "pixels_glare", "pixels_clipped", "pixels_dark"];

fn head(inputs: &ReportInputs) -> Vec<String> {
    let mut head: Vec<String> = FIRST.iter().chain(&MIDDLE).map(ToString::to_string).collect();
    for shade in shades(inputs) {
        let kinds = ["probability", "dE00_median", "dE00_low", "dE00_high"];
        head.extend(kinds.iter().map(|kind| cell(&format!("{kind} {shade}"))));
    }
    head.extend(["probability none".into(), "warnings".into()]);
    head
}

fn shades<'a>(inputs: &'a ReportInputs) -> impl Iterator<Item = &'a str> {
    let references = inputs.references.into_iter();
    references.flat_map(|references| &references.shades).map(|shade| shade.id.as_str())
}

fn row(inputs: &ReportInputs, reading: &ReadingResult) -> Vec<String> {
    let mark = inputs.case.readings.iter().find(|mark| mark.id == reading.id);
    let slot = mark.and_then(|mark| mark.slot.as_deref()).unwrap_or_default();
    let call = reading.call.clone().map(String::from).unwrap_or_default();
    let mut row: Vec<String> = [inputs.name, &inputs.case.photo, &reading.id, slot, &call].map(cell).into();
    row.extend(reading.lab.iter().map(f64::to_string));
    let cov = &reading.cov;
    row.extend([cov[0][0], cov[0][1], cov[0][2], cov[1][1], cov[1][2], cov[2][2]].map(|v| v.to_string()));
    let pixels = &reading.pixels;
    row.extend(
        [pixels.inside, pixels.used, pixels.glare, pixels.clipped, pixels.dark].map(|v| v.to_string()),
    );
    let probability = |id: Option<&str>| {
        let entry = reading.shades.iter().find(|entry| entry.shade.as_deref() == id);
        entry.map(|entry| entry.probability.to_string()).unwrap_or_default()
    };
    for shade in shades(inputs) {
        row.push(probability(Some(shade)));
        let difference = reading.differences.iter().find(|difference| difference.shade == shade);
        let [median, low, high] = difference
            .map(|d| [d.de00.median, d.de00.low, d.de00.high].map(|v| v.to_string()))
            .unwrap_or_default();
        row.extend([median, low, high]);
    }
    row.push(probability(None));
    let warnings: Vec<&str> = reading.warnings.iter().map(|warning| warning.code.as_str()).collect();
    row.push(cell(&warnings.join(" ")));
    row
}

/// A text that no spreadsheet takes for a formula: where it begins like one, an apostrophe stands before it.
pub(super) fn cell(text: &str) -> String {
    let text = plain(text);
    if text.trim_start().starts_with(['=', '+', '-', '@']) { format!("'{text}") } else { text }
}

//! Sheet → references: each row a specimen, its shade from its own column or from its name.

use serde_json::{Map, Value};

use super::sheet::{Cell, Sheet, plain};
use super::values::{ReadOptions, number, read_values_of};
use super::{cgats, csv};
use crate::problem::Problem;
use crate::shade::{Method, References, SHADES_VERSION, Shade, Specimen};

/// The further field of a specimen that has columns of its own.
pub(super) const CORRELATION: &str = "correlation";

/// What the person says of a table that it may not say itself.
#[derive(Debug, Clone, PartialEq)]
pub struct ImportOptions {
    /// How colours are read.
    pub read: ReadOptions,
    /// The family's name where the table has none.
    pub family: String,
    /// Standard deviation of a sample where the table has none.
    pub sd: [f64; 3],
    /// How the samples were measured where the table does not say so.
    pub method: Method,
}

impl Default for ImportOptions {
    /// The standard deviation is what two good hand-held instruments differ by (from memory, no source at hand).
    fn default() -> Self {
        Self {
            read: ReadOptions::default(),
            family: "imported".into(),
            sd: [0.3, 0.3, 0.3],
            method: Method::Spectrophotometer,
        }
    }
}

/// References made of a table.
#[derive(Debug, Clone, PartialEq)]
pub struct Imported {
    /// The references.
    pub references: References,
    /// What was read and what was taken for granted, full sentences.
    pub notes: Vec<String>,
}

/// The sheet of a text, CGATS or CSV, told apart by themselves.
pub(super) fn sheet_of(text: &str) -> Result<Sheet, Problem> {
    if cgats::is_cgats(text) { cgats::read(text) } else { csv::read(text) }
}

/// Reads a table of samples. Rows of one shade become its specimens; without a column of shades each row is a shade of
/// its own, named by its name.
pub fn import_table(text: &str, options: &ImportOptions) -> Result<Imported, Problem> {
    let sheet = sheet_of(text)?;
    let columns = Columns::of(&sheet);
    let read = read_values_of(&sheet, options.read)?;
    let mut notes = read.notes;
    if columns.sd.is_none() {
        let [l, a, b] = options.sd;
        notes.push(format!(
            "The table has no standard deviations; {l}, {a}, {b} was taken for L*, a*, b* of each sample."
        ));
    }
    let family = sheet.header("FAMILY").map_or_else(|| options.family.clone(), |cell| cell.text.clone());
    let mut shades: Vec<Shade> = Vec::new();
    for (index, (row, reading)) in sheet.rows.iter().zip(&read.readings).enumerate() {
        let id = columns.shade_of(&sheet, row, &family, index);
        let [l, a, b] = columns.sd_of(row, options.sd)?;
        let [cl, ca, cb] = reading.conversion_sd;
        let specimen = Specimen {
            id: columns.specimen_of(&sheet, row, index),
            lab: reading.lab,
            sd: [libm::hypot(l, cl), libm::hypot(a, ca), libm::hypot(b, cb)],
            method: columns.method_of(&sheet, row)?.unwrap_or(options.method),
            aged: columns.aged_of(&sheet, row)?,
            note: sheet.text(row, columns.note).map(|cell| cell.text.clone()),
            rest: columns.more_of(&sheet, row)?,
        };
        match shades.iter_mut().find(|shade| shade.id == id) {
            Some(shade) => {
                if shade.specimens.iter().any(|other| other.id == specimen.id) {
                    return Err(row[columns.id.unwrap_or(0)].problem(
                        format!("shade \"{id}\" has the sample \"{}\" twice", specimen.id),
                        "Give each sample of a shade a name of its own.",
                    ));
                }
                shade.specimens.push(specimen);
            }
            None => {
                let label = sheet.text(row, columns.label).map(|cell| cell.text.clone());
                shades.push(Shade { id, label, specimens: vec![specimen], rest: Map::new() });
            }
        }
    }
    let references = References { sameshot_shades: SHADES_VERSION, family, shades, rest: Map::new() };
    // The same rules as for any file of shades; a table's mistake of this kind has no better place than the whole.
    crate::shade::references_to_text(&references)?;
    Ok(Imported { references, notes })
}

/// Where what stands; all but the colours may be missing.
struct Columns {
    id: Option<usize>,
    name: Option<usize>,
    shade: Option<usize>,
    label: Option<usize>,
    sd: Option<[usize; 3]>,
    correlation: Option<[usize; 3]>,
    method: Option<usize>,
    aged: Option<usize>,
    note: Option<usize>,
    more: Option<usize>,
}

impl Columns {
    fn of(sheet: &Sheet) -> Self {
        let sd = [["SD_L", "STDEV_L"], ["SD_A", "STDEV_A"], ["SD_B", "STDEV_B"]].map(|n| sheet.field(&n));
        Self {
            id: sheet.field(&["SAMPLE_ID", "SAMPLEID", "ID", "SPECIMEN"]),
            name: sheet.field(&["SAMPLE_NAME", "NAME", "PATCH", "SAMPLE"]),
            shade: sheet.field(&["SHADE"]),
            label: sheet.field(&["LABEL", "SAMPLE_NAME", "NAME", "PATCH", "SAMPLE"]),
            sd: match sd {
                [Some(l), Some(a), Some(b)] => Some([l, a, b]),
                _ => None,
            },
            correlation: match ["CORR_LA", "CORR_LB", "CORR_AB"].map(|name| sheet.field(&[name])) {
                [Some(la), Some(lb), Some(ab)] => Some([la, lb, ab]),
                _ => None,
            },
            method: sheet.field(&["METHOD"]),
            aged: sheet.field(&["AGED"]),
            note: sheet.field(&["NOTE"]),
            more: sheet.field(&["MORE"]),
        }
    }

    fn shade_of(&self, sheet: &Sheet, row: &[Cell], family: &str, index: usize) -> String {
        if let Some(cell) = sheet.text(row, self.shade) {
            return cell.text.clone();
        }
        let name = sheet.text(row, self.name).or_else(|| sheet.text(row, self.id));
        let name = name.map_or_else(|| (index + 1).to_string(), |cell| cell.text.clone());
        format!("{}/{}", plain(family).to_lowercase().replace('_', "-"), name.trim())
    }

    fn specimen_of(&self, sheet: &Sheet, row: &[Cell], index: usize) -> String {
        let cell = sheet.text(row, self.id).or_else(|| sheet.text(row, self.name));
        cell.map_or_else(|| (index + 1).to_string(), |cell| cell.text.clone())
    }

    fn sd_of(&self, row: &[Cell], otherwise: [f64; 3]) -> Result<[f64; 3], Problem> {
        let Some(columns) = self.sd else { return Ok(otherwise) };
        let mut sd = [0.0; 3];
        for (value, column) in sd.iter_mut().zip(columns) {
            let cell = &row[column];
            *value = number(cell)?;
            if !(*value > 0.0 && *value <= 50.0) {
                return Err(cell.problem(
                    format!("a standard deviation of {} is none", cell.text),
                    "Write a number above 0 and at most 50.",
                ));
            }
        }
        Ok(sd)
    }

    fn method_of(&self, sheet: &Sheet, row: &[Cell]) -> Result<Option<Method>, Problem> {
        let Some(cell) = sheet.text(row, self.method) else { return Ok(None) };
        Method::of_name(&cell.text.to_lowercase()).map(Some).ok_or_else(|| {
            cell.problem(
                format!("the method \"{}\" is not known", cell.text),
                "Write photo, spectrophotometer or published.",
            )
        })
    }

    fn aged_of(&self, sheet: &Sheet, row: &[Cell]) -> Result<bool, Problem> {
        let Some(cell) = sheet.text(row, self.aged) else { return Ok(false) };
        match cell.text.to_lowercase().as_str() {
            "true" | "yes" | "1" => Ok(true),
            "false" | "no" | "0" => Ok(false),
            _ => Err(cell.problem(format!("\"{}\" is neither yes nor no", cell.text), "Write yes or no.")),
        }
    }

    /// Further fields of a specimen: one JSON object, and the correlations, which have columns of their own.
    fn more_of(&self, sheet: &Sheet, row: &[Cell]) -> Result<Map<String, Value>, Problem> {
        let mut fields: Map<String, Value> = match sheet.text(row, self.more) {
            None => Map::new(),
            Some(cell) => serde_json::from_str(&cell.text).map_err(|error| {
                cell.problem(
                    format!("the column \"more\" needs a JSON object ({error})"),
                    "Leave it as it was exported, or empty it.",
                )
            })?,
        };
        match self.correlation_of(row)? {
            Some(correlation) => drop(fields.insert(CORRELATION.into(), correlation)),
            None if fields.get(CORRELATION) == Some(&Value::Null) => drop(fields.shift_remove(CORRELATION)),
            None => {}
        }
        Ok(fields)
    }

    /// The correlations of the errors, none where all three cells are empty.
    fn correlation_of(&self, row: &[Cell]) -> Result<Option<Value>, Problem> {
        let cells = self.correlation.iter().flatten().map(|column| &row[*column]);
        if cells.clone().all(|cell| cell.text.trim().is_empty()) {
            return Ok(None);
        }
        let of = |cell: &Cell| {
            let known = number(cell)?;
            if !(-1.0..=1.0).contains(&known) {
                return Err(cell.problem(
                    format!("a correlation of {} is none", cell.text),
                    "Write a number of -1 to 1, or leave all three empty where they are not known.",
                ));
            }
            // As it stands, so that 0 stays 0 and does not become 0.0.
            Ok(serde_json::from_str(cell.text.trim()).unwrap_or_else(|_| known.into()))
        };
        cells.map(of).collect::<Result<Vec<Value>, Problem>>().map(|three| Some(Value::Array(three)))
    }
}

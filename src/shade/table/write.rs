//! References → CGATS text or CSV, with every value written so that it reads back exactly.

use ::csv::WriterBuilder;
use serde_json::{Map, Value};

use super::samples::CORRELATION;
use crate::problem::Problem;
use crate::shade::{References, Shade, Specimen};

/// What kind of text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TableKind {
    /// CGATS text.
    Cgats,
    /// CSV with commas.
    Csv,
}

const FIELDS: [&str; 16] = [
    "SAMPLE_ID",
    "SHADE",
    "LABEL",
    "LAB_L",
    "LAB_A",
    "LAB_B",
    "SD_L",
    "SD_A",
    "SD_B",
    "CORR_LA",
    "CORR_LB",
    "CORR_AB",
    "METHOD",
    "AGED",
    "NOTE",
    "MORE",
];

/// Fields of CGATS text that its standard knows, so that they need not be declared.
const STANDARD_FIELDS: [&str; 4] = ["SAMPLE_ID", "LAB_L", "LAB_A", "LAB_B"];
/// Fields that stand only where something is in them: columns that nobody filled would stand in the way of other programs.
const OPTIONAL_FIELDS: [&str; 5] = ["CORR_LA", "CORR_LB", "CORR_AB", "NOTE", "MORE"];
/// Numbers stand without quotation marks.
const NUMBERS: std::ops::Range<usize> = 3..12;

/// The references as a table, a row a specimen. Lab is D50, 2°. Read in again it gives the same ids, labels, values,
/// standard deviations, correlations of the errors in L\*a\*, L\*b\* and a\*b\*, methods, notes and further fields of specimens; further fields of shades and of the file are
/// not in a table.
pub fn export_table(references: &References, kind: TableKind) -> Result<String, Problem> {
    match kind {
        TableKind::Cgats => Ok(cgats(references)),
        TableKind::Csv => csv(references).map_err(|error| {
            Problem::new(
                format!("The table cannot be written ({error})."),
                "Report this with the shades file.",
            )
        }),
    }
}

fn row(shade: &Shade, specimen: &Specimen) -> [String; 16] {
    let number = |v: f64| format!("{v}");
    let [l, a, b] = specimen.lab.map(number);
    let [sl, sa, sb] = specimen.sd.map(number);
    let (correlation, more) = apart(&specimen.rest);
    let [la, lb, ab] = correlation.unwrap_or_default();
    [
        specimen.id.clone(),
        shade.id.clone(),
        shade.label.clone().unwrap_or_default(),
        l,
        a,
        b,
        sl,
        sa,
        sb,
        la,
        lb,
        ab,
        specimen.method.name().into(),
        if specimen.aged { "yes" } else { "no" }.into(),
        specimen.note.clone().unwrap_or_default(),
        more,
    ]
}

/// The correlations, each as it is written in the file, and all other further fields. Where there are others, null keeps
/// the place of the correlations among them.
fn apart(rest: &Map<String, Value>) -> (Option<[String; 3]>, String) {
    let mut rest = rest.clone();
    let correlation = match rest.get_mut(CORRELATION) {
        Some(Value::Array(three)) if three.iter().all(Value::is_number) => {
            <[Value; 3]>::try_from(three.clone()).ok().map(|three| three.map(|v| v.to_string()))
        }
        _ => None,
    };
    if correlation.is_some() {
        if rest.len() == 1 {
            rest.clear();
        } else {
            rest.insert(CORRELATION.into(), Value::Null);
        }
    }
    (correlation, if rest.is_empty() { String::new() } else { Value::Object(rest).to_string() })
}

fn rows(references: &References) -> impl Iterator<Item = [String; 16]> {
    let of_shade = |shade| move |specimen| row(shade, specimen);
    references.shades.iter().flat_map(move |shade| shade.specimens.iter().map(of_shade(shade)))
}

fn csv(references: &References) -> Result<String, String> {
    let mut writer = WriterBuilder::new().from_writer(Vec::new());
    writer.write_record(FIELDS.map(str::to_lowercase)).map_err(|error| error.to_string())?;
    for row in rows(references) {
        writer.write_record(row).map_err(|error| error.to_string())?;
    }
    let bytes = writer.into_inner().map_err(|error| error.to_string())?;
    let table = String::from_utf8(bytes).map_err(|error| error.to_string())?;
    let family = one_line(&references.family);
    Ok(format!("# family: {family}\n# illuminant: D50\n# observer: 2 degree\n{table}"))
}

fn cgats(references: &References) -> String {
    let rows: Vec<[String; 16]> = rows(references).collect();
    let stands =
        |i: &usize| !OPTIONAL_FIELDS.contains(&FIELDS[*i]) || rows.iter().any(|row| !row[*i].is_empty());
    let used: Vec<usize> = (0..FIELDS.len()).filter(stands).collect();
    let mut text = String::from("CGATS.17\nORIGINATOR \"Sameshot\"\n");
    text += &format!("DESCRIPTOR {}\n", quoted("Reference shades, CIE Lab under D50, 2 degree observer"));
    text += "MEASUREMENT_SOURCE \"Illumination=D50 ObserverAngle=2degree\"\n";
    text += &format!("KEYWORD \"FAMILY\"\nFAMILY {}\n", quoted(&references.family));
    let names: Vec<&str> = used.iter().map(|&i| FIELDS[i]).collect();
    for own in names.iter().filter(|name| !STANDARD_FIELDS.contains(name)) {
        text += &format!("KEYWORD \"{own}\"\n");
    }
    text += &format!(
        "NUMBER_OF_FIELDS {}\nBEGIN_DATA_FORMAT\n{}\nEND_DATA_FORMAT\n",
        names.len(),
        names.join("\t")
    );
    text += &format!("NUMBER_OF_SETS {}\nBEGIN_DATA\n", rows.len());
    for row in &rows {
        let cells: Vec<String> =
            used.iter()
                .map(|&i| {
                    if NUMBERS.contains(&i) && !row[i].is_empty() { row[i].clone() } else { quoted(&row[i]) }
                })
                .collect();
        text += &cells.join("\t");
        text.push('\n');
    }
    text + "END_DATA\n"
}

fn quoted(text: &str) -> String {
    format!("\"{}\"", one_line(text).replace('"', "\"\""))
}

/// A value of CGATS text or a comment may not hold a line end.
fn one_line(text: &str) -> String {
    text.replace(['\r', '\n'], " ")
}

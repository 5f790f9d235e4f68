//! Sheet → Lab under D50: from Lab or XYZ under any of the usual illuminants, or from spectra.

use super::sheet::{Cell, Sheet, plain};
use crate::color::spectrum::Spectrum;
use crate::color::tristimulus::lab_in_d50_of;
use crate::color::{Illuminant, Lab, lab_in_d50_from_lab, lab_in_d50_from_xyz};
use crate::problem::Problem;

/// What the person says of a table that the table may not say itself.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct ReadOptions {
    /// The illuminant of its Lab or XYZ, whatever the table says.
    pub illuminant: Option<Illuminant>,
}

/// One sample of a table.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// L\*, a\*, b\* under D50 for the 2° observer; as it stands in the table where nothing was converted, else rounded to
    /// a ten-thousandth.
    pub lab: [f64; 3],
    /// Standard deviation that comes from the conversion: adaptation from another illuminant predicts a colour, it does
    /// not measure it. Zero in each coordinate where nothing was converted.
    pub conversion_sd: [f64; 3],
}

/// All samples of a table, in its order, and what was taken for granted.
#[derive(Debug, Clone, PartialEq)]
pub struct Readings {
    /// One a row.
    pub readings: Vec<Reading>,
    /// What to tell the person: illuminant, scale, conversion. Full sentences.
    pub notes: Vec<String>,
}

/// Standard deviation of Lab D50 that was adapted from Lab under another illuminant, in L\*, a\*, b\*.
///
/// Root mean square over the 24 patches of the chart (spectra of Ohta 1997 in PyPI colour-science 0.4.7) of Bradford's
/// adaptation less the patch's own Lab under D50, computed with colour-science; `tests/references/` computes it again for
/// all but C. Near greens share most of this error.
pub fn adaptation_sd(illuminant: Illuminant) -> [f64; 3] {
    match illuminant {
        Illuminant::D50 => [0.0; 3],
        Illuminant::D65 => [0.4, 1.0, 0.9],
        Illuminant::C => [0.4, 1.1, 0.9],
        Illuminant::A => [1.3, 2.8, 2.3],
        Illuminant::F2 => [1.5, 7.5, 3.7],
        Illuminant::F11 => [1.0, 4.6, 3.3],
    }
}

/// Finds the colours of a sheet. A spectrum counts before Lab, which needs no illuminant to be believed; Lab before XYZ.
pub(super) fn read_values_of(sheet: &Sheet, options: ReadOptions) -> Result<Readings, Problem> {
    check_observer(sheet)?;
    let spectral = spectral_columns(sheet)?;
    if !spectral.is_empty() {
        return from_spectra(sheet, &spectral);
    }
    let triple = |names: [&[&str]; 3]| {
        let found = names.map(|names| sheet.field(names));
        Some([found[0]?, found[1]?, found[2]?])
    };
    let xyz = triple([&["XYZ_X", "X"], &["XYZ_Y", "Y"], &["XYZ_Z", "Z"]]);
    let lab = triple([
        &["LAB_L", "L", "LSTAR", "L_STAR", "CIE_L"],
        &["LAB_A", "A", "ASTAR", "A_STAR", "CIE_A"],
        &["LAB_B", "B", "BSTAR", "B_STAR", "CIE_B"],
    ]);
    let (kind, columns) = match (xyz, lab) {
        (_, Some(columns)) => (Kind::Lab, columns),
        (Some(columns), None) => (Kind::Xyz, columns),
        (None, None) => {
            let place = sheet.fields.first().cloned();
            let what = "the table has no columns of Lab, XYZ or a spectrum";
            let remedy =
                "Name them LAB_L LAB_A LAB_B, or XYZ_X XYZ_Y XYZ_Z, or SPECTRAL_380 to SPECTRAL_730.";
            return Err(place.map_or_else(|| Problem::new(what, remedy), |cell| cell.problem(what, remedy)));
        }
    };
    from_triples(sheet, kind, columns, options)
}

/// Reads the colours of a table's text, CGATS or CSV, told apart by themselves.
pub fn read_values(text: &str, options: ReadOptions) -> Result<Readings, Problem> {
    read_values_of(&super::samples::sheet_of(text)?, options)
}

#[derive(Clone, Copy, PartialEq)]
enum Kind {
    Lab,
    Xyz,
}

fn from_triples(
    sheet: &Sheet,
    kind: Kind,
    columns: [usize; 3],
    options: ReadOptions,
) -> Result<Readings, Problem> {
    let per_row = sheet.field(&["ILLUMINANT", "ILLUMINATION_NAME"]);
    let said = match options.illuminant {
        Some(illuminant) => Some(illuminant),
        None => illuminant_of_header(sheet)?,
    };
    let triples: Vec<[f64; 3]> = sheet
        .rows
        .iter()
        .map(|row| Ok([number(&row[columns[0]])?, number(&row[columns[1]])?, number(&row[columns[2]])?]))
        .collect::<Result<_, Problem>>()?;
    let mut notes = Vec::new();
    let largest = triples.iter().flatten().copied().fold(0.0, f64::max);
    let scale = if kind == Kind::Xyz && largest > 1.5 { 0.01 } else { 1.0 };
    if kind == Kind::Xyz {
        let white = if scale < 1.0 { "100" } else { "1" };
        notes.push(format!("XYZ was read on the scale where white has Y = {white}."));
    }
    if said.is_none() && per_row.is_none() {
        notes.push("The table does not say its illuminant; D50 was taken.".into());
    }
    let mut readings = Vec::with_capacity(triples.len());
    let mut converted: Vec<(Illuminant, usize)> = Vec::new();
    for (row, triple) in sheet.rows.iter().zip(triples) {
        let own = match (options.illuminant, sheet.text(row, per_row)) {
            (None, Some(cell)) => Some(illuminant_of(cell)?),
            _ => said,
        };
        let illuminant = own.unwrap_or(Illuminant::D50);
        let lab = match kind {
            Kind::Lab => lab_in_d50_from_lab(triple, illuminant),
            Kind::Xyz => lab_in_d50_from_xyz(triple.map(|v| v * scale), illuminant),
        };
        check_colour(lab, &row[columns[0]])?;
        if illuminant != Illuminant::D50 {
            match converted.iter_mut().find(|(of, _)| *of == illuminant) {
                Some((_, count)) => *count += 1,
                None => converted.push((illuminant, 1)),
            }
        }
        let as_it_stands = kind == Kind::Lab && illuminant == Illuminant::D50;
        let lab = if as_it_stands { triple } else { rounded(lab) };
        readings.push(Reading { lab, conversion_sd: adaptation_sd(illuminant) });
    }
    for (illuminant, count) in converted {
        let [l, a, b] = adaptation_sd(illuminant);
        notes.push(format!(
            "{count} of {} samples were converted from illuminant {illuminant:?} to D50 (Bradford); as the plastic may look \
             different under the two, ± {l}, {a}, {b} was added to their standard deviations in L*, a*, b*.",
            readings.len()
        ));
    }
    Ok(Readings { readings, notes })
}

/// Column, wavelength in nm and divisor of each sample of a spectrum.
type Band = (usize, f64, f64);

/// Spectral columns by their names: SPECTRAL_380, SPEC_380, NM_380, R_380, 380, 380 nm.
fn spectral_columns(sheet: &Sheet) -> Result<Vec<Band>, Problem> {
    let mut bands: Vec<Band> = Vec::new();
    for (index, field) in sheet.fields.iter().enumerate() {
        let name = plain(&field.text);
        let percent = name.contains("PCT");
        let bare = ["SPECTRAL_PCT", "SPECTRAL_DEC", "SPECTRAL_NM", "SPECTRAL", "SPEC", "NM", "R"]
            .iter()
            .find_map(|start| name.strip_prefix(start))
            .unwrap_or(&name);
        let bare = bare.trim_start_matches('_').trim_end_matches("NM").trim_end_matches('_');
        let Ok(nm) = bare.parse::<f64>() else { continue };
        if !(300.0..=1100.0).contains(&nm) {
            continue;
        }
        if bands.last().is_some_and(|(_, before, _)| *before >= nm) {
            return Err(field.problem(
                format!("the wavelength {nm} nm does not follow the one before it"),
                "Give the columns of a spectrum in rising order, each wavelength once.",
            ));
        }
        bands.push((index, nm, if percent { 100.0 } else { 1.0 }));
    }
    let Some((&(first, low, _), &(_, high, _))) = bands.first().zip(bands.last()) else { return Ok(bands) };
    let widest = bands.windows(2).map(|pair| pair[1].1 - pair[0].1).fold(0.0, f64::max);
    if bands.len() < 8 || low > 400.0 || high < 700.0 || widest > 20.0 {
        return Err(sheet.fields[first].problem(
            format!(
                "the spectrum has {} wavelengths from {low} to {high} nm, at most {widest} nm apart",
                bands.len()
            ),
            "At least 400 to 700 nm is needed, at most 20 nm apart; 380 to 730 nm every 10 nm is usual.",
        ));
    }
    Ok(bands)
}

fn from_spectra(sheet: &Sheet, bands: &[Band]) -> Result<Readings, Problem> {
    let mut spectra = Vec::with_capacity(sheet.rows.len());
    for row in &sheet.rows {
        let values = bands.iter().map(|&(column, _, divisor)| Ok(number(&row[column])? / divisor));
        spectra.push(values.collect::<Result<Vec<f64>, Problem>>()?);
    }
    // White plastic with brightener may pass 1; 2 is beyond any.
    let percent = spectra.iter().flatten().copied().fold(0.0, f64::max) > 2.0;
    let scale = if percent { 0.01 } else { 1.0 };
    let nm: Vec<f64> = bands.iter().map(|(_, nm, _)| *nm).collect();
    let mut readings = Vec::with_capacity(spectra.len());
    for (row, values) in sheet.rows.iter().zip(spectra) {
        let values: Vec<f64> = values.iter().map(|v| v * scale).collect();
        if let Some(bad) = values.iter().position(|v| !(-0.05..=2.0).contains(v)) {
            let cell = &row[bands[bad].0];
            return Err(cell.problem(
                format!("a reflectance of {} is none", cell.text),
                "Reflectances lie between 0 and 1, or between 0 and 100 in the whole table.",
            ));
        }
        let lab = lab_in_d50_of(&Spectrum::interpolated(&nm, &values));
        check_colour(lab, &row[bands[0].0])?;
        readings.push(Reading { lab: rounded(lab), conversion_sd: [0.0; 3] });
    }
    let last = nm.last().copied().unwrap_or_default();
    let mut notes = vec![format!(
        "Spectra from {} to {last} nm were integrated under D50 for the 2° observer; beyond their ends the last value was \
         held.",
        nm[0]
    )];
    if percent {
        notes.push("Reflectances were read as per cent.".into());
    }
    Ok(Readings { readings, notes })
}

/// A finite number. The decimal mark is a point.
pub(super) fn number(cell: &Cell) -> Result<f64, Problem> {
    cell.text.trim().parse::<f64>().ok().filter(|v| v.is_finite()).ok_or_else(|| {
        let found = if cell.text.trim().is_empty() { "nothing".into() } else { format!("\"{}\"", cell.text) };
        cell.problem(
            format!("a number is needed here, found {found}"),
            "Write a number with a decimal point.",
        )
    })
}

fn rounded(lab: Lab) -> [f64; 3] {
    [lab.l, lab.a, lab.b].map(|v| libm::round(v * 1e4) / 1e4)
}

fn check_colour(lab: Lab, cell: &Cell) -> Result<(), Problem> {
    let possible = (-0.5..=110.0).contains(&lab.l) && lab.a.abs() <= 200.0 && lab.b.abs() <= 200.0;
    if possible {
        return Ok(());
    }
    Err(cell.problem(
        format!("Lab would be {:.1}, {:.1}, {:.1}, which no surface has", lab.l, lab.a, lab.b),
        "Check the row, and that the columns are named rightly.",
    ))
}

fn illuminant_of(cell: &Cell) -> Result<Illuminant, Problem> {
    Illuminant::of_name(&cell.text).ok_or_else(|| {
        cell.problem(
            format!("the illuminant \"{}\" is not known", cell.text),
            "Known are A, C, D50, D65, F2 and F11; measure again under one of them.",
        )
    })
}

/// The illuminant that the lines before the table name.
fn illuminant_of_header(sheet: &Sheet) -> Result<Option<Illuminant>, Problem> {
    for (name, cell) in &sheet.header {
        if matches!(name.as_str(), "ILLUMINANT" | "ILLUMINATION_NAME" | "ILLUMINATION") {
            return illuminant_of(cell).map(Some);
        }
        if matches!(name.as_str(), "MEASUREMENT_SOURCE" | "WEIGHTING_FUNCTION" | "COMPUTATIONAL_PARAMETER") {
            // Such as "Illumination=D50 ObserverAngle=2degree" or "ILLUMINANT, D50".
            let mut words = cell.text.split(|c: char| c == '=' || c == ',' || c.is_whitespace());
            while let Some(word) = words.next() {
                if !word.to_uppercase().starts_with("ILLUMIN") {
                    continue;
                }
                let Some(value) = words.find(|word| !word.is_empty()) else { continue };
                // "unknown" says nothing.
                if let Some(found) = Illuminant::of_name(value) {
                    return Ok(Some(found));
                }
            }
        }
    }
    Ok(None)
}

/// Values for the 10° observer cannot be turned into those of the 2° observer without the spectrum.
fn check_observer(sheet: &Sheet) -> Result<(), Problem> {
    for (name, cell) in &sheet.header {
        let text = cell.text.to_uppercase().replace([' ', '_'], "");
        let ten = text.contains("OBSERVERANGLE=10")
            || text.contains("OBSERVER,10")
            || (name.starts_with("OBSERVER") && text.starts_with("10"));
        if ten && spectral_columns(sheet)?.is_empty() {
            return Err(cell.problem(
                "the values are for the 10° observer, which cannot be turned into those for 2°",
                "Export the table for the 2° observer, or with its spectra.",
            ));
        }
    }
    Ok(())
}

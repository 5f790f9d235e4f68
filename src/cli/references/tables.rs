//! `sameshot references import` and `export`.

use std::path::{Path, PathBuf};

use super::args::{ExportArguments, ImportArguments};
use super::card::write_card;
use crate::card::known::KnownStep;
use crate::cli::output::print;
use crate::problem::Problem;
use crate::shade::references_to_text;
use crate::shade::table::{ImportOptions, ReadOptions, TableKind, export_table, import_table};
use crate::storage::{open_references, read_limited, save_atomically};

/// A table has at most so many bytes.
const TABLE_LIMIT_BYTES: u64 = 16_000_000;

pub(super) fn import(options: &ImportArguments) -> Result<(), Problem> {
    let path = &options.table;
    let bytes = read_limited(path, TABLE_LIMIT_BYTES)?;
    // Instruments write names in old code pages; what is no UTF-8 only spoils a name.
    let text = String::from_utf8_lossy(&bytes);
    let usual = ImportOptions::default();
    let stem =
        path.file_stem().map_or_else(|| usual.family.clone(), |stem| stem.to_string_lossy().into_owned());
    let chosen = ImportOptions {
        read: ReadOptions { illuminant: options.illuminant },
        family: options.family.clone().unwrap_or(stem),
        sd: options.sd.map_or(usual.sd, |sd| sd.0),
        method: options.method.unwrap_or(usual.method),
    };
    let mut imported = import_table(&text, &chosen).map_err(|problem| problem.in_file(path.display()))?;
    if let Some(family) = &options.family {
        imported.references.family.clone_from(family);
    }
    if let Some(card) = &options.card {
        let specimens = imported.references.shades.iter().flat_map(|shade| &shade.specimens);
        let steps = specimens.map(|specimen| KnownStep { lab: specimen.lab, sd: specimen.sd }).collect();
        return write_card(card, &imported.references.family, steps, options.replace);
    }
    let out = options.out.clone().unwrap_or_else(|| beside(path));
    if out.exists() && !options.replace {
        return Err(Problem::new(
            format!("{} is there already; nothing was written.", out.display()),
            "Name another file with --out, or say --replace.",
        ));
    }
    save_atomically(&out, references_to_text(&imported.references)?.as_bytes())?;
    let shades = &imported.references.shades;
    let samples: usize = shades.iter().map(|shade| shade.specimens.len()).sum();
    let mut said = format!(
        "{}: {samples} samples in {} shades of the family {}.\n",
        path.display(),
        shades.len(),
        imported.references.family
    );
    for shade in shades {
        for specimen in &shade.specimens {
            let [l, a, b] = specimen.lab;
            said += &format!("  {}: L* {l:.2}, a* {a:.2}, b* {b:.2}\n", shade.name());
        }
    }
    for note in &imported.notes {
        said += &format!("{note}\n");
    }
    print(&(said + &format!("Written to {}.\n", out.display())));
    Ok(())
}

fn beside(table: &Path) -> PathBuf {
    let stem = table.file_stem().unwrap_or_default().to_string_lossy();
    table.with_file_name(format!("{stem}.shades.json"))
}

pub(super) fn export(options: &ExportArguments) -> Result<(), Problem> {
    let references = open_references(&options.shades)?;
    let by_name = match &options.out {
        Some(path) if path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("csv")) => {
            TableKind::Csv
        }
        _ => TableKind::Cgats,
    };
    let text = export_table(&references, options.kind.unwrap_or(by_name))?;
    let Some(out) = &options.out else {
        print(&text);
        return Ok(());
    };
    save_atomically(out, text.as_bytes())?;
    print(&format!("Written to {}.\n", out.display()));
    Ok(())
}

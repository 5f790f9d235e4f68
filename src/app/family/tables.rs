//! Shades from a table of measured values, and a table of the shades: CGATS text or CSV.

use std::path::{Path, PathBuf};

use egui::{Button, TextEdit, Ui};

use crate::jobs::Task;
use crate::problem::Problem;
use crate::shade::References;
use crate::shade::table::{ImportOptions, ReadOptions, TableKind, export_table, import_table};
use crate::storage::{read_limited, save_atomically};

use super::action::FamilyAction;
use super::gathering::Gathering;

/// A table has at most so many bytes.
const TABLE_LIMIT_BYTES: u64 = 16_000_000;

/// A table being read or written.
pub(super) type TableTask = Task<Result<TableDone, Problem>>;

/// What came of it.
pub(super) enum TableDone {
    /// The shades in it, and what there is to say of them.
    Read(References, Vec<String>),
    /// It was written.
    Written(PathBuf),
}

/// Shows the field and the buttons.
pub(super) fn show(ui: &mut Ui, gathering: &Gathering, asked: &mut Vec<FamilyAction>) {
    ui.collapsing("Tables of measured values", |ui| {
        let text = "CGATS text or CSV with Lab, XYZ or spectra, as instruments write them. What is read is added to the \
                    shades.";
        ui.add(egui::Label::new(text).wrap());
        let label = ui.label("Path of the table");
        let mut path = gathering.table_path.clone();
        let field = ui.add(TextEdit::singleline(&mut path).desired_width(f32::INFINITY));
        if field.labelled_by(label.id).changed() {
            asked.push(FamilyAction::TablePath(path));
        }
        let some = !gathering.table_path.trim().is_empty();
        ui.horizontal_wrapped(|ui| {
            if ui.add_enabled(some, Button::new("Read the table")).clicked() {
                asked.push(FamilyAction::ReadTable);
            }
            let can = some && gathering.references.is_some();
            let write = ui.add_enabled(can, Button::new("Write the shades as a table"));
            if write.on_hover_text("CSV where the name ends in .csv, else CGATS text; Lab under D50.").clicked() {
                asked.push(FamilyAction::WriteTable);
            }
        });
    });
}

/// Reads a table, as `sameshot references import` does.
pub(super) fn read(path: &Path) -> Result<TableDone, Problem> {
    let bytes = read_limited(path, TABLE_LIMIT_BYTES)?;
    let usual = ImportOptions::default();
    let stem = path.file_stem().map(|stem| stem.to_string_lossy().into_owned());
    let options = ImportOptions {
        read: ReadOptions { illuminant: None },
        family: stem.unwrap_or_else(|| usual.family.clone()),
        ..usual
    };
    // Instruments write names in old code pages; what is no UTF-8 only spoils a name.
    let imported = import_table(&String::from_utf8_lossy(&bytes), &options)
        .map_err(|problem| problem.in_file(path.display()))?;
    Ok(TableDone::Read(imported.references, imported.notes))
}

/// Writes a table; a file that is there is left alone.
pub(super) fn write(path: PathBuf, references: &References) -> Result<TableDone, Problem> {
    if path.exists() {
        return Err(Problem::new(
            format!("{} is there already; nothing was written.", path.display()),
            "Type another name.",
        ));
    }
    let csv = path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("csv"));
    let text = export_table(references, if csv { TableKind::Csv } else { TableKind::Cgats })?;
    save_atomically(&path, text.as_bytes()).map(|()| TableDone::Written(path))
}

//! From a case file to all that follows from it (photo, result, finding), and from there into a collection and back:
//! what a record's case would say today.

mod add;
mod check;
mod load;
mod other_files;
mod report;

pub use add::{Addition, Details, Place, add, details_of, edit_details};
pub use check::{CheckWith, Checked, check, keep_checked};
pub use load::{
    Loaded, guide_file, load, load_with, measure_loaded, open_flat_field, open_other_photo, weighed,
};
pub use report::{CaseReport, ReportKind, collection_report, write_case_report};

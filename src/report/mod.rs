//! Results for people: as text, as pictures with the marks drawn on, and as reports to send.

mod axis;
mod body;
mod collection;
mod family;
mod listing;
mod picture;
mod sheet;
mod sorted;
mod text;
mod words;

pub use axis::Axis;
pub use body::{Place, places};
pub use collection::{collection_table, counts_words, spare_words, totals_text, want_words, who_words};
pub use family::{
    Ellipse, FamilyOptions, FamilyPicture, Point, ShadePicture, confusion_text, family_svg, family_text,
    judgement_text, outliers_text,
};
pub use listing::{ListingAdvice, listing_advice};
pub use picture::{
    PictureInputs, PictureProblem, contact_sheet, result_picture, shade_map_picture, thumbnail, tray_picture,
};
pub use sheet::{CollectionInputs, collection_csv, collection_html, collection_message, collection_pdf};
pub use sheet::{FileUsed, ReportInputs, report_csv, report_html, report_message, report_pdf};
pub use sorted::{CSV_HEAD, CardRecord, PartRecord, SortedPhoto, csv_rows, doubt_in_words, sorted_photo};
pub use text::{TextOptions, measurement_text};
pub use words::{
    SamePlastic, Verdict, capital, look_worth, percent, percent_short_of, pixels_text, same_plastic,
    shade_name, verdict,
};

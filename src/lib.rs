//! Sameshot measures the plastic of a part in an ordinary photo with a grey card beside it, says which
//! reference shade it is and how sure that is, and weighs shade, moulds and paint into who a figure is.
//!
//! The rooms, in reading order; each depends only on those above it:
//!
//! | room | what it knows |
//! |---|---|
//! | [`problem`] | an error for people: message and remedy |
//! | [`json`] | documents of a kind and version, read with errors that name line, mark and field |
//! | [`color`] | Lab D50, sRGB, adaptation, CIEDE2000 |
//! | [`stats`] | robust centres, covariance, Student-t, seeded draws |
//! | [`raster`] | pictures in coded samples with their way to linear light, shapes, pyramid |
//! | [`card`] | the printed grey card: layout, page, finding it in a photo |
//! | [`plastic`] | an area of a picture → the body colour of what lies there |
//! | [`light`] | zones of known colour → the light of the photo → joint readings, budget, remedies |
//! | [`shade`] | reference shades, specimens, classification |
//! | [`scene`] | spectra, pigments, lamps and cameras: invented scenes with known truth |
//! | [`guide`] | characters, runs, moulds, paint; validation |
//! | [`case`] | the saved document of one photo: marks, edits, history, file formats |
//! | [`measure`] | one picture and its marks → the result |
//! | [`tray`] | loose parts found on a board, sorted, paired and matched with bodies |
//! | [`rehearse`] | thousands of invented scenes measured: are the error bars true, and how short are they |
//! | [`figure`] | evidence → who a figure is, what does not belong, the next look |
//! | [`collection`] | records of figures, what is complete and wanted, what a new finding changes |
//! | [`report`] | results as readable text |
//! | [`photo`] | bytes → picture: formats, EXIF, ICC, limits |
//! | [`storage`] | the only files written: atomic save, autosave, recent files |
//! | [`keeping`] | a case file → its photo, result and finding, and on into a collection |
//! | [`jobs`] | worker threads, progress, cancel |
//! | [`folder`] | every photo of a folder of loose parts sorted |
//! | [`cli`] | commands |
//! | `app` | the window (feature `gui`) |
//!
//! Rooms down to [`report`] are pure: no files, no clock, no threads, no widgets.

pub mod problem;

pub mod json;

pub mod color;
pub mod stats;

pub mod raster;

pub mod card;

pub mod plastic;

pub mod light;

pub mod shade;

pub mod scene;

pub mod guide;

pub mod case;

pub mod measure;

pub mod tray;

pub mod rehearse;

pub mod figure;

pub mod collection;

pub mod report;

pub mod photo;

pub mod storage;

pub mod keeping;

pub mod jobs;

pub mod folder;

pub mod cli;

#[cfg(feature = "gui")]
pub mod app;

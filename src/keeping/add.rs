//! A case and what was found in it, put into a collection as a record.

use std::path::{Path, PathBuf};

use super::other_files::OtherFiles;
use crate::case::{CaseDocument, PathRule, relative_to};
use crate::collection::{Bought, Holds, Made, Record, Role, Source, recorded};
use crate::figure::Findings;
use crate::measure::Measurement;
use crate::photo::{Limits, sha256_hex};
use crate::problem::Problem;
use crate::storage::{
    copied_into, make_collection, open_record, read_limited, save_case, save_record, unused_stem,
};

/// What is put into a collection.
#[derive(Debug, Clone)]
pub struct Addition<'a> {
    /// The collection's folder; it is made where it is missing.
    pub folder: &'a Path,
    /// What the person says of it.
    pub details: &'a Details,
    /// Where its files go.
    pub place: Place<'a>,
    /// The day, year-month-day.
    pub date: &'a str,
    /// The marks.
    pub case: &'a CaseDocument,
    /// The photo's file.
    pub photo: &'a Path,
    /// The references' file.
    pub references: Option<&'a Path>,
    /// The guide's file.
    pub guide: Option<&'a Path>,
    /// The photo of the empty board.
    pub flat_field: Option<&'a Path>,
    /// The cases of the other photos of the same parts.
    pub more_photos: &'a [PathBuf],
    /// What was measured.
    pub measurement: &'a Measurement,
    /// Who it is, where a guide was weighed with.
    pub findings: Option<&'a Findings>,
}

/// What the person says of a new record.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Details {
    /// Its name.
    pub name: String,
    /// Whether it is a figure.
    pub holds: Holds,
    /// What state it is in; empty is nothing said, here and below.
    pub condition: String,
    /// Where it was bought.
    pub place: String,
    /// When.
    pub bought_on: String,
    /// For how much.
    pub price: String,
    /// Anything else.
    pub notes: String,
}

/// Where the files of a record go.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place<'a> {
    /// Into the collection; what lies there already stays where it is.
    Copied,
    /// They stay where they are. This is the case's file, which must hold the marks as they are now.
    Left(&'a Path),
}

/// Puts it in and answers with the record's file. The record is written last, so that one that is there is whole.
pub fn add(addition: &Addition) -> Result<PathBuf, Problem> {
    if addition.details.name.trim().is_empty() {
        return Err(Problem::new("The record has no name.", "Write what you call the figure."));
    }
    make_collection(addition.folder)?;
    let stem = unused_stem(addition.folder, &addition.details.name);
    let photo = Named::read(Role::Photo, addition.photo)?;
    let named = |role, file| Named::read(role, file);
    let references = addition.references.map(|file| named(Role::References, file)).transpose()?;
    let guide = addition.guide.map(|file| named(Role::Guide, file)).transpose()?;
    let flat_field = addition.flat_field.map(|file| named(Role::Photo, file)).transpose()?;
    let others = Others { references, guide, flat_field };
    let more = addition.more_photos.iter().map(|file| OtherFiles::of(file, PathRule::ChosenByHand));
    let more = more.collect::<Result<Vec<_>, _>>()?;
    let (case, files) = match addition.place {
        Place::Copied => copied(addition, &stem, photo, others, &more)?,
        Place::Left(case) => {
            let case = named(Role::Case, case)?;
            let from_here = |named: Named| named.placed(|file, _| Ok(relative(addition.folder, file)));
            let mut files: Vec<Source> = others.after(photo).map(from_here).collect::<Result<_, _>>()?;
            for other in &more {
                files.push(from_here(named(Role::Case, &other.file)?)?);
                for photo in other.photos() {
                    files.push(from_here(named(Role::Photo, photo)?)?);
                }
            }
            (from_here(case)?, files)
        }
    };
    let sources: Vec<Source> = std::iter::once(case.clone()).chain(files.iter().cloned()).collect();
    let made = Made {
        date: addition.date,
        sources: &sources,
        case: addition.case,
        measurement: addition.measurement,
        findings: addition.findings,
    };
    let mut record = of_details(addition.details);
    // That of the empty board is no photo of the figure.
    record.photos = files.first().map(|photo| photo.file.clone()).into_iter().collect();
    record.cases = vec![case.file.clone()];
    record.findings = vec![recorded(&made)];
    let path = addition.folder.join(format!("{stem}.record.json"));
    save_record(&path, &record)?;
    Ok(path)
}

/// Copies the files in and writes a case that names the copies.
fn copied(
    addition: &Addition,
    stem: &str,
    photo: Named,
    others: Others<Named>,
    more: &[OtherFiles],
) -> Result<(Source, Vec<Source>), Problem> {
    let folder = addition.folder;
    let as_photo = |photo: Named, stem: &str| {
        let ending = photo.file.extension().map_or(String::new(), |e| format!(".{}", e.to_string_lossy()));
        photo.placed(|file, bytes| copied_into(folder, file, bytes, &format!("photos/{stem}{ending}")))
    };
    let photo = as_photo(photo, stem)?;
    let as_named = |named: Named| {
        let name = named.file.file_name().unwrap_or_default().to_string_lossy().into_owned();
        named.placed(|file, bytes| copied_into(folder, file, bytes, &name))
    };
    let others = Others {
        references: others.references.map(as_named).transpose()?,
        guide: others.guide.map(as_named).transpose()?,
        flat_field: others.flat_field.map(as_named).transpose()?,
    };
    let mut case = addition.case.clone();
    case.photo = photo.file.clone();
    case.photo_sha256 = Some(photo.sha256.clone());
    let file_of = |source: &Option<Source>| source.as_ref().map(|source| source.file.clone());
    case.references = file_of(&others.references);
    case.guide = file_of(&others.guide);
    case.flat_field = file_of(&others.flat_field);
    let (mut files, mut of_others) = (Vec::new(), Vec::new());
    for (number, other) in (2..).zip(more) {
        let stem = format!("{stem}-{number}");
        let photo = as_photo(Named::read(Role::Photo, &other.photo)?, &stem)?;
        let field =
            other.flat_field.as_deref().map(|file| as_named(Named::read(Role::Photo, file)?)).transpose()?;
        let here = CaseDocument {
            photo: photo.file.clone(),
            photo_sha256: Some(photo.sha256.clone()),
            flat_field: file_of(&field),
            // Only its areas are read.
            references: None,
            guide: None,
            more_photos: Vec::new(),
            ..other.case.clone()
        };
        // One that lies in the collection already stays as it is.
        let copy = match absolute(&other.file).starts_with(absolute(folder)) {
            true => Named::read(Role::Case, &other.file)?,
            false => Named {
                role: Role::Case,
                file: &other.file,
                bytes: crate::case::to_text(&here)?.into_bytes(),
            },
        };
        let copy =
            copy.placed(|file, bytes| copied_into(folder, file, bytes, &format!("{stem}.case.json")))?;
        files.push(copy.file.clone());
        of_others.extend([Some(copy), Some(photo), field].into_iter().flatten());
    }
    case.more_photos = files;
    let name = format!("{stem}.case.json");
    save_case(&folder.join(&name), &case)?;
    let text = crate::case::to_text(&case)?;
    let case = Source { role: Role::Case, file: name, sha256: sha256_hex(text.as_bytes()) };
    Ok((case, others.after(photo).chain(of_others).collect()))
}

/// The files that a case may name besides its photo.
struct Others<T> {
    references: Option<T>,
    guide: Option<T>,
    flat_field: Option<T>,
}

impl<T> Others<T> {
    /// All that there are, after the photo.
    fn after(self, photo: T) -> impl Iterator<Item = T> {
        [Some(photo), self.references, self.guide, self.flat_field].into_iter().flatten()
    }
}

/// A file that was read.
struct Named<'a> {
    role: Role,
    file: &'a Path,
    bytes: Vec<u8>,
}

impl<'a> Named<'a> {
    fn read(role: Role, file: &'a Path) -> Result<Self, Problem> {
        Ok(Self { role, file, bytes: read_limited(file, Limits::default().file_bytes)? })
    }

    fn placed(self, place: impl Fn(&Path, &[u8]) -> Result<String, Problem>) -> Result<Source, Problem> {
        let file = place(self.file, &self.bytes)?;
        Ok(Source { role: self.role, file, sha256: sha256_hex(&self.bytes) })
    }
}

fn relative(folder: &Path, file: &Path) -> String {
    relative_to(&absolute(folder), &absolute(file))
}

fn absolute(path: &Path) -> PathBuf {
    std::path::absolute(path).unwrap_or(path.to_owned())
}

fn of_details(details: &Details) -> Record {
    let mut record = Record::new(details.name.trim());
    say(&mut record, details);
    record
}

/// Writes what the person says into a record.
fn say(record: &mut Record, details: &Details) {
    let said = |text: &str| Some(text.trim().to_owned()).filter(|text| !text.is_empty());
    record.name = details.name.trim().to_owned();
    record.holds = details.holds;
    record.condition = said(&details.condition);
    record.notes = said(&details.notes);
    let rest = record.bought.take().map(|bought| bought.rest).unwrap_or_default();
    let (date, price) = (said(&details.bought_on), said(&details.price));
    let bought = Bought { place: said(&details.place), date, price, rest };
    record.bought = (bought != Bought::default()).then_some(bought);
}

/// What the person said of a record.
pub fn details_of(record: &Record) -> Details {
    let said = |text: &Option<String>| text.clone().unwrap_or_default();
    let bought = record.bought.clone().unwrap_or_default();
    Details {
        name: record.name.clone(),
        holds: record.holds,
        condition: said(&record.condition),
        place: said(&bought.place),
        bought_on: said(&bought.date),
        price: said(&bought.price),
        notes: said(&record.notes),
    }
}

/// Changes what the person says of a record; its history, files and unknown fields stay. Answers with what was said
/// before.
pub fn edit_details(path: &Path, details: &Details) -> Result<Details, Problem> {
    let mut record = open_record(path)?;
    let before = details_of(&record);
    say(&mut record, details);
    save_record(path, &record)?;
    Ok(before)
}

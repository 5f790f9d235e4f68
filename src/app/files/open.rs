//! From a path to everything the window shows of it: the case, its photo, its shades.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::case::{CaseDocument, PathRule};
use crate::jobs::Progress;
use crate::keeping::{open_flat_field, open_other_photo};
use crate::measure::{FlatField, OtherPhoto};
use crate::photo;
use crate::problem::Problem;
use crate::raster::{PhotoFacts, Raster};
use crate::shade::References;
use crate::storage;

use crate::app::figure::weighing::OpenGuide;
use crate::app::session::NamedFile;

/// A case with its photo, ready to be shown.
#[derive(Debug, Clone)]
pub(in crate::app) struct Opened {
    /// Where the case is saved; `None` for a photo without a case so far.
    pub case_path: Option<PathBuf>,
    /// Where the photo is.
    pub photo_path: PathBuf,
    /// What the photo's file holds, as the case file notes it.
    pub photo_sha256: String,
    /// Where the shades are, as far as the case names any.
    pub references_file: Option<PathBuf>,
    /// Where the guide is, as far as the case names one.
    pub guide_file: Option<PathBuf>,
    /// A case beside the photo, where the photo was opened without one.
    pub case_beside: Option<PathBuf>,
    /// The marks.
    pub case: CaseDocument,
    /// Whether the marks are those of the case file.
    pub saved: bool,
    /// The upright photo.
    pub raster: Arc<Raster>,
    /// What its file says of itself.
    pub facts: Arc<PhotoFacts>,
    /// The shades to compare with.
    pub references: Option<Arc<References>>,
    /// The photo of the empty board, as far as the case names one.
    pub flat_field: Option<NamedFile<FlatField>>,
    /// The other photos of the same parts.
    pub other_photos: Vec<NamedFile<OtherPhoto>>,
    /// What the figure is weighed with.
    pub guide: Option<OpenGuide>,
    /// What went wrong without keeping the case from being shown.
    pub problems: Vec<Problem>,
}

/// Why a case is not shown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::app) enum Refusal {
    /// It cannot be.
    Problem(Problem),
    /// It names files outside its folder: only if the person says so.
    Outside(PathBuf, Problem),
}

/// Opens a photo or a case file. `rule` says whether a case may name files outside its folder. `None` when
/// cancelled.
pub(in crate::app) fn open(
    path: &Path,
    rule: PathRule,
    progress: &Progress,
) -> Option<Result<Opened, Refusal>> {
    let opened = if is_case(path) {
        open_case(path, rule)
    } else {
        let name = path.file_name().unwrap_or(path.as_os_str()).to_string_lossy();
        let unmarked = Unread {
            case_path: None,
            photo_path: path.to_owned(),
            references_path: None,
            guide_path: None,
            flat_field_path: None,
            other_photos: Vec::new(),
            rule,
            case: CaseDocument::new(name),
            saved: false,
        };
        let beside = Some(case_path_beside(path)).filter(|case| case.exists());
        unmarked.read().map(|opened| Opened { case_beside: beside, ..opened }).map_err(Refusal::Problem)
    };
    (!progress.cancelled()).then_some(opened)
}

/// Goes on with unsaved work: its paths start from `folder`, and its file is `case_path` if it has one.
pub(super) fn reopen(
    case: CaseDocument,
    case_path: Option<PathBuf>,
    folder: &Path,
    progress: &Progress,
) -> Option<Result<Opened, Refusal>> {
    let photo_path = folder.join(&case.photo);
    let references_path = case.references.as_ref().map(|name| folder.join(name));
    let guide_path = case.guide.as_ref().map(|name| folder.join(name));
    let flat_field_path = case.flat_field.as_ref().map(|name| folder.join(name));
    let other_photos = case.more_photos.iter().map(|name| (name.clone(), folder.join(name))).collect();
    let unread = Unread {
        case_path,
        photo_path,
        references_path,
        guide_path,
        flat_field_path,
        other_photos,
        rule: PathRule::ChosenByHand,
        case,
        saved: false,
    };
    let opened = unread.read();
    (!progress.cancelled()).then_some(opened.map_err(Refusal::Problem))
}

/// Case files are known by their name.
pub(in crate::app) fn is_case(path: &Path) -> bool {
    path.file_name().is_some_and(|name| name.to_string_lossy().ends_with(".case.json"))
}

/// Where the case of a photo is saved unless the person chooses otherwise: beside it.
pub(in crate::app) fn case_path_beside(photo: &Path) -> PathBuf {
    photo.with_extension("case.json")
}

fn open_case(path: &Path, rule: PathRule) -> Result<Opened, Refusal> {
    let folder = path.parent().unwrap_or(Path::new(""));
    let checked = storage::open_case(path, rule).and_then(|case| {
        let photo_path = storage::resolve_inside(folder, &case.photo, rule)?;
        let named = |name: &Option<String>| {
            name.as_ref().map(|name| storage::resolve_inside(folder, name, rule)).transpose()
        };
        let (references_path, guide_path) = (named(&case.references)?, named(&case.guide)?);
        let flat_field_path = named(&case.flat_field)?;
        let other = |name: &String| Ok((name.clone(), storage::resolve_inside(folder, name, rule)?));
        let other_photos = case.more_photos.iter().map(other).collect::<Result<_, Problem>>()?;
        Ok(Unread {
            case_path: Some(path.to_owned()),
            photo_path,
            references_path,
            guide_path,
            flat_field_path,
            other_photos,
            rule,
            case,
            saved: true,
        })
    });
    let problem = match checked {
        Ok(unread) => return unread.read().map_err(Refusal::Problem),
        Err(problem) => problem,
    };
    let only_the_paths =
        rule == PathRule::InsideFolder && storage::open_case(path, PathRule::ChosenByHand).is_ok();
    Err(if only_the_paths { Refusal::Outside(path.to_owned(), problem) } else { Refusal::Problem(problem) })
}

/// A case whose files are still to be read.
struct Unread {
    case_path: Option<PathBuf>,
    photo_path: PathBuf,
    references_path: Option<PathBuf>,
    guide_path: Option<PathBuf>,
    flat_field_path: Option<PathBuf>,
    /// The cases of the other photos, by the names that the case has for them.
    other_photos: Vec<(String, PathBuf)>,
    rule: PathRule,
    case: CaseDocument,
    saved: bool,
}

impl Unread {
    fn read(self) -> Result<Opened, Problem> {
        let limits = photo::Limits::default();
        let told = |error: photo::PhotoError| Problem::new(format!("{error}."), error.remedy());
        let bytes = photo::read_bytes(&self.photo_path, &limits).map_err(told)?;
        let photo_sha256 = photo::sha256_hex(&bytes);
        let photo = photo::decode(&bytes, &limits).map_err(|error| told(error.in_file(&self.photo_path)))?;
        let mut problems = Vec::new();
        if self.case.photo_sha256.as_ref().is_some_and(|noted| !noted.eq_ignore_ascii_case(&photo_sha256)) {
            problems.push(Problem::new(
                format!(
                    "{} is not the file that was marked: its content has changed.",
                    self.photo_path.display()
                ),
                "Check that every mark still lies where it should, then save.",
            ));
        }
        let references = self
            .references_path
            .as_ref()
            .and_then(|path| storage::open_references(path).map_err(|problem| problems.push(problem)).ok());
        let guide = self.guide_path.as_ref().and_then(|path| {
            let guide = storage::open_guide(path).map_err(|problem| problems.push(problem)).ok()?;
            Some(OpenGuide::new(guide, path))
        });
        let mut told = |problem| problems.push(problem);
        let flat_field = self.case.flat_field.clone().zip(self.flat_field_path).map(|(name, path)| {
            let field = open_flat_field(&path).map_err(&mut told).ok();
            (name, path, field.map(Arc::new))
        });
        let other = |(name, path): (String, PathBuf)| {
            let other = open_other_photo(&name, &path, self.rule).map_err(&mut told).ok();
            (name, path, other.map(Arc::new))
        };
        let other_photos = self.other_photos.into_iter().map(other).collect();
        Ok(Opened {
            case_path: self.case_path,
            photo_path: self.photo_path,
            photo_sha256,
            references_file: self.references_path,
            guide_file: self.guide_path,
            flat_field,
            other_photos,
            case_beside: None,
            case: self.case,
            saved: self.saved,
            raster: Arc::new(photo.raster),
            facts: Arc::new(photo.facts),
            references: references.map(Arc::new),
            guide,
            problems,
        })
    }
}

//! Why a photo cannot be used, in words for a person, each with what to do about it.

use std::path::Path;

/// A photo that could not be opened. Its text names the file, where one is known, and what is wrong;
/// [`PhotoError::remedy`] says what to do.
#[derive(Debug, Clone, PartialEq)]
pub struct PhotoError {
    file: Option<String>,
    problem: PhotoProblem,
}

/// What is wrong with a photo.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PhotoProblem {
    /// No such file.
    #[error("does not exist")]
    Missing,
    /// The person may not read it.
    #[error("may not be read: permission is denied")]
    NoPermission,
    /// A folder, a pipe or a device.
    #[error("is {0}, not a photo file")]
    NotAFile(&'static str),
    /// The disk or the network failed.
    #[error("cannot be read: {0}")]
    Unreadable(String),
    /// No bytes at all.
    #[error("is empty (0 bytes)")]
    Empty,
    /// The bytes are no picture that is known here.
    #[error("is not a photo that can be read: {0}")]
    NotAPhoto(String),
    /// A picture of a kind that is not read, with the remedy that fits it.
    #[error("is {kind}, which is not read here")]
    OtherKind {
        /// The kind in words, such as "a camera's raw file".
        kind: &'static str,
        /// What to do.
        remedy: &'static str,
    },
    /// More bytes than [`super::Limits::file_bytes`].
    #[error("is {mebibytes} MiB large; at most {limit_mebibytes} MiB are read")]
    FileTooLarge {
        /// Its size.
        mebibytes: u64,
        /// The limit.
        limit_mebibytes: u64,
    },
    /// More pixels than [`super::Limits::pixels`].
    #[error("says it has {width}×{height} pixels; at most {limit_megapixels} megapixels are read")]
    TooManyPixels {
        /// Pixels across, by the header.
        width: u64,
        /// Pixels down, by the header.
        height: u64,
        /// The limit in millions.
        limit_megapixels: u64,
    },
    /// More working memory than [`super::Limits::memory_bytes`].
    #[error("needs more than {limit_mebibytes} MiB of memory to be read")]
    TooMuchMemory {
        /// The limit.
        limit_mebibytes: u64,
    },
    /// The file ends before the picture does.
    #[error("is cut off: {}", share_text(*.share_there))]
    Cut {
        /// Share of the picture that is there, 0..1; `None` where it cannot be told.
        share_there: Option<f64>,
    },
    /// The file is whole but its data contradict themselves.
    #[error("is damaged: {detail}")]
    Damaged {
        /// Where or how.
        detail: String,
    },
    /// Colours mixed for a printing press.
    #[error("is coded in printing inks (CMYK), whose colours depend on a press")]
    PrintingInks,
    /// PQ or HLG coding.
    #[error("is coded for HDR screens ({0}), whose brightness scale is not that of a photo")]
    Hdr(&'static str),
    /// A variant of a known format that the decoder does not know.
    #[error("is a {format} of a variety that is not read here: {detail}")]
    Variety {
        /// The format.
        format: &'static str,
        /// What is unusual.
        detail: String,
    },
}

fn share_text(share_there: Option<f64>) -> String {
    match share_there {
        None => {
            "the end of the file is missing, so only a part or a coarse form of the picture is there".into()
        }
        Some(share) if share < 0.005 => "less than 1 % of the picture is there".into(),
        // The last row of blocks may be the one that is missing: never claim the whole.
        Some(share) => format!("about {} % of the picture is there", (share * 100.0).floor().min(99.0)),
    }
}

impl PhotoError {
    pub(super) fn new(problem: PhotoProblem) -> Self {
        Self { file: None, problem }
    }

    /// The same error with the file's name in its text.
    #[must_use]
    pub fn in_file(self, path: &Path) -> Self {
        Self { file: Some(path.display().to_string()), ..self }
    }

    /// What is wrong.
    pub fn problem(&self) -> &PhotoProblem {
        &self.problem
    }

    /// What the person can do.
    pub fn remedy(&self) -> &'static str {
        match &self.problem {
            PhotoProblem::Missing => "Check the name and the folder; a photo may have been moved or renamed.",
            PhotoProblem::NoPermission => "Copy the file to a folder of your own, or allow reading it.",
            PhotoProblem::NotAFile(_) => "Name one photo file.",
            PhotoProblem::Unreadable(_) => "Copy the file to this computer's disk and try again.",
            PhotoProblem::Empty => "Copy the photo again from the camera or phone; the copy did not finish.",
            PhotoProblem::NotAPhoto(_) => {
                "Photos are JPEG, PNG, TIFF, WebP or HEIC files; what counts is what is inside, not the name's ending."
            }
            PhotoProblem::OtherKind { remedy, .. } => remedy,
            PhotoProblem::FileTooLarge { .. }
            | PhotoProblem::TooManyPixels { .. }
            | PhotoProblem::TooMuchMemory { .. } => {
                "If this is truly one photo, crop it to the figure and the card, without scaling it down, and try again."
            }
            PhotoProblem::Cut { .. } => {
                "Copy or download the photo again; a part of a photo is not measured."
            }
            PhotoProblem::Damaged { .. } => {
                "Copy the photo again from the camera or phone, or use another shot."
            }
            PhotoProblem::PrintingInks => {
                "Use the photo as it came from the camera; one exported for printing has lost its colours."
            }
            PhotoProblem::Hdr(_) => {
                "Export the photo as an ordinary (SDR) JPEG, or switch HDR off in the camera."
            }
            PhotoProblem::Variety { .. } => {
                "Export it as JPEG of the best quality, PNG, or TIFF with 8 or 16 bit a channel."
            }
        }
    }
}

impl std::fmt::Display for PhotoError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match &self.file {
            Some(file) => write!(f, "{file} {}", self.problem),
            None => write!(f, "the photo {}", self.problem),
        }
    }
}

impl std::error::Error for PhotoError {}

impl From<PhotoProblem> for PhotoError {
    fn from(problem: PhotoProblem) -> Self {
        Self::new(problem)
    }
}

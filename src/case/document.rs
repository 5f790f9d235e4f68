//! `*.case.json`: the marks on one photo. Unknown fields are kept when a case is saved again.

use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

use super::kept::Kept;
use super::loose::{CardFound, TrayMarks};
use crate::raster::Shape;

/// The version of the case format that this program writes.
pub const CASE_VERSION: u32 = 1;

/// One photo and what was marked on it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CaseDocument {
    /// Format version, the first field of the file.
    pub sameshot_case: u32,
    /// The photo's path, relative to the case file.
    pub photo: String,
    /// SHA-256 of the photo file in hexadecimal; checked when present.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub photo_sha256: Option<String>,
    /// Areas of known colour.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub zones: Vec<ZoneMark>,
    /// Areas of plastic to be measured.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub readings: Vec<ReadingMark>,
    /// Path of the shade references, relative to the case file.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub references: Option<String>,
    /// Path of the guide, relative to the case file.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub guide: Option<String>,
    /// The plain board under everything, whose light is one of the photo's teachers.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub board: Option<BoardMark>,
    /// Path of a photo of the empty board, taken without moving camera or lamps, relative to the case file.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub flat_field: Option<String>,
    /// Paths of the cases of other photos of the same parts, by the same camera and laid anew, relative to the case file.
    /// Marks of one name are one thing.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub more_photos: Vec<String>,
    /// What was seen on the parts besides their colour.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub observations: Vec<Observation>,
    /// The card that was found by itself.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub card_found: Option<CardFound>,
    /// The loose parts of a tray.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tray: Option<TrayMarks>,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub rest: Map<String, Value>,
}

/// An area whose colour is known.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(from = "ZoneFields", into = "ZoneFields")]
pub struct ZoneMark {
    /// Its name, unique among the zones of the case.
    pub id: String,
    /// Where it is.
    pub shape: Shape,
    /// Its colour.
    pub known: Known,
    /// What kind of surface it is.
    pub surface: Surface,
    /// Fields this version does not know; those inside `shape` and `known` stand under these names.
    pub rest: Map<String, Value>,
}

/// How the colour of a zone is known.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(untagged)]
pub enum Known {
    /// A measured or published colour.
    Lab {
        /// L\*, a\*, b\* under D50.
        lab: [f64; 3],
        /// Standard deviation of each.
        sd: [f64; 3],
    },
    /// A shade of the reference set, such as "green/medium".
    Shade {
        /// The shade's id.
        shade: String,
        /// The specimen of that shade that this part is, where it was itself measured: its colour is then known better
        /// than that of any part of the shade.
        #[serde(skip_serializing_if = "Option::is_none")]
        specimen: Option<String>,
    },
}

impl Known {
    /// Some part of a shade.
    pub fn shade(id: &str) -> Self {
        Self::Shade { shade: id.to_owned(), specimen: None }
    }
}

/// What kind of surface an area is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Surface {
    /// Flat and facing the camera, as a card is.
    Flat,
    /// A moulded part: its lightness varies with the angle to the light.
    Rounded,
}

impl Surface {
    fn flat() -> Self {
        Surface::Flat
    }

    fn rounded() -> Self {
        Surface::Rounded
    }

    fn is_flat(&self) -> bool {
        *self == Surface::Flat
    }

    fn is_rounded(&self) -> bool {
        *self == Surface::Rounded
    }
}

/// An area of plastic to be measured.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(from = "ReadingFields", into = "ReadingFields")]
pub struct ReadingMark {
    /// Its name, unique among the readings of the case.
    pub id: String,
    /// The place in the figure, such as "arm-left".
    pub slot: Option<String>,
    /// Where it is.
    pub shape: Shape,
    /// What kind of surface it is.
    pub surface: Surface,
    /// Fields this version does not know; those inside `shape` stand under this name.
    pub rest: Map<String, Value>,
}

/// A board of one colour that nobody knows. Everything that lies on it is left out by itself.
///
/// Two optional fields of the case file tell how the light falls:
///
/// ```json
/// "board": {"shape": {"polygon": [[40, 30], [3960, 35], [3950, 2960], [50, 2950]]}},
/// "flat_field": "empty-board.jpg"
/// ```
///
/// `"board": {}` is the whole photo but what lies on the board. `flat_field` is a photo of a plain surface that fills the
/// picture, with nothing on it, by the same camera from the same place under the same light.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(from = "BoardFields", into = "BoardFields")]
pub struct BoardMark {
    /// Its outline; the whole photo where there is none.
    pub shape: Option<Shape>,
    /// Fields this version does not know; those inside `shape` stand under this name.
    pub rest: Map<String, Value>,
}

/// Something seen on a part: a mould, a paint detail, a joint, a mark of the run.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Observation {
    /// The slot it was seen in.
    pub slot: String,
    /// Which feature, such as "mould".
    pub feature: String,
    /// What was seen.
    pub value: String,
    /// Whether the person is sure.
    #[serde(default = "sure")]
    pub sure: bool,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub rest: Map<String, Value>,
}

fn sure() -> bool {
    true
}

impl CaseDocument {
    /// A case without marks.
    pub fn new(photo: impl Into<String>) -> Self {
        Self {
            sameshot_case: CASE_VERSION,
            photo: photo.into(),
            photo_sha256: None,
            zones: Vec::new(),
            readings: Vec::new(),
            references: None,
            guide: None,
            board: None,
            flat_field: None,
            more_photos: Vec::new(),
            observations: Vec::new(),
            card_found: None,
            tray: None,
            rest: Map::new(),
        }
    }
}

impl ZoneMark {
    /// A zone on a flat card.
    pub fn new(id: impl Into<String>, shape: Shape, known: Known) -> Self {
        Self { id: id.into(), shape, known, surface: Surface::Flat, rest: Map::new() }
    }
}

impl ReadingMark {
    /// A reading on a moulded part.
    pub fn new(id: impl Into<String>, shape: Shape) -> Self {
        Self { id: id.into(), slot: None, shape, surface: Surface::Rounded, rest: Map::new() }
    }
}

/// [`ZoneMark`] as it stands in the file.
#[derive(Serialize, Deserialize)]
struct ZoneFields {
    id: String,
    shape: Kept<Shape>,
    known: Kept<Known>,
    #[serde(default = "Surface::flat", skip_serializing_if = "Surface::is_flat")]
    surface: Surface,
    #[serde(flatten)]
    rest: Map<String, Value>,
}

impl From<ZoneFields> for ZoneMark {
    fn from(fields: ZoneFields) -> Self {
        let ZoneFields { id, shape, known, surface, mut rest } = fields;
        let shape = shape.take("shape", &mut rest);
        let known = known.take("known", &mut rest);
        Self { id, shape, known, surface, rest }
    }
}

impl From<ZoneMark> for ZoneFields {
    fn from(zone: ZoneMark) -> Self {
        let ZoneMark { id, shape, known, surface, mut rest } = zone;
        let shape = Kept::restore(shape, "shape", &mut rest);
        let known = Kept::restore(known, "known", &mut rest);
        Self { id, shape, known, surface, rest }
    }
}

/// [`ReadingMark`] as it stands in the file.
#[derive(Serialize, Deserialize)]
struct ReadingFields {
    id: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    slot: Option<String>,
    shape: Kept<Shape>,
    #[serde(default = "Surface::rounded", skip_serializing_if = "Surface::is_rounded")]
    surface: Surface,
    #[serde(flatten)]
    rest: Map<String, Value>,
}

impl From<ReadingFields> for ReadingMark {
    fn from(fields: ReadingFields) -> Self {
        let ReadingFields { id, slot, shape, surface, mut rest } = fields;
        let shape = shape.take("shape", &mut rest);
        Self { id, slot, shape, surface, rest }
    }
}

impl From<ReadingMark> for ReadingFields {
    fn from(reading: ReadingMark) -> Self {
        let ReadingMark { id, slot, shape, surface, mut rest } = reading;
        let shape = Kept::restore(shape, "shape", &mut rest);
        Self { id, slot, shape, surface, rest }
    }
}

/// [`BoardMark`] as it stands in the file.
#[derive(Serialize, Deserialize)]
struct BoardFields {
    #[serde(default, skip_serializing_if = "Option::is_none")]
    shape: Option<Kept<Shape>>,
    #[serde(flatten)]
    rest: Map<String, Value>,
}

impl From<BoardFields> for BoardMark {
    fn from(fields: BoardFields) -> Self {
        let BoardFields { shape, mut rest } = fields;
        let shape = shape.map(|shape| shape.take("shape", &mut rest));
        Self { shape, rest }
    }
}

impl From<BoardMark> for BoardFields {
    fn from(board: BoardMark) -> Self {
        let BoardMark { shape, mut rest } = board;
        let shape = shape.map(|shape| Kept::restore(shape, "shape", &mut rest));
        Self { shape, rest }
    }
}

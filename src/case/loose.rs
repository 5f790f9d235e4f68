//! What a case keeps of loose parts on a tray and of a card that was found by itself.
//!
//! Two optional fields of the case file hold it:
//!
//! ```json
//! "card_found": {
//!   "card": "with strip", "marks": 4, "quality": 0.97,
//!   "to_mm": [[0.04, 0.0, -30.1], [0.0, 0.04, -22.0], [0.0, 0.0, 1.0]],
//!   "boxes": [{"centre": [410.5, 300.2], "radius": 4.0, "outline": [[398.0, 301.0], …]}, null, null]
//! },
//! "tray": {"parts": [
//!   {"number": 1, "outline": [[12.0, 9.0], [60.5, 11.0], [58.0, 70.0]], "reading": "part 01", "doubts": ["touching"]}
//! ], "bodies": [{"id": "torso of bench.case.json", "lab": [48.2, -17.0, 7.9], "cov": [[…], […], […]]}]}
//! ```
//!
//! `to_mm` is a projective map in rows: pixels of the upright photo → millimetres on the card's plane; `boxes` are the
//! places of the parts that lie in the boxes of the card, from the left, null for an empty box. A part names the reading
//! that its plastic is measured at; without one it has no matt place. Its number stays its own when others are added,
//! merged or dropped. Which body a loose limb fits follows from `slot` of
//! the readings and from `bodies`, bodies of other cases as they were measured there, and is not kept.

use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

use super::document::CaseDocument;
use super::doubt::Doubt;
use super::load::{MAX_CORNERS, MAX_MARKS};
use crate::json::{Flaw, Step};
use crate::raster::Shape;

/// The loose parts of a photo.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct TrayMarks {
    /// In the order they were found or added.
    #[serde(default)]
    pub parts: Vec<LoosePart>,
    /// Bodies of other cases that the limbs may belong to.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub bodies: Vec<BodyElsewhere>,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub rest: Map<String, Value>,
}

/// One loose part.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LoosePart {
    /// Its number, from 1 on; no two are the same.
    pub number: u32,
    /// Its outline in pixels of the upright photo, three corners or more.
    pub outline: Vec<[f64; 2]>,
    /// Id of the reading at its matt place.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reading: Option<String>,
    /// What makes its outline doubtful: "cut-off", "maybe-several", "touching", "no-matt-place", or what a later version
    /// says.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub doubts: Vec<String>,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub rest: Map<String, Value>,
}

/// A body that was measured in another photo.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BodyElsewhere {
    /// Its name: that of its reading and of its case.
    pub id: String,
    /// L\*, a\*, b\* under D50.
    pub lab: [f64; 3],
    /// Covariance of `lab`.
    pub cov: [[f64; 3]; 3],
    /// Fields this version does not know.
    #[serde(flatten)]
    pub rest: Map<String, Value>,
}

/// The best of the cards that were found.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CardFound {
    /// "plain" or "with strip".
    pub card: String,
    /// Corner marks seen, of four.
    pub marks: usize,
    /// 0..=1.
    pub quality: f64,
    /// Pixels of the photo → millimetres on the card, as the rows of a projective map.
    pub to_mm: [[f64; 3]; 3],
    /// Matt places of the parts in the boxes of the card.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub boxes: Vec<Option<BoxPlace>>,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub rest: Map<String, Value>,
}

/// A place, and the disc in its middle for those who read no outline.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BoxPlace {
    /// Its middle in pixels.
    pub centre: [f64; 2],
    /// Its radius in pixels.
    pub radius: f64,
    /// Its outline; empty where it is the disc.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub outline: Vec<[f64; 2]>,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub rest: Map<String, Value>,
}

impl BoxPlace {
    /// The place as a shape.
    pub fn shape(&self) -> Shape {
        match self.outline.len() {
            0..3 => Shape::Circle { centre: self.centre, radius: self.radius },
            _ => Shape::Polygon(self.outline.clone()),
        }
    }
}

impl TrayMarks {
    /// A part by its number.
    pub fn part(&self, number: u32) -> Option<&LoosePart> {
        self.parts.iter().find(|part| part.number == number)
    }

    /// The part that a reading belongs to.
    pub fn part_of(&self, reading: &str) -> Option<&LoosePart> {
        self.parts.iter().find(|part| part.reading.as_deref() == Some(reading))
    }

    /// The lowest number above all in use.
    pub fn next_number(&self) -> u32 {
        self.parts.iter().map(|part| part.number).max().unwrap_or(0).saturating_add(1)
    }
}

impl LoosePart {
    /// Its outline as a shape.
    pub fn shape(&self) -> Shape {
        Shape::Polygon(self.outline.clone())
    }

    /// What is doubtful about its outline, as far as this version knows.
    pub fn known_doubts(&self) -> impl Iterator<Item = Doubt> {
        self.doubts.iter().filter_map(|code| Doubt::of_code(code))
    }
}

impl CaseDocument {
    /// The loose parts, of which there may be none.
    pub fn loose_parts(&self) -> &[LoosePart] {
        self.tray.as_ref().map_or(&[], |tray| &tray.parts)
    }

    /// Whether the part that a reading belongs to may be several, which are of no one shade.
    pub fn may_be_several(&self, reading: &str) -> bool {
        let part = self.tray.as_ref().and_then(|tray| tray.part_of(reading));
        part.is_some_and(|part| part.known_doubts().any(|doubt| doubt == Doubt::MaybeSeveral))
    }
}

/// Refuses what no case may say of its tray.
pub(super) fn check(case: &CaseDocument) -> Result<(), Flaw> {
    if let Some(card) = &case.card_found {
        let numbers = card.to_mm.iter().flatten().chain([&card.quality]);
        if numbers.copied().any(|v| !v.is_finite()) {
            return Err(Flaw::new(
                vec!["card_found".into()],
                "has a number that is none",
                "Take the field out and find the card again.",
            ));
        }
    }
    for (index, body) in case.tray.iter().flat_map(|tray| &tray.bodies).enumerate() {
        let numbers = body.cov.iter().flatten().chain(&body.lab);
        if body.id.trim().is_empty() || numbers.copied().any(|v| !v.is_finite()) {
            return Err(Flaw::new(
                vec!["tray".into(), "bodies".into(), index.into()],
                "is a body without a name or a colour",
                "Take it out and add the other case again.",
            ));
        }
    }
    let parts = case.loose_parts();
    if parts.len() > MAX_MARKS {
        return Err(Flaw::new(
            vec!["tray".into(), "parts".into()],
            format!("there are {} loose parts; a case has at most {MAX_MARKS}", parts.len()),
            "Split them into several cases.",
        ));
    }
    for (index, part) in parts.iter().enumerate() {
        let path =
            |field: &str| -> Vec<Step> { vec!["tray".into(), "parts".into(), index.into(), field.into()] };
        if part.number == 0 || parts[..index].iter().any(|other| other.number == part.number) {
            return Err(Flaw::new(
                path("number"),
                format!("{} is no number of its own", part.number),
                "Number the parts from 1 on, each once.",
            ));
        }
        let far = |v: &f64| !v.is_finite() || v.abs() > 1e6;
        if !(3..=MAX_CORNERS).contains(&part.outline.len()) || part.outline.iter().flatten().any(far) {
            return Err(Flaw::new(
                path("outline"),
                format!("the outline of part {} is none", part.number),
                format!("Give it 3 to {MAX_CORNERS} corners on the photo."),
            ));
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::super::{Edit, MarkKey, PathRule, parse, to_text};
    use super::*;

    fn tray() -> Value {
        json!({"sameshot_case": 1, "photo": "a.jpg",
            "readings": [{"id": "part 01", "shape": {"circle": {"centre": [5.0, 5.0], "radius": 2.0}}}],
            "card_found": {"card": "plain", "marks": 4, "quality": 0.9, "lens": "old",
                "to_mm": [[0.1, 0.0, 0.0], [0.0, 0.1, 0.0], [0.0, 0.0, 1.0]],
                "boxes": [null, {"centre": [3.0, 4.0], "radius": 2.0, "lit": true}]},
            "tray": {"board": "grey", "bodies": [{"id": "torso of b.case.json", "lab": [50.0, -10.0, 5.0],
                "cov": [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]], "seen": "May"}], "parts": [
                {"number": 1, "outline": [[1.0, 1.0], [9.0, 1.0], [5.0, 9.0]], "reading": "part 01", "weight": 3},
                {"number": 2, "outline": [[1.0, 1.0], [9.0, 1.0], [5.0, 9.0]], "doubts": ["no-matt-place", "bent"]}]}})
    }

    #[test]
    fn nothing_of_a_tray_is_lost_by_saving() {
        let case = parse(tray().to_string().as_bytes(), PathRule::InsideFolder).unwrap();
        let again: Value = serde_json::from_str(&to_text(&case).unwrap()).unwrap();
        assert_eq!(again, tray());
        assert_eq!(case.tray.as_ref().unwrap().next_number(), 3);
    }

    #[test]
    fn a_part_follows_the_name_of_its_reading_and_goes_with_it() {
        let mut case = parse(tray().to_string().as_bytes(), PathRule::InsideFolder).unwrap();
        Edit::Rename(MarkKey::reading("part 01"), "odd arm".into()).apply(&mut case).unwrap();
        assert_eq!(case.tray.as_ref().unwrap().part_of("odd arm").unwrap().number, 1);
        Edit::Delete(MarkKey::reading("odd arm")).apply(&mut case).unwrap();
        assert_eq!(case.loose_parts().iter().map(|part| part.number).collect::<Vec<_>>(), [2]);
    }

    #[test]
    fn twice_the_same_number_and_an_outline_of_two_corners_are_told() {
        let told = |change: &dyn Fn(&mut Value)| {
            let mut value = tray();
            change(&mut value["tray"]["parts"][1]);
            parse(value.to_string().as_bytes(), PathRule::InsideFolder).unwrap_err().message
        };
        assert!(told(&|part| part["number"] = 1.into()).contains("number"));
        assert!(told(&|part| drop(part["outline"].as_array_mut().unwrap().pop())).contains("outline"));
    }
}

//! Where in a document something is: for the machine a path, for people a line, a mark and a field.

use std::collections::HashMap;

use serde_json::Value;
use serde_json::value::RawValue;

/// One step down into a document.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Step {
    /// Into a field of an object.
    Field(String),
    /// Into an entry of a list, counted from 0.
    Entry(usize),
}

impl From<&str> for Step {
    fn from(name: &str) -> Self {
        Step::Field(name.into())
    }
}

impl From<usize> for Step {
    fn from(index: usize) -> Self {
        Step::Entry(index)
    }
}

/// Something wrong at one place of a document.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Flaw {
    /// The way there from the document's root.
    pub path: Vec<Step>,
    /// What is wrong, to be read after the place: "must be above 0 but is -1".
    pub message: String,
    /// What to do, a full sentence.
    pub remedy: String,
}

impl Flaw {
    /// A flaw at `path`.
    pub fn new(path: Vec<Step>, message: impl Into<String>, remedy: impl Into<String>) -> Self {
        Self { path, message: message.into(), remedy: remedy.into() }
    }
}

/// Line and column, both counted from 1, of the value at `path`, or of the deepest part of the path that
/// exists. `None` where the text is no JSON.
pub(super) fn line_and_column(text: &str, path: &[Step]) -> Option<(usize, usize)> {
    let mut here: &str = serde_json::from_str::<&RawValue>(text).ok()?.get();
    for step in path {
        let next = match step {
            Step::Field(name) => serde_json::from_str::<HashMap<String, &RawValue>>(here)
                .ok()
                .and_then(|m| m.get(name).copied()),
            Step::Entry(index) => {
                serde_json::from_str::<Vec<&RawValue>>(here).ok().and_then(|list| list.get(*index).copied())
            }
        };
        let Some(next) = next else { break };
        here = next.get();
    }
    // `here` is a part of `text`, so the difference of their starts is the offset.
    let offset = (here.as_ptr() as usize).checked_sub(text.as_ptr() as usize)?;
    let before = text.get(..offset)?;
    let line_start = before.rfind('\n').map_or(0, |at| at + 1);
    Some((before.matches('\n').count() + 1, before[line_start..].chars().count() + 1))
}

/// The place in words, such as `zone "step 3", field known.sd`; empty for the root.
///
/// A list named "zones" holds a "zone": every list of marks in the formats has the plural of its entry.
pub(super) fn words(document: &Value, path: &[Step]) -> String {
    let mut here = Some(document);
    let mut marks: Vec<String> = Vec::new();
    let mut field = String::new();
    for step in path {
        match step {
            Step::Field(name) => {
                here = here.and_then(|value| value.get(name));
                if !field.is_empty() {
                    field.push('.');
                }
                field.push_str(name);
            }
            Step::Entry(index) => {
                here = here.and_then(|value| value.get(index));
                match (here.filter(|value| value.is_object()), field.strip_suffix('s')) {
                    (Some(object), Some(noun)) => {
                        let id = object.get("id").and_then(Value::as_str).filter(|id| !id.is_empty());
                        marks.push(match id {
                            Some(id) => format!("{noun} \"{id}\""),
                            None => format!("{noun} number {}", index + 1),
                        });
                        field.clear();
                    }
                    _ => field.push_str(&format!("[{index}]")),
                }
            }
        }
    }
    if !field.is_empty() {
        marks.push(format!("field {field}"));
    }
    marks.join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str =
        "{\"photo\": \"grün.jpg\",\n \"zones\": [\n  {\"id\": \"é\", \"known\": {\"sd\": [1, -2, 3]}}\n]}";

    #[test]
    fn places_are_found_by_line_and_in_words() {
        let document: Value = serde_json::from_str(TEXT).unwrap();
        let path: Vec<Step> = vec!["zones".into(), 0.into(), "known".into(), "sd".into(), 1.into()];
        assert_eq!(line_and_column(TEXT, &path), Some((3, 35)));
        assert_eq!(words(&document, &path), "zone \"é\", field known.sd[1]");
        assert_eq!(line_and_column(TEXT, &[]), Some((1, 1)));
        assert_eq!(words(&document, &["photo".into()]), "field photo");
        // A missing field is shown at the object that lacks it.
        assert_eq!(line_and_column(TEXT, &["zones".into(), 0.into(), "shape".into()]), Some((3, 3)));
    }
}

//! Checks that several kinds of document share.

use std::collections::HashMap;

use super::locate::Flaw;

/// Refuses ids that are empty, hard to show, or there twice.
pub fn check_ids<'a>(list: &str, ids: impl Iterator<Item = &'a str>) -> Result<(), Flaw> {
    let mut seen = HashMap::new();
    for (index, id) in ids.enumerate() {
        let flaw = |message: String, remedy: &str| {
            Err(Flaw::new(vec![list.into(), index.into(), "id".into()], message, remedy))
        };
        if id.trim().is_empty() {
            return flaw("the id is empty".into(), "Give it a name.");
        }
        if id.chars().count() > 200 || id.chars().any(char::is_control) {
            return flaw(
                "the id is longer than 200 characters or has control characters".into(),
                "Give it a shorter name of one line.",
            );
        }
        if let Some(first) = seen.insert(id, index) {
            return flaw(
                format!("the id \"{id}\" is there twice, as entry {} and entry {}", first + 1, index + 1),
                "Give one of them another id.",
            );
        }
    }
    Ok(())
}

/// What is wrong with a colour, and the remedy.
pub fn check_lab(lab: &[f64; 3]) -> Option<(String, String)> {
    let allowed = [-5.0..=105.0, -200.0..=200.0, -200.0..=200.0];
    let (name, value, range) = ["L*", "a*", "b*"]
        .into_iter()
        .zip(lab)
        .zip(allowed)
        .map(|((name, value), range)| (name, *value, range))
        .find(|(_, value, range)| !range.contains(value))?;
    Some((
        format!("{name} is {value}, which no surface has"),
        format!("Write CIE Lab under D50; {name} lies between {} and {}.", range.start(), range.end()),
    ))
}

/// What is wrong with standard deviations, and the remedy.
pub fn check_sd(sd: &[f64; 3]) -> Option<(String, String)> {
    let value = sd.iter().find(|value| !(**value > 0.0 && **value <= 100.0))?;
    let remedy =
        "Write a standard deviation above 0 and at most 100 Lab units; a good printed card has about 0.5.";
    Some((format!("the standard deviation is {value}"), remedy.into()))
}

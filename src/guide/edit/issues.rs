//! A character in one run: made or not, and what each of its parts is like.

use std::collections::BTreeMap;

use serde_json::Map;

use super::{IssueAt, IssueEdit, gone};
use crate::guide::{Choice, Guide, Issue, Part};
use crate::problem::Problem;

pub(super) fn apply(guide: &mut Guide, at: &IssueAt, edit: &IssueEdit) -> Result<(), Problem> {
    match edit {
        IssueEdit::Made => {
            let parts: BTreeMap<String, Part> =
                guide.slots.iter().map(|s| (s.id.clone(), only_choices(guide, &s.id))).collect();
            let order: Vec<String> = guide.runs.iter().map(|r| r.id.clone()).collect();
            let character = guide.characters.get_mut(at.character).ok_or_else(gone)?;
            if character.issues.iter().any(|i| i.run == at.run) {
                return Ok(());
            }
            character.issues.push(Issue { run: at.run.clone(), weight: None, parts, rest: Map::new() });
            character.issues.sort_by_key(|i| order.iter().position(|r| *r == i.run).unwrap_or(order.len()));
        }
        IssueEdit::NotMade => {
            let character = guide.characters.get_mut(at.character).ok_or_else(gone)?;
            character.issues.retain(|issue| issue.run != at.run);
        }
        IssueEdit::Weight(weight) => issue(guide, at)?.weight = *weight,
        IssueEdit::FillFrom(other) => {
            let parts = issue(guide, other)?.parts.clone();
            issue(guide, at)?.parts = parts;
        }
        IssueEdit::Part(slot, true) => {
            let part = only_choices(guide, slot);
            issue(guide, at)?.parts.entry(slot.clone()).or_insert(part);
        }
        IssueEdit::Part(slot, false) => drop(issue(guide, at)?.parts.remove(slot)),
        IssueEdit::Choose(slot, feature, choice) => {
            let part = issue(guide, at)?.parts.get_mut(slot).ok_or_else(gone)?;
            match choice {
                Some(choice) => drop(part.insert(feature.clone(), choice.clone())),
                None => drop(part.remove(feature)),
            }
        }
    }
    Ok(())
}

fn issue<'a>(guide: &'a mut Guide, at: &IssueAt) -> Result<&'a mut Issue, Problem> {
    let character = guide.characters.get_mut(at.character).ok_or_else(gone)?;
    character.issues.iter_mut().find(|issue| issue.run == at.run).ok_or_else(gone)
}

/// A part with everything filled in that can be one thing only.
fn only_choices(guide: &Guide, slot: &str) -> Part {
    let features = ["mould", "shade"].into_iter().chain(guide.features.iter().map(|f| &*f.id));
    let only = features.filter_map(|feature| match guide.values_in(slot, feature).as_slice() {
        [one] => Some((feature.to_owned(), Choice::One((*one).to_owned()))),
        _ => None,
    });
    only.collect()
}

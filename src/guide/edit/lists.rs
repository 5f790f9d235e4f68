//! Members of a guide's lists: added, renamed, moved and removed, with all that names them.

use serde_json::Map;

use super::{List, NumberField, Shift, TextField, checked_name, gone};
use crate::guide::{
    Character, Choice, Feature, FeatureKind, Guide, GuideShade, Issue, Mould, Part, Run, Slot,
};
use crate::problem::Problem;

pub(super) fn add(guide: &mut Guide, list: List, name: &str) -> Result<(), Problem> {
    let id = checked_name(name, guide.ids(list))?;
    let (label, rest) = (None, Map::new());
    match list {
        List::Runs => guide.runs.push(Run { id, label, weight: None, rest }),
        List::Slots => {
            guide.slots.push(Slot { id, label, mirror: None, lost: None, exchange: None, rest });
        }
        List::Shades => guide.shades.push(GuideShade { id, label, brittle: None, rest }),
        List::Moulds => {
            guide.moulds.push(Mould { id, label, slots: Vec::new(), how: None, picture: None, rest });
        }
        List::Features => guide.features.push(Feature {
            id,
            label,
            kind: FeatureKind::Paint,
            slots: Vec::new(),
            values: Vec::new(),
            bare: None,
            wear: None,
            misread: None,
            binds: false,
            how: None,
            picture: None,
            rest,
        }),
        List::Characters => guide.characters.push(Character { id, label, issues: Vec::new(), rest }),
    }
    Ok(())
}

pub(super) fn remove(guide: &mut Guide, list: List, at: usize) -> Result<(), Problem> {
    let id = (*guide.ids(list).get(at).ok_or_else(gone)?).to_owned();
    mention(guide, list, &id, None);
    match list {
        List::Runs => drop(guide.runs.remove(at)),
        List::Slots => drop(guide.slots.remove(at)),
        List::Shades => drop(guide.shades.remove(at)),
        List::Moulds => drop(guide.moulds.remove(at)),
        List::Features => drop(guide.features.remove(at)),
        List::Characters => drop(guide.characters.remove(at)),
    }
    Ok(())
}

pub(super) fn rename(guide: &mut Guide, list: List, at: usize, name: &str) -> Result<(), Problem> {
    let ids = guide.ids(list);
    let old = (*ids.get(at).ok_or_else(gone)?).to_owned();
    let id = checked_name(name, ids.iter().enumerate().filter(|(i, _)| *i != at).map(|(_, id)| id))?;
    mention(guide, list, &old, Some(&id));
    let field = match list {
        List::Runs => guide.runs.get_mut(at).map(|x| &mut x.id),
        List::Slots => guide.slots.get_mut(at).map(|x| &mut x.id),
        List::Shades => guide.shades.get_mut(at).map(|x| &mut x.id),
        List::Moulds => guide.moulds.get_mut(at).map(|x| &mut x.id),
        List::Features => guide.features.get_mut(at).map(|x| &mut x.id),
        List::Characters => guide.characters.get_mut(at).map(|x| &mut x.id),
    };
    *field.ok_or_else(gone)? = id;
    Ok(())
}

pub(super) fn shift(guide: &mut Guide, list: List, at: usize, shift: Shift) -> Result<(), Problem> {
    let to = match shift {
        Shift::Earlier => at.checked_sub(1),
        Shift::Later => at.checked_add(1),
    };
    let count = guide.ids(list).len();
    let Some(to) = to.filter(|to| *to < count && at < count) else {
        return Err(Problem::new("It stands at the end of its list.", "Move another one."));
    };
    match list {
        List::Runs => guide.runs.swap(at, to),
        List::Slots => guide.slots.swap(at, to),
        List::Shades => guide.shades.swap(at, to),
        List::Moulds => guide.moulds.swap(at, to),
        List::Features => guide.features.swap(at, to),
        List::Characters => guide.characters.swap(at, to),
    }
    Ok(())
}

pub(super) fn text_field(
    guide: &mut Guide,
    list: List,
    at: usize,
    field: TextField,
) -> Result<&mut Option<String>, Problem> {
    let found = match (list, field) {
        (List::Runs, TextField::Label) => guide.runs.get_mut(at).map(|x| &mut x.label),
        (List::Slots, TextField::Label) => guide.slots.get_mut(at).map(|x| &mut x.label),
        (List::Shades, TextField::Label) => guide.shades.get_mut(at).map(|x| &mut x.label),
        (List::Shades, TextField::Brittle) => guide.shades.get_mut(at).map(|x| &mut x.brittle),
        (List::Moulds, TextField::Label) => guide.moulds.get_mut(at).map(|x| &mut x.label),
        (List::Moulds, TextField::How) => guide.moulds.get_mut(at).map(|x| &mut x.how),
        (List::Moulds, TextField::Picture) => guide.moulds.get_mut(at).map(|x| &mut x.picture),
        (List::Features, TextField::Label) => guide.features.get_mut(at).map(|x| &mut x.label),
        (List::Features, TextField::How) => guide.features.get_mut(at).map(|x| &mut x.how),
        (List::Features, TextField::Picture) => guide.features.get_mut(at).map(|x| &mut x.picture),
        (List::Characters, TextField::Label) => guide.characters.get_mut(at).map(|x| &mut x.label),
        _ => None,
    };
    found.ok_or_else(gone)
}

pub(super) fn number_field(
    guide: &mut Guide,
    list: List,
    at: usize,
    field: NumberField,
) -> Result<&mut Option<f64>, Problem> {
    let found = match (list, field) {
        (List::Runs, NumberField::Weight) => guide.runs.get_mut(at).map(|x| &mut x.weight),
        (List::Slots, NumberField::Lost) => guide.slots.get_mut(at).map(|x| &mut x.lost),
        (List::Slots, NumberField::Exchange) => guide.slots.get_mut(at).map(|x| &mut x.exchange),
        (List::Features, NumberField::Wear) => guide.features.get_mut(at).map(|x| &mut x.wear),
        (List::Features, NumberField::Misread) => guide.features.get_mut(at).map(|x| &mut x.misread),
        _ => None,
    };
    found.ok_or_else(gone)
}

pub(super) fn slots_of(guide: &mut Guide, list: List, at: usize) -> Result<&mut Vec<String>, Problem> {
    let found = match list {
        List::Moulds => guide.moulds.get_mut(at).map(|x| &mut x.slots),
        List::Features => guide.features.get_mut(at).map(|x| &mut x.slots),
        _ => None,
    };
    found.ok_or_else(gone)
}

/// Each of the two names the other; whoever named one of them before names nobody.
pub(super) fn mirror(guide: &mut Guide, at: usize, other: Option<&str>) -> Result<(), Problem> {
    let id = guide.slots.get(at).ok_or_else(gone)?.id.clone();
    for slot in &mut guide.slots {
        if slot.mirror.as_ref().is_some_and(|m| *m == id || Some(&**m) == other) {
            slot.mirror = None;
        }
    }
    for slot in &mut guide.slots {
        if slot.id == id {
            slot.mirror = other.map(str::to_owned);
        } else if Some(&*slot.id) == other {
            slot.mirror = Some(id.clone());
        }
    }
    Ok(())
}

pub(super) fn add_value(guide: &mut Guide, at: usize, name: &str) -> Result<(), Problem> {
    let feature = guide.features.get_mut(at).ok_or_else(gone)?;
    let name = checked_name(name, &feature.values)?;
    feature.values.push(name);
    Ok(())
}

pub(super) fn rename_value(guide: &mut Guide, at: usize, value: usize, name: &str) -> Result<(), Problem> {
    let feature = guide.features.get_mut(at).ok_or_else(gone)?;
    let others = feature.values.iter().enumerate().filter(|(i, _)| *i != value).map(|(_, v)| v);
    let name = checked_name(name, others)?;
    let old = std::mem::replace(feature.values.get_mut(value).ok_or_else(gone)?, name.clone());
    if feature.bare.as_ref() == Some(&old) {
        feature.bare = Some(name.clone());
    }
    let feature = feature.id.clone();
    choices(guide, &feature, &old, Some(&name));
    Ok(())
}

pub(super) fn remove_value(guide: &mut Guide, at: usize, value: usize) -> Result<(), Problem> {
    let feature = guide.features.get_mut(at).ok_or_else(gone)?;
    if value >= feature.values.len() {
        return Err(gone());
    }
    let old = feature.values.remove(value);
    if feature.bare.as_ref() == Some(&old) {
        feature.bare = None;
    }
    let feature = feature.id.clone();
    choices(guide, &feature, &old, None);
    Ok(())
}

/// Changes a name wherever the guide names it, or takes it out there.
fn mention(guide: &mut Guide, list: List, old: &str, new: Option<&str>) {
    match list {
        List::Characters => {}
        List::Shades => choices(guide, "shade", old, new),
        List::Moulds => choices(guide, "mould", old, new),
        List::Runs => {
            for character in &mut guide.characters {
                match new {
                    Some(new) => {
                        character.issues.iter_mut().filter(|i| i.run == old).for_each(|i| i.run = new.into());
                    }
                    None => character.issues.retain(|issue| issue.run != old),
                }
            }
        }
        List::Slots => {
            guide.moulds.iter_mut().for_each(|m| replace(&mut m.slots, old, new));
            guide.features.iter_mut().for_each(|f| replace(&mut f.slots, old, new));
            if let Some(halves) = &mut guide.halves {
                replace(&mut halves.upper, old, new);
            }
            for slot in guide.slots.iter_mut().filter(|s| s.mirror.as_deref() == Some(old)) {
                slot.mirror = new.map(str::to_owned);
            }
            for issue in issues(guide) {
                if let (Some(part), Some(new)) = (issue.parts.remove(old), new) {
                    issue.parts.insert(new.to_owned(), part);
                }
            }
        }
        List::Features => {
            for part in parts(guide) {
                if let (Some(choice), Some(new)) = (part.remove(old), new) {
                    part.insert(new.to_owned(), choice);
                }
            }
        }
    }
}

fn replace(names: &mut Vec<String>, old: &str, new: Option<&str>) {
    match new {
        Some(new) => names.iter_mut().filter(|n| *n == old).for_each(|n| *n = new.to_owned()),
        None => names.retain(|n| n != old),
    }
}

/// A value of a feature renamed or taken out of every part.
fn choices(guide: &mut Guide, feature: &str, old: &str, new: Option<&str>) {
    for part in parts(guide) {
        let gone = match (part.get_mut(feature), new) {
            (Some(Choice::One(value)), Some(new)) if value == old => {
                *value = new.to_owned();
                false
            }
            (Some(Choice::One(value)), None) => value == old,
            (Some(Choice::Mixed(weights)), new) => {
                if let (Some(weight), Some(new)) = (weights.remove(old), new) {
                    weights.insert(new.to_owned(), weight);
                }
                weights.is_empty()
            }
            _ => false,
        };
        if gone {
            part.remove(feature);
        }
    }
}

fn issues(guide: &mut Guide) -> impl Iterator<Item = &mut Issue> {
    guide.characters.iter_mut().flat_map(|c| c.issues.iter_mut())
}

fn parts(guide: &mut Guide) -> impl Iterator<Item = &mut Part> {
    issues(guide).flat_map(|i| i.parts.values_mut())
}

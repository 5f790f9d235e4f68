//! The name of a slot for people; its id stands in files only.

use super::Guide;

/// The guide's label of a slot; where it has none, what the id says in plain words: "arm-left" is the left arm.
pub fn slot_words(guide: Option<&Guide>, id: &str) -> String {
    let slot = guide.and_then(|guide| guide.slots.iter().find(|slot| slot.id == id));
    if let Some(label) = slot.and_then(|slot| slot.label.clone()) {
        return label;
    }
    let side = ["left", "right"].into_iter().find_map(|side| {
        let part = id.strip_suffix(side)?.strip_suffix('-')?;
        (!part.is_empty()).then(|| format!("{side} {part}"))
    });
    side.unwrap_or_else(|| id.to_owned())
}

/// The id of what a person typed for a slot, in words or as the id.
pub fn slot_id(guide: Option<&Guide>, typed: &str) -> String {
    let typed = typed.trim_start();
    let slots = guide.map(|guide| guide.slots.as_slice()).unwrap_or_default();
    if let Some(slot) = slots.iter().find(|slot| slot_words(guide, &slot.id) == typed) {
        return slot.id.clone();
    }
    let known = ["arm", "leg"].into_iter().flat_map(|part| ["left", "right"].map(|side| (part, side)));
    let fits = known.into_iter().find(|(part, side)| typed == format!("{side} {part}"));
    fits.map_or_else(|| typed.to_owned(), |(part, side)| format!("{part}-{side}"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::guide::Slot;

    #[test]
    fn a_slot_is_named_by_its_label_else_in_plain_words() {
        let slot = |id: &str, label: Option<&str>| Slot {
            id: id.into(),
            label: label.map(str::to_owned),
            mirror: None,
            lost: None,
            exchange: None,
            rest: Default::default(),
        };
        let mut guide = Guide::new("Skerry Rescue");
        guide.slots = vec![slot("pack", Some("back pack")), slot("fin-left", None)];
        let named = |id| slot_words(Some(&guide), id);
        assert_eq!(["pack", "fin-left", "arm-right"].map(named), ["back pack", "left fin", "right arm"]);
        assert_eq!(["head", "-left", "pack"].map(|id| slot_words(None, id)), ["head", "-left", "pack"]);
        for id in ["pack", "fin-left", "arm-right", "head"] {
            assert_eq!(slot_id(Some(&guide), &named(id)), id);
            assert_eq!(slot_id(Some(&guide), id), id, "the id itself can be typed, too");
        }
    }
}

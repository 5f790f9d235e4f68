//! What can be said of the line as a whole, its error rates, and a member of a list other than the characters.

use egui::{Label, Ui};

use crate::guide::{Feature, FeatureKind, GuideEdit, List, NumberField, Rates, TextField};

use super::fields::{Field, Form};
use crate::app::theme;
use crate::app::words;

/// The line as a whole.
pub(super) fn line(ui: &mut Ui, form: &mut Form) {
    let guide = form.editor.guide();
    let field = |key: &str, label, place: &str| Field::new(format!("line/{key}"), label, place.into());
    form.name(ui, &field("name", "Name of the line", "line"), &guide.line, GuideEdit::Line);
    let maker = guide.maker.as_deref().unwrap_or_default();
    form.name(ui, &field("maker", "Maker", "maker"), maker, GuideEdit::Maker);
    ui.add_space(theme::SPACE_M);
    ui.heading("Two halves");
    said(
        ui,
        "Where figures come apart at the waist, two halves may be of two characters. Tick the slots of the upper half, \
         and such figures are looked for.",
    );
    let upper = guide.halves.as_ref().map_or(&[][..], |halves| &halves.upper);
    form.slots(ui, "Upper half", "halves › upper", upper, GuideEdit::Upper);
    if let Some(halves) = &guide.halves {
        let rate = field("halves", "Share of such figures", "halves › rate").hint("1 %");
        form.number(ui, &rate, halves.rate, GuideEdit::HalvesRate);
    }
    form.at("halves");
    ui.add_space(theme::SPACE_M);
    ui.heading("In what order");
    said(
        ui,
        "Go down the list at the left: runs, slots from head to foot, shades with the names that your references have, \
         moulds, then whatever else tells parts apart. The characters come last, put together from these.",
    );
}

/// How often things go wrong.
pub(super) fn rates(ui: &mut Ui, form: &mut Form) {
    ui.heading("How often things go wrong");
    said(
        ui,
        "Shares of loose figures or looks. Leave one empty unless you counted: the usual share, which is common practice \
         without a source, then holds.",
    );
    let stated: Vec<_> = form.editor.guide().rates.stated().collect();
    for (rate, (name, now)) in Rates::ALL.iter().zip(stated) {
        let label = words::capital(&name.replace('_', " "));
        let usual = format!("{}", rate.usual);
        let field = Field::new(format!("rates/{name}"), &label, format!("rates › {name}")).hint(&usual);
        form.number(ui, &field, now, |share| GuideEdit::Rate(name.to_owned(), share));
        said(ui, rate.about.trim());
    }
}

/// A run, slot, shade, mould or feature.
pub(super) fn member(ui: &mut Ui, form: &mut Form, list: List, at: usize) {
    form.at(list.name());
    let guide = form.editor.guide();
    let ids = guide.ids(list);
    let Some(id) = ids.get(at) else { return said(ui, about(list)) };
    let place = format!("{} › {id}", list.name());
    ui.heading(format!("{} {id}", words::capital(list.one())));
    form.at(&place);
    name_and_label(ui, form, list, at);
    match list {
        List::Runs => {
            let now = guide.runs.get(at).and_then(|run| run.weight);
            let field = weight(list, at, &place, "How common");
            form.number(ui, &field, now, |n| GuideEdit::Number(list, at, NumberField::Weight, n));
            said(ui, "Beside figures of the other runs: 2 is twice as common as 1.");
        }
        List::Slots => slot(ui, form, at, &place),
        List::Shades => {
            let now = guide.shades.get(at).and_then(|shade| shade.brittle.as_deref());
            text(ui, form, (list, at), TextField::Brittle, "Caution if brittle", now);
            said(
                ui,
                "The name is that of the shade references, family first: green/light. Where plastic of this shade breaks \
                 easily, say how; the caution is shown with every part of it.",
            );
        }
        List::Moulds => {
            let Some(mould) = guide.moulds.get(at) else { return };
            form.slots(ui, "Goes into", &format!("{place} › slots"), &mould.slots, |slot, goes| {
                GuideEdit::GoesInto(list, at, slot, goes)
            });
            text(ui, form, (list, at), TextField::How, "How to know it", mould.how.as_deref());
            text(ui, form, (list, at), TextField::Picture, "Picture", mould.picture.as_deref());
        }
        List::Features => {
            if let Some(feature) = guide.features.get(at) {
                self::feature(ui, form, at, feature, &place);
            }
        }
        List::Characters => {}
    }
}

/// The name by which a member is named elsewhere, and the one for people.
pub(super) fn name_and_label(ui: &mut Ui, form: &mut Form, list: List, at: usize) {
    let guide = form.editor.guide();
    let Some(id) = guide.ids(list).get(at).map(|id| (*id).to_owned()) else { return };
    let name = Field::new(format!("{}/{at}/name", list.name()), "Name", String::new());
    form.name(ui, &name, &id, |name| GuideEdit::Rename(list, at, name));
    let label = match list {
        List::Runs => guide.runs.get(at).and_then(|x| x.label.as_deref()),
        List::Slots => guide.slots.get(at).and_then(|x| x.label.as_deref()),
        List::Shades => guide.shades.get(at).and_then(|x| x.label.as_deref()),
        List::Moulds => guide.moulds.get(at).and_then(|x| x.label.as_deref()),
        List::Features => guide.features.get(at).and_then(|x| x.label.as_deref()),
        List::Characters => guide.characters.get(at).and_then(|x| x.label.as_deref()),
    };
    let field = Field::new(format!("{}/{at}/label", list.name()), "Shown as", String::new()).hint(&id);
    form.name(ui, &field, label.unwrap_or_default(), |text| {
        GuideEdit::Text(list, at, TextField::Label, text)
    });
}

fn slot(ui: &mut Ui, form: &mut Form, at: usize, place: &str) {
    let guide = form.editor.guide();
    let Some(slot) = guide.slots.get(at) else { return };
    let others = guide.slots.iter().filter(|other| other.id != slot.id);
    let mut choices = vec![("none".to_owned(), GuideEdit::Mirror(at, None))];
    choices.extend(others.map(|o| (o.name().to_owned(), GuideEdit::Mirror(at, Some(o.id.clone())))));
    let other = slot.mirror.as_ref().and_then(|id| guide.slots.iter().find(|o| o.id == *id));
    let now = other.map_or(slot.mirror.as_deref().unwrap_or("none"), |o| o.name());
    let key = |name: &str| format!("slots/{at}/{name}");
    let field = Field::new(key("mirror"), "Other side", format!("{place} › mirror"));
    form.choice(ui, &field, now, choices);
    let usual = |share: f64| format!("{share}, as in the line");
    let (lost, exchange) = (usual(guide.rates.lost()), usual(guide.rates.exchange()));
    for (name, label, now, number, hint) in [
        ("lost", "Share lost", slot.lost, NumberField::Lost, &lost),
        ("exchange", "Share exchanged", slot.exchange, NumberField::Exchange, &exchange),
    ] {
        let field = Field::new(key(name), label, format!("{place} › {name}")).hint(hint);
        form.number(ui, &field, now, |n| GuideEdit::Number(List::Slots, at, number, n));
    }
    said(ui, "The other side is the slot across the body, such as the right arm for the left one.");
}

fn feature(ui: &mut Ui, form: &mut Form, at: usize, feature: &Feature, place: &str) {
    let list = List::Features;
    let key = |name: &str| format!("features/{at}/{name}");
    let kinds = [FeatureKind::Paint, FeatureKind::Joint, FeatureKind::Mark];
    let choices = kinds.map(|kind| (kind_name(kind).to_owned(), GuideEdit::Kind(at, kind)));
    let field = Field::new(key("kind"), "Kind", String::new());
    form.choice(ui, &field, kind_name(feature.kind), choices.into());
    form.slots(ui, "Seen on", &format!("{place} › slots"), &feature.slots, |slot, goes| {
        GuideEdit::GoesInto(list, at, slot, goes)
    });
    ui.add_space(theme::SPACE_S);
    ui.label("What may be seen");
    for (number, value) in feature.values.iter().enumerate() {
        let label = format!("Value {}", number + 1);
        let field = Field::new(key(&format!("value/{number}")), &label, String::new());
        let rename = |name| GuideEdit::RenameValue(at, number, name);
        form.removable(ui, &field, value, rename, GuideEdit::RemoveValue(at, number));
    }
    form.draft(ui, &key("new value"), "New value", 200.0, |name| GuideEdit::AddValue(at, name));
    form.under(&format!("{place} › values"));
    if feature.kind == FeatureKind::Paint {
        let mut choices = vec![("none of them".to_owned(), GuideEdit::Bare(at, None))];
        choices.extend(feature.values.iter().map(|v| (v.clone(), GuideEdit::Bare(at, Some(v.clone())))));
        let field = Field::new(key("bare"), "Means bare", format!("{place} › bare"));
        form.choice(ui, &field, feature.bare.as_deref().unwrap_or("none of them"), choices);
        let hint = format!("{}, as in the line", form.editor.guide().rates.wear());
        let field = Field::new(key("wear"), "Share worn off", format!("{place} › wear")).hint(&hint);
        form.number(ui, &field, feature.wear, |n| GuideEdit::Number(list, at, NumberField::Wear, n));
    }
    let hint = format!("{}, as in the line", form.editor.guide().rates.misread());
    let field = Field::new(key("misread"), "Share mis-seen", format!("{place} › misread")).hint(&hint);
    form.number(ui, &field, feature.misread, |n| GuideEdit::Number(list, at, NumberField::Misread, n));
    form.tick(ui, "A part with another value does not fit the figure", feature.binds, |binds| {
        GuideEdit::Binds(at, binds)
    });
    text(ui, form, (list, at), TextField::How, "How to see it", feature.how.as_deref());
    text(ui, form, (list, at), TextField::Picture, "Picture", feature.picture.as_deref());
}

fn text(
    ui: &mut Ui,
    form: &mut Form,
    (list, at): (List, usize),
    which: TextField,
    label: &str,
    now: Option<&str>,
) {
    let hint = if which == TextField::Picture { "a file beside the guide" } else { "one sentence" };
    let field = Field::new(format!("{}/{at}/{which:?}", list.name()), label, String::new()).hint(hint);
    form.text(ui, &field, now.unwrap_or_default(), |text| GuideEdit::Text(list, at, which, text));
}

fn weight<'a>(list: List, at: usize, place: &str, label: &'a str) -> Field<'a> {
    Field::new(format!("{}/{at}/weight", list.name()), label, format!("{place} › weight")).hint("1")
}

fn kind_name(kind: FeatureKind) -> &'static str {
    match kind {
        FeatureKind::Paint => "paint",
        FeatureKind::Joint => "joint",
        FeatureKind::Mark => "mark of make",
    }
}

/// What a list without members is for.
fn about(list: List) -> &'static str {
    match list {
        List::Runs => {
            "A run is a time of making with its own details. A line that was made once has one run."
        }
        List::Slots => {
            "A slot is a place in a figure: head, torso, arm-left, arm-right, waist, leg-left, leg-right."
        }
        List::Shades => {
            "The base colours of the plastic, named as in your shade references: green/light, green/dark."
        }
        List::Moulds => {
            "A mould is the tool a part was made in: parts of one mould have one shape. Say which slots they \
                         go into and how to know them."
        }
        List::Features => {
            "Everything else that can be seen: paint, how a part is joined, a stamp or another mark of make."
        }
        List::Characters => "Who there is, run by run, put together from slots, moulds, shades and features.",
    }
}

/// A sentence of help.
pub(super) fn said(ui: &mut Ui, text: &str) {
    let weak = theme::palette(ui).weak;
    ui.add(Label::new(egui::RichText::new(text).color(weak)).wrap());
}

//! Changes to a guide as plain commands. Nothing here knows a window.
//!
//! Members of a list are named by their place in it, so that one can be renamed letter by letter. Whoever names it is
//! renamed with it; what is removed is removed wherever it is named.

mod issues;
mod lists;
#[cfg(test)]
mod tests;

use super::{Choice, FeatureKind, Guide, Halves};
use crate::problem::Problem;

/// One of a guide's lists.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum List {
    /// Production runs.
    Runs,
    /// Places in a figure.
    Slots,
    /// Base colours.
    Shades,
    /// Tools.
    Moulds,
    /// Paint, joints and marks.
    Features,
    /// Who there is.
    Characters,
}

/// A text of a list's member; an empty one is left out of the file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum TextField {
    /// The name for people.
    Label,
    /// How to see or know it (moulds and features).
    How,
    /// A picture or sketch (moulds and features).
    Picture,
    /// The caution of a shade.
    Brittle,
}

/// A number of a list's member; `None` leaves it to what usually holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum NumberField {
    /// How common a run is.
    Weight,
    /// Share of figures that lost the part of a slot.
    Lost,
    /// Share of figures with the part of a slot exchanged.
    Exchange,
    /// Share of loose parts on which a paint is worn off.
    Wear,
    /// Share of sure looks at a feature that are wrong.
    Misread,
}

/// A direction in a list.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Shift {
    /// Towards the beginning.
    Earlier,
    /// Towards the end.
    Later,
}

/// A character (its place in the list) as it was made in one run (its id).
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct IssueAt {
    /// Place in the list of characters.
    pub character: usize,
    /// The run's id.
    pub run: String,
}

/// One change.
#[derive(Debug, Clone, PartialEq)]
pub enum GuideEdit {
    /// The name of the line.
    Line(String),
    /// Who made it; empty for nobody known.
    Maker(String),
    /// A new member of that name, last in its list.
    Add(List, String),
    /// A member taken away, with all that names it.
    Remove(List, usize),
    /// A member one place earlier or later.
    Shift(List, usize, Shift),
    /// A member of another name, changed wherever it is named.
    Rename(List, usize, String),
    /// Another text.
    Text(List, usize, TextField, String),
    /// Another number.
    Number(List, usize, NumberField, Option<f64>),
    /// Whether a mould or feature goes into a slot.
    GoesInto(List, usize, String, bool),
    /// The slot on the other side of the body, for both of them.
    Mirror(usize, Option<String>),
    /// What kind of thing a feature is.
    Kind(usize, FeatureKind),
    /// Whether a feature's value must fit the figure.
    Binds(usize, bool),
    /// The value of a feature that means "no paint here".
    Bare(usize, Option<String>),
    /// A new value of a feature.
    AddValue(usize, String),
    /// A value of a feature (second: its place) of another name.
    RenameValue(usize, usize, String),
    /// A value of a feature taken away.
    RemoveValue(usize, usize),
    /// Whether a slot is of the upper half; with none, no composites are looked for.
    Upper(String, bool),
    /// Share of figures put together from two halves.
    HalvesRate(Option<f64>),
    /// An error rate of the line by its name in the file.
    Rate(String, Option<f64>),
    /// A change of one character in one run.
    Issue(IssueAt, IssueEdit),
}

/// One change of a character in one run.
#[derive(Debug, Clone, PartialEq)]
pub enum IssueEdit {
    /// It was made in this run: with a part in every slot, of which only that is said which allows no choice.
    Made,
    /// It was not made in this run.
    NotMade,
    /// How common it is within the run.
    Weight(Option<f64>),
    /// The same parts as another one.
    FillFrom(IssueAt),
    /// Whether it has a part in a slot.
    Part(String, bool),
    /// What a feature (second) is in a slot (first); `None` for nothing known. [`super::NOTE`] is free text.
    Choose(String, String, Option<Choice>),
}

impl List {
    /// All of them, in the order in which a guide is best written.
    pub const ALL: [List; 6] =
        [List::Runs, List::Slots, List::Shades, List::Moulds, List::Features, List::Characters];

    /// Its name in the file and in [`super::Problem::place`].
    pub fn name(self) -> &'static str {
        match self {
            List::Runs => "runs",
            List::Slots => "slots",
            List::Shades => "shades",
            List::Moulds => "moulds",
            List::Features => "features",
            List::Characters => "characters",
        }
    }

    /// One member of it.
    pub fn one(self) -> &'static str {
        match self {
            List::Runs => "run",
            List::Slots => "slot",
            List::Shades => "shade",
            List::Moulds => "mould",
            List::Features => "feature",
            List::Characters => "character",
        }
    }
}

impl GuideEdit {
    /// What the change is called in the list of undo steps, such as "rename slot hand".
    pub fn label(&self, guide: &Guide) -> String {
        let named = |what: &str, list: List, at: usize| {
            format!("{what} {} {}", list.one(), guide.ids(list).get(at).unwrap_or(&""))
        };
        let feature = |what: &str, at: usize| named(what, List::Features, at);
        match self {
            GuideEdit::Line(_) => "name the line".into(),
            GuideEdit::Maker(_) => "name the maker".into(),
            GuideEdit::Add(list, name) => format!("add {} {}", list.one(), name.trim()),
            GuideEdit::Remove(list, at) => named("remove", *list, *at),
            GuideEdit::Shift(list, at, _) => named("move", *list, *at),
            GuideEdit::Rename(list, at, _) => named("rename", *list, *at),
            GuideEdit::Text(list, at, ..)
            | GuideEdit::Number(list, at, ..)
            | GuideEdit::GoesInto(list, at, ..) => named("change", *list, *at),
            GuideEdit::Mirror(at, _) => named("change", List::Slots, *at),
            GuideEdit::Kind(at, _) | GuideEdit::Binds(at, _) | GuideEdit::Bare(at, _) => {
                feature("change", *at)
            }
            GuideEdit::AddValue(at, _) => feature("add a value to", *at),
            GuideEdit::RenameValue(at, ..) => feature("rename a value of", *at),
            GuideEdit::RemoveValue(at, _) => feature("remove a value of", *at),
            GuideEdit::Upper(..) | GuideEdit::HalvesRate(_) => "change the halves".into(),
            GuideEdit::Rate(name, _) => format!("change the rate {}", name.replace('_', " ")),
            GuideEdit::Issue(at, edit) => {
                let what = match edit {
                    IssueEdit::Made => "add a run to",
                    IssueEdit::NotMade => "take a run from",
                    IssueEdit::FillFrom(_) => "fill in",
                    IssueEdit::Weight(_) | IssueEdit::Part(..) | IssueEdit::Choose(..) => "change",
                };
                named(what, List::Characters, at.character)
            }
        }
    }

    /// Makes the change. On an error the guide is as it was.
    pub fn apply(&self, guide: &mut Guide) -> Result<(), Problem> {
        match self {
            GuideEdit::Line(name) => guide.line = name.clone(),
            GuideEdit::Maker(name) => guide.maker = text(name),
            GuideEdit::Add(list, name) => lists::add(guide, *list, name)?,
            GuideEdit::Remove(list, at) => lists::remove(guide, *list, *at)?,
            GuideEdit::Shift(list, at, shift) => lists::shift(guide, *list, *at, *shift)?,
            GuideEdit::Rename(list, at, name) => lists::rename(guide, *list, *at, name)?,
            GuideEdit::Text(list, at, field, value) => {
                *lists::text_field(guide, *list, *at, *field)? = text(value)
            }
            GuideEdit::Number(list, at, field, value) => {
                *lists::number_field(guide, *list, *at, *field)? = *value;
            }
            GuideEdit::GoesInto(list, at, slot, goes) => {
                let order: Vec<String> = guide.slots.iter().map(|s| s.id.clone()).collect();
                put(lists::slots_of(guide, *list, *at)?, slot, *goes, &order);
            }
            GuideEdit::Mirror(at, other) => lists::mirror(guide, *at, other.as_deref())?,
            GuideEdit::Kind(at, kind) => {
                let feature = guide.features.get_mut(*at).ok_or_else(gone)?;
                feature.kind = *kind;
                if *kind != FeatureKind::Paint {
                    (feature.bare, feature.wear) = (None, None);
                }
            }
            GuideEdit::Binds(at, binds) => guide.features.get_mut(*at).ok_or_else(gone)?.binds = *binds,
            GuideEdit::Bare(at, value) => guide.features.get_mut(*at).ok_or_else(gone)?.bare = value.clone(),
            GuideEdit::AddValue(at, name) => lists::add_value(guide, *at, name)?,
            GuideEdit::RenameValue(at, value, name) => lists::rename_value(guide, *at, *value, name)?,
            GuideEdit::RemoveValue(at, value) => lists::remove_value(guide, *at, *value)?,
            GuideEdit::Upper(slot, upper) => {
                let order: Vec<String> = guide.slots.iter().map(|s| s.id.clone()).collect();
                let halves = guide.halves.get_or_insert_with(|| Halves {
                    upper: Vec::new(),
                    rate: None,
                    rest: serde_json::Map::new(),
                });
                put(&mut halves.upper, slot, *upper, &order);
                if halves.upper.is_empty() && halves.rest.is_empty() {
                    guide.halves = None;
                }
            }
            GuideEdit::HalvesRate(rate) => guide.halves.as_mut().ok_or_else(gone)?.rate = *rate,
            GuideEdit::Rate(name, rate) => guide.rates.set(name, *rate).ok_or_else(gone)?,
            GuideEdit::Issue(at, edit) => issues::apply(guide, at, edit)?,
        }
        Ok(())
    }
}

impl Guide {
    /// The names in one of its lists, in their order.
    pub fn ids(&self, list: List) -> Vec<&str> {
        match list {
            List::Runs => self.runs.iter().map(|x| &*x.id).collect(),
            List::Slots => self.slots.iter().map(|x| &*x.id).collect(),
            List::Shades => self.shades.iter().map(|x| &*x.id).collect(),
            List::Moulds => self.moulds.iter().map(|x| &*x.id).collect(),
            List::Features => self.features.iter().map(|x| &*x.id).collect(),
            List::Characters => self.characters.iter().map(|x| &*x.id).collect(),
        }
    }
}

/// Puts a name into a list of names or takes it out; the list keeps the guide's order.
fn put(names: &mut Vec<String>, name: &str, there: bool, order: &[String]) {
    names.retain(|n| n != name);
    if there {
        names.push(name.to_owned());
        names.sort_by_key(|n| order.iter().position(|o| o == n).unwrap_or(order.len()));
    }
}

fn text(value: &str) -> Option<String> {
    (!value.trim().is_empty()).then(|| value.to_owned())
}

fn gone() -> Problem {
    Problem::new("That is no longer in the guide.", "Choose again.")
}

fn checked_name(name: &str, taken: impl IntoIterator<Item = impl AsRef<str>>) -> Result<String, Problem> {
    let name = name.trim();
    if name.is_empty() {
        return Err(Problem::new("It needs a name.", "Type one."));
    }
    if taken.into_iter().any(|other| other.as_ref() == name) {
        return Err(Problem::new(format!("There is “{name}” already."), "Choose another name."));
    }
    Ok(name.to_owned())
}

//! All records of a collection beside their guides: what is complete, what is wanted, which loose parts would help.

use std::collections::BTreeMap;

use serde::Serialize;

use super::index::from_root;
use super::record::{Holds, Record, RecordedFinding, RecordedPart, Role, SETTLED};
use crate::guide::{Choice, Guide, Part, slot_words};

/// What a collection has and lacks.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Totals {
    /// Records of figures.
    pub figures: usize,
    /// Records of loose parts.
    pub loose: usize,
    /// Figures of which it is not settled who they are.
    pub undecided: usize,
    /// One entry a guide.
    pub lines: Vec<LineTotals>,
}

/// The figures of one guide.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LineTotals {
    /// The line's name.
    pub line: String,
    /// Every character in every run, in the guide's order.
    pub issues: Vec<IssueTotal>,
    /// Parts that figures at hand want.
    pub wants: Vec<Want>,
}

/// One character in one run.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct IssueTotal {
    /// The character's id.
    pub character: String,
    /// The run's id.
    pub run: String,
    /// How complete the best figure of it is.
    pub state: IssueState,
    /// Figures at hand.
    pub figures: usize,
    /// The best one's file.
    pub best: Option<String>,
}

/// How complete a character of a run is; the best first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum IssueState {
    /// Every part seen and belonging.
    Complete,
    /// The same, but some parts were not looked at.
    CompleteAsFarAsSeen,
    /// Parts are missing, doubtful or do not belong.
    Incomplete,
    /// No settled figure of it.
    Wanted,
}

impl IssueState {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            IssueState::Complete => "complete",
            IssueState::CompleteAsFarAsSeen => "complete as far as seen",
            IssueState::Incomplete => "incomplete",
            IssueState::Wanted => "wanted",
        }
    }
}

/// A part that a figure at hand wants.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Want {
    /// The figure's file.
    pub file: String,
    /// The figure's name.
    pub name: String,
    /// Who it is.
    pub character: String,
    /// Of which run.
    pub run: String,
    /// The slot's id.
    pub slot: String,
    /// The slot's name.
    pub slot_name: String,
    /// What the guide lists there, in its own words.
    pub looks: Vec<String>,
    /// Why it is wanted.
    pub why: Why,
    /// Shades that the guide lists there.
    pub shades: Vec<String>,
    /// Moulds that the guide lists there.
    pub moulds: Vec<String>,
    /// Parts at hand that would do, those that fit first.
    pub spares: Vec<Spare>,
}

/// Why a part is wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Why {
    /// There is none.
    Missing,
    /// The one that is there does not belong.
    DoesNotBelong,
}

/// A part at hand that could complete a figure.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Spare {
    /// The record it is in.
    pub file: String,
    /// That record's name.
    pub name: String,
    /// Which part of it.
    pub part: String,
    /// Whether it sits on a figure to which it does not belong, rather than being loose.
    pub on_a_figure: bool,
    /// How well it fits.
    pub fit: Fit,
}

/// How well a part fits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Fit {
    /// Shade and mould are those of the guide.
    Fits,
    /// Nothing speaks against it, but shade or mould was not seen.
    MayFit,
}

/// Compares all records with their guides. Each record comes with its file's path relative to the collection, each
/// guide with its path as [`super::Row::sources`] has it. Records whose guide is not given are counted only.
pub fn totals<'a>(
    records: impl IntoIterator<Item = (&'a str, &'a Record)>,
    guides: &[(String, Guide)],
) -> Totals {
    let mut out = Totals::default();
    let mut figures: BTreeMap<usize, Vec<Figure<'a>>> = BTreeMap::new();
    let mut spares: Vec<Loose<'a>> = Vec::new();
    for (file, record) in records {
        let finding = record.finding();
        match record.holds {
            Holds::LooseParts => {
                out.loose += 1;
                let parts = finding.map(|f| f.parts.as_slice()).unwrap_or_default();
                spares.extend(parts.iter().map(|part| Loose { file, record, part, on_a_figure: false }));
                continue;
            }
            Holds::Figure => out.figures += 1,
        }
        let Some((finding, who)) = finding.and_then(|f| Some((f, f.settled()?))) else {
            out.undecided += 1;
            continue;
        };
        let strangers = finding.parts.iter().filter(|part| does_not_belong(part));
        spares.extend(strangers.map(|part| Loose { file, record, part, on_a_figure: true }));
        let guide = finding.source(Role::Guide).map(|source| from_root(file, &source.file));
        let Some(number) = guide.and_then(|guide| guides.iter().position(|(path, _)| *path == guide)) else {
            continue;
        };
        let (character, run) = (who.character.as_str(), who.run.as_str());
        figures.entry(number).or_default().push(Figure { file, record, finding, character, run });
    }
    for (number, (_, guide)) in guides.iter().enumerate() {
        let at_hand = figures.get(&number).map(Vec::as_slice).unwrap_or_default();
        out.lines.push(line_totals(guide, at_hand, &spares));
    }
    out
}

/// A settled figure.
struct Figure<'a> {
    file: &'a str,
    record: &'a Record,
    finding: &'a RecordedFinding,
    character: &'a str,
    run: &'a str,
}

/// A part that is free to be used.
struct Loose<'a> {
    file: &'a str,
    record: &'a Record,
    part: &'a RecordedPart,
    on_a_figure: bool,
}

fn does_not_belong(part: &RecordedPart) -> bool {
    part.belongs.is_some_and(|p| p <= 1.0 - SETTLED)
}

fn line_totals(guide: &Guide, figures: &[Figure], spares: &[Loose]) -> LineTotals {
    let mut out = LineTotals { line: guide.line.clone(), issues: Vec::new(), wants: Vec::new() };
    for character in &guide.characters {
        for issue in &character.issues {
            let of_it = figures.iter().filter(|f| f.character == character.id && f.run == issue.run);
            let states: Vec<(IssueState, &Figure)> =
                of_it.map(|figure| (state_of(figure.finding, &issue.parts), figure)).collect();
            let best = states.iter().min_by_key(|(state, _)| *state);
            out.issues.push(IssueTotal {
                character: character.id.clone(),
                run: issue.run.clone(),
                state: best.map_or(IssueState::Wanted, |(state, _)| *state),
                figures: states.len(),
                best: best.map(|(_, figure)| figure.file.to_owned()),
            });
            for (_, figure) in states {
                out.wants.extend(wants_of(guide, figure, &issue.parts, spares));
            }
        }
    }
    out
}

fn state_of(finding: &RecordedFinding, parts: &BTreeMap<String, Part>) -> IssueState {
    let mut state = IssueState::Complete;
    for slot in parts.keys() {
        let found = finding.parts.iter().find(|part| part.slot.as_ref() == Some(slot));
        let here = match found.and_then(|part| part.belongs) {
            _ if finding.missing.contains(slot) => IssueState::Incomplete,
            Some(p) if p >= SETTLED => IssueState::Complete,
            Some(_) => IssueState::Incomplete,
            None => IssueState::CompleteAsFarAsSeen,
        };
        state = state.max(here);
    }
    state
}

fn wants_of(guide: &Guide, figure: &Figure, parts: &BTreeMap<String, Part>, spares: &[Loose]) -> Vec<Want> {
    let finding = figure.finding;
    let want = |(slot, part): (&String, &Part)| {
        let found = finding.parts.iter().find(|found| found.slot.as_ref() == Some(slot));
        let why = match found {
            _ if finding.missing.contains(slot) => Why::Missing,
            Some(found) if does_not_belong(found) => Why::DoesNotBelong,
            _ => return None,
        };
        let mut fitting: Vec<Spare> = spares
            .iter()
            // A part that does not belong to this figure does not become its own.
            .filter(|spare| spare.file != figure.file && spare.part.slot.as_ref() == Some(slot))
            .filter_map(|spare| {
                let fit = fit_of(spare.part, part)?;
                Some(Spare {
                    file: spare.file.into(),
                    name: spare.record.name.clone(),
                    part: spare.part.reading.as_ref().unwrap_or(slot).clone(),
                    on_a_figure: spare.on_a_figure,
                    fit,
                })
            })
            .collect();
        fitting.sort_by_key(|spare| (spare.fit, spare.on_a_figure));
        Some(Want {
            file: figure.file.into(),
            name: figure.record.name.clone(),
            character: figure.character.into(),
            run: figure.run.into(),
            slot: slot.clone(),
            slot_name: slot_words(Some(guide), slot),
            looks: looks(guide, part),
            why,
            shades: listed(part, "shade"),
            moulds: listed(part, "mould"),
            spares: fitting,
        })
    };
    parts.iter().filter_map(want).collect()
}

/// Whether a part at hand is what the guide lists; `None` where something speaks against it.
fn fit_of(spare: &RecordedPart, wanted: &Part) -> Option<Fit> {
    let shade = spare.call.as_deref().filter(|call| *call != "undecided");
    let mut fit = Fit::Fits;
    for (feature, seen) in [("shade", shade), ("mould", spare.mould.as_deref())] {
        let listed = listed(wanted, feature);
        match seen {
            _ if listed.is_empty() => {}
            None => fit = Fit::MayFit,
            Some(seen) if listed.iter().any(|value| value == seen) => {}
            Some(_) => return None,
        }
    }
    Some(fit)
}

/// Shade and mould that the guide lists, by the names that it gives them.
fn looks(guide: &Guide, part: &Part) -> Vec<String> {
    let shade =
        |id: &String| guide.shades.iter().find(|s| s.id == *id).map_or(id.as_str(), |s| s.name()).to_owned();
    let mould =
        |id: &String| guide.moulds.iter().find(|m| m.id == *id).map_or(id.as_str(), |m| m.name()).to_owned();
    let shades: Vec<String> = listed(part, "shade").iter().map(shade).collect();
    let moulds: Vec<String> = listed(part, "mould").iter().map(mould).collect();
    [shades, moulds].into_iter().filter(|list| !list.is_empty()).map(|list| list.join(" or ")).collect()
}

/// The values that the guide lists for a feature of a part.
fn listed(part: &Part, feature: &str) -> Vec<String> {
    match part.get(feature) {
        Some(Choice::One(value)) => vec![value.clone()],
        Some(Choice::Mixed(values)) => values.keys().cloned().collect(),
        Some(Choice::Other(_)) | None => Vec::new(),
    }
}

//! What stands in a report, in its order, for every layout alike.

use super::plain::name_of;
use super::{Axis, Interval, ReportInputs, figure, method};
use crate::case::{Known, Surface};
use crate::measure::{Call, ReadingResult};
use crate::report::listing::listing_advice;
use crate::report::words::{capital, percent, pixels_text, same_plastic, shade_name, verdict};

/// A whole report.
pub(super) struct Content {
    pub title: String,
    pub subtitle: String,
    /// What the photo shows, for who cannot see it.
    pub photo_described: String,
    pub blocks: Vec<Block>,
    /// The one axis of all bars.
    pub axis: Axis,
}

/// A piece of a report.
pub(super) enum Block {
    Heading(String),
    Subheading(String),
    Text(String),
    /// Set off from the rest.
    Caution(String),
    List(Vec<String>),
    Photo,
    Table(Table),
}

/// A table; the first cell of each row names the row.
pub(super) struct Table {
    pub caption: String,
    pub columns: Vec<Column>,
    pub rows: Vec<Vec<Cell>>,
}

/// A column: its name, how it is set, and its share of the width.
pub(super) struct Column {
    pub name: &'static str,
    pub sort: Sort,
    pub width: f32,
}

#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Sort {
    Words,
    Number,
    Bar,
}

pub(super) enum Cell {
    Words(String),
    Bar { interval: Interval, is_called: bool },
}

/// The caution that every report carries.
pub(super) const CAUTION: &str = "This is an opinion from one photo: no authentication and no appraisal. Where the stakes are \
    high, measure again from another photo, or have the part looked at by somebody who can hold it.";

/// More pairs than this are not listed.
const MOST_PAIRS: usize = 40;

pub(super) fn column(name: &'static str, sort: Sort, width: f32) -> Column {
    Column { name, sort, width }
}

pub(super) fn words(text: impl Into<String>) -> Cell {
    Cell::Words(text.into())
}

pub(super) fn of(inputs: &ReportInputs) -> Content {
    let mut blocks = vec![Block::Caution(CAUTION.into())];
    if let Some((guide, findings)) = inputs.figure {
        figure::summary(guide, findings, &mut blocks);
    }
    blocks.push(Block::Heading("The parts in short".into()));
    blocks.push(in_short(inputs));
    blocks.extend(not_measured(inputs));
    without_card(inputs, &mut blocks);
    blocks.extend([Block::Heading("The photo and its marks".into()), Block::Photo, marks(inputs)]);
    blocks.push(Block::Heading("Part by part".into()));
    if inputs.references.is_some() {
        blocks.push(Block::Text(
            "A bar shows how far a part is from a shade in CIEDE2000: the dot is the median, the bar holds 95 %. A thick bar \
             is the shade that was called. All bars of this report stand on one axis; an arrow leaves it."
                .into(),
        ));
    }
    inputs.measurement.readings.iter().enumerate().for_each(|(i, r)| part(inputs, i, r, &mut blocks));
    pairs(inputs, &mut blocks);
    if let Some((guide, findings)) = inputs.figure {
        figure::details(guide, findings, &mut blocks);
    }
    method::blocks(inputs, &mut blocks);
    let parts = inputs.measurement.readings.len();
    Content {
        title: format!("Report on {}", name_of(inputs.name)),
        subtitle: format!(
            "Made with Sameshot {} from the photo {}",
            env!("CARGO_PKG_VERSION"),
            name_of(&inputs.case.photo)
        ),
        photo_described: format!(
            "The photo with {parts} parts outlined and numbered, and {} areas of known colour outlined with dashes and \
             lettered K; the table below names them.",
            inputs.case.zones.len()
        ),
        blocks,
        axis: Axis::of(inputs.measurement),
    }
}

fn in_short(inputs: &ReportInputs) -> Block {
    if inputs.measurement.readings.is_empty() {
        return Block::Text("No parts were measured in this photo.".into());
    }
    let rows = inputs.measurement.readings.iter().enumerate().map(|(index, reading)| {
        let said = verdict(reading, inputs.references, inputs.confidence);
        vec![words(numbered(index, reading)), words(said.headline), words(capital(&said.reason))]
    });
    Block::Table(Table {
        caption: "What each part is, and how sure that is".into(),
        columns: vec![
            column("part", Sort::Words, 0.24),
            column("shade", Sort::Words, 0.24),
            column("how sure", Sort::Words, 0.52),
        ],
        rows: rows.collect(),
    })
}

fn not_measured(inputs: &ReportInputs) -> Vec<Block> {
    if inputs.problems.is_empty() {
        return Vec::new();
    }
    vec![Block::Subheading("What could not be measured".into()), Block::List(inputs.problems.to_vec())]
}

/// What a photo without a card supports, and how to ask for a better one.
fn without_card(inputs: &ReportInputs, blocks: &mut Vec<Block>) {
    let Some(advice) = listing_advice(inputs.measurement, inputs.references, inputs.confidence) else {
        return;
    };
    let supports = match advice.supports.is_empty() {
        true => vec!["Nothing about the shades.".to_owned()],
        false => advice.supports,
    };
    for (heading, lines) in [("What this picture supports", supports), ("What it does not", advice.open)] {
        blocks.extend([Block::Subheading(heading.into()), Block::List(lines)]);
    }
    blocks.extend([Block::Subheading("A text for the seller".into()), Block::Text(advice.request)]);
}

fn numbered(index: usize, reading: &ReadingResult) -> String {
    format!("{}  {}", index + 1, name_of(&reading.id))
}

fn marks(inputs: &ReportInputs) -> Block {
    let surface = |surface: Surface| match surface {
        Surface::Flat => "flat",
        Surface::Rounded => "rounded",
    };
    let readings = inputs.case.readings.iter().enumerate().map(|(index, mark)| {
        let slot = mark.slot.as_deref().map_or(String::new(), |slot| format!(", slot {}", name_of(slot)));
        let what = format!("part to be measured{slot}, {}", surface(mark.surface));
        vec![words(format!("{}", index + 1)), words(name_of(&mark.id)), words(what)]
    });
    let zones = inputs.case.zones.iter().enumerate().map(|(index, zone)| {
        let known = match &zone.known {
            Known::Lab { lab: [l, a, b], sd } => {
                format!("L* {l:.1} ± {:.1}, a* {a:.1} ± {:.1}, b* {b:.1} ± {:.1}", sd[0], sd[1], sd[2])
            }
            Known::Shade { shade } => format!("the shade {}", name_of(&shade_name(inputs.references, shade))),
        };
        let what = format!("taken as known: {known}, {}", surface(zone.surface));
        vec![words(format!("K{}", index + 1)), words(name_of(&zone.id)), words(what)]
    });
    Block::Table(Table {
        caption: "The marks on the photo".into(),
        columns: vec![
            column("mark", Sort::Words, 0.09),
            column("name", Sort::Words, 0.25),
            column("what it is", Sort::Words, 0.66),
        ],
        rows: readings.chain(zones).collect(),
    })
}

fn part(inputs: &ReportInputs, index: usize, reading: &ReadingResult, blocks: &mut Vec<Block>) {
    let said = verdict(reading, inputs.references, inputs.confidence);
    blocks.push(Block::Subheading(format!("{}: {}", numbered(index, reading), said.headline)));
    let sd = [0, 1, 2].map(|axis| reading.cov[axis][axis].max(0.0).sqrt());
    let [l, a, b] = reading.lab;
    blocks.push(Block::Text(format!(
        "{} L* {l:.1} ± {:.1}, a* {a:.1} ± {:.1}, b* {b:.1} ± {:.1} (Lab D50, ± one standard deviation). {}.",
        capital(&said.reason),
        sd[0],
        sd[1],
        sd[2],
        pixels_text(&reading.pixels)
    )));
    if !reading.differences.is_empty() {
        blocks.push(Block::Table(shades(inputs, reading)));
    }
    let budget: Vec<String> =
        reading.budget.iter().map(|part| format!("{} {}", part.source, share(part.share))).collect();
    if !budget.is_empty() {
        blocks.push(Block::Text(format!("What makes up the error bar: {}.", budget.join(", "))));
    }
    let warnings = reading.warnings.iter().map(|w| format!("{} {}", w.text, w.remedy));
    let warnings: Vec<String> = warnings.collect();
    if !warnings.is_empty() {
        blocks.push(Block::List(warnings));
    }
}

/// A share of a whole in per cent.
fn share(share: f64) -> String {
    if share < 0.005 { "under 1 %".into() } else { format!("{:.0} %", share * 100.0) }
}

fn shades(inputs: &ReportInputs, reading: &ReadingResult) -> Table {
    let probability = |id: Option<&String>| {
        let entry = reading.shades.iter().find(|entry| entry.shade.as_ref() == id);
        words(entry.map(|entry| percent(entry.probability)).unwrap_or_default())
    };
    let mark =
        |name: String, is_called: bool| words(if is_called { format!("{name} (called)") } else { name });
    let mut rows: Vec<Vec<Cell>> = reading
        .differences
        .iter()
        .map(|difference| {
            let is_called = reading.call == Some(Call::Shade(difference.shade.clone()));
            let mut row = vec![mark(name_of(&shade_name(inputs.references, &difference.shade)), is_called)];
            row.extend(interval(&difference.de00, is_called));
            row.push(probability(Some(&difference.shade)));
            row
        })
        .collect();
    let none = mark("none of these".into(), reading.call == Some(Call::None));
    rows.push(vec![none, words("–"), words("–"), words("–"), probability(None)]);
    Table {
        caption: format!("{} against each shade", name_of(&reading.id)),
        columns: vec![
            column("shade", Sort::Words, 0.28),
            column("CIEDE2000", Sort::Number, 0.11),
            column("95 % interval", Sort::Number, 0.15),
            column("bar", Sort::Bar, 0.34),
            column("probability", Sort::Number, 0.12),
        ],
        rows,
    }
}

/// A difference in three cells: median, interval, bar.
fn interval(de00: &Interval, is_called: bool) -> [Cell; 3] {
    [
        words(format!("{:.1}", de00.median)),
        words(format!("{:.1} to {:.1}", de00.low, de00.high)),
        Cell::Bar { interval: *de00, is_called },
    ]
}

fn pairs(inputs: &ReportInputs, blocks: &mut Vec<Block>) {
    // Those that differ first; of many, the rest says little.
    let mut pairs: Vec<_> = inputs.measurement.pairs.iter().collect();
    if pairs.is_empty() {
        return;
    }
    pairs.sort_by(|a, b| b.different_plastic.total_cmp(&a.different_plastic));
    blocks.push(Block::Heading("Of the same plastic?".into()));
    let rows = pairs.iter().take(MOST_PAIRS).map(|pair| {
        let mut row = vec![words(format!("{} and {}", name_of(&pair.a), name_of(&pair.b)))];
        row.extend(interval(&pair.de00, false));
        let sure = percent(pair.different_plastic);
        row.push(words(format!("{sure}: {}", same_plastic(pair, inputs.confidence).word())));
        row
    });
    blocks.push(Block::Table(Table {
        caption: "Every two parts compared".into(),
        columns: vec![
            column("parts", Sort::Words, 0.26),
            column("CIEDE2000", Sort::Number, 0.11),
            column("95 % interval", Sort::Number, 0.14),
            column("bar", Sort::Bar, 0.25),
            column("different plastic", Sort::Number, 0.24),
        ],
        rows: rows.collect(),
    }));
    if pairs.len() > MOST_PAIRS {
        let more = pairs.len() - MOST_PAIRS;
        blocks.push(Block::Text(format!("And {more} more pairs, each less likely different than these.")));
    }
}

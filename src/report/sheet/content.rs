//! What stands in a report, in its order, for every layout alike.

use super::blocks::{Block, Blocks, Cell, Sort, words};
use super::plain::name_of;
use super::{Axis, Interval, ReportInputs, figure, method, tray};
use crate::case::{Known, Surface};
use crate::guide::slot_words;
use crate::measure::{Call, ReadingResult};
use crate::report::listing::listing_advice;
use crate::report::words::{capital, percent, pixels_text, same_plastic, shade_name};

/// A whole report.
pub(super) struct Content {
    pub title: String,
    pub subtitle: String,
    /// What the photo shows, for who cannot see it.
    pub photo_described: String,
    pub blocks: Vec<Block>,
    /// The one axis of all bars.
    pub axis: Axis,
    /// The caution in a few words, for every page.
    pub footer: &'static str,
}

/// The caution that every report carries.
pub(super) const CAUTION: &str = "This is an opinion from photos: no authentication and no appraisal. Where the stakes are \
    high, measure again from another photo, or have the part looked at by somebody who can hold it.";

/// More pairs than this are not listed.
const MOST_PAIRS: usize = 40;

/// From so many parts on they are also listed shade by shade.
const MANY_PARTS: usize = 10;

pub(super) fn of(inputs: &ReportInputs) -> Content {
    let mut blocks = Blocks::default();
    blocks.caution(CAUTION);
    if let Some((guide, findings)) = inputs.figure {
        figure::summary(guide, findings, inputs.case, &mut blocks);
    }
    // What to do comes first, where there is something to be done.
    without_card(inputs, &mut blocks);
    match inputs.case.loose_parts().is_empty() {
        true => by_shade(inputs, &mut blocks),
        false => tray::blocks(inputs, &mut blocks),
    }
    in_short(inputs, &mut blocks);
    blocks.list_under("What could not be measured", inputs.problems.iter().cloned());
    blocks.heading("The photo and its marks");
    blocks.photo();
    marks(inputs, &mut blocks);
    blocks.heading("Part by part");
    if inputs.references.is_some() {
        blocks.text(
            "A bar shows how far a part is from a shade in CIEDE2000: the dot is the median, the bar holds 95 %. A thick bar \
             is the shade that was called. All bars of this report stand on one axis; an arrow leaves it.",
        );
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
        subtitle: format!("{} from the photo {}", made(inputs.date), name_of(&inputs.case.photo)),
        photo_described: format!(
            "The photo with {parts} parts outlined and numbered, and {} areas of known colour outlined with dashes and \
             lettered K; the table below names them.",
            inputs.case.zones.len()
        ),
        blocks: blocks.0,
        axis: Axis::of(inputs.measurement),
        footer: "An opinion from photos.",
    }
}

/// When and with what a report was made.
pub(super) fn made(date: &str) -> String {
    let on = if date.is_empty() { String::new() } else { format!(" on {}", name_of(date)) };
    format!("Made{on} with Sameshot {}", env!("CARGO_PKG_VERSION"))
}

/// Of many parts, as on a tray: which were called which shade.
fn by_shade(inputs: &ReportInputs, blocks: &mut Blocks) {
    let readings = &inputs.measurement.readings;
    let Some(references) = inputs.references.filter(|_| readings.len() >= MANY_PARTS) else { return };
    let called = |wanted: &dyn Fn(&Call) -> bool| -> Vec<String> {
        let of_it = readings.iter().enumerate().filter(|(_, r)| r.call.as_ref().is_some_and(wanted));
        of_it.map(|(index, reading)| numbered(inputs, index, reading)).collect()
    };
    let shades = references.shades.iter().map(|shade| {
        let id = Call::Shade(shade.id.clone());
        (name_of(shade.name()), called(&|call| *call == id))
    });
    let others = [("undecided", Call::Undecided), ("none of these", Call::None)];
    let others = others.map(|(name, call)| (name.to_owned(), called(&|found| *found == call)));
    blocks.heading("Shade by shade");
    blocks.table(
        "The parts of each shade",
        [("shade", Sort::Words, 0.2), ("parts", Sort::Number, 0.1), ("which", Sort::Words, 0.7)],
        shades
            .chain(others)
            .map(|(name, parts)| [words(name), words(parts.len().to_string()), words(parts.join("; "))]),
    );
}

/// Loose parts are told one by one already.
fn in_short(inputs: &ReportInputs, blocks: &mut Blocks) {
    if inputs.measurement.readings.is_empty() {
        blocks.heading("The parts in short");
        return blocks.text("No parts were measured in this photo.");
    }
    let told = |reading: &ReadingResult| tray::is_loose(inputs.case, &reading.id);
    let rest = || inputs.measurement.readings.iter().enumerate().filter(|(_, reading)| !told(reading));
    if rest().next().is_none() {
        return;
    }
    blocks.heading("The parts in short");
    let rows = rest().map(|(index, reading)| {
        let said = inputs.verdict(reading);
        [words(numbered(inputs, index, reading)), words(said.headline), words(capital(&said.reason))]
    });
    blocks.table(
        "What each part is, and how sure that is",
        [("part", Sort::Words, 0.24), ("shade", Sort::Words, 0.24), ("how sure", Sort::Words, 0.52)],
        rows,
    );
}

/// What a photo without a card supports, and how to ask for a better one.
fn without_card(inputs: &ReportInputs, blocks: &mut Blocks) {
    let Some(advice) = listing_advice(inputs.measurement, inputs.references, inputs.confidence) else {
        return;
    };
    let supports = match advice.supports.is_empty() {
        true => vec!["Nothing about the shades.".to_owned()],
        false => advice.supports,
    };
    blocks.list_under("What this picture supports", supports);
    blocks.list_under("What it does not", advice.open);
    blocks.subheading("A text for the seller");
    blocks.text(advice.request);
}

/// The index counts readings that were measured; some may not have been.
fn numbered(inputs: &ReportInputs, index: usize, reading: &ReadingResult) -> String {
    let place = inputs.case.readings.iter().position(|mark| mark.id == reading.id).unwrap_or(index);
    format!("{}  {}", tray::number_of(inputs.case, place, &reading.id), name_of(&reading.id))
}

fn marks(inputs: &ReportInputs, blocks: &mut Blocks) {
    let surface = |surface: Surface| match surface {
        Surface::Flat => "flat",
        Surface::Rounded => "rounded",
    };
    let rest = inputs.case.readings.iter().enumerate();
    let rest = rest.filter(|(_, mark)| !tray::is_loose(inputs.case, &mark.id));
    let readings = rest.map(|(index, mark)| {
        let slot = mark.slot.as_deref().map_or(String::new(), |slot| {
            format!(", {}", name_of(&slot_words(inputs.figure.map(|(guide, _)| guide), slot)))
        });
        let what = format!("part to be measured{slot}, {}", surface(mark.surface));
        [words(tray::number_of(inputs.case, index, &mark.id)), words(name_of(&mark.id)), words(what)]
    });
    let zones = inputs.case.zones.iter().enumerate().map(|(index, zone)| {
        let known = match &zone.known {
            Known::Lab { lab: [l, a, b], sd } => {
                format!("L* {l:.1} ± {:.1}, a* {a:.1} ± {:.1}, b* {b:.1} ± {:.1}", sd[0], sd[1], sd[2])
            }
            Known::Shade { shade, specimen } => {
                let shade = name_of(&shade_name(inputs.references, shade));
                let specimen = specimen.as_deref().map(|id| format!("specimen {} of ", name_of(id)));
                format!("{}the shade {shade}", specimen.unwrap_or_default())
            }
        };
        let what = format!("taken as known: {known}, {}", surface(zone.surface));
        [words(format!("K{}", index + 1)), words(name_of(&zone.id)), words(what)]
    });
    let loose = (!inputs.case.loose_parts().is_empty()).then(|| {
        let what = "measured; told one by one in the table of loose parts above";
        [words("numbers"), words("loose parts"), words(what)]
    });
    blocks.table(
        "The marks on the photo",
        [("mark", Sort::Words, 0.09), ("name", Sort::Words, 0.25), ("what it is", Sort::Words, 0.66)],
        loose.into_iter().chain(readings).chain(zones),
    );
}

fn part(inputs: &ReportInputs, index: usize, reading: &ReadingResult, blocks: &mut Blocks) {
    let said = inputs.verdict(reading);
    blocks.subheading(format!("{}: {}", numbered(inputs, index, reading), said.headline));
    let sd = [0, 1, 2].map(|axis| reading.cov[axis][axis].max(0.0).sqrt());
    let [l, a, b] = reading.lab;
    blocks.text(format!(
        "{} L* {l:.1} ± {:.1}, a* {a:.1} ± {:.1}, b* {b:.1} ± {:.1} (Lab D50, ± one standard deviation). {}.",
        capital(&said.reason),
        sd[0],
        sd[1],
        sd[2],
        pixels_text(&reading.pixels)
    ));
    if !reading.differences.is_empty() {
        shades(inputs, reading, blocks);
    }
    let budget: Vec<String> =
        reading.budget.iter().map(|part| format!("{} {}", part.source, share(part.share))).collect();
    if !budget.is_empty() {
        blocks.text(format!("What makes up the error bar: {}.", budget.join(", ")));
    }
    blocks.list(reading.warnings.iter().map(|w| format!("{} {}", w.text, w.remedy)));
}

/// A share of a whole in per cent.
fn share(share: f64) -> String {
    if share < 0.005 { "under 1 %".into() } else { format!("{:.0} %", share * 100.0) }
}

fn shades(inputs: &ReportInputs, reading: &ReadingResult, blocks: &mut Blocks) {
    let probability = |id: Option<&String>| {
        let entry = reading.shades.iter().find(|entry| entry.shade.as_ref() == id);
        words(entry.map(|entry| percent(entry.probability)).unwrap_or_default())
    };
    let mark =
        |name: String, is_called: bool| words(if is_called { format!("{name} (called)") } else { name });
    let of_shades = reading.differences.iter().map(|difference| {
        let is_called = reading.call == Some(Call::Shade(difference.shade.clone()));
        let name = mark(name_of(&shade_name(inputs.references, &difference.shade)), is_called);
        let [median, ends, bar] = interval(&difference.de00, is_called);
        [name, median, ends, bar, probability(Some(&difference.shade))]
    });
    let none = mark("none of these".into(), reading.call == Some(Call::None));
    let none = [none, words("–"), words("–"), words("–"), probability(None)];
    blocks.table(
        format!("{} against each shade", name_of(&reading.id)),
        [
            ("shade", Sort::Words, 0.28),
            ("CIEDE2000", Sort::Number, 0.11),
            ("95 % interval", Sort::Number, 0.15),
            ("bar", Sort::Bar, 0.34),
            ("probability", Sort::Number, 0.12),
        ],
        of_shades.chain([none]),
    );
}

/// A difference in three cells: median, interval, bar.
fn interval(de00: &Interval, is_called: bool) -> [Cell; 3] {
    [
        words(format!("{:.1}", de00.median)),
        words(format!("{:.1} to {:.1}", de00.low, de00.high)),
        Cell::Bar { interval: *de00, is_called },
    ]
}

fn pairs(inputs: &ReportInputs, blocks: &mut Blocks) {
    // Those that differ first; of many, the rest says little.
    let mut pairs: Vec<_> = inputs.measurement.pairs.iter().collect();
    if pairs.is_empty() {
        return;
    }
    pairs.sort_by(|a, b| b.different_plastic.total_cmp(&a.different_plastic));
    blocks.heading("Of the same plastic?");
    let rows = pairs.iter().take(MOST_PAIRS).map(|pair| {
        let [median, ends, bar] = interval(&pair.de00, false);
        let sure = percent(pair.different_plastic);
        let sure = words(format!("{sure}: {}", same_plastic(pair, inputs.confidence).word()));
        [words(format!("{} and {}", name_of(&pair.a), name_of(&pair.b))), median, ends, bar, sure]
    });
    blocks.table(
        "Every two parts compared",
        [
            ("parts", Sort::Words, 0.26),
            ("CIEDE2000", Sort::Number, 0.11),
            ("95 % interval", Sort::Number, 0.14),
            ("bar", Sort::Bar, 0.25),
            ("different plastic", Sort::Number, 0.24),
        ],
        rows,
    );
    if pairs.len() > MOST_PAIRS {
        let more = pairs.len() - MOST_PAIRS;
        blocks.text(format!("And {more} more pairs, each less likely different than these."));
    }
}

//! Sorted trays as records: a line of JSON a photo, a row of CSV a part.

use serde::{Deserialize, Serialize};

use crate::card::Variant;
use crate::measure::Call;
use crate::tray::sort::{SortedTray, reading_id};
use crate::tray::{Doubt, Extent};

/// One photo's line: `sameshot_sorted`, version 1.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SortedPhoto {
    /// Format version.
    pub sameshot_sorted: u32,
    /// Name of the photo.
    pub photo: String,
    /// SHA-256 of its file.
    pub sha256: String,
    /// What it was sorted by, so that a changed choice sorts it again.
    pub settings: String,
    /// The cards found.
    pub cards: Vec<CardRecord>,
    /// The parts in reading order.
    pub parts: Vec<PartRecord>,
    /// What to know of the photo as a whole.
    pub warnings: Vec<String>,
}

/// A card found.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CardRecord {
    /// "plain" or "with strip".
    pub card: String,
    /// Marks seen, of four.
    pub marks: usize,
    /// Greys used, of eight.
    pub greys: usize,
    /// 0..=1.
    pub quality: f64,
}

/// A part.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PartRecord {
    /// Its number on the picture.
    pub number: usize,
    /// A shade's id, "undecided" or "none"; null where it could not be read or nothing was to compare with.
    pub call: Option<Call>,
    /// The likeliest shade (null: none of them) and its probability.
    pub likeliest: Option<String>,
    /// Probability of `likeliest`.
    pub probability: Option<f64>,
    /// L\*, a\*, b\* under D50.
    pub lab: Option<[f64; 3]>,
    /// Standard deviation of each.
    pub sd: Option<[f64; 3]>,
    /// Its middle, in pixels of the upright photo.
    pub centre: [f64; 2],
    /// Its size, where a card gives the scale.
    pub size: Option<Extent>,
    /// Number of the part that may be its left or right.
    pub pair: Option<usize>,
    /// What makes its outline doubtful, in words.
    pub doubts: Vec<String>,
}

/// The record of a sorted photo.
pub fn sorted_photo(sorted: &SortedTray, photo: &str, sha256: &str, settings: &str) -> SortedPhoto {
    let cards = sorted.cards.iter().map(|card| CardRecord {
        card: if card.variant == Variant::Plain { "plain" } else { "with strip" }.into(),
        marks: card.marks,
        greys: card.steps.len(),
        quality: rounded(card.quality, 100.0),
    });
    let warnings = sorted.problems.iter().map(ToString::to_string);
    let of_light = sorted.measurement.light.warnings.iter().map(|w| format!("{} {}", w.text, w.remedy));
    SortedPhoto {
        sameshot_sorted: 1,
        photo: photo.to_owned(),
        sha256: sha256.to_owned(),
        settings: settings.to_owned(),
        cards: cards.collect(),
        parts: (0..sorted.tray.parts.len()).map(|index| part_record(sorted, index)).collect(),
        warnings: warnings.chain(of_light).collect(),
    }
}

fn part_record(sorted: &SortedTray, index: usize) -> PartRecord {
    let part = &sorted.tray.parts[index];
    let id = reading_id(part.number);
    let reading = sorted.measurement.readings.iter().find(|reading| reading.id == id);
    let likeliest = reading
        .and_then(|reading| reading.shades.iter().max_by(|a, b| a.probability.total_cmp(&b.probability)));
    let pair = sorted.pairs.iter().find(|pair| pair.a == index || pair.b == index);
    let other = pair.map(|pair| if pair.a == index { pair.b } else { pair.a });
    PartRecord {
        number: part.number,
        call: reading.and_then(|reading| reading.call.clone()),
        likeliest: likeliest.and_then(|likeliest| likeliest.shade.clone()),
        probability: likeliest.map(|likeliest| rounded(likeliest.probability, 1e4)),
        lab: reading.map(|reading| reading.lab.map(|v| rounded(v, 100.0))),
        sd: reading.map(|reading| [0, 1, 2].map(|n| rounded(reading.cov[n][n].max(0.0).sqrt(), 100.0))),
        centre: part.centre.map(|v| rounded(v, 10.0)),
        size: part.size.map(|size| Extent {
            length_mm: rounded(size.length_mm, 10.0),
            width_mm: rounded(size.width_mm, 10.0),
            area_mm2: rounded(size.area_mm2, 1.0),
        }),
        pair: other.map(|other| sorted.tray.parts[other].number),
        doubts: part.doubts.iter().map(|doubt| doubt_in_words(*doubt).to_owned()).collect(),
    }
}

/// A doubt about an outline, in words.
pub fn doubt_in_words(doubt: Doubt) -> &'static str {
    match doubt {
        Doubt::CutOff => "cut off by the edge of the photo",
        Doubt::MaybeSeveral => "may be several parts",
        Doubt::Touching => "touched another part",
        Doubt::NoMattPlace => "no matt place to read",
    }
}

/// Heads of the columns of [`csv_rows`].
pub const CSV_HEAD: [&str; 17] = [
    "photo",
    "part",
    "call",
    "likeliest",
    "probability",
    "L",
    "a",
    "b",
    "sd_L",
    "sd_a",
    "sd_b",
    "length_mm",
    "width_mm",
    "pair",
    "x",
    "y",
    "doubts",
];

/// A row for each part.
pub fn csv_rows(photo: &SortedPhoto) -> Vec<Vec<String>> {
    let number = |value: Option<f64>| value.map_or(String::new(), |v| v.to_string());
    let row = |part: &PartRecord| {
        let of = |values: Option<[f64; 3]>, n: usize| number(values.map(|v| v[n]));
        vec![
            photo.photo.clone(),
            part.number.to_string(),
            part.call.clone().map_or("unread".into(), String::from),
            part.likeliest.clone().unwrap_or_else(|| "none".into()),
            number(part.probability),
            of(part.lab, 0),
            of(part.lab, 1),
            of(part.lab, 2),
            of(part.sd, 0),
            of(part.sd, 1),
            of(part.sd, 2),
            number(part.size.map(|size| size.length_mm)),
            number(part.size.map(|size| size.width_mm)),
            part.pair.map_or(String::new(), |n| n.to_string()),
            part.centre[0].to_string(),
            part.centre[1].to_string(),
            part.doubts.join("; "),
        ]
    };
    photo.parts.iter().map(row).collect()
}

fn rounded(value: f64, per_unit: f64) -> f64 {
    (value * per_unit).round() / per_unit
}

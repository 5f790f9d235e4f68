//! A photo in which nothing has a known colour, such as a seller's picture: what it supports, what it does not, and a
//! text that asks for the photo which would settle it.

use super::words::{capital, percent, shade_name};
use crate::measure::{Measurement, PairResult, ReadingResult};
use crate::shade::References;

/// Advice about a photo without a card.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ListingAdvice {
    /// What the picture supports, full sentences; empty where it is nothing.
    pub supports: Vec<String>,
    /// What it does not.
    pub open: Vec<String>,
    /// A text for the seller.
    pub request: String,
}

/// A shade less likely than this is spoken against.
const UNLIKELY: f64 = 0.05;

/// The advice; `None` where something in the photo has a known colour or nothing was measured.
pub fn listing_advice(
    measurement: &Measurement,
    references: Option<&References>,
    confidence: f64,
) -> Option<ListingAdvice> {
    if !measurement.light.is_guessed() || measurement.readings.is_empty() {
        return None;
    }
    let mut supports = spoken_against(&measurement.readings, references);
    let mut open = vec![open_shades(&measurement.readings)];
    let (mut apart, mut alike, mut unclear) = (Vec::new(), Vec::new(), 0);
    for pair in &measurement.pairs {
        match pair.different_plastic {
            p if p >= confidence => apart.push(pair),
            p if p <= 1.0 - confidence => alike.push(pair),
            _ => unclear += 1,
        }
    }
    supports.extend(apart.iter().map(|pair| {
        format!(
            "The {} and the {} are of different plastic, or one of them has aged otherwise or is painted.",
            pair.a, pair.b
        )
    }));
    let of_one_plastic = |parts: &Vec<&str>| {
        format!("{} are of one plastic, so far as colour tells.", capital(&listed(parts)))
    };
    supports.extend(all_alike(&alike).iter().map(of_one_plastic));
    // Though no pair is certain, the most likely odd one out is worth a look.
    if apart.is_empty()
        && let Some((part, mean)) = odd_one_out(measurement)
    {
        supports.push(format!(
            "Of all parts the {part} differs most from the others ({} on average that it is of another plastic): look there \
             first.",
            percent(mean)
        ));
    }
    if unclear > 0 {
        open.push(format!(
            "Whether {unclear} of {} pairs of parts are of one plastic.",
            measurement.pairs.len()
        ));
    }
    open.push(
        "Whether a colour is the plastic's own: the picture may have been edited, and its light is unknown."
            .into(),
    );
    Some(ListingAdvice { supports, open, request: request(measurement) })
}

/// Groups of parts in which every two are alike. Each of the pairs is in one of them.
fn all_alike<'a>(alike: &[&'a PairResult]) -> Vec<Vec<&'a str>> {
    let are_alike = |a: &str, b: &str| {
        alike.iter().any(|pair| (pair.a == a && pair.b == b) || (pair.a == b && pair.b == a))
    };
    let mut groups: Vec<Vec<&str>> = Vec::new();
    for pair in alike {
        let ends = [pair.a.as_str(), pair.b.as_str()];
        let new_of = |group: &[&str]| ends.into_iter().filter(|end| !group.contains(end)).collect::<Vec<_>>();
        let takes = |group: &[&str]| match new_of(group).as_slice() {
            [] => true,
            [new] => group.iter().all(|part| are_alike(part, new)),
            _ => false,
        };
        match groups.iter_mut().find(|group| takes(group)) {
            Some(group) => group.extend(new_of(group)),
            None => groups.push(ends.to_vec()),
        }
    }
    groups
}

/// A sentence for each choice of shades that parts are hardly of, with all these parts.
fn spoken_against(readings: &[ReadingResult], references: Option<&References>) -> Vec<String> {
    let mut against: Vec<(String, Vec<&str>)> = Vec::new();
    for reading in readings {
        let unlikely = reading.shades.iter().filter(|entry| entry.probability < UNLIKELY);
        let shades: Vec<String> =
            unlikely.filter_map(|entry| Some(shade_name(references, entry.shade.as_deref()?))).collect();
        let shades = shades.join(" or ");
        match against.iter_mut().find(|(others, _)| *others == shades) {
            _ if shades.is_empty() => {}
            Some((_, parts)) => parts.push(&reading.id),
            None => against.push((shades, vec![&reading.id])),
        }
    }
    let sentence = |(shades, parts): (String, Vec<&str>)| {
        let verb = if parts.len() == 1 { "is" } else { "are" };
        format!("{} {verb} hardly {shades}.", capital(&listed(&parts)))
    };
    against.into_iter().map(sentence).collect()
}

/// One sentence for all parts: no shade is called where nothing is known.
fn open_shades(readings: &[ReadingResult]) -> String {
    let widest = [0, 1, 2].map(|axis| {
        let sds = readings.iter().map(|reading| reading.cov[axis][axis].max(0.0).sqrt());
        sds.fold(0.0, f64::max)
    });
    let names: Vec<&str> = readings.iter().map(|reading| reading.id.as_str()).collect();
    format!(
        "Which shade these are: {}. Their colours are known to ± {:.0}, {:.0}, {:.0} in L*, a*, b* only.",
        names.join(", "),
        widest[0],
        widest[1],
        widest[2]
    )
}

/// "the torso, the left arm and the right arm".
fn listed(parts: &[&str]) -> String {
    match parts {
        [one] => format!("the {one}"),
        [first @ .., last] => format!("the {} and the {last}", first.join(", the ")),
        [] => "the figure".into(),
    }
}

/// The part whose pairs are most likely of different plastic, where it stands out from the second by a tenth.
fn odd_one_out(measurement: &Measurement) -> Option<(&str, f64)> {
    let mean_of = |id: &str| {
        let own: Vec<f64> = measurement
            .pairs
            .iter()
            .filter(|pair| pair.a == id || pair.b == id)
            .map(|pair| pair.different_plastic)
            .collect();
        own.iter().sum::<f64>() / own.len().max(1) as f64
    };
    let mut ranked: Vec<(&str, f64)> =
        measurement.readings.iter().map(|reading| (reading.id.as_str(), mean_of(&reading.id))).collect();
    ranked.sort_by(|p, q| q.1.total_cmp(&p.1));
    match ranked.as_slice() {
        [first, second, _, ..] if first.1 > second.1 + 0.1 => Some(*first),
        _ => None,
    }
}

fn request(measurement: &Measurement) -> String {
    let parts: Vec<&str> = measurement.readings.iter().map(|reading| reading.id.as_str()).collect();
    let parts = listed(&parts);
    format!(
        "Hello, before I decide, could you please send me one more photo? By a window in daylight, with no lamp and no flash, \
         the figure lying on a plain surface, and right beside it a printed grey card, or else a few sheets of white office \
         paper together with a part of the same line whose colour you are sure of. Please let {parts} be seen, near and \
         sharp, and send the file as the camera made it (no screenshot, no filter). Many thanks!"
    )
}

impl ListingAdvice {
    /// The advice as text.
    pub fn text(&self) -> String {
        let list = |lines: &[String]| lines.iter().map(|line| format!("  - {line}\n")).collect::<String>();
        let supports = if self.supports.is_empty() {
            "  - Nothing about the shades.\n".into()
        } else {
            list(&self.supports)
        };
        format!(
            "What this picture supports:\n{supports}What it does not:\n{}A text for the seller:\n  {}\n",
            list(&self.open),
            self.request
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::{Call, Interval, LightSummary, ShadeProbability};

    fn reading(id: &str) -> ReadingResult {
        ReadingResult {
            id: id.into(),
            lab: [50.0, -15.0, 8.0],
            cov: [[100.0, 0.0, 0.0], [0.0, 64.0, 0.0], [0.0, 0.0, 81.0]],
            pixels: Default::default(),
            differences: Vec::new(),
            shades: Vec::new(),
            call: Some(Call::Undecided),
            budget: Vec::new(),
            warnings: Vec::new(),
        }
    }

    fn pair(a: &str, b: &str, different_plastic: f64) -> PairResult {
        let de00 = Interval { median: 3.0, low: 1.0, high: 5.0 };
        PairResult { a: a.into(), b: b.into(), de00, different_plastic }
    }

    fn picture(odd: f64) -> Measurement {
        Measurement {
            readings: ["torso", "left arm", "right arm"].map(reading).into(),
            pairs: vec![
                pair("torso", "left arm", odd),
                pair("torso", "right arm", 0.03),
                pair("left arm", "right arm", odd),
            ],
            ..Measurement::default()
        }
    }

    #[test]
    fn the_advice_names_what_is_so_and_what_is_open() {
        let advice = listing_advice(&picture(0.97), None, 0.95).unwrap();
        let text = advice.text();
        for word in [
            "The torso and the left arm are of different plastic",
            "The torso and the right arm are of one plastic",
            "± 10, 8, 9 in L*, a*, b* only",
            "could you please send me one more photo?",
            "the torso, the left arm and the right arm",
        ] {
            assert!(text.contains(word), "{text}\n  without: {word}");
        }
        let unsure = listing_advice(&picture(0.6), None, 0.95).unwrap();
        assert!(unsure.supports.iter().any(|s| s.contains("left arm differs most")), "{unsure:?}");
        assert!(unsure.open.iter().any(|s| s.contains("2 of 3 pairs")), "{unsure:?}");
    }

    #[test]
    fn parts_that_are_hardly_of_one_shade_share_a_sentence() {
        let mut picture = picture(0.6);
        for (reading, light) in picture.readings.iter_mut().zip([0.01, 0.5, 0.02]) {
            let of = |shade: &str, probability| ShadeProbability { shade: Some(shade.into()), probability };
            reading.shades = vec![of("light green", light), of("dark green", 1.0 - light)];
        }
        let advice = listing_advice(&picture, None, 0.95).unwrap();
        assert_eq!(advice.supports[0], "The torso and the right arm are hardly light green.");
        assert!(!advice.supports[1].contains("hardly"), "{advice:?}");
    }

    #[test]
    fn parts_of_one_plastic_share_a_sentence_and_no_pair_is_lost() {
        let alike =
            [("a", "b"), ("a", "c"), ("b", "c"), ("c", "d"), ("e", "f")].map(|(a, b)| pair(a, b, 0.01));
        let groups = all_alike(&alike.iter().collect::<Vec<_>>());
        assert_eq!(groups, [vec!["a", "b", "c"], vec!["c", "d"], vec!["e", "f"]]);
    }

    #[test]
    fn a_photo_with_a_card_needs_none() {
        let with_card =
            Measurement { light: LightSummary { zones: 6, ..LightSummary::default() }, ..picture(0.97) };
        assert_eq!(listing_advice(&with_card, None, 0.95), None);
        assert_eq!(listing_advice(&Measurement::default(), None, 0.95), None);
    }
}

//! What a result says, in one voice and plain words. No probability reads as certain.

use crate::measure::{Call, LightSummary, PairResult, PixelCounts, ReadingResult};
use crate::shade::References;

/// What is said of a part.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verdict {
    /// In two or three words.
    pub headline: String,
    /// Why, in one sentence.
    pub reason: String,
}

/// What is said of a part in this light, where a call needs the probability `confidence`.
pub fn verdict(
    reading: &ReadingResult,
    light: &LightSummary,
    references: Option<&References>,
    confidence: f64,
) -> Verdict {
    let called = |shade: Option<&str>| {
        let found = reading.shades.iter().find(|entry| entry.shade.as_deref() == shade);
        found.map_or("not known how".into(), |entry| percent(entry.probability))
    };
    let (headline, reason) = match &reading.call {
        None => ("No shades to compare with".into(), "Choose reference shades to get a call.".into()),
        Some(Call::Shade(id)) => {
            let photos = if light.other_photos > 0 { "these photos" } else { "this photo" };
            let sure = format!("{} sure, going by {photos}.", called(Some(id)));
            (capital(&shade_name(references, id)), sure)
        }
        Some(Call::None) => (
            "None of these shades".into(),
            format!(
                "{} sure that it is none of them; it may be painted, aged, or of another family.",
                called(None)
            ),
        ),
        Some(Call::Undecided) => ("Undecided".into(), undecided(reading, light, references, confidence)),
    };
    Verdict { headline, reason }
}

/// Says how many other photos were read with the one of the case, where any were.
pub(super) fn other_photos(light: &LightSummary) -> Option<String> {
    match light.other_photos {
        0 => None,
        1 => Some("Another photo of the same parts, laid anew, was read together with this one.".into()),
        n => {
            Some(format!("{n} other photos of the same parts, laid anew, were read together with this one."))
        }
    }
}

fn undecided(
    reading: &ReadingResult,
    light: &LightSummary,
    references: Option<&References>,
    confidence: f64,
) -> String {
    if reading.may_be_several() {
        return "What was outlined may be several parts that touch.".into();
    }
    if reading.is_shown_unlike() {
        return "The photos that are read together show it more unlike than their light explains.".into();
    }
    let mut ranked: Vec<_> = reading.shades.iter().collect();
    ranked.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    let name = |shade: &Option<String>| {
        shade.as_ref().map_or("none of these".to_owned(), |id| shade_name(references, id))
    };
    match ranked.as_slice() {
        [first, second, ..] if light.is_guessed() => format!(
            "{} {}, {} {}; nothing in the photo has a known colour, and a call needs that.",
            capital(&name(&first.shade)),
            percent(first.probability),
            name(&second.shade),
            percent(second.probability),
        ),
        [first, second, ..] => format!(
            "{} {}, {} {}; a call needs {} %.",
            capital(&name(&first.shade)),
            percent_short_of(first.probability, confidence),
            name(&second.shade),
            percent(second.probability),
            // 97.5 stays 97.5, 95 stays 95.
            (confidence * 1000.0).round() / 10.0
        ),
        _ => "The photo does not tell enough.".into(),
    }
}

/// Whether two parts are of one plastic.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SamePlastic {
    /// They are not, at the chosen confidence.
    Different,
    /// Nothing speaks against it.
    Agree,
    /// The photo does not tell.
    Unknown,
}

/// Whether two parts are of one plastic, where saying so needs the probability `confidence`.
pub fn same_plastic(pair: &PairResult, confidence: f64) -> SamePlastic {
    match pair.different_plastic {
        p if p >= confidence => SamePlastic::Different,
        p if p <= 1.0 - confidence => SamePlastic::Agree,
        _ => SamePlastic::Unknown,
    }
}

impl SamePlastic {
    /// In a word or two.
    pub fn word(self) -> &'static str {
        match self {
            SamePlastic::Different => "different",
            SamePlastic::Agree => "agree",
            SamePlastic::Unknown => "cannot tell",
        }
    }

    /// In a few words more.
    pub fn phrase(self) -> &'static str {
        match self {
            SamePlastic::Different => "different plastic",
            SamePlastic::Agree => "nothing speaks against the same plastic",
            SamePlastic::Unknown => "the photo does not tell",
        }
    }
}

/// The name of a shade for people; its id where the references are silent.
pub fn shade_name(references: Option<&References>, id: &str) -> String {
    let shade = references.and_then(|references| references.shades.iter().find(|shade| shade.id == id));
    shade.map_or(id, |shade| shade.name()).to_owned()
}

/// What a look is worth that tells so many bits: one bit settles an even choice between two.
pub fn look_worth(bits: f64) -> &'static str {
    match bits {
        b if b >= 0.5 => "tells much",
        b if b >= 0.1 => "tells something",
        _ => "tells little",
    }
}

/// A probability in words that never promise certainty.
pub fn percent(probability: f64) -> String {
    match probability * 100.0 {
        p if !p.is_finite() => "unknown".into(),
        p if p < 1.0 => "under 1 %".into(),
        p if p > 99.0 => "over 99 %".into(),
        p => format!("{p:.0} %"),
    }
}

/// A probability that does not reach `limit`, never rounded up to it: 94.6 % falls short of 95 %.
pub fn percent_short_of(probability: f64, limit: f64) -> String {
    let rounded = (probability * 100.0).round();
    if probability < limit && rounded >= limit * 100.0 {
        return format!("{:.1} %", libm::floor(probability * 1000.0) / 10.0);
    }
    percent(probability)
}

/// What became of the pixels of an area.
pub fn pixels_text(pixels: &PixelCounts) -> String {
    let dropped = [
        (pixels.edge(), "at the edge"),
        (pixels.glare, "glare"),
        (pixels.clipped, "clipped"),
        (pixels.dark, "too dark"),
    ];
    let dropped = dropped.iter().filter(|(count, _)| *count > 0);
    let dropped: Vec<String> = dropped.map(|(count, name)| format!("{count} {name}")).collect();
    let but = if dropped.is_empty() { String::new() } else { format!("; left out: {}", dropped.join(", ")) };
    format!("{} of {} pixels used{but}", pixels.used, pixels.inside)
}

/// The first letter large.
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_falls_short_of_a_limit_is_not_rounded_up_to_it() {
        assert_eq!(percent_short_of(0.9461, 0.95), "94.6 %");
        assert_eq!(percent_short_of(0.94999, 0.95), "94.9 %");
        assert_eq!(percent_short_of(0.9449, 0.95), "94 %");
        assert_eq!(percent_short_of(0.97, 0.95), "97 %");
        assert_eq!(percent_short_of(0.995, 0.999), "99.5 %");
        assert_eq!(percent_short_of(0.993, 0.999), "over 99 %");
    }

    /// In a guessed light no probability is enough.
    #[test]
    fn what_is_undecided_in_a_guessed_light_wants_a_known_colour_and_no_probability() {
        let likely =
            |shade: &str, probability| serde_json::json!({"shade": shade, "probability": probability});
        for most in [0.6, 0.97] {
            let reading: ReadingResult = serde_json::from_value(serde_json::json!({
                "id": "torso", "lab": [45.0, -11.0, 15.0], "cov": [[9.0, 0.0, 0.0], [0.0, 9.0, 0.0], [0.0, 0.0, 9.0]],
                "pixels": {"inside": 9, "used": 9, "glare": 0, "clipped": 0, "dark": 0}, "differences": [],
                "shades": [likely("dark", most), likely("medium", 0.02)],
                "call": "undecided", "budget": [], "warnings": []}))
            .unwrap();
            let reason = verdict(&reading, &LightSummary::default(), None, 0.95).reason;
            assert!(
                reason
                    .ends_with("medium 2 %; nothing in the photo has a known colour, and a call needs that."),
                "{reason}"
            );
            let aided = LightSummary { zones: 1, ..LightSummary::default() };
            let reason = verdict(&reading, &aided, None, 0.99).reason;
            assert!(reason.ends_with("a call needs 99 %."), "{reason}");
        }
    }

    #[test]
    fn dropped_pixels_are_told_by_kind() {
        let pixels = PixelCounts { inside: 100, used: 60, glare: 10, clipped: 0, dark: 5 };
        assert_eq!(
            pixels_text(&pixels),
            "60 of 100 pixels used; left out: 25 at the edge, 10 glare, 5 too dark"
        );
        let all = PixelCounts { inside: 9, used: 9, ..PixelCounts::default() };
        assert_eq!(pixels_text(&all), "9 of 9 pixels used");
    }
}

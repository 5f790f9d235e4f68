//! A measurement as text for a terminal or a mail: plain characters, no colour, as wide as it is given.

use std::fmt::Write;

use unicode_width::UnicodeWidthStr;

use super::axis::Axis;
use super::words::{other_photos, percent, pixels_text, same_plastic, shade_name, verdict};
use crate::measure::{Call, Interval, Measurement, ReadingResult, Warning};
use crate::shade::References;

/// How the text is laid out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TextOptions {
    /// Characters on a line; taken as at least 60 and at most 140.
    pub width: usize,
    /// The probability that a call needed.
    pub confidence: f64,
}

/// Longer names are cut.
const LONGEST_NAME: usize = 26;

/// More pairs than this are not listed.
const MOST_PAIRS: usize = 20;

/// A bar has at least so many characters.
const SHORTEST_BAR: usize = 12;

/// A measurement as text, for each part a table of the shades with their bars on one common axis.
pub fn measurement_text(
    measurement: &Measurement,
    references: Option<&References>,
    options: &TextOptions,
) -> String {
    let sheet = Sheet::new(measurement, references, options);
    let mut text = String::new();
    for reading in &measurement.readings {
        sheet.part(&mut text, reading);
        text.push('\n');
    }
    if measurement.readings.is_empty() {
        text.push_str("No parts are marked in this case, so there is nothing to measure.\n\n");
    }
    sheet.pairs(&mut text);
    sheet.photo(&mut text);
    text
}

struct Sheet<'a> {
    measurement: &'a Measurement,
    references: Option<&'a References>,
    confidence: f64,
    width: usize,
    axis: Axis,
    name_width: usize,
    bar_width: usize,
}

impl<'a> Sheet<'a> {
    fn new(measurement: &'a Measurement, references: Option<&'a References>, options: &TextOptions) -> Self {
        let width = options.width.clamp(60, 140);
        let shades = measurement.readings.iter().flat_map(|reading| &reading.differences);
        let names = shades.map(|difference| shade_name(references, &difference.shade));
        let longest = names.map(|name| name.width()).max().unwrap_or(0);
        // Indent, name, "  12.3  12.3 to 12.3  ", bar, "  over 99 %": all but name and bar take 35.
        let room = width - 35;
        let name_width = longest.min(LONGEST_NAME).min(room - SHORTEST_BAR).max("none of these".len());
        let bar_width = (room - name_width).clamp(SHORTEST_BAR, 61);
        let axis = Axis::of(measurement);
        Self { measurement, references, confidence: options.confidence, width, axis, name_width, bar_width }
    }

    fn part(&self, text: &mut String, reading: &ReadingResult) {
        let said = verdict(reading, &self.measurement.light, self.references, self.confidence);
        self.wrapped(text, "", &format!("{}: {}. {}", reading.id, said.headline, said.reason));
        let sd = [0, 1, 2].map(|axis| reading.cov[axis][axis].max(0.0).sqrt());
        let values = ["L*", "a*", "b*"].iter().zip(reading.lab).zip(sd);
        let values: Vec<String> =
            values.map(|((name, value), sd)| format!("{name} {value:.1} ± {sd:.1}")).collect();
        self.wrapped(text, "  ", &format!("{} (Lab D50, ± one standard deviation)", values.join("   ")));
        self.wrapped(text, "  ", &pixels_text(&reading.pixels));
        if !reading.differences.is_empty() {
            self.heading(text, "  shade, CIEDE2000");
            for difference in &reading.differences {
                let own = |entry: &&crate::measure::ShadeProbability| {
                    entry.shade.as_ref() == Some(&difference.shade)
                };
                let probability = reading.shades.iter().find(own).map(|entry| entry.probability);
                let name = shade_name(self.references, &difference.shade);
                self.row(text, &name, &difference.de00, probability);
            }
            if let Some(none) = reading.shades.iter().find(|entry| entry.shade.is_none()) {
                let gap = " ".repeat(self.name_width - "none of these".len() + 22 + self.bar_width);
                let _ = writeln!(text, "  none of these{gap}{:>11}", percent(none.probability));
            }
        }
        let budget: Vec<String> = reading
            .budget
            .iter()
            .filter(|part| part.share >= 0.005)
            .map(|part| format!("{} {:.0} %", part.source, part.share * 100.0))
            .collect();
        if !budget.is_empty() {
            self.wrapped(text, "  ", &format!("The bar comes from: {}.", budget.join(", ")));
        }
        self.advice(text, &reading.warnings);
        let undecided = reading.call == Some(Call::Undecided);
        if undecided && reading.warnings.is_empty() && self.measurement.light.warnings.is_empty() {
            self.wrapped(
                text,
                "  ",
                "-> Lay a part whose shade is certain beside this one, photograph them together and mark it as known.",
            );
        }
    }

    fn pairs(&self, text: &mut String) {
        if self.measurement.pairs.is_empty() {
            return;
        }
        self.heading(text, "Same plastic? CIEDE2000");
        // Those that differ first; of many, the rest says little.
        let mut pairs: Vec<_> = self.measurement.pairs.iter().collect();
        pairs.sort_by(|a, b| b.different_plastic.total_cmp(&a.different_plastic));
        for pair in pairs.iter().take(MOST_PAIRS) {
            let sentence = format!(
                "{} and {}: {} ({} that they are of different plastic)",
                pair.a,
                pair.b,
                same_plastic(pair, self.confidence).phrase(),
                percent(pair.different_plastic)
            );
            self.wrapped(text, "  ", &sentence);
            self.row(text, "", &pair.de00, None);
        }
        if pairs.len() > MOST_PAIRS {
            let more = pairs.len() - MOST_PAIRS;
            let _ = writeln!(text, "  … and {more} more pairs, each less likely different than these.");
        }
        text.push('\n');
    }

    fn photo(&self, text: &mut String) {
        let light = &self.measurement.light;
        let zones = match light.zones {
            1 => "1 area of known colour".to_string(),
            count => format!("{count} areas of known colour"),
        };
        self.wrapped(text, "", &format!("The light of the photo was worked out from {zones}."));
        if let Some(said) = other_photos(light) {
            self.wrapped(text, "", &said);
        }
        self.advice(text, &light.warnings);
    }

    fn advice(&self, text: &mut String, warnings: &[Warning]) {
        for warning in warnings {
            self.wrapped(text, "  ", &format!("! {}", warning.text));
            self.wrapped(text, "    ", &format!("-> {}", warning.remedy));
        }
    }

    /// The head of a table, with the numbers of the axis over its bars.
    fn heading(&self, text: &mut String, title: &str) {
        let mut scale = vec![' '; self.bar_width + 3];
        let mut free_from = 0;
        for tick in self.axis.ticks() {
            let number = format!("{tick}");
            let at = self.column(tick);
            if at >= free_from && at + number.len() <= scale.len() {
                scale.splice(at..at + number.len(), number.chars());
                free_from = at + number.len() + 1;
            }
        }
        let scale: String = scale.into_iter().collect();
        let line = format!("{title:<width$}{scale}", width = 2 + self.name_width + 22);
        let _ = writeln!(text, "{}", line.trim_end());
    }

    fn row(&self, text: &mut String, name: &str, difference: &Interval, probability: Option<f64>) {
        let name = shortened(name, self.name_width);
        let pad = " ".repeat(self.name_width - name.width());
        let range = format!("{:.1} to {:.1}", difference.low, difference.high);
        let probability = probability.map(percent).unwrap_or_default();
        let bar = self.bar(difference);
        let line = format!("  {name}{pad} {:>5.1}  {range:<14}{bar}{probability:>11}", difference.median);
        let _ = writeln!(text, "{}", line.trim_end());
    }

    /// A bar such as `.   |--o----|   .`, with dots where the ticks are; `>` where it leaves the axis.
    fn bar(&self, difference: &Interval) -> String {
        let mut cells = vec![' '; self.bar_width];
        let last = self.bar_width - 1;
        for tick in self.axis.ticks() {
            cells[self.column(tick)] = '.';
        }
        let (low, high) = (self.column(difference.low), self.column(difference.high));
        for cell in cells.iter_mut().take(high).skip(low) {
            *cell = '-';
        }
        cells[high] = '|';
        cells[low] = '|';
        cells[self.column(difference.median)] = 'o';
        if difference.high > self.axis.end {
            cells[last] = '>';
        }
        cells.into_iter().collect()
    }

    fn column(&self, value: f64) -> usize {
        (self.axis.place(value) * (self.bar_width - 1) as f64).round() as usize
    }

    /// Breaks text into lines of the width, the first indented, the others two more.
    fn wrapped(&self, text: &mut String, indent: &str, sentence: &str) {
        let mut line = indent.to_string();
        let mut is_empty = true;
        for word in sentence.split(' ') {
            if !is_empty && line.width() + 1 + word.width() > self.width {
                let _ = writeln!(text, "{}", line.trim_end());
                line = format!("{indent}  ");
                is_empty = true;
            }
            if !is_empty {
                line.push(' ');
            }
            line.push_str(word);
            is_empty = false;
        }
        let _ = writeln!(text, "{}", line.trim_end());
    }
}

fn shortened(name: &str, width: usize) -> String {
    if name.width() <= width {
        return name.to_string();
    }
    let mut short = String::new();
    for letter in name.chars() {
        if short.width() + 2 > width {
            break;
        }
        short.push(letter);
    }
    while short.width() + 1 > width {
        short.pop();
    }
    short.push('…');
    short
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::{Budget, Difference, LightSummary, PairResult, PixelCounts, ShadeProbability};

    fn interval(median: f64, low: f64, high: f64) -> Interval {
        Interval { median, low, high }
    }

    fn sample() -> Measurement {
        let shade = |id: &str, median: f64| Difference {
            shade: id.into(),
            de00: interval(median, median - 0.9, median + 1.3),
        };
        let probability =
            |id: Option<&str>, p: f64| ShadeProbability { shade: id.map(str::to_string), probability: p };
        let warning = Warning {
            code: "card-far".into(),
            text: "The card lies far away.".into(),
            remedy: "Lay it beside the part.".into(),
        };
        let reading = ReadingResult {
            id: "left arm".into(),
            lab: [44.83, -11.32, 15.21],
            cov: [[0.64, 0.0, 0.0], [0.0, 0.25, 0.0], [0.0, 0.0, 0.36]],
            pixels: PixelCounts { inside: 2400, used: 1985, glare: 301, clipped: 12, dark: 102 },
            differences: vec![
                shade("green/light", 6.1),
                shade("green/medium", 1.2),
                shade("green/dark", 9.0),
            ],
            shades: vec![
                probability(Some("green/light"), 0.001),
                probability(Some("green/medium"), 0.97),
                probability(Some("green/dark"), 0.009),
                probability(None, 0.02),
            ],
            call: Some(Call::Shade("green/medium".into())),
            budget: vec![Budget { source: "tone curve".into(), share: 0.46 }],
            warnings: vec![warning],
        };
        let mut torso = reading.clone();
        torso.id = "torso".into();
        torso.call = Some(Call::Undecided);
        torso.shades[1].probability = 0.6;
        let pair = PairResult {
            a: "left arm".into(),
            b: "torso".into(),
            de00: interval(0.9, 0.3, 1.8),
            different_plastic: 0.03,
        };
        Measurement {
            readings: vec![reading, torso],
            pairs: vec![pair],
            light: LightSummary { zones: 4, ..LightSummary::default() },
            ..Measurement::default()
        }
    }

    #[test]
    fn every_number_is_there_and_no_line_is_too_long() {
        for width in [60, 80, 120] {
            let text = measurement_text(&sample(), None, &TextOptions { width, confidence: 0.95 });
            let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
            for wanted in [
                "left arm: Green/medium. 97 % sure",
                "L* 44.8 ± 0.8 a* -11.3 ± 0.5 b* 15.2 ± 0.6",
                "1985 of 2400 pixels used; left out: 301 glare, 12 clipped, 102 too dark",
                "6.1 5.2 to 7.4",
                "under 1 %",
                "none of these",
                "tone curve 46 %",
                "! The card lies far away. -> Lay it beside the part.",
                "torso: Undecided. Green/medium 60 %, none of these 2 %; a call needs 95 %.",
                "left arm and torso: nothing speaks against the same plastic (3 % that they are of different plastic) 0.9 0.3 to 1.8",
                "from 4 areas of known colour",
            ] {
                assert!(flat.contains(wanted), "{wanted} is missing at width {width} in\n{text}");
            }
            for line in text.lines() {
                assert!(line.width() <= width, "{} > {width}: {line}\n{text}", line.width());
            }
        }
    }

    #[test]
    fn bars_stand_under_their_numbers() {
        let text = measurement_text(&sample(), None, &TextOptions { width: 100, confidence: 0.95 });
        let lines: Vec<&str> = text.lines().collect();
        let head = lines.iter().position(|line| line.contains("shade, CIEDE2000")).unwrap();
        let axis = Axis::of(&sample());
        let zero = lines[head].rfind(" 0 ").unwrap() + 1;
        let six = lines[head].rfind(" 6 ").unwrap() + 1;
        // The median 6.1 of the first shade lies just right of the 6 on the axis.
        let median = lines[head + 1].rfind('o').unwrap();
        let per_unit = (six - zero) as f64 / 6.0;
        assert!((median as f64 - (zero as f64 + 6.1 * per_unit)).abs() <= 1.0, "{axis:?}\n{text}");
    }

    #[test]
    fn long_names_and_odd_numbers_do_no_harm() {
        let mut measurement = sample();
        measurement.readings[0].differences[0].shade = "緑/とても長い名前のついた色合いの部品の名前".into();
        measurement.readings[0].differences[1].de00 = interval(f64::NAN, -3.0, f64::INFINITY);
        measurement.readings[0].differences[2].de00 = interval(55.0, 50.0, 300.0);
        let text = measurement_text(&measurement, None, &TextOptions { width: 5, confidence: 0.95 });
        assert!(text.contains('>') && text.contains('…'), "{text}");
        assert!(
            measurement_text(&Measurement::default(), None, &TextOptions { width: 80, confidence: 0.95 })
                .contains("nothing to measure")
        );
    }
}

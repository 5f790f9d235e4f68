//! How wide words are, and where lines break.

use ab_glyph::{Font, FontRef};

use crate::report::sheet::plain::plain;

/// A space at which no line breaks.
const FIRM: char = '\u{a0}';

/// The program's font.
pub(super) struct Letters(FontRef<'static>, f32);

impl Letters {
    pub(super) fn built_in() -> Option<Self> {
        let font = FontRef::try_from_slice(epaint_default_fonts::UBUNTU_LIGHT).ok()?;
        let units = font.units_per_em()?;
        Some(Self(font, units))
    }

    /// Points across; kerning, which the page has, only makes it narrower.
    pub(super) fn width(&self, text: &str, size: f32) -> f32 {
        let units = |c: char| self.0.h_advance_unscaled(self.0.glyph_id(if c == FIRM { ' ' } else { c }));
        text.chars().map(units).sum::<f32>() / self.1 * size
    }

    /// Lines no wider than `room`; a word that is wider is broken where it must, and a number stays with its unit.
    pub(super) fn lines(&self, text: &str, size: f32, room: f32) -> Vec<String> {
        let mut lines = Vec::new();
        let mut line = String::new();
        let text = plain(text).replace(" %", "\u{a0}%").replace("± ", "±\u{a0}");
        for word in text.split(|c: char| c.is_whitespace() && c != FIRM).filter(|word| !word.is_empty()) {
            let mut word = word.to_owned();
            loop {
                let longer = if line.is_empty() { word.clone() } else { format!("{line} {word}") };
                if self.width(&longer, size) <= room {
                    line = longer;
                    break;
                }
                if !line.is_empty() {
                    lines.push(std::mem::take(&mut line));
                    continue;
                }
                let fits = self.fitting(&word, size, room);
                let rest: String = word.chars().skip(fits).collect();
                lines.push(word.chars().take(fits).collect());
                if rest.is_empty() {
                    break;
                }
                word = rest;
            }
        }
        if !line.is_empty() || lines.is_empty() {
            lines.push(line);
        }
        lines.iter().map(|line| line.replace(FIRM, " ")).collect()
    }

    /// A text cut to one line.
    pub(super) fn cut(&self, text: &str, size: f32, room: f32) -> String {
        let text = plain(text);
        if self.width(&text, size) <= room {
            return text;
        }
        let fits = self.fitting(&text, size, room - self.width("…", size));
        text.chars().take(fits).chain(['…']).collect()
    }

    /// How many of the first letters fit, at least one.
    fn fitting(&self, text: &str, size: f32, room: f32) -> usize {
        let mut width = 0.0;
        let mut fits = 0;
        for letter in text.chars() {
            width += self.width(letter.encode_utf8(&mut [0; 4]), size);
            if width > room {
                break;
            }
            fits += 1;
        }
        fits.max(1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_line_is_too_wide_and_no_letter_is_lost() {
        let letters = Letters::built_in().unwrap();
        let long = "x".repeat(300);
        for text in ["", "a", "two words", &format!("before {long} after"), "no\tend\u{202e}"] {
            for room in [1.0, 40.0, 200.0] {
                let lines = letters.lines(text, 9.5, room);
                let fits = |line: &String| letters.width(line, 9.5) <= room || line.chars().count() <= 1;
                assert!(lines.iter().all(fits), "{lines:?}");
                let kept = |text: &str| text.split_whitespace().collect::<String>();
                assert_eq!(kept(&lines.concat()), kept(&plain(text)));
            }
        }
        let room = letters.width("over 99", 9.5) + 1.0;
        assert_eq!(letters.lines("over 99 %", 9.5, room), ["over", "99 %"]);
        assert!(letters.cut(&long, 8.0, 100.0).ends_with('…'));
    }
}

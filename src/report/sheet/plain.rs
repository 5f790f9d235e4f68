//! Names and notes of strangers made harmless: nothing that steers a terminal, a page or the direction of reading.

/// Longer names are cut.
const LONGEST_NAME: usize = 100;

/// A name or note as it may stand in a report: one line, no control characters, not endless.
pub(in crate::report) fn name_of(text: &str) -> String {
    let clean = plain(text);
    if clean.chars().count() <= LONGEST_NAME {
        return clean;
    }
    clean.chars().take(LONGEST_NAME - 1).chain(['…']).collect()
}

/// A text without control characters and without the marks that turn the direction of reading (Unicode UAX #9); each
/// becomes a space.
pub(in crate::report) fn plain(text: &str) -> String {
    let is_steering = |c: char| {
        c.is_control()
            || matches!(c, '\u{200e}' | '\u{200f}' | '\u{061c}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
            || matches!(c, '\u{2028}' | '\u{2029}' | '\u{fffe}' | '\u{ffff}' | '\u{feff}')
    };
    text.chars().map(|c| if is_steering(c) { ' ' } else { c }).collect()
}

/// A text as it may stand in HTML, in an element or in a quoted attribute.
pub(super) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    // No line breaks between a number and its unit.
    for letter in plain(text).replace(" %", "\u{a0}%").replace("± ", "±\u{a0}").chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            other => out.push(other),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_do_no_harm() {
        assert_eq!(name_of("left\u{7}arm\n\u{202e}x"), "left arm  x");
        assert_eq!(name_of(&"a".repeat(10_000)).chars().count(), LONGEST_NAME);
        assert_eq!(name_of("Kęstutis' 腕"), "Kęstutis' 腕");
        assert_eq!(escaped("<b>&\"'\u{0}"), "&lt;b&gt;&amp;&quot;&#39; ");
    }
}

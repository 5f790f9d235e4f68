//! The shade map as a picture: which shade by colour and pattern, how clearly by how full the pattern is.

use super::shade_map::Judged;

/// How clearly a pixel's nearest shade is the nearest.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Clarity {
    /// No shade is near.
    Far,
    /// The next shade is as near, as far as an eye could tell.
    Alike,
    /// The next shade is a little farther.
    Close,
    /// The next shade is plainly farther.
    Clear,
}

/// Half of people see a difference of 0.8 CIEDE2000, and half accept one of 1.8 (Paravina and others 2015).
pub const SEEN: f32 = 0.8;
/// See [`SEEN`].
pub const ACCEPTED: f32 = 1.8;
/// Farther than this from every shade is something else. Common practice, no source.
pub const FAR: f32 = 9.0;

/// So many shades have a look of their own; after them colours repeat with another pattern.
const INKS: [[u8; 3]; 7] = [
    // Colours that people with any colour vision tell apart (Okabe and Ito 2008), black left out.
    [230, 159, 0],
    [86, 180, 233],
    [213, 94, 0],
    [240, 228, 66],
    [0, 114, 178],
    [204, 121, 167],
    [0, 158, 115],
];
/// Side of a pattern in pixels.
pub const PERIOD_PX: u32 = 10;

impl Judged {
    /// How clear the nearest shade is.
    pub fn clarity(&self) -> Clarity {
        match () {
            () if !(self.de00 <= FAR) => Clarity::Far,
            () if self.lead < SEEN => Clarity::Alike,
            () if self.lead < ACCEPTED => Clarity::Close,
            () => Clarity::Clear,
        }
    }
}

impl Clarity {
    /// From the clearest on, for legends.
    pub const ALL: [Clarity; 4] = [Clarity::Clear, Clarity::Close, Clarity::Alike, Clarity::Far];

    /// What it means, for a legend.
    pub fn words(self) -> &'static str {
        match self {
            Clarity::Clear => "full pattern: clearly this shade",
            Clarity::Close => "thin pattern: this shade, the next one is close",
            Clarity::Alike => "lone dots: two shades are alike near",
            Clarity::Far => "no pattern: none of the shades is near",
        }
    }
}

/// The ink of a shade at a pixel of the finished picture: colour and opacity, 0 where the photo shows through.
pub fn ink(shade: usize, clarity: Clarity, x: u32, y: u32) -> [u8; 4] {
    let [r, g, b] = INKS[shade % INKS.len()];
    let of = |opacity: u8| [r, g, b, opacity];
    let (is_line, is_rim) = match clarity {
        Clarity::Far => return of(0),
        Clarity::Alike => (is_dot(x, y, 1), is_dot(x, y, 2)),
        Clarity::Close => (is_on(shade, x, y, 1), false),
        Clarity::Clear => (is_on(shade, x, y, 3), is_on(shade, x, y, 5)),
    };
    match (is_line, is_rim) {
        (true, _) => of(235),
        // A dark rim, so that the pattern shows on a ground of its own colour.
        (false, true) => [0, 0, 0, 150],
        (false, false) if clarity == Clarity::Clear => of(70),
        (false, false) => of(0),
    }
}

/// The name of a shade's pattern.
pub fn pattern_name(shade: usize) -> &'static str {
    ["rising lines", "falling lines", "level lines", "upright lines", "dots", "a lattice"][shade % 6]
}

/// Whether a pixel lies on the pattern's line of this width.
fn is_on(shade: usize, x: u32, y: u32, width: u32) -> bool {
    // Lines are centred, so that a wider one rims a narrower one.
    let on = |v: u32| (v + PERIOD_PX / 2 + width / 2) % PERIOD_PX < width;
    match shade % 6 {
        0 => on(x + y),
        1 => on(x + PERIOD_PX * 1000 - y % (PERIOD_PX * 1000)),
        2 => on(y),
        3 => on(x),
        4 => is_dot(x, y, width + 1),
        _ => on(x + y) || on(x + PERIOD_PX * 1000 - y % (PERIOD_PX * 1000)),
    }
}

/// Whether a pixel lies on a dot of about this width, one in each square of the pattern.
fn is_dot(x: u32, y: u32, width: u32) -> bool {
    let off = |v: u32| f64::from(v % PERIOD_PX) + 0.5 - f64::from(PERIOD_PX) / 2.0;
    let (dx, dy) = (off(x), off(y));
    dx * dx + dy * dy <= f64::from(width) * f64::from(width) * 0.5
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Share of a square of the pattern that is covered, as a picture without colour shows it.
    fn covered(shade: usize, clarity: Clarity) -> Vec<bool> {
        let pixels = (0..PERIOD_PX * PERIOD_PX).map(|i| (i % PERIOD_PX, i / PERIOD_PX));
        pixels.map(|(x, y)| ink(shade, clarity, x, y)[3] > 200).collect()
    }

    #[test]
    fn six_shades_differ_in_pattern_alone_and_clarity_in_how_full_it_is() {
        for shade in 0..6 {
            let count = |clarity| covered(shade, clarity).iter().filter(|on| **on).count();
            assert!(count(Clarity::Clear) > count(Clarity::Close), "shade {shade}");
            assert!(count(Clarity::Close) > 0 && count(Clarity::Far) == 0);
            for other in 0..shade {
                assert_ne!(covered(shade, Clarity::Clear), covered(other, Clarity::Clear), "{shade} {other}");
                assert_ne!(pattern_name(shade), pattern_name(other));
            }
        }
    }

    #[test]
    fn clarity_follows_the_lead_of_the_nearest() {
        let judged = |de00, lead| Judged { nearest: 0, de00, lead }.clarity();
        assert_eq!(judged(2.0, 3.0), Clarity::Clear);
        assert_eq!(judged(2.0, 1.0), Clarity::Close);
        assert_eq!(judged(2.0, 0.1), Clarity::Alike);
        assert_eq!(judged(20.0, 3.0), Clarity::Far);
        assert_eq!(judged(f32::NAN, 3.0), Clarity::Far);
    }
}

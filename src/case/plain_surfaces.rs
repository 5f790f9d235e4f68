//! Plain things that lie about and whose colour is roughly known: better than nothing, far worse than a card.

use super::document::Known;

/// A plain surface with its usual colour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlainSurface {
    /// What it is, for a list to choose from.
    pub name: &'static str,
    /// L\*, a\*, b\* under D50 that such things have on average.
    pub lab: [f64; 3],
    /// Standard deviation of single ones about it.
    pub sd: [f64; 3],
    /// What the numbers rest on, and what to mind.
    pub about: &'static str,
}

/// The list, best first. All numbers are from memory but where it is said; the spreads are meant to be wide enough that
/// 95 of 100 such things lie within twice of them.
pub const PLAIN_SURFACES: [PlainSurface; 5] = [
    PlainSurface {
        name: "white office paper, several sheets",
        lab: [94.0, 1.0, -4.0],
        sd: [2.5, 1.5, 4.0],
        about: "Brighteners make it bluer in daylight than under a lamp; a single sheet shows what lies below. The colours \
                of printing papers in ISO 12647-2 lie within this spread (from memory).",
    },
    PlainSurface {
        name: "white card box, its outside",
        lab: [90.0, 0.0, 2.0],
        sd: [4.0, 1.5, 4.0],
        about: "Old boxes are yellower. From memory.",
    },
    PlainSurface {
        name: "white plastic bag, several layers",
        lab: [88.0, -1.0, -1.0],
        sd: [7.0, 2.0, 4.0],
        about: "Thin layers show what lies below, and folds shine. From memory.",
    },
    PlainSurface {
        name: "grey board, the inside of a box",
        lab: [65.0, 0.5, 5.0],
        sd: [7.0, 2.0, 4.0],
        about: "Recycled fibre, from bluish to brownish. From memory.",
    },
    PlainSurface {
        name: "brown corrugated board",
        lab: [62.0, 7.0, 20.0],
        sd: [6.0, 2.5, 5.0],
        about: "From memory.",
    },
];

impl PlainSurface {
    /// Its colour as a zone's known value.
    pub fn known(&self) -> Known {
        Known::Lab { lab: self.lab, sd: self.sd }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// No plain thing is known nearly as well as a printed card (0.5 to 4 in L\*), and all can be saved.
    #[test]
    fn spreads_are_wide_and_values_lawful() {
        for surface in PLAIN_SURFACES {
            assert!(surface.sd[0] >= 2.5 && surface.sd[2] >= 4.0, "{}", surface.name);
            assert_eq!(crate::json::check_lab(&surface.lab), None);
            assert_eq!(crate::json::check_sd(&surface.sd), None);
        }
    }
}

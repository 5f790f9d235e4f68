//! What the parts of a tray that lie alone say of all: how large they are, and which forms they have.

use super::cutout::{Cutout, outline_of};
use super::form::Form;
use super::outline::extent_of;
use super::split::area_of;

/// How something compares with the parts of the tray.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Judged {
    TooSmall,
    Part,
    TooLarge,
}

/// Length, width and area between which parts lie, and the forms of those that lie alone.
pub(super) struct Usual {
    range: [[f64; 2]; 3],
    forms: Vec<([f64; 3], Form)>,
}

/// Pieces cut off are at least so like a part that lies elsewhere, itself or its mirror image.
pub(super) const LEAST_LIKENESS: f64 = 0.8;
/// What is so like another part is one.
pub(super) const PLAINLY_ALIKE: f64 = 0.86;

impl Usual {
    /// Below this share of what nine in ten exceed, above this share of what one in ten exceeds: length, width, area.
    const LESS: [f64; 3] = [0.75, 0.5, 0.5];
    const MORE: [f64; 3] = [1.2, 1.25, 1.35];
    const LEAST_PARTS: usize = 6;
    /// Parts alike differ by at most this share in length, width and area.
    const UNLIKE: [f64; 3] = [0.12, 0.25, 0.25];

    pub(super) fn of<'a>(plain: impl Iterator<Item = &'a Cutout>) -> Option<Self> {
        let forms: Vec<([f64; 3], Form)> = plain
            .filter_map(|cut| {
                let outline = outline_of(&cut.inside, cut.size);
                Some((extent(&outline)?, Form::of(&outline)?))
            })
            .collect();
        if forms.len() < Self::LEAST_PARTS {
            return None;
        }
        let range = [0, 1, 2].map(|n| {
            let mut values: Vec<f64> = forms.iter().map(|(extent, _)| extent[n]).collect();
            values.sort_by(f64::total_cmp);
            let at = |share: f64| values[((values.len() - 1) as f64 * share).round() as usize];
            [Self::LESS[n] * at(0.1), Self::MORE[n] * at(0.9)]
        });
        Some(Self { range, forms })
    }

    pub(super) fn judge(&self, extent: &[f64; 3]) -> Judged {
        let all = || extent.iter().zip(&self.range);
        if all().any(|(value, [least, _])| value < least) {
            Judged::TooSmall
        } else if all().any(|(value, [_, most])| value > most) {
            Judged::TooLarge
        } else {
            Judged::Part
        }
    }

    /// How well an outline covers that of the part most like it, besides itself.
    pub(super) fn likeness(&self, outline: &[[f64; 2]]) -> f64 {
        let unlike = |n: usize, a: f64, b: f64| (a - b).abs() > Self::UNLIKE[n] * a.max(b);
        // Most pieces of a wrong cut are as large as no part: no more need be known of them.
        let area = area_of(outline);
        if self.forms.iter().all(|(other, _)| unlike(2, area, other[2])) {
            return 0.0;
        }
        let Some(extent) = extent(outline) else { return 0.0 };
        let near = |other: &[f64; 3]| *other != extent && (0..3).all(|n| !unlike(n, extent[n], other[n]));
        let alike: Vec<&Form> =
            self.forms.iter().filter(|(other, _)| near(other)).map(|(_, form)| form).collect();
        let Some(form) = (!alike.is_empty()).then(|| Form::of(outline)).flatten() else { return 0.0 };
        alike.into_iter().map(|other| form.likeness(other)).fold(0.0, f64::max)
    }

    /// Whether an outline is large enough for two parts.
    pub(super) fn may_be_two(&self, outline: &[[f64; 2]]) -> bool {
        let least = self.forms.iter().map(|(extent, _)| extent[2]).fold(f64::INFINITY, f64::min);
        area_of(outline) > 1.4 * least
    }

    /// Half as far as the narrowest parts are wide.
    pub(super) fn reach_px(&self) -> f64 {
        0.5 * self.range[1][0] / Self::LESS[1]
    }
}

/// Length, width and area in the outline's own units.
pub(super) fn extent(outline: &[[f64; 2]]) -> Option<[f64; 3]> {
    extent_of(outline.iter().copied()).map(|e| [e.length_mm, e.width_mm, e.area_mm2])
}

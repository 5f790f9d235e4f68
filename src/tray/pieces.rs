//! Spots as parts: taken apart where they are several, with what is doubtful about each.

use super::cutout::{Cutout, outline_of};
use super::outline::extent_of;
use super::parts::{AllLooks, Doubt};
use super::split::{Looks, halves, notch_halves, pieces};

/// A part in its cutout.
pub(super) struct Piece<'a> {
    pub cut: &'a Cutout,
    pub own: Own,
    pub doubts: Vec<Doubt>,
}

/// All spots as parts. Most parts of a tray lie alone and say how large a part is: no cut may leave less, and what is
/// larger and cannot be cut so may be several.
pub(super) fn pieces_of<'a>(cuts: &'a [Cutout], looks: &AllLooks, least_px: f64) -> Vec<Piece<'a>> {
    let spots: Vec<Spot> = cuts.iter().map(|cut| Spot::of(cut, looks, least_px)).collect();
    let usual = Usual::of(spots.iter().filter(|spot| spot.is_plain()));
    spots
        .into_iter()
        .flat_map(|spot| {
            let cut = spot.cut;
            let found = match &usual {
                Some(usual) => spot.judged(usual),
                None => spot.cut_first(),
            };
            found.into_iter().map(move |(own, mut doubts)| {
                if cut.touches_edge() {
                    doubts.insert(0, Doubt::CutOff);
                }
                Piece { cut, own, doubts }
            })
        })
        .collect()
}

/// Which pixels of a cutout are a part's own.
type Own = Vec<bool>;

/// A spot with the first way to take it apart.
struct Spot<'a> {
    cut: &'a Cutout,
    light: Vec<f32>,
    tint: Vec<[f32; 2]>,
    least_px: f64,
    pieces: Vec<Own>,
    maybe_more: bool,
}

impl<'a> Spot<'a> {
    fn of(cut: &'a Cutout, looks: &AllLooks, least_px: f64) -> Self {
        let (light, tint) = (cut.of(&looks.light), cut.of(&looks.tint));
        let mut spot = Self { cut, light, tint, least_px, pieces: Vec::new(), maybe_more: false };
        (spot.pieces, spot.maybe_more) = spot.in_pieces(&cut.inside);
        spot
    }

    fn looks(&self) -> Looks<'_> {
        Looks { light: &self.light, tint: &self.tint }
    }

    fn in_pieces(&self, own: &[bool]) -> (Vec<Own>, bool) {
        let pieces = pieces(own, &self.looks(), self.cut.size, self.least_px);
        let of = |piece: usize| pieces.label.iter().map(|label| usize::from(*label) == piece).collect();
        ((1..=pieces.count).map(of).collect(), pieces.maybe_more)
    }

    /// Alone as far as can be seen.
    fn is_plain(&self) -> bool {
        self.pieces.len() == 1 && !self.maybe_more && !self.cut.touches_edge()
    }

    /// As it was cut first, where nothing says how large a part is.
    fn cut_first(self) -> Vec<(Own, Vec<Doubt>)> {
        let mut doubts = Vec::new();
        if self.maybe_more {
            doubts.push(Doubt::MaybeSeveral);
        }
        if self.pieces.len() > 1 {
            doubts.push(Doubt::Touching);
        }
        self.pieces.into_iter().map(|own| (own, doubts.clone())).collect()
    }

    /// The first cut where it leaves parts only; else the whole if it is no larger than a part; else other cuts.
    fn judged(self, usual: &Usual) -> Vec<(Own, Vec<Doubt>)> {
        let size = |own: &Own| usual.judge(&self.extent(own));
        if self.pieces.len() > 1 && self.pieces.iter().all(|own| size(own) == Judged::Part) {
            return self.pieces.iter().map(|own| (own.clone(), vec![Doubt::Touching])).collect();
        }
        self.taken_apart(self.cut.inside.clone(), usual, 3)
    }

    fn taken_apart(&self, own: Own, usual: &Usual, depth: usize) -> Vec<(Own, Vec<Doubt>)> {
        let size = |own: &Own| usual.judge(&self.extent(own));
        if size(&own) != Judged::TooLarge {
            return vec![(own, Vec::new())];
        }
        let cut_size = self.cut.size;
        let pair = |both: Option<[Own; 2]>| both.map(Vec::from).unwrap_or_default();
        let ways = [
            self.in_pieces(&own).0,
            pair(halves(&own, &self.looks(), cut_size, self.least_px)),
            pair(notch_halves(&own, cut_size, self.least_px)),
        ];
        let too_large = |way: &Vec<Own>| way.iter().filter(|own| size(own) == Judged::TooLarge).count();
        let best = ways
            .into_iter()
            .filter(|way| depth > 0 && way.len() > 1 && way.iter().all(|own| size(own) != Judged::TooSmall))
            .min_by_key(too_large);
        let Some(best) = best else { return vec![(own, vec![Doubt::MaybeSeveral])] };
        let all = best.into_iter().flat_map(|own| self.taken_apart(own, usual, depth - 1));
        all.map(|(own, mut doubts)| {
            if !doubts.contains(&Doubt::Touching) {
                doubts.push(Doubt::Touching);
            }
            (own, doubts)
        })
        .collect()
    }

    /// Length, width and area in pixels.
    fn extent(&self, own: &[bool]) -> [f64; 3] {
        extent_of(outline_of(own, self.cut.size).into_iter())
            .map_or([0.0; 3], |e| [e.length_mm, e.width_mm, e.area_mm2])
    }
}

/// How something compares with the parts of the tray.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Judged {
    TooSmall,
    Part,
    TooLarge,
}

/// Length, width and area between which parts lie.
struct Usual([[f64; 2]; 3]);

impl Usual {
    /// Below this share of what nine in ten exceed, above this share of what one in ten exceeds: length, width, area.
    const LESS: [f64; 3] = [0.75, 0.5, 0.5];
    const MORE: [f64; 3] = [1.2, 1.25, 1.35];
    const LEAST_PARTS: usize = 6;

    fn of<'a>(plain: impl Iterator<Item = &'a Spot<'a>>) -> Option<Self> {
        let extents: Vec<[f64; 3]> = plain.map(|spot| spot.extent(&spot.cut.inside)).collect();
        let range = |n: usize| {
            let mut values: Vec<f64> = extents.iter().map(|extent| extent[n]).collect();
            values.sort_by(f64::total_cmp);
            let at = |share: f64| values[((values.len() - 1) as f64 * share).round() as usize];
            [Self::LESS[n] * at(0.1), Self::MORE[n] * at(0.9)]
        };
        (extents.len() >= Self::LEAST_PARTS).then(|| Self([0, 1, 2].map(range)))
    }

    fn judge(&self, extent: &[f64; 3]) -> Judged {
        let all = || extent.iter().zip(&self.0);
        if all().any(|(value, [least, _])| value < least) {
            Judged::TooSmall
        } else if all().any(|(value, [_, most])| value > most) {
            Judged::TooLarge
        } else {
            Judged::Part
        }
    }
}

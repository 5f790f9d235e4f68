//! Spots as parts: taken apart where they are several, with what is doubtful about each.

use super::cutout::{Cutout, outline_of};
use super::parts::AllLooks;
use super::split::{Ends, Looks, Outline, filled, halves, notch_cuts, notch_halves, pieces};
use super::usual::{Judged, LEAST_LIKENESS, PLAINLY_ALIKE, Usual, extent};
use crate::case::Doubt;

/// The most cuts one after the other.
const MOST_CUTS: usize = 3;

/// A part in its cutout.
pub(super) struct Piece<'a> {
    pub cut: &'a Cutout,
    pub own: Own,
    pub doubts: Vec<Doubt>,
}

/// All spots as parts. Most parts of a tray lie alone and say how large a part is and which forms there are: what is like
/// none of them is cut where that leaves pieces like some; no cut may leave less than a part, and what is larger and cannot
/// be cut so may be several.
pub(super) fn pieces_of<'a>(cuts: &'a [Cutout], looks: &AllLooks, least_px: f64) -> Vec<Piece<'a>> {
    let spots: Vec<Spot> = cuts.iter().map(|cut| Spot::of(cut, looks, least_px)).collect();
    let usual = Usual::of(spots.iter().filter(|spot| spot.is_plain()).map(|spot| spot.cut));
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

    /// Cut into parts like those elsewhere; else the first cut where it leaves parts only; else the whole if it is no larger
    /// than a part; else other cuts.
    fn judged(self, usual: &Usual) -> Vec<(Own, Vec<Doubt>)> {
        let cut = |pieces: Vec<Own>| pieces.into_iter().map(|own| (own, vec![Doubt::Touching])).collect();
        let is_part = |own: &Own| usual.judge(&self.extent(own)) == Judged::Part;
        if let Some(pieces) = self.cut_alike(usual) {
            return cut(pieces);
        }
        if self.pieces.len() > 1 && self.pieces.iter().all(is_part) {
            return cut(self.pieces);
        }
        self.taken_apart(self.cut.inside.clone(), usual, 3)
    }

    /// The pieces of that cut of which even the least likely is most like a part elsewhere, if the whole is like none.
    fn cut_alike(&self, usual: &Usual) -> Option<Vec<Own>> {
        let size = self.cut.size;
        let whole = outline_of(&self.cut.inside, size);
        if !usual.may_be_two(&whole) || usual.likeness(&whole) >= PLAINLY_ALIKE {
            return None;
        }
        let alike = |pieces: &[Own]| {
            let likeness = pieces.iter().map(|own| usual.likeness(&outline_of(own, size)));
            likeness.fold(f64::INFINITY, f64::min)
        };
        let found = Some(self.pieces.clone()).filter(|pieces| pieces.len() > 1);
        let notched = self.notched_alike(&whole, usual, MOST_CUTS, Ends::Both);
        let is_found = notched.as_ref().is_some_and(|(likeness, _)| *likeness >= LEAST_LIKENESS);
        let notched = if is_found { notched } else { self.notched_alike(&whole, usual, 1, Ends::One) };
        let notched =
            notched.map(|(likeness, outlines)| (likeness, filled(&outlines, &self.cut.inside, size)));
        let all = found.into_iter().map(|pieces| (alike(&pieces), pieces)).chain(notched);
        let best = all.filter(|(likeness, _)| *likeness >= LEAST_LIKENESS).max_by(|p, q| p.0.total_cmp(&q.0));
        best.map(|(_, pieces)| pieces)
    }

    /// The same among cuts between notches, several one after the other where a piece is still too large.
    fn notched_alike(
        &self,
        outline: &Outline,
        usual: &Usual,
        cuts: usize,
        ends: Ends,
    ) -> Option<(f64, Vec<Outline>)> {
        let mut best: Option<(f64, Vec<Outline>)> = None;
        for both in notch_cuts(outline, &self.cut.inside, self.cut.size, usual.reach_px(), ends) {
            let mut likeness = both.each_ref().map(|half| usual.likeness(half));
            let mut pieces = both.each_ref().map(|half| vec![half.clone()]);
            for (n, half) in both.iter().enumerate() {
                let other = likeness[1 - n];
                if likeness[n] < LEAST_LIKENESS
                    && other >= LEAST_LIKENESS
                    && cuts > 1
                    && usual.may_be_two(half)
                    && let Some((least, more)) = self.notched_alike(half, usual, cuts - 1, ends)
                {
                    (likeness[n], pieces[n]) = (least, more);
                }
            }
            let least = likeness[0].min(likeness[1]);
            if best.as_ref().is_none_or(|best| least > best.0) {
                best = Some((least, pieces.concat()));
            }
        }
        best
    }

    fn taken_apart(&self, own: Own, usual: &Usual, depth: usize) -> Vec<(Own, Vec<Doubt>)> {
        let size = |own: &Own| usual.judge(&self.extent(own));
        if size(&own) != Judged::TooLarge {
            return vec![(own, Vec::new())];
        }
        let cut_size = self.cut.size;
        let pair = |both: Option<[Own; 2]>| both.map(Vec::from).unwrap_or_default();
        let outline = outline_of(&own, cut_size);
        let ways = [
            self.in_pieces(&own).0,
            pair(halves(&own, &self.looks(), cut_size, self.least_px)),
            pair(notch_halves(&outline, &own, cut_size, self.least_px, usual.reach_px())),
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
        extent(&outline_of(own, self.cut.size)).unwrap_or_default()
    }
}

//! Spots as parts: taken apart where they are several, with what is doubtful about each.

use super::cutout::{Cutout, outline_of};
use super::outline::extent_of;
use super::parts::{AllLooks, Doubt};
use super::split::{Looks, halves, notch_halves, pieces};

/// A part in its cutout.
pub(super) struct Piece<'a> {
    pub cut: &'a Cutout,
    pub own: Vec<bool>,
    pub doubts: Vec<Doubt>,
}

pub(super) fn pieces_of<'a>(cut: &'a Cutout, looks: &AllLooks, least_px: f64) -> Vec<Piece<'a>> {
    let (light, tint) = (cut.of(&looks.light), cut.of(&looks.tint));
    let pieces = pieces(&cut.inside, &Looks { light: &light, tint: &tint }, cut.size, least_px);
    let mut doubts = Vec::new();
    if cut.touches_edge() {
        doubts.push(Doubt::CutOff);
    }
    if pieces.maybe_more {
        doubts.push(Doubt::MaybeSeveral);
    }
    if pieces.count > 1 {
        doubts.push(Doubt::Touching);
    }
    (1..=pieces.count)
        .map(|piece| Piece {
            cut,
            own: pieces.label.iter().map(|label| usize::from(*label) == piece).collect(),
            doubts: doubts.clone(),
        })
        .collect()
}

/// Takes pieces much wider than three in four others into two where that can be seen; the rest of them are doubtful.
pub(super) fn too_wide_halved<'a>(pieces: Vec<Piece<'a>>, looks: &AllLooks, least_px: f64) -> Vec<Piece<'a>> {
    const WIDER: f64 = 1.4;
    let widths: Vec<f64> = pieces
        .iter()
        .map(|piece| {
            extent_of(outline_of(&piece.own, piece.cut.size).into_iter()).map_or(0.0, |e| e.width_mm)
        })
        .collect();
    let mut sorted = widths.clone();
    sorted.sort_by(f64::total_cmp);
    let Some(usual) = sorted.get(sorted.len() * 3 / 4).copied().filter(|_| sorted.len() >= 6) else {
        return pieces;
    };
    let mut all = Vec::new();
    for (mut piece, width) in pieces.into_iter().zip(widths) {
        if width <= WIDER * usual {
            all.push(piece);
            continue;
        }
        let (light, tint) = (piece.cut.of(&looks.light), piece.cut.of(&looks.tint));
        let is_limb = |own: &Vec<bool>| {
            let extent = extent_of(outline_of(own, piece.cut.size).into_iter());
            extent.is_some_and(|e| e.width_mm <= WIDER * usual && e.width_mm >= usual / 2.0)
        };
        let are_limbs = |both: &[Vec<bool>; 2]| both.iter().all(is_limb);
        let both = halves(&piece.own, &Looks { light: &light, tint: &tint }, piece.cut.size, least_px);
        let both = both.filter(are_limbs);
        match both.or_else(|| notch_halves(&piece.own, piece.cut.size, least_px).filter(are_limbs)) {
            Some(both) => all.extend(both.map(|own| {
                let mut doubts = piece.doubts.clone();
                doubts.retain(|doubt| !matches!(doubt, Doubt::MaybeSeveral | Doubt::Touching));
                doubts.push(Doubt::Touching);
                Piece { cut: piece.cut, own, doubts }
            })),
            None => {
                piece.doubts.retain(|doubt| *doubt != Doubt::MaybeSeveral);
                piece.doubts.push(Doubt::MaybeSeveral);
                all.push(piece);
            }
        }
    }
    all
}

//! The loose parts on a plain board.

use super::cutout::{Cutout, outline_of};
use super::mask::{self, Size};
use super::matt::matt_place;
use super::numbering::number;
use super::outline::{Extent, extent_of};
use super::pieces::{Piece, pieces_of};
use crate::card::{FoundCard, Homography};
use crate::case::Doubt;
use crate::raster::{Board, Reduced, Shape, board_of};

/// What to look for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FindOptions {
    /// Smaller things are dirt, in square mm; applies where a card gives the scale.
    pub least_mm2: f64,
    /// The same as a share of the photo where no card gives the scale.
    pub least_share: f64,
}

impl Default for FindOptions {
    fn default() -> Self {
        Self { least_mm2: 45.0, least_share: 0.0003 }
    }
}

/// A part on the board.
#[derive(Debug, Clone, PartialEq)]
pub struct FoundPart {
    /// Its number in reading order, from 1 on.
    pub number: usize,
    /// Its outline in pixels of the photo.
    pub outline: Vec<[f64; 2]>,
    /// A strip of bare, matt plastic along its ridge; `None` where paint, glare and shadow leave none.
    pub matt: Option<Shape>,
    /// Its middle in pixels of the photo.
    pub centre: [f64; 2],
    /// Its area in pixels of the photo.
    pub area_px: f64,
    /// Length, width and area in mm, where a card gives the scale.
    pub size: Option<Extent>,
    /// What makes its outline doubtful.
    pub doubts: Vec<Doubt>,
}

/// All parts of a tray.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct FoundTray {
    /// In reading order.
    pub parts: Vec<FoundPart>,
    /// Whether a plain board was seen; without one there are no parts.
    pub has_board: bool,
}

/// Tint against the board (logarithm) from which on a pixel is a part, at least.
const LEAST_TINT: f32 = 0.09;
/// So much lighter than the board (logarithm) is a part.
const LEAST_LIGHTER: f32 = 0.22;
/// So much darker is a part, too: shadows under the light of a room are not so deep. Dark grey parts that are lighter than
/// this cannot be told from shadow.
const DARKER: f32 = -2.0;
/// Holes smaller than this share of the smallest part are glare or print, not board between parts.
const HOLE_SHARE: f64 = 0.25;
/// White paper left around a card.
const CARD_MARGIN_MM: f64 = 2.5;

/// Finds the parts in a picture made smaller; cards are left out. Results are in pixels of the photo.
pub fn find_parts(picture: &Reduced, cards: &[FoundCard], options: &FindOptions) -> FoundTray {
    let size = Size { width: picture.width, height: picture.height };
    let on_card = card_pixels(picture, cards, size);
    let Some(board) = board_of(picture, |i| on_card[i]) else { return FoundTray::default() };
    let looks = looks_of(&board);
    let scale = cards.first().map(|card| card.px_per_mm() / picture.factor as f64);
    let least_px = match scale {
        Some(px_per_mm) => options.least_mm2 * px_per_mm * px_per_mm,
        None => options.least_share * size.pixels() as f64,
    };
    let inside = part_pixels(&board, &looks, &on_card, size, least_px);
    let to_mm = cards.first().and_then(|card| card.to_photo.inverse());
    let cuts: Vec<Cutout> = mask::spots(&inside, size)
        .into_iter()
        .filter(|spot| spot.len() as f64 >= least_px)
        .map(|spot| Cutout::around(&spot, size))
        .collect();
    let pieces = pieces_of(&cuts, &looks, least_px);
    let mut parts: Vec<FoundPart> =
        pieces.iter().map(|piece| part_of(piece, &looks, picture.factor, to_mm.as_ref())).collect();
    number(&mut parts);
    FoundTray { parts, has_board: true }
}

/// Light and tint of all pixels against the board.
pub(super) struct AllLooks {
    pub light: Vec<f32>,
    pub tint: Vec<[f32; 2]>,
}

fn looks_of(board: &Board) -> AllLooks {
    AllLooks {
        light: board.off.iter().map(|o| (o[0] + o[1] + o[2]) / 3.0).collect(),
        tint: board.off.iter().map(|o| [o[0] - o[1], o[2] - o[1]]).collect(),
    }
}

fn part_pixels(board: &Board, looks: &AllLooks, on_card: &[bool], size: Size, least_px: f64) -> Vec<bool> {
    let least_tint = (6.0 * board.tint_sd).max(LEAST_TINT);
    let lighter = (8.0 * board.light_sd).max(LEAST_LIGHTER);
    let is_part = |i: usize| {
        let ([red, blue], light) = (looks.tint[i], looks.light[i]);
        // The darker a pixel, the noisier its tint.
        let limit = least_tint * (1.0 + (-light).max(0.0) * 0.5);
        !on_card[i] && (libm::hypotf(red, blue) > limit || light > lighter || light < DARKER)
    };
    let raw: Vec<bool> = (0..size.pixels()).map(is_part).collect();
    mask::filled(&mask::smoothed(&raw, size, 5), size, HOLE_SHARE * least_px)
}

fn card_pixels(picture: &Reduced, cards: &[FoundCard], size: Size) -> Vec<bool> {
    let mut on_card = vec![false; size.pixels()];
    let factor = picture.factor as f64;
    for card in cards {
        let Shape::Polygon(corners) = card.outline(CARD_MARGIN_MM) else { continue };
        let small = Shape::Polygon(corners.iter().map(|p| p.map(|v| v / factor)).collect());
        for span in small.spans(size.width as u32, size.height as u32, 0.0) {
            let row = span.y as usize * size.width;
            on_card[row + span.x_start as usize..row + span.x_end as usize].fill(true);
        }
    }
    on_card
}

fn part_of(piece: &Piece, looks: &AllLooks, factor: usize, to_mm: Option<&Homography>) -> FoundPart {
    let Piece { cut, own, doubts } = piece;
    let (light, tint) = (cut.of(&looks.light), cut.of(&looks.tint));
    let outline: Vec<[f64; 2]> =
        outline_of(own, cut.size).into_iter().map(|p| cut.to_photo(p, factor)).collect();
    let to_photo = |p: [f64; 2]| cut.to_photo(p, factor).map(|v| (v * 10.0).round() / 10.0);
    let matt = matt_place(own, &light, &tint, cut.size)
        .map(|strip| Shape::Polygon(strip.into_iter().map(to_photo).collect()));
    let mut doubts = doubts.clone();
    if matt.is_none() {
        doubts.push(Doubt::NoMattPlace);
    }
    let pixels = || (0..own.len()).filter(|n| own[*n]).map(|n| cut.size.centre(n));
    let area = pixels().count() as f64;
    let middle = [0, 1].map(|axis| pixels().map(|p| p[axis]).sum::<f64>() / area.max(1.0));
    FoundPart {
        number: 0,
        matt,
        centre: cut.to_photo(middle, factor),
        area_px: area * (factor * factor) as f64,
        size: to_mm.and_then(|plane| extent_of(outline.iter().map(|p| plane.map(*p)))),
        outline,
        doubts,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A grey board under light that falls to 60 %, green limbs with a shaded side, a soft shadow beside each.
    fn board(limbs: &[([f64; 2], [f64; 2])], body: [f32; 3], tone: f32) -> Reduced {
        let (width, height) = (420usize, 300usize);
        let away = |p: [f64; 2], (a, b): &([f64; 2], [f64; 2])| {
            let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
            let t = (((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / (dx * dx + dy * dy)).clamp(0.0, 1.0);
            libm::hypot(p[0] - a[0] - t * dx, p[1] - a[1] - t * dy)
        };
        let mut noise = 1u32;
        let linear = (0..width * height).map(|i| {
            let p = [(i % width) as f64 + 0.5, (i / width) as f64 + 0.5];
            let light = (1.0 - 0.4 * p[0] / width as f64) as f32;
            noise = noise.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let grain = 1.0 + 0.02 * ((noise >> 16) as f32 / 65_536.0 - 0.5);
            let near = limbs.iter().map(|limb| away(p, limb)).fold(f64::INFINITY, f64::min);
            let shade =
                limbs.iter().map(|limb| away([p[0] - 7.0, p[1] - 5.0], limb)).fold(f64::INFINITY, f64::min);
            let colour = if near < 10.0 {
                body.map(|v| v * (1.0 - 0.05 * near as f32))
            } else {
                let dim = 1.0 - 0.7 / (1.0 + libm::exp((shade - 10.0) / 2.0)) as f32;
                [tone * dim; 3]
            };
            colour.map(|v| v * light * grain)
        });
        Reduced { width, height, factor: 3, linear: linear.collect() }
    }

    const GREEN: [f32; 3] = [0.06, 0.18, 0.12];

    #[test]
    fn limbs_are_outlined_without_their_shadows_on_any_board() {
        let limbs = [
            ([60.0, 50.0], [60.0, 120.0]),
            ([200.0, 60.0], [260.0, 90.0]),
            ([350.0, 60.0], [350.0, 110.0]),
            ([100.0, 220.0], [170.0, 230.0]),
            ([320.0, 210.0], [360.0, 260.0]),
        ];
        for tone in [0.15, 0.35, 0.7] {
            let tray = find_parts(&board(&limbs, GREEN, tone), &[], &FindOptions::default());
            assert!(tray.has_board);
            assert_eq!(tray.parts.len(), limbs.len(), "board of {tone}");
            for (part, (a, b)) in tray.parts.iter().zip(&limbs) {
                let length = libm::hypot(b[0] - a[0], b[1] - a[1]);
                let area = (std::f64::consts::PI * 100.0 + 20.0 * length) * 9.0;
                assert!((part.area_px / area - 1.0).abs() < 0.08, "{tone}: {} for {area}", part.area_px);
                assert!(part.doubts.is_empty() && part.matt.is_some(), "{part:?}");
            }
            let numbers: Vec<usize> = tray.parts.iter().map(|part| part.number).collect();
            assert_eq!(numbers, [1, 2, 3, 4, 5]);
        }
    }

    #[test]
    fn limbs_that_touch_are_cut_where_each_is_as_large_as_the_others() {
        let alone = [
            ([60.0, 50.0], [60.0, 120.0]),
            ([140.0, 60.0], [200.0, 90.0]),
            ([350.0, 40.0], [350.0, 105.0]),
            ([60.0, 180.0], [60.0, 245.0]),
            ([130.0, 140.0], [130.0, 205.0]),
            ([250.0, 40.0], [310.0, 60.0]),
            ([320.0, 160.0], [380.0, 190.0]),
        ];
        let doubts_with = |more: &[([f64; 2], [f64; 2])]| {
            let limbs: Vec<_> = alone.iter().chain(more).copied().collect();
            let parts = find_parts(&board(&limbs, GREEN, 0.35), &[], &FindOptions::default()).parts;
            let mut doubts: Vec<_> = parts.into_iter().map(|part| part.doubts).collect();
            doubts.retain(|doubts| !doubts.is_empty());
            doubts
        };
        let lying = ([200.0, 200.0], [270.0, 200.0]);
        let standing = doubts_with(&[lying, ([235.0, 219.0], [235.0, 274.0])]);
        assert_eq!(standing, [[Doubt::Touching], [Doubt::Touching]]);
        // A stub is no limb: nothing is cut off, and what it is stays open.
        assert_eq!(doubts_with(&[lying, ([235.0, 214.0], [235.0, 216.0])]), [[Doubt::MaybeSeveral]]);
    }

    #[test]
    fn a_limb_at_the_edge_is_told_and_a_picture_without_board_has_no_parts() {
        let tray =
            find_parts(&board(&[([5.0, 100.0], [60.0, 100.0])], GREEN, 0.4), &[], &FindOptions::default());
        assert_eq!(tray.parts.len(), 1);
        assert!(tray.parts[0].doubts.contains(&Doubt::CutOff));
        let mut noise = 7u32;
        let linear = (0..300 * 200).map(|_| {
            [0; 3].map(|_: i32| {
                noise = noise.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                (noise >> 8) as f32 / 16_777_216.0
            })
        });
        let chaos = Reduced { width: 300, height: 200, factor: 1, linear: linear.collect() };
        assert!(!find_parts(&chaos, &[], &FindOptions::default()).has_board);
    }
}

//! Marks that lie as on one card.

use super::marks::SeenMark;
use crate::card::homography::Homography;
use crate::card::layout::{CardLayout, MARK_MM, Variant};

/// A card's plane in the picture made smaller, before its greys were looked at.
#[derive(Debug, Clone)]
pub(super) struct Plane {
    pub layout: CardLayout,
    pub to_picture: Homography,
    /// What it was fitted to: mm on the card and pixels.
    pub pairs: Vec<([f64; 2], [f64; 2])>,
    pub marks: usize,
    pub off_mm: f64,
}

/// Corners of the marks may lie off their places by so much on average: paper curls and lenses bend lines.
const MOST_OFF_MM: f64 = 0.9;
/// More marks than this are a printed pattern, not cards on a table.
const MOST_MARKS: usize = 24;

/// Cards, those with most marks first; no mark belongs to two.
pub(super) fn cards(mut marks: Vec<SeenMark>) -> Vec<Plane> {
    let mut found = Vec::new();
    if marks.len() > MOST_MARKS {
        return found;
    }
    while let Some((plane, used)) = best_card(&marks) {
        found.push(plane);
        marks.retain(|mark| !used.contains(mark));
    }
    found
}

fn best_card(marks: &[SeenMark]) -> Option<(Plane, Vec<SeenMark>)> {
    let mut best: Option<(Plane, Vec<SeenMark>)> = None;
    for variant in Variant::ALL {
        let layout = variant.layout();
        let of_corner = |corner: usize| {
            let fitting =
                marks.iter().filter(move |mark| mark.variant == variant as usize && mark.corner == corner);
            fitting.map(|mark| Some(*mark)).chain([None]).collect::<Vec<_>>()
        };
        for a in of_corner(0) {
            for b in of_corner(1) {
                for c in of_corner(2) {
                    for d in of_corner(3) {
                        let chosen: Vec<SeenMark> = [a, b, c, d].into_iter().flatten().collect();
                        if let Some(plane) = plane_of(&layout, &chosen)
                            && best.as_ref().is_none_or(|(other, _)| is_better(&plane, other))
                        {
                            best = Some((plane, chosen));
                        }
                    }
                }
            }
        }
    }
    best
}

fn is_better(a: &Plane, b: &Plane) -> bool {
    a.marks > b.marks || (a.marks == b.marks && a.off_mm < b.off_mm)
}

fn plane_of(layout: &CardLayout, marks: &[SeenMark]) -> Option<Plane> {
    if marks.len() < 2 {
        return None;
    }
    let pairs: Vec<([f64; 2], [f64; 2])> = marks
        .iter()
        .flat_map(|mark| layout.marks[mark.corner].square.corners().into_iter().zip(mark.corners))
        .collect();
    let to_picture = Homography::through(&pairs)?;
    let [width, height] = layout.size_mm;
    let is_seen_from_the_front = [[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]]
        .iter()
        .all(|p| to_picture.area_scale(*p) > 0.0);
    if !is_seen_from_the_front {
        return None;
    }
    // Distances in the picture become mm by the local scale of each mark.
    let mut sum = 0.0;
    for (mm, px) in &pairs {
        let seen = to_picture.map(*mm);
        let scale = to_picture.area_scale(*mm).sqrt();
        let off = libm::hypot(seen[0] - px[0], seen[1] - px[1]) / scale;
        sum += off * off;
    }
    let off_mm = (sum / pairs.len() as f64).sqrt();
    (off_mm <= MOST_OFF_MM.min(MARK_MM / 10.0)).then(|| Plane {
        layout: layout.clone(),
        to_picture,
        pairs,
        marks: marks.len(),
        off_mm,
    })
}

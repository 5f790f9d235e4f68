//! The greys of a card: they must fall as the ladder does.

use super::assemble::Plane;
use super::{FoundCard, FoundStep};
use crate::card::homography::Homography;
use crate::card::layout::{LADDER, RectMm, STEP_MM, Step};
use crate::raster::{Reduced, Shape};

/// What is taken off each side of a step before it is read: blur and a find that is a little off.
const INSET_MM: f64 = 1.3;
/// A step whose light varies by more than this share inside has something on it.
const MOST_UNEVEN: f64 = 0.16;
/// Fewer greys than this in order are no card; more are asked for where only two marks were seen.
const LEAST_STEPS: usize = 5;
const LEAST_STEPS_WITH_TWO_MARKS: usize = 6;

/// The card of a plane, if its greys agree.
pub(super) fn verified(picture: &Reduced, plane: &Plane) -> Option<FoundCard> {
    let factor = picture.factor as f64;
    let to_photo = plane.to_picture.scaled(factor);
    let mut seen: Vec<(f64, &Step)> = plane
        .layout
        .steps
        .iter()
        .filter_map(|step| Some((share_of_paper(picture, &plane.to_picture, step)?, step)))
        .collect();
    seen.sort_by_key(|(_, step)| step.number);
    let falling = longest_fall(&seen);
    let least = if plane.marks < 3 { LEAST_STEPS_WITH_TWO_MARKS } else { LEAST_STEPS };
    let (lightest, darkest) = (falling.first()?.0, falling.last()?.0);
    if falling.len() < least || darkest > 0.45 * lightest || lightest > 1.15 {
        return None;
    }
    let steps: Vec<FoundStep> = falling.iter().map(|(_, step)| found_step(&to_photo, step)).collect();
    let shares = plane.marks as f64 / 4.0 * steps.len() as f64 / LADDER.len() as f64;
    Some(FoundCard {
        variant: plane.layout.variant,
        to_photo,
        marks: plane.marks,
        off_mm: plane.off_mm,
        quality: (shares - plane.off_mm).clamp(0.0, 1.0),
        steps,
    })
}

fn found_step(to_photo: &Homography, step: &Step) -> FoundStep {
    let inside = step
        .square
        .shrunk(INSET_MM)
        .corners()
        .map(|corner| to_photo.map(corner).map(|v| (v * 100.0).round() / 100.0));
    FoundStep {
        number: step.number,
        shape: Shape::Polygon(inside.into()),
        centre: to_photo.map(step.square.centre()),
    }
}

/// Light of a step as a share of the paper just above it, so that uneven light does not matter. `None` where it is
/// out of sight or something lies on it.
fn share_of_paper(picture: &Reduced, to_picture: &Homography, step: &Step) -> Option<f64> {
    let [x, y] = step.square.min;
    let (own, uneven) = light_in(picture, to_picture, &step.square.shrunk(2.0))?;
    let paper = RectMm::new([x + 2.0, y - 4.2], [STEP_MM - 4.0, 2.2]);
    let (white, paper_uneven) = light_in(picture, to_picture, &paper)?;
    (white > 1e-4 && uneven <= MOST_UNEVEN && paper_uneven <= MOST_UNEVEN).then_some(own / white)
}

/// Mean and relative standard deviation of luminance over a rectangle of the card.
fn light_in(picture: &Reduced, to_picture: &Homography, rect: &RectMm) -> Option<(f64, f64)> {
    const GRID: usize = 6;
    let (mut sum, mut squares) = (0.0, 0.0);
    for row in 0..GRID {
        for column in 0..GRID {
            let [u, v] = [column, row].map(|n| (n as f64 + 0.5) / GRID as f64);
            let [x, y] = to_picture.map([rect.min[0] + u * rect.size[0], rect.min[1] + v * rect.size[1]]);
            if !(x >= 0.0 && y >= 0.0) || x >= picture.width as f64 || y >= picture.height as f64 {
                return None;
            }
            let [r, g, b] = picture.linear[y as usize * picture.width + x as usize].map(f64::from);
            let light = 0.2126 * r + 0.7152 * g + 0.0722 * b;
            sum += light;
            squares += light * light;
        }
    }
    let n = (GRID * GRID) as f64;
    let mean = sum / n;
    // A little light added: noise of a black step is no unevenness.
    Some((mean, (squares / n - mean * mean).max(0.0).sqrt() / (mean + 0.01)))
}

/// The longest run of steps, not necessarily neighbours, of which each is darker than the one before.
fn longest_fall<'a>(seen: &[(f64, &'a Step)]) -> Vec<(f64, &'a Step)> {
    const FALL: f64 = 0.97;
    let mut best: Vec<(usize, Option<usize>)> = Vec::new();
    for n in 0..seen.len() {
        let before = (0..n).filter(|m| seen[n].0 < FALL * seen[*m].0).max_by_key(|m| best[*m].0);
        best.push((before.map_or(1, |m| best[m].0 + 1), before));
    }
    let mut at = (0..seen.len()).max_by_key(|n| best[*n].0);
    let mut run = Vec::new();
    while let Some(n) = at {
        run.push(seen[n]);
        at = best[n].1;
    }
    run.reverse();
    run
}

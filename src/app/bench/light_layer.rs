//! The fitted light over the photo as pieces of lines of equal strength, worked out when the light is another one, and
//! what is said of it.

use crate::light::Unevenness;

use crate::app::session::Session;
use crate::app::state::State;

/// Cells across the photo.
const CELLS: usize = 48;
/// Strengths of neighbouring lines differ by the least of these hundredths that makes no more than [`MOST_LINES`]. Two of
/// them move L* of a middling colour by half a unit.
const STEPS_PERCENT: [f64; 4] = [2.0, 5.0, 10.0, 20.0];
const MOST_LINES: f64 = 12.0;
/// Standard deviation of the logarithm beyond which a line is dashed: well over one unit of L*.
const HARDLY_KNOWN: f64 = 0.05;

/// A piece of a line.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Piece {
    /// The strength on it.
    pub percent: f64,
    /// Its ends in pixels of the photo.
    pub ends_px: [[f64; 2]; 2],
    /// Whether the strength is known well there.
    pub known: bool,
}

/// What the person reads beside the lines.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Range {
    least_percent: f64,
    most_percent: f64,
}

/// The lines, and whether they are shown.
#[derive(Debug, Default)]
pub(in crate::app) struct LightLayer {
    /// Whether they are shown.
    pub shown: bool,
    /// The newest.
    pub(super) lines: Option<Lines>,
}

/// The lines of one light.
#[derive(Debug)]
pub(super) struct Lines {
    light: Unevenness,
    /// Size of the photo.
    pub photo_px: [f64; 2],
    /// All of them.
    pub pieces: Vec<Piece>,
    /// What the person reads beside them.
    pub told: String,
}

impl State {
    /// Works the lines out where they are shown and the light is another one than before.
    pub(in crate::app) fn follow_light(&mut self) {
        let light = self.session.as_ref().and_then(Session::light).map(|light| &light.unevenness);
        let Some((light, photo_px)) = light.zip(self.photo_px()).filter(|_| self.light_layer.shown) else {
            self.light_layer.lines = None;
            return;
        };
        let same = |lines: &Lines| lines.light == *light && lines.photo_px == photo_px;
        if !self.light_layer.lines.as_ref().is_some_and(same) {
            let (pieces, told) = (pieces(light, photo_px), told(light, photo_px));
            self.light_layer.lines = Some(Lines { light: light.clone(), photo_px, pieces, told });
        }
    }
}

fn told(light: &Unevenness, photo_px: [f64; 2]) -> String {
    let Range { least_percent, most_percent } = range(&corners(light, photo_px));
    let corners = [[0.0, 0.0], [1.0, 0.0], [0.0, 1.0], [1.0, 1.0]];
    let names = ["upper left", "upper right", "lower left", "lower right"];
    let warmth = corners.map(|corner| {
        let there = light.at(half_widths([corner[0] * photo_px[0], corner[1] * photo_px[1]], photo_px));
        // What is smaller than its own doubt is not worth a word.
        if there.log_warmth > 2.0 * there.log_warmth_sd { there.log_warmth } else { 0.0 }
    });
    let warmest = (0..4).max_by(|a, b| warmth[*a].total_cmp(&warmth[*b])).filter(|at| warmth[*at] > 0.02);
    let warm = warmest.map_or(String::new(), |at| {
        format!(" It turns warmer towards the {} corner, by {:.0} %.", names[at], 100.0 * warmth[at].exp_m1())
    });
    format!(
        "{least_percent:.0} to {most_percent:.0} % of the light in the middle of the known colours. Dashed: known to no \
         better than 5 %.{warm}"
    )
}

/// A place of the photo in half photo widths from its centre.
fn half_widths(point_px: [f64; 2], photo_px: [f64; 2]) -> [f64; 2] {
    [0, 1].map(|axis| (2.0 * point_px[axis] - photo_px[axis]) / photo_px[0])
}

/// Strength in per cent and its uncertainty at the corners of the cells, row after row.
fn corners(light: &Unevenness, photo_px: [f64; 2]) -> Vec<([f64; 2], f64, f64)> {
    let places = (0..=CELLS).flat_map(|y| (0..=CELLS).map(move |x| [x, y]));
    let corner = |place: [usize; 2]| {
        let point = [0, 1].map(|axis| photo_px[axis] * place[axis] as f64 / CELLS as f64);
        let there = light.at(half_widths(point, photo_px));
        (point, 100.0 * there.log_strength.exp(), there.log_strength_sd)
    };
    places.map(corner).collect()
}

fn range(corners: &[([f64; 2], f64, f64)]) -> Range {
    let strengths = corners.iter().map(|corner| corner.1);
    let start = Range { least_percent: f64::INFINITY, most_percent: f64::NEG_INFINITY };
    strengths.fold(start, |range, strength| Range {
        least_percent: range.least_percent.min(strength),
        most_percent: range.most_percent.max(strength),
    })
}

/// The lines, cell by cell: where a level crosses the edges of a cell, between its two corners in proportion.
fn pieces(light: &Unevenness, photo_px: [f64; 2]) -> Vec<Piece> {
    let corners = corners(light, photo_px);
    let Range { least_percent, most_percent } = range(&corners);
    let few = |step: &f64| (most_percent - least_percent) / step <= MOST_LINES;
    let step = STEPS_PERCENT.into_iter().find(few).unwrap_or(50.0);
    let mut pieces = Vec::new();
    let mut level = (least_percent / step).ceil() * step;
    while level <= most_percent {
        for cell in 0..CELLS * CELLS {
            let first = cell / CELLS * (CELLS + 1) + cell % CELLS;
            let around = [first, first + 1, first + CELLS + 2, first + CELLS + 1].map(|at| corners[at]);
            let crossed: Vec<[f64; 2]> =
                (0..4).filter_map(|edge| crossing(around[edge], around[(edge + 1) % 4], level)).collect();
            let known = around.iter().all(|corner| corner.2 < HARDLY_KNOWN);
            // A quadratic surface crosses a small cell in one line, or in two at a saddle.
            pieces.extend(crossed.chunks_exact(2).map(|ends| Piece {
                percent: level,
                ends_px: [ends[0], ends[1]],
                known,
            }));
        }
        level += step;
    }
    pieces
}

fn crossing(a: ([f64; 2], f64, f64), b: ([f64; 2], f64, f64), level: f64) -> Option<[f64; 2]> {
    if (a.1 < level) == (b.1 < level) {
        return None;
    }
    let share = (level - a.1) / (b.1 - a.1);
    Some([0, 1].map(|axis| a.0[axis] + share * (b.0[axis] - a.0[axis])))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::light::{Constants, KnownPatch, Patch, fit};
    use nalgebra::{Matrix3, Vector3};

    /// Greys on a photo whose light falls from left to right.
    fn falling() -> Unevenness {
        let grey = |i: u32| {
            let lightness = 25.0 + 20.0 * f64::from((i / 3 + 2 * (i % 3)) % 4);
            let x = -0.25 + f64::from(i % 3) / 4.0;
            let linear = ((lightness + 16.0) / 116.0).powi(3) * (-0.3 * x).exp() * 0.8;
            let coded = Vector3::repeat(1.055 * linear.powf(1.0 / 2.4) - 0.055);
            let at = [x, 0.2 * f64::from(i / 3) - 0.3];
            let patch = Patch { coded, coded_cov: Matrix3::zeros(), at, relief: None, photo: 0 };
            KnownPatch {
                patch,
                lab: Vector3::new(lightness, 0.0, 0.0),
                lab_cov: Matrix3::identity() * 0.01,
                shared: None,
            }
        };
        let greys: Vec<KnownPatch> = (0..12).map(grey).collect();
        fit(&greys, &[], Constants::learned()).unwrap().unevenness
    }

    #[test]
    fn every_piece_lies_where_the_light_has_its_strength() {
        let (light, photo_px) = (falling(), [400.0, 300.0]);
        let pieces = pieces(&light, photo_px);
        for piece in &pieces {
            for end in piece.ends_px {
                let there = 100.0 * light.at(half_widths(end, photo_px)).log_strength.exp();
                assert!((there - piece.percent).abs() < 0.2, "{there} on the line of {}", piece.percent);
            }
        }
        let Range { least_percent, most_percent } = range(&corners(&light, photo_px));
        // The light falls by some 45 %: the step is five.
        let levels = (most_percent / 5.0).floor() - (least_percent / 5.0).ceil() + 1.0;
        let mut found: Vec<f64> = pieces.iter().map(|piece| piece.percent).collect();
        found.dedup();
        assert!(
            levels >= 6.0 && found.len() as f64 == levels,
            "{found:?} of {least_percent} to {most_percent}"
        );
        assert!(pieces.iter().any(|piece| piece.known), "between the greys");
        assert!(pieces.iter().any(|piece| !piece.known), "at the edges");
    }

    #[test]
    fn a_light_of_one_colour_is_not_called_warm() {
        let told = told(&falling(), [400.0, 300.0]);
        assert!(told.contains("% of the light in the middle") && !told.contains("warmer"), "{told}");
    }
}

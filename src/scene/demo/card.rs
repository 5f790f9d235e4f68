//! The printed grey card of the demo: a ladder of six greys, corner marks and a ruler, on paper.

use super::materials::{Shelf, printed_grey};
use crate::scene::render::{Coat, Form, Join, MaterialId, Part, Place, V3};
use crate::scene::spectrum::Spectrum;

/// Lightness that the steps are printed for, light to dark.
pub const LADDER: [f64; 6] = [92.0, 79.0, 65.0, 51.0, 37.0, 24.0];
/// Half the card along x and z, in mm.
pub const HALF_MM: [f64; 2] = [56.0, 21.0];
/// Half a step, in mm.
pub const STEP_HALF_MM: f64 = 7.0;
/// Thickness of the paper in mm.
pub const THICK_MM: f64 = 0.5;

/// A card on the table.
pub struct LaidCard {
    /// The card itself.
    pub part: Part,
    /// Material and reflectance of each step, light to dark.
    pub steps: Vec<(MaterialId, Spectrum)>,
}

/// The card, lying with its middle at the place's origin.
pub fn card(shelf: &mut Shelf, place: &Place) -> LaidCard {
    let paper = shelf.add(printed_grey(95.5), None);
    let ink = shelf.add(printed_grey(19.0), None);
    let mut coats = Vec::new();
    for corner in [[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]] {
        let [x, z] = [corner[0] * (HALF_MM[0] - 4.0), corner[1] * (HALF_MM[1] - 4.0)];
        coats.push(flat(x - corner[0] * 1.75, z, 2.0, 0.3, ink));
        coats.push(flat(x, z - corner[1] * 1.75, 0.3, 2.0, ink));
    }
    // A ruler of 80 mm along the lower edge: ticks each mm, longer each 5 and 10.
    for mm in 0..=80 {
        let half = if mm % 10 == 0 {
            1.6
        } else if mm % 5 == 0 {
            1.15
        } else {
            0.75
        };
        coats.push(flat(f64::from(mm) - 40.0, 18.6 - half, 0.09, half, ink));
    }
    let mut steps = Vec::new();
    for (n, lightness) in LADDER.into_iter().enumerate() {
        let body = printed_grey(lightness);
        let material = shelf.add(body, None);
        steps.push((material, body));
        let middle = step_middle(n);
        coats.push(flat(middle[0], middle[1], STEP_HALF_MM, STEP_HALF_MM, material));
    }
    let body = Form::Block {
        centre: V3::new(0.0, THICK_MM / 2.0, 0.0),
        half: V3::new(HALF_MM[0], THICK_MM / 2.0, HALF_MM[1]),
        rounding: 0.1,
    };
    let part = Part::new("card", paper, vec![(body, Join::Add(0.0))]).coated(coats).flat().placed(place);
    LaidCard { part, steps }
}

/// Middle of a step on the card, x and z in mm.
pub fn step_middle(step: usize) -> [f64; 2] {
    [(step as f64 - 2.5) * 16.6, -3.6]
}

fn flat(x: f64, z: f64, half_x: f64, half_z: f64, material: usize) -> Coat {
    let inside =
        Form::Block { centre: V3::new(x, THICK_MM, z), half: V3::new(half_x, 0.2, half_z), rounding: 0.0 };
    Coat { inside, material }
}

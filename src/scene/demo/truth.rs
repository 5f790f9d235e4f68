//! What is true of a demo photo: where each part and step can be seen, and its Lab under D50.

use serde::{Deserialize, Serialize};

use super::scenes::Scene;
use crate::color::Lab;
use crate::raster::Shape;
use crate::scene::lab_in_d50_of;
use crate::scene::render::Plate;

/// The version of the truth format.
pub const TRUTH_VERSION: u32 = 1;

/// The truth of one photo.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Truth {
    /// Format version, the first field of the file.
    pub sameshot_truth: u32,
    /// The photo beside this file.
    pub photo: String,
    /// The light in words.
    pub light: String,
    /// Steps of the card, light to dark.
    pub steps: Vec<TrueStep>,
    /// The parts.
    pub parts: Vec<TruePart>,
}

/// One grey square.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TrueStep {
    /// Its name.
    pub id: String,
    /// Its Lab under D50.
    pub lab: [f64; 3],
    /// An area well inside.
    pub shape: Shape,
}

/// One part.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TruePart {
    /// Its name.
    pub id: String,
    /// Its slot.
    pub slot: String,
    /// The shade it was meant to have.
    pub shade: String,
    /// Lab under D50 of that shade.
    pub shade_lab: [f64; 3],
    /// Lab under D50 of this very part.
    pub lab: [f64; 3],
    /// Whether its shade is taken as known in the photo's case.
    pub known: bool,
    /// An area of bare, well-lit plastic.
    pub shape: Shape,
}

/// Reads the truth off an exposed plate. Parts that show too little bare plastic are left out.
pub fn truth_of(scene: &Scene, plate: &Plate) -> Truth {
    let steps = scene.steps.iter().enumerate().filter_map(|(n, (material, body))| {
        let inside = |i: usize| usize::from(plate.material[i]) == *material;
        let shape = largest_disc(plate, inside, 0.72)?;
        Some(TrueStep { id: format!("step {}", n + 1), lab: rounded(lab_in_d50_of(body)), shape })
    });
    let parts = scene.subjects.iter().filter_map(|subject| {
        Some(TruePart {
            id: subject.id.clone(),
            slot: subject.slot.to_owned(),
            shade: subject.green.id().to_owned(),
            shade_lab: rounded(lab_in_d50_of(&subject.green.recipe().reflectance())),
            lab: rounded(lab_in_d50_of(&subject.recipe.reflectance())),
            known: subject.known,
            shape: body_area(plate, subject.part)?,
        })
    });
    Truth {
        sameshot_truth: TRUTH_VERSION,
        photo: format!("{}.jpg", scene.name),
        light: scene.light.to_owned(),
        steps: steps.collect(),
        parts: parts.collect(),
    }
}

/// Where a careful person would mark a part: bare plastic, not in shadow, away from the brightest gloss.
fn body_area(plate: &Plate, part: usize) -> Option<Shape> {
    let own = |i: usize| usize::from(plate.part[i]) == part && plate.lit[i] > 0.0;
    let mut lit: Vec<f32> = (0..plate.part.len()).filter(|&i| own(i)).map(|i| plate.lit[i]).collect();
    if lit.is_empty() {
        return None;
    }
    lit.sort_by(f32::total_cmp);
    let bright = lit[lit.len() * 9 / 10];
    largest_disc(plate, |i| own(i) && plate.lit[i] > 0.45 * bright && plate.gloss[i] < 0.6, 0.8)
}

/// The largest disc among the pixels that qualify, shrunk by `share`; distances are counted on every few
/// pixels.
fn largest_disc(plate: &Plate, qualifies: impl Fn(usize) -> bool, share: f64) -> Option<Shape> {
    let stride = (plate.width / 1000).max(1);
    let (columns, rows) = (plate.width / stride, plate.height / stride);
    let mut depth = vec![0.0f64; columns * rows];
    let pixel =
        |column: usize, row: usize| (row * stride + stride / 2) * plate.width + column * stride + stride / 2;
    // Chamfer distance (Borgefors 1986): one pass down, one pass up.
    let near = |depth: &[f64], column: isize, row: isize, step: f64| {
        let inside = column >= 0 && row >= 0 && column < columns as isize && row < rows as isize;
        if inside { depth[row as usize * columns + column as usize] + step } else { step }
    };
    const DIAGONAL: f64 = std::f64::consts::SQRT_2;
    for row in 0..rows {
        for column in 0..columns {
            if qualifies(pixel(column, row)) {
                let (c, r) = (column as isize, row as isize);
                depth[row * columns + column] = near(&depth, c - 1, r, 1.0)
                    .min(near(&depth, c, r - 1, 1.0))
                    .min(near(&depth, c - 1, r - 1, DIAGONAL))
                    .min(near(&depth, c + 1, r - 1, DIAGONAL));
            }
        }
    }
    let mut best = (0.0, 0, 0);
    for row in (0..rows).rev() {
        for column in (0..columns).rev() {
            let (c, r) = (column as isize, row as isize);
            let here = depth[row * columns + column]
                .min(near(&depth, c + 1, r, 1.0))
                .min(near(&depth, c, r + 1, 1.0))
                .min(near(&depth, c + 1, r + 1, DIAGONAL))
                .min(near(&depth, c - 1, r + 1, DIAGONAL));
            depth[row * columns + column] = here;
            if here > best.0 {
                best = (here, column, row);
            }
        }
    }
    // The chamfer distance is up to 8 % too long, and the outline lies up to a cell nearer.
    let radius = (best.0 - 1.0) / 1.08 * stride as f64 * share;
    let centre = [best.1, best.2].map(|cell| (cell * stride + stride / 2) as f64 + 0.5);
    (radius >= 1.0).then(|| Shape::Circle { centre, radius: libm::round(radius * 10.0) / 10.0 })
}

fn rounded(lab: Lab) -> [f64; 3] {
    [lab.l, lab.a, lab.b].map(|v| libm::round(v * 100.0) / 100.0)
}

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

/// Least upward part of the normal of a marked place: it faces as a card on the table does, within 20°.
const LEAST_UP: f32 = 0.94;

/// Most share of gloss in a marked place's light.
const MOST_GLOSS: f32 = 0.15;

/// Where a careful person would mark a part: bare plastic that faces up, not in shadow, away from the brightest
/// gloss.
fn body_area(plate: &Plate, part: usize) -> Option<Shape> {
    let own = |i: usize| usize::from(plate.part[i]) == part && plate.lit[i] > 0.0;
    let mut lit: Vec<f32> = (0..plate.part.len()).filter(|&i| own(i)).map(|i| plate.lit[i]).collect();
    if lit.is_empty() {
        return None;
    }
    lit.sort_by(f32::total_cmp);
    let bright = lit[lit.len() * 9 / 10];
    // Where no such place is large enough, as in a small picture, any side that is lit must do.
    [LEAST_UP, 0.0].into_iter().find_map(|least_up| {
        let fair = |i: usize| {
            own(i) && plate.lit[i] > 0.45 * bright && plate.gloss[i] < MOST_GLOSS && plate.up[i] > least_up
        };
        let disc = largest_disc(plate, fair, 0.85)?;
        Some(drawn_out(plate, fair, &disc))
    })
}

/// A limb shows a long narrow place: the disc drawn out along it to a strip of the same width, as far as both of
/// its edges stay on the place, at most to [`LONGEST`] widths.
fn drawn_out(plate: &Plate, qualifies: impl Fn(usize) -> bool, disc: &Shape) -> Shape {
    let Shape::Circle { centre, radius } = *disc else { return disc.clone() };
    let holds = |x: f64, y: f64| {
        let inside = x >= 0.0 && y >= 0.0 && (x as usize) < plate.width && (y as usize) < plate.height;
        inside && qualifies(y as usize * plate.width + x as usize)
    };
    // How far a strip in this direction goes on from the centre.
    let reach = |[u, v]: [f64; 2]| {
        let step = (0.25 * radius).max(1.0);
        let edges = [-radius, 0.0, radius];
        let far = |n: &i32| {
            let along = step * f64::from(*n);
            edges.iter().all(|edge| holds(centre[0] + along * u - edge * v, centre[1] + along * v + edge * u))
        };
        let most = (LONGEST * radius / step) as i32;
        step * f64::from((1..=most).take_while(far).last().unwrap_or(0))
    };
    let directions = (0..36).map(|n| (f64::from(n) * 5.0).to_radians()).map(|a| [libm::cos(a), libm::sin(a)]);
    let strips = directions.map(|[u, v]| (reach([u, v]), reach([-u, -v]), [u, v]));
    let longest = strips.max_by(|a, b| (a.0 + a.1).total_cmp(&(b.0 + b.1)));
    let Some((forward, back, [u, v])) = longest.filter(|(f, b, _)| f + b > 2.0 * radius) else {
        return disc.clone();
    };
    // The ends may taper: a quarter of the width is left off.
    let corner = |along: f64, across: f64| {
        [centre[0] + along * u - across * v, centre[1] + along * v + across * u]
            .map(|at| libm::round(at * 10.0) / 10.0)
    };
    let (front, rear) = (forward - 0.25 * radius, 0.25 * radius - back);
    Shape::Polygon(vec![
        corner(front, -radius),
        corner(front, radius),
        corner(rear, radius),
        corner(rear, -radius),
    ])
}

/// Half length of the longest strip that is marked, in half widths.
const LONGEST: f64 = 6.0;

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

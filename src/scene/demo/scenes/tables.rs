//! Table tops and things that lie about.

use crate::scene::demo::materials::Shelf;
use crate::scene::pigment::{Pigment::*, Recipe};
use crate::scene::render::top::Wood;
use crate::scene::render::{Coat, Form, Join, Part, Place, Top, V3};

fn satin(shelf: &mut Shelf, recipe: &Recipe) -> usize {
    shelf.add(recipe.reflectance(), Some(0.32))
}

/// A beech bench, oiled.
pub(super) fn beech(shelf: &mut Shelf, seed: u64) -> Wood {
    let pale = Recipe::of(&[(White, 0.55), (OxideYellow, 0.28), (OxideRed, 0.04), (Umber, 0.03)]);
    let deep = Recipe::of(&[(White, 0.4), (OxideYellow, 0.3), (OxideRed, 0.09), (Umber, 0.14)]);
    let dark = Recipe::of(&[(White, 0.1), (Umber, 0.5), (Black, 0.03)]);
    let [pale, deep, dark] = [pale, deep, dark].map(|recipe| satin(shelf, &recipe));
    Wood { pale, deep, dark, board_mm: 92.0, contrast: 0.55, turn_degrees: 4.0, seed, far_edge_z: None }
}

/// A pale oak kitchen table.
pub(super) fn oak(shelf: &mut Shelf, seed: u64) -> Wood {
    let pale = Recipe::of(&[(White, 0.6), (OxideYellow, 0.14), (OxideRed, 0.02), (Umber, 0.05)]);
    let deep = Recipe::of(&[(White, 0.45), (OxideYellow, 0.16), (OxideRed, 0.03), (Umber, 0.15)]);
    let dark = Recipe::of(&[(White, 0.15), (Umber, 0.5), (Black, 0.04)]);
    let [pale, deep, dark] = [pale, deep, dark].map(|recipe| satin(shelf, &recipe));
    Wood { pale, deep, dark, board_mm: 80.0, contrast: 0.6, turn_degrees: 4.0, seed, far_edge_z: None }
}

/// A walnut table.
pub(super) fn walnut(shelf: &mut Shelf, seed: u64) -> Wood {
    let pale = Recipe::of(&[(White, 0.2), (OxideYellow, 0.22), (OxideRed, 0.09), (Umber, 0.28)]);
    let deep = Recipe::of(&[(White, 0.08), (OxideRed, 0.1), (Umber, 0.5), (Black, 0.02)]);
    let dark = Recipe::of(&[(White, 0.02), (Umber, 0.6), (Black, 0.1)]);
    let [pale, deep, dark] = [pale, deep, dark].map(|recipe| satin(shelf, &recipe));
    Wood { pale, deep, dark, board_mm: 118.0, contrast: 0.8, turn_degrees: -7.0, seed, far_edge_z: None }
}

/// A dark blue-grey cutting mat.
pub(super) fn cutting_mat(shelf: &mut Shelf, turn_degrees: f64) -> Top {
    let ground = Recipe::of(&[(White, 0.25), (Ultramarine, 0.3), (Black, 0.1), (PhthaloBlue, 0.02)]);
    let lines = Recipe::of(&[(White, 0.8), (OxideYellow, 0.04)]);
    Top::Mat {
        ground: shelf.add(ground.reflectance(), Some(0.4)),
        lines: shelf.add(lines.reflectance(), Some(0.4)),
        turn_degrees,
    }
}

/// A sharpened pencil along x, point to the left.
pub(super) fn pencil(shelf: &mut Shelf, place: &Place) -> Part {
    let lacquer = shelf.paint(&[(White, 0.5), (OxideYellow, 0.3), (Yellow, 0.6)]);
    let wood = shelf.matt(&[(White, 0.5), (OxideYellow, 0.25), (OxideRed, 0.06)]);
    let lead = shelf.paint(&[(Black, 0.6), (White, 0.15)]);
    let rod = |from: f64, to: f64, radii| Form::Limb {
        from: V3::new(from, 0.0, 0.0),
        to: V3::new(to, 0.0, 0.0),
        radii,
    };
    let forms =
        vec![(rod(0.0, 120.0, [3.5, 3.5]), Join::Add(0.0)), (rod(-1.0, -19.0, [3.35, 0.5]), Join::Add(0.0))];
    let up_to = |x: f64| Form::Block {
        centre: V3::new(x - 40.0, 0.0, 0.0),
        half: V3::new(40.0, 6.0, 6.0),
        rounding: 0.0,
    };
    let coats =
        vec![Coat { inside: up_to(-1.5), material: wood }, Coat { inside: up_to(-15.0), material: lead }];
    Part::new("pencil", lacquer, forms).coated(coats).placed(place)
}

/// A glazed mug with a handle, standing.
pub(super) fn mug(shelf: &mut Shelf, place: &Place) -> Part {
    let glaze =
        shelf.add(Recipe::of(&[(White, 0.7), (Ultramarine, 0.05), (Black, 0.01)]).reflectance(), Some(0.07));
    let band =
        shelf.add(Recipe::of(&[(White, 0.2), (Ultramarine, 0.5), (Black, 0.05)]).reflectance(), Some(0.07));
    let disc = |y: f64, radius: f64, half_height: f64, rounding: f64| Form::Disc {
        centre: V3::new(0.0, y, 0.0),
        axis: V3::y(),
        radius,
        half_height,
        rounding,
    };
    let forms = vec![
        (disc(47.0, 41.0, 47.0, 5.0), Join::Add(0.0)),
        (Form::Ring { centre: V3::new(42.0, 48.0, 0.0), axis: V3::z(), radii: [24.0, 5.0] }, Join::Add(4.0)),
        (disc(62.0, 37.0, 56.0, 5.0), Join::Cut(2.0)),
    ];
    let coats = vec![Coat { inside: disc(76.0, 43.0, 3.0, 0.1), material: band }];
    Part::new("mug", glaze, forms).coated(coats).placed(place)
}

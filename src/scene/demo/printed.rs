//! A card printed from its layout, lying in a scene.

use super::materials::{Shelf, printed_grey};
use crate::card::Variant;
use crate::card::layout::{LADDER, RectMm, Tone};
use crate::scene::render::{Coat, Form, Join, MaterialId, Part, Place, V3};
use crate::scene::spectrum::Spectrum;

/// Thickness of the paper in mm.
pub const THICK_MM: f64 = 0.5;

/// Papers and inks of cards from one printer.
pub struct Print {
    paper: MaterialId,
    ink: MaterialId,
    /// Material and reflectance of each step, number 1 first.
    pub steps: Vec<(MaterialId, Spectrum)>,
}

impl Print {
    /// A printer whose greys miss their targets by the given L\*.
    pub fn new(shelf: &mut Shelf, misses: [f64; LADDER.len()]) -> Self {
        let paper = shelf.add(printed_grey(95.0), None);
        let ink = shelf.add(printed_grey(19.0), None);
        let step = |(lightness, miss): (f64, f64)| {
            let body = printed_grey(lightness + miss);
            (shelf.add(body, None), body)
        };
        let steps = LADDER.into_iter().zip(misses).map(step).collect();
        Self { paper, ink, steps }
    }

    /// A card with its middle at the place's origin.
    pub fn card(&self, variant: Variant, place: &Place) -> Part {
        let layout = variant.layout();
        let [width, height] = layout.size_mm;
        let coats = layout.fills().into_iter().map(|(rect, tone)| {
            let material = match tone {
                Tone::Black => self.ink,
                Tone::Step(number) => self.steps.get(number - 1).map_or(self.ink, |step| step.0),
            };
            flat(&rect, [width / 2.0, height / 2.0], material)
        });
        let body = Form::Block {
            centre: V3::new(0.0, THICK_MM / 2.0, 0.0),
            half: V3::new(width / 2.0, THICK_MM / 2.0, height / 2.0),
            rounding: 0.1,
        };
        Part::new("card", self.paper, vec![(body, Join::Add(0.0))])
            .coated(coats.collect())
            .flat()
            .placed(place)
    }
}

fn flat(rect: &RectMm, middle: [f64; 2], material: MaterialId) -> Coat {
    let [x, y] = rect.centre();
    let inside = Form::Block {
        centre: V3::new(x - middle[0], THICK_MM, y - middle[1]),
        half: V3::new(rect.size[0] / 2.0, 0.2, rect.size[1] / 2.0),
        rounding: 0.0,
    };
    Coat { inside, material }
}

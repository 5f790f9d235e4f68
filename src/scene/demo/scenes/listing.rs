//! A seller's picture: no card, a kitchen table by a window, the same figure as in the exchanged photo.

use super::{Scene, Setting, tables, telephone};
use crate::scene::camera::balance::Automatic;
use crate::scene::camera::{Camera, Tone, unit_luminance};
use crate::scene::demo::figure::{self, Pose};
use crate::scene::demo::shades::Green::{Dark, Medium};
use crate::scene::render::develop::{Balance, Shot};
use crate::scene::render::top::Wood;
use crate::scene::render::{Ambient, Lamp, Lens, Place, Stage, Top, V3};
use crate::scene::tables::Illuminant;

pub(super) fn scene() -> Scene {
    let mut setting = Setting::new();
    let pose = Pose {
        arms_out: [14.0, 18.0],
        arms_forward: [6.0, 2.0],
        legs_out: [6.0, 5.0],
        legs_forward: [2.0, 3.0],
        head_turned: 14.0,
    };
    let lying = Place::at(-34.0, 5.6, 44.0).turned(V3::y(), -16.0).turned(V3::x(), -90.0);
    let greens = [Medium, Medium, Dark, Medium, Medium, Medium];
    // The same batch numbers as in the exchanged photo: the same seven parts.
    setting.lay_figure(greens, 300, |plastics, paints| figure::assembled(plastics, paints, &pose, &lying));
    let mug = tables::mug(&mut setting.shelf, &Place::at(74.0, 0.0, -44.0).turned(V3::y(), -25.0));
    setting.parts.push(mug);
    let wood = Wood { far_edge_z: Some(-330.0), turn_degrees: 2.0, ..tables::oak(&mut setting.shelf, 44) };
    let day = unit_luminance(Illuminant::D65.spectrum());
    let window = Lamp {
        cells: [4, 3],
        ..Lamp::aimed(day, 8.0, V3::new(-560.0, 700.0, 90.0), V3::zeros(), [360.0, 340.0])
    };
    let camera = Camera { tone: Tone::Curved(0.55), saturation: 1.12, flare: 0.012, ..telephone() };
    Scene {
        name: "listing",
        light: "daylight (CIE D65) from a window",
        shot: Shot {
            mean_level: 0.2,
            balance: Balance::Automatic(
                camera.raw_of_light(&day),
                camera.raw_of_light(&day),
                Automatic { grey_world: 0.25, completeness: 1.0 },
            ),
            blur_px: 0.75,
            focus: Some((228.0, 7.0)),
            sharpening: 0.6,
            seed: 44,
        },
        stage: Stage {
            materials: setting.shelf.0,
            parts: setting.parts,
            top: Top::Wood(wood),
            lamps: vec![window],
            ambient: Ambient { light: day, radiance: [0.36, 0.3] },
        },
        subjects: setting.subjects,
        steps: setting.steps,
        camera,
        lens: Lens {
            eye: V3::new(2.0, 196.0, 116.0),
            target: V3::new(0.0, 0.0, 0.0),
            high_degrees: 38.0,
            roll_degrees: -1.5,
            vignetting: 0.22,
        },
        size: [1600, 1200],
        quality: 62,
    }
}

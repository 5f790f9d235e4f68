//! A seller's picture: no card, a kitchen table under a tube, the same figure as in the exchanged photo.

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
        arms_out: [9.0, 12.0],
        arms_forward: [22.0, -4.0],
        legs_out: [5.0, 5.0],
        legs_forward: [3.0, -3.0],
        head_turned: 14.0,
    };
    let standing = Place::at(-14.0, 0.2, 6.0).turned(V3::y(), -16.0);
    let greens = [Medium, Medium, Dark, Medium, Medium, Medium];
    // The same batch numbers as in the exchanged photo: the same seven parts.
    setting.lay_figure(greens, 300, |plastics, paints| figure::assembled(plastics, paints, &pose, &standing));
    let mug = tables::mug(&mut setting.shelf, &Place::at(96.0, 0.0, -120.0).turned(V3::y(), -25.0));
    setting.parts.push(mug);
    let wood = Wood { far_edge_z: Some(-330.0), turn_degrees: 2.0, ..tables::oak(&mut setting.shelf, 44) };
    let tube = unit_luminance(Illuminant::Fl2.spectrum());
    let lamp = Lamp {
        cells: [3, 1],
        ..Lamp::aimed(tube, 26.0, V3::new(-160.0, 900.0, 220.0), V3::zeros(), [420.0, 60.0])
    };
    let camera = Camera { tone: Tone::Curved(0.55), saturation: 1.12, flare: 0.012, ..telephone() };
    Scene {
        name: "listing",
        light: "a fluorescent tube (CIE FL2) under the ceiling",
        shot: Shot {
            mean_level: 0.2,
            balance: Balance::Automatic(
                camera.raw_of_light(&tube),
                camera.raw_of_light(&unit_luminance(Illuminant::D65.spectrum())),
                Automatic { grey_world: 0.0, completeness: 0.78 },
            ),
            blur_px: 0.75,
            focus: Some((300.0, 9.0)),
            sharpening: 0.6,
            seed: 44,
        },
        stage: Stage {
            materials: setting.shelf.0,
            parts: setting.parts,
            top: Top::Wood(wood),
            lamps: vec![lamp],
            ambient: Ambient { light: tube, radiance: [0.36, 0.3] },
        },
        subjects: setting.subjects,
        steps: setting.steps,
        camera,
        lens: Lens {
            eye: V3::new(20.0, 150.0, 268.0),
            target: V3::new(8.0, 44.0, -10.0),
            high_degrees: 38.0,
            roll_degrees: -1.5,
            vignetting: 0.22,
        },
        size: [1600, 1200],
        quality: 62,
    }
}

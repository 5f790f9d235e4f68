//! A figure whose left arm came from another: medium green with a dark arm, under an LED lamp.

use super::{FULL_SIZE, Scene, Setting, tables, telephone};
use crate::scene::camera::balance::Automatic;
use crate::scene::camera::unit_luminance;
use crate::scene::demo::figure::{self, Pose};
use crate::scene::demo::shades::Green::{Dark, Medium};
use crate::scene::render::develop::{Balance, Shot};
use crate::scene::render::{Ambient, Lamp, Lens, Place, Stage, Top, V3};
use crate::scene::tables::Illuminant;

pub(super) fn scene() -> Scene {
    let mut setting = Setting::new();
    let pose = Pose {
        arms_out: [20.0, 17.0],
        arms_forward: [8.0, 3.0],
        legs_out: [7.0, 6.0],
        legs_forward: [4.0, 1.0],
        head_turned: -10.0,
    };
    let lying = Place::at(-18.0, 5.6, 14.0).turned(V3::y(), 68.0).turned(V3::x(), -90.0);
    let greens = [Medium, Medium, Dark, Medium, Medium, Medium];
    setting.lay_figure(greens, 300, |plastics, paints| figure::assembled(plastics, paints, &pose, &lying));
    for part in &mut setting.parts {
        let moved = Place::at(60.0, 0.0, -6.0);
        *part = part.clone().placed(&moved);
    }
    let beside = Place::at(-66.0, 5.3, 6.0).turned(V3::y(), 14.0).turned(V3::x(), -90.0);
    setting.lay_own_torso(Medium, 310, &beside);
    setting.lay_card(&Place::at(-4.0, 0.0, 50.0).turned(V3::y(), 5.0));
    let top = Top::Wood(tables::walnut(&mut setting.shelf, 21));
    let led = unit_luminance(Illuminant::LedB3.spectrum());
    let panel = Lamp {
        cells: [3, 2],
        ..Lamp::aimed(led, 30.0, V3::new(780.0, 1150.0, 120.0), V3::zeros(), [300.0, 240.0])
    };
    let camera = telephone();
    Scene {
        name: "exchanged",
        light: "an LED lamp (CIE LED-B3) from above",
        shot: Shot {
            mean_level: 0.16,
            balance: Balance::Automatic(
                camera.raw_of_light(&led),
                camera.raw_of_light(&unit_luminance(Illuminant::D65.spectrum())),
                Automatic { grey_world: 0.1, completeness: 0.92 },
            ),
            blur_px: 0.85,
            focus: Some((255.0, 5.0)),
            sharpening: 0.45,
            seed: 33,
        },
        stage: Stage {
            materials: setting.shelf.0,
            parts: setting.parts,
            top,
            lamps: vec![panel],
            ambient: Ambient { light: led, radiance: [0.4, 0.3] },
        },
        subjects: setting.subjects,
        steps: setting.steps,
        camera,
        lens: Lens {
            eye: V3::new(-2.0, 205.0, 100.0),
            target: V3::new(-2.0, 0.0, 12.0),
            high_degrees: 40.0,
            roll_degrees: 0.6,
            vignetting: 0.18,
        },
        size: FULL_SIZE,
        quality: 88,
    }
}

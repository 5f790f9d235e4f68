//! A good photo: diffuse daylight, the card beside the parts.

use super::{FULL_SIZE, Scene, Setting, tables, telephone};
use crate::scene::camera::unit_luminance;
use crate::scene::demo::figure::{self, Pose};
use crate::scene::demo::shades::Green::{Dark, Light, Medium};
use crate::scene::render::develop::{Balance, Shot};
use crate::scene::render::{Ambient, Lamp, Lens, Place, Stage, Top, V3};
use crate::scene::tables::Illuminant;

pub(super) fn scene() -> Scene {
    let mut setting = Setting::new();
    let pose = Pose {
        arms_out: [14.0, 9.0],
        arms_forward: [4.0, 10.0],
        legs_out: [5.0, 3.0],
        legs_forward: [2.0, 6.0],
        head_turned: 8.0,
    };
    let lying = Place::at(-64.0, 5.6, 50.0).turned(V3::y(), 12.0).turned(V3::x(), -90.0);
    setting
        .lay_figure([Medium; 6], 100, |plastics, paints| figure::assembled(plastics, paints, &pose, &lying));
    let beside = Place::at(-25.0, 5.3, 2.0).turned(V3::y(), -8.0).turned(V3::x(), -90.0);
    setting.lay_own_torso(Medium, 112, &beside);
    setting.lay_card(&Place::at(27.0, 0.0, 36.0).turned(V3::y(), -3.0));
    let paints = setting.paints;
    let (plastic, recipe) = setting.plastic(Light, 110);
    let arm = figure::arm(plastic, &paints, 1.0).placed(
        &Place::at(2.0, 3.6, -20.0).turned(V3::y(), 62.0).turned(V3::x(), -90.0).turned(V3::y(), 30.0),
    );
    setting.lay(arm, "loose arm", "arm-left", Light, recipe);
    let (plastic, recipe) = setting.plastic(Dark, 111);
    let leg = figure::leg(plastic, &paints, -1.0).placed(
        &Place::at(42.0, 4.4, -36.0).turned(V3::y(), 38.0).turned(V3::x(), -90.0).turned(V3::y(), -70.0),
    );
    setting.lay(leg, "loose leg", "leg-right", Dark, recipe);
    let pencil = tables::pencil(&mut setting.shelf, &Place::at(86.0, 3.6, -38.0).turned(V3::y(), 52.0));
    setting.parts.push(pencil);
    let top = Top::Wood(tables::beech(&mut setting.shelf, 5));
    let day = unit_luminance(Illuminant::D65.spectrum());
    let window = Lamp {
        cells: [3, 2],
        ..Lamp::aimed(day, 11.0, V3::new(-600.0, 680.0, 40.0), V3::zeros(), [300.0, 300.0])
    };
    let camera = telephone();
    Scene {
        name: "bench",
        light: "diffuse daylight (CIE D65) from a window",
        shot: Shot {
            mean_level: 0.24,
            balance: Balance::Fixed(camera.raw_of_light(&day)),
            blur_px: 0.8,
            focus: Some((250.0, 5.0)),
            sharpening: 0.45,
            seed: 11,
        },
        stage: Stage {
            materials: setting.shelf.0,
            parts: setting.parts,
            top,
            lamps: vec![window],
            ambient: Ambient { light: day, radiance: [0.4, 0.3] },
        },
        subjects: setting.subjects,
        steps: setting.steps,
        camera,
        lens: Lens {
            eye: V3::new(-4.0, 208.0, 108.0),
            target: V3::new(-8.0, 0.0, 6.0),
            high_degrees: 40.0,
            roll_degrees: 1.2,
            vignetting: 0.16,
        },
        size: FULL_SIZE,
        quality: 88,
    }
}

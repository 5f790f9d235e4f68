//! A hard photo: a tungsten lamp close on one side, daylight from the other, loose parts in a row.

use super::{FULL_SIZE, Scene, Setting, tables, telephone};
use crate::scene::camera::balance::Automatic;
use crate::scene::camera::unit_luminance;
use crate::scene::demo::figure;
use crate::scene::demo::shades::Green::{Dark, Light, Medium};
use crate::scene::render::develop::{Balance, Shot};
use crate::scene::render::{Ambient, Lamp, Lens, Place, Stage, V3};
use crate::scene::tables::Illuminant;

pub(super) fn scene() -> Scene {
    let mut setting = Setting::new();
    let paints = setting.paints;
    let flat =
        |x: f64, y: f64, z: f64, turn: f64| Place::at(x, y, z).turned(V3::y(), turn).turned(V3::x(), -90.0);
    setting.lay_own_torso(Medium, 200, &flat(-58.0, 5.3, 8.0, -9.0));
    let (plastic, recipe) = setting.plastic(Light, 201);
    let leg = figure::leg(plastic, &paints, 1.0).placed(&flat(-22.0, 4.4, -34.0, 14.0));
    setting.lay(leg, "first leg", "leg-left", Light, recipe);
    let (plastic, recipe) = setting.plastic(Medium, 202);
    let arm = figure::arm(plastic, &paints, -1.0).placed(&flat(8.0, 3.9, -27.0, -6.0).turned(V3::y(), -24.0));
    setting.lay(arm, "arm", "arm-right", Medium, recipe);
    let (plastic, recipe) = setting.plastic(Dark, 203);
    let leg = figure::leg(plastic, &paints, -1.0).placed(&flat(32.0, 4.4, -36.0, -7.0));
    setting.lay(leg, "second leg", "leg-right", Dark, recipe);
    let (plastic, recipe) = setting.plastic(Light, 204);
    let torso = figure::torso(plastic, &paints).placed(&flat(66.0, 5.3, -2.0, 17.0));
    setting.lay(torso, "loose torso", "torso", Light, recipe);
    setting.lay_card(&Place::at(3.0, 0.0, 42.0).turned(V3::y(), 4.0));
    let top = tables::cutting_mat(&mut setting.shelf, -3.0);
    let day = unit_luminance(Illuminant::D65.spectrum());
    let tungsten = unit_luminance(Illuminant::A.spectrum());
    let window = Lamp {
        cells: [2, 2],
        ..Lamp::aimed(day, 5.5, V3::new(-720.0, 560.0, -260.0), V3::zeros(), [260.0, 320.0])
    };
    let bulb = Lamp {
        cells: [2, 2],
        ..Lamp::aimed(tungsten, 64.0, V3::new(440.0, 470.0, -160.0), V3::new(20.0, 0.0, 0.0), [90.0, 90.0])
    };
    let camera = telephone();
    let mixed = day.plus(&tungsten);
    Scene {
        name: "lamp",
        light: "a tungsten lamp (CIE A) on the right, daylight (CIE D65) from the left",
        shot: Shot {
            mean_level: 0.15,
            balance: Balance::Automatic(
                camera.raw_of_light(&mixed),
                camera.raw_of_light(&day),
                Automatic { grey_world: 0.15, completeness: 0.85 },
            ),
            blur_px: 0.85,
            focus: Some((255.0, 5.0)),
            sharpening: 0.45,
            seed: 22,
        },
        stage: Stage {
            materials: setting.shelf.0,
            parts: setting.parts,
            top,
            lamps: vec![window, bulb],
            ambient: Ambient { light: day, radiance: [0.22, 0.14] },
        },
        subjects: setting.subjects,
        steps: setting.steps,
        camera,
        lens: Lens {
            eye: V3::new(6.0, 212.0, 118.0),
            target: V3::new(4.0, 0.0, 5.0),
            high_degrees: 40.0,
            roll_degrees: -0.8,
            vignetting: 0.2,
        },
        size: FULL_SIZE,
        quality: 88,
    }
}

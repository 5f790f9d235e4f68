use super::scenes::{Scene, scene};
use super::*;
use crate::color::{lab_in_d50_from_linear_srgb, srgb_decode};
use crate::raster::Shape;
use crate::scene::camera::{Camera, unit_luminance};
use crate::scene::render::develop::Shot;
use crate::scene::render::{Ambient, NO_PART, V3};
use crate::scene::spectrum::Spectrum;
use crate::scene::tables::Illuminant;

const SMALL: [usize; 2] = [200, 150];
/// Large enough for every part to show an area.
const MIDDLE: [usize; 2] = [400, 300];

fn pixels_of(shape: &Shape, size: [usize; 2]) -> Vec<usize> {
    let spans = shape.spans(size[0] as u32, size[1] as u32, 0.0);
    spans
        .iter()
        .flat_map(|span| (span.x_start..span.x_end).map(move |x| (x, span.y)))
        .map(|(x, y)| y as usize * size[0] + x as usize)
        .collect()
}

#[test]
fn every_scene_renders_the_same_each_time() {
    for name in NAMES {
        let scene = scene(name).unwrap();
        assert_eq!(scene.name, name);
        let [first, second] = [0, 1].map(|_| render(&scene, SMALL));
        assert_eq!(first, second, "{name}");
        let bytes = jpeg_of(&first).unwrap();
        assert_eq!(bytes, jpeg_of(&second).unwrap());
        let decoded = image::load_from_memory(&bytes).unwrap().into_rgb8();
        assert_eq!(decoded.dimensions(), (200, 150));
        let exif = exif::Reader::new().read_from_container(&mut std::io::Cursor::new(&bytes));
        assert_eq!(exif.is_ok(), !first.is_stripped, "{name}");
    }
    assert!(remake("no such scene").is_none());
}

#[test]
fn true_areas_lie_on_their_parts_and_steps() {
    for name in NAMES {
        let scene = scene(name).unwrap();
        let plate = expose(&scene.stage, &scene.camera, &scene.lens, MIDDLE);
        let truth = truth::truth_of(&scene, &plate);
        assert_eq!(truth.parts.len(), scene.subjects.len(), "{name}");
        assert_eq!(truth.steps.len(), scene.steps.len(), "{name}");
        for (part, subject) in truth.parts.iter().zip(&scene.subjects) {
            let pixels = pixels_of(&part.shape, MIDDLE);
            assert!(!pixels.is_empty());
            assert!(pixels.iter().all(|&i| usize::from(plate.part[i]) == subject.part), "{name} {}", part.id);
            assert!(pixels.iter().all(|&i| plate.lit[i] > 0.0), "painted: {name} {}", part.id);
        }
        for (step, (material, _)) in truth.steps.iter().zip(&scene.steps) {
            let pixels = pixels_of(&step.shape, MIDDLE);
            assert!(pixels.len() > 20, "{name} {}", step.id);
            assert!(
                pixels.iter().all(|&i| usize::from(plate.material[i]) == *material),
                "{name} {}",
                step.id
            );
        }
        assert!(plate.part.contains(&NO_PART));
    }
}

/// The bench with all its gloss taken off, in even daylight without lamps, seen by a camera that measures, on a
/// black table, so that nothing but the parts' own colour is left.
fn without_gloss() -> Scene {
    let mut scene = scene("bench").unwrap();
    let day = unit_luminance(Illuminant::D65.spectrum());
    for material in &mut scene.stage.materials {
        material.gloss_rad = None;
    }
    if let crate::scene::render::Top::Wood(wood) = &scene.stage.top {
        for material in [wood.pale, wood.deep, wood.dark] {
            scene.stage.materials[material].body = Spectrum::flat(0.0);
        }
    }
    scene.stage.lamps.clear();
    scene.stage.ambient = Ambient { light: day, radiance: [1.0, 1.0] };
    scene.camera = Camera::ideal();
    scene.shot = Shot {
        balance: Balance::Fixed(scene.camera.raw_of_light(&day)),
        blur_px: 0.0,
        focus: None,
        sharpening: 0.0,
        ..scene.shot
    };
    scene
}

/// A matt part in daylight has the chromaticity of its truth: only its lightness depends on how it is turned. What
/// remains is Bradford's adaptation against the reflectance under D50 itself, noise of 8 bits, and the
/// flank of neighbours: under 1.0 in a* and b*.
#[test]
fn a_matt_part_in_daylight_has_the_chromaticity_of_its_truth() {
    let scene = without_gloss();
    let photo = render(&scene, MIDDLE);
    assert!(photo.truth.parts.len() >= 5);
    for part in &photo.truth.parts {
        let pixels = pixels_of(&part.shape, MIDDLE);
        let mut mean = [0.0; 3];
        for &i in &pixels {
            for channel in 0..3 {
                mean[channel] +=
                    srgb_decode(f64::from(photo.rgb[i * 3 + channel]) / 255.0) / pixels.len() as f64;
            }
        }
        // Lightness is brought to that of the truth, as for a part that faces the light.
        let level = lab_in_d50_from_linear_srgb(mean).l;
        let luminance = |l: f64| libm::pow((l + 16.0) / 116.0, 3.0);
        let gain = luminance(part.lab[0]) / luminance(level);
        let lab = lab_in_d50_from_linear_srgb(mean.map(|v| v * gain));
        let [_, a, b] = part.lab;
        assert!(
            (lab.a - a).abs() < 1.0 && (lab.b - b).abs() < 1.0,
            "{}: {lab:?} against {:?}",
            part.id,
            part.lab
        );
    }
}

/// Under another light the same two greens keep their order but not their colour: the renderer is spectral.
#[test]
fn the_lamp_changes_colours_by_their_spectra() {
    let camera = Camera::ideal();
    let [day, tube] = [Illuminant::D65, Illuminant::Fl11].map(|light| unit_luminance(light.spectrum()));
    let green = shades::Green::Medium.recipe().reflectance();
    let ratio = |light: &Spectrum| {
        let [raw, white] = [camera.raw_of(light, &green), camera.raw_of_light(light)];
        raw[0] / white[0] / (raw[1] / white[1])
    };
    assert!((ratio(&day) / ratio(&tube) - 1.0).abs() > 0.02, "{} {}", ratio(&day), ratio(&tube));
}

#[test]
fn the_case_names_every_area_once_and_can_be_read() {
    let scene = scene("lamp").unwrap();
    let truth = truth::truth_of(&scene, &expose(&scene.stage, &scene.camera, &scene.lens, MIDDLE));
    let case: crate::case::CaseDocument = serde_json::from_value(case_of(&truth)).unwrap();
    assert_eq!(case.zones.len(), 7);
    assert_eq!(case.readings.len(), 4);
    assert!(case.readings.iter().all(|reading| reading.slot.is_some()));
    assert_eq!(case.zones[6].known, crate::case::Known::shade("green/medium"));
}

#[test]
fn lamps_shine_only_forward() {
    let light = unit_luminance(Illuminant::A.spectrum());
    let lamp =
        crate::scene::render::Lamp::aimed(light, 1.0, V3::new(0.0, 400.0, 0.1), V3::zeros(), [50.0, 50.0]);
    let spot = |y: f64, normal: V3| crate::scene::render::lamp::Spot { at: V3::new(0.0, y, 0.0), normal };
    let below = lamp.on_body(&[], &spot(0.0, V3::y()));
    // A small source: radiance × area / distance² / π.
    let expected = 100.0 * 100.0 / (400.0 * 400.0) / std::f64::consts::PI;
    assert!((below / expected - 1.0).abs() < 0.03, "{below} {expected}");
    assert!(lamp.on_body(&[], &spot(800.0, -V3::y())).abs() < 1e-12);
}

/// What lies in `assets/demo` and `reference-swatches` is what this program makes.
#[test]
fn the_kept_truth_and_references_are_those_of_the_program() {
    let kept: crate::shade::References =
        serde_json::from_str(include_str!("../../../reference-swatches/skerry-sea-green.shades.json"))
            .unwrap();
    assert_eq!(kept, references());
    for (name, text) in NAMES.into_iter().zip([
        include_str!("../../../assets/demo/bench.truth.json"),
        include_str!("../../../assets/demo/lamp.truth.json"),
        include_str!("../../../assets/demo/exchanged.truth.json"),
        include_str!("../../../assets/demo/listing.truth.json"),
    ]) {
        let scene = scene(name).unwrap();
        let truth: Truth = serde_json::from_str(text).unwrap();
        assert_eq!(truth.photo, format!("{name}.jpg"));
        assert_eq!(truth.parts.len(), scene.subjects.len(), "{name}");
        for (part, subject) in truth.parts.iter().zip(&scene.subjects) {
            let lab = crate::scene::lab_in_d50_of(&subject.recipe.reflectance());
            assert_eq!((part.id.as_str(), part.shade.as_str()), (subject.id.as_str(), subject.green.id()));
            for (kept, own) in part.lab.iter().zip([lab.l, lab.a, lab.b]) {
                assert!((kept - own).abs() < 0.0051, "{name} {}: {kept} against {own}", part.id);
            }
        }
    }
}
